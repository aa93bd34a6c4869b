"""What is thought of a kind of shot, in words."""

from trainer.drills.straight import Straight
from trainer.drills.words import capital, counted, kind_name
from trainer.learner.centre import FEWEST, CentreSeen
from trainer.learner.change import Change
from trainer.learner.table_verdict import ALL, MADE_UP, SEEING, STROKE, TableVerdict
from trainer.learner.verdicts import MOST_TO_GO, NOT_YET, THICK, THIN, TRUE, KindVerdict
from trainer.shots.level import Pass
from trainer.shots.style import Style

EVEN = "about as often thick as thin so far"


def kind_words(row: KindVerdict, style: Style) -> str:
    """``1/16 thick, sure within 1/32``, ``true, within 1/24; settled``, ``about 9 more calls to say``."""
    if row.verdict == NOT_YET:
        return NOT_YET if row.to_go is None else f"about {counted(row.to_go, 'more call')} to say"
    if row.verdict == TRUE:
        said = f"true, within {style.one_over(max(-row.low, row.high))}"
    else:
        within = style.one_over((row.high - row.low) / 2)
        said = f"{style.one_over(row.bias)} {row.verdict}, sure within {within}"
    return f"{said}; settled" if row.settled else said


def change_words(change: Change, style: Style) -> str:
    """``3/8 to the right: 1/16 thick then, 1/64 thick now``, or how many calls it takes to say more."""
    kind, then = capital(kind_name(change.band, change.side)), _part(change.then, style)
    if change.better:
        return f"{kind}: {then} then, {_part(change.now, style)} now"
    if change.missing is None or change.missing > MOST_TO_GO:
        return f"{kind}: {then} then; too few calls then to tell a change"
    return f"{kind}: {then} then; {counted(change.missing, 'more call')} to tell a change"


def sighting_words(seen: CentreSeen | None, calls: int, style: Style) -> str:
    """Where the ball's centre is seen, from so many calls of the drill *straight*; nothing before any.

    ``You see the ball's centre 1/32 ball too far right, sure within 1/96.``
    """
    if seen is None and not calls:
        return ""
    if seen is None and calls < FEWEST:
        more = counted(FEWEST - calls, "more call")
        return f"Where you see the ball's centre: {more} of {Straight.title} will tell."
    if seen is None:
        return f"Where you see the ball's centre: your calls in {Straight.title} don't agree enough to tell."
    if seen.low <= 0 <= seen.high:
        return (
            f"You see the ball's centre where it is, within {style.one_over(max(-seen.low, seen.high))} ball."
        )
    side = "right" if seen.bias > 0 else "left"
    within = style.one_over((seen.high - seen.low) / 2)
    return f"You see the ball's centre {style.one_over(seen.bias)} ball too far {side}, sure within {within}."


def _part(error: float, style: Style) -> str:
    return f"{style.one_over(error)} {'thick' if error > 0 else 'thin'}"


def table_counts(row: TableVerdict) -> str:
    """``12 thick, 2 thin, 5 potted``."""
    return f"{row.thick} thick, {row.thin} thin, {row.potted} potted"


def table_words(row: TableVerdict, style: Style) -> str:
    """The eye or the stroke: ``you miss these thick at the table and see them true: look at your stroke``."""
    if not row.misses:
        return f"{row.potted} potted, none missed"
    seen = f"{style.one_over(row.bias)} {row.eye}"
    sees = f"see these {seen}"
    misses = f"miss them {row.table} at the table"
    if row.verdict == STROKE:
        if row.eye == TRUE:
            return f"you miss these {row.table} at the table and see them true: look at your stroke"
        if row.eye == NOT_YET:
            return f"you miss these {row.table} at the table, more than seeing explains: look at your stroke"
        return f"you {sees}, yet {misses}: look at your stroke"
    if row.verdict == SEEING:
        return f"you {sees} and {misses}: it is the seeing"
    if row.verdict == ALL:
        return f"you {sees} and {misses} by more than that explains: both seeing and stroke"
    if row.verdict == MADE_UP:
        return f"you {sees}, but don't miss them that way at the table: something makes up for it there"
    return _undecided(row, seen)


def _undecided(row: TableVerdict, seen: str) -> str:
    """What can be said where there is no verdict yet."""
    more = f"about {row.to_go} more miss{'es' * (row.to_go > 1)}" if row.to_go else ""
    if row.table == NOT_YET:
        if more:
            return f"too few yet: {more} to say"
        return f"{EVEN}, though you see these {seen}" if row.eye in (THICK, THIN) else EVEN
    said = f"you miss these {row.table} at the table"
    if row.eye == NOT_YET:
        calls = f"about {counted(row.calls_to_go, 'more call')}" if row.calls_to_go else "many more calls"
        return f"{said}; how you see them takes {calls} here"
    said += " and seem to see them true" if row.eye == TRUE else f", though you see them {seen}"
    return f"{said}: {more} to be sure" if more else f"{said}: more calls here can make it sure"


def to_pass(rule: Pass) -> str:
    """``To pass: 9 of the last 12 right, 5 of them in a row.``"""
    return f"To pass: {rule.right} of the last {rule.of} right, {rule.in_a_row} of them in a row."

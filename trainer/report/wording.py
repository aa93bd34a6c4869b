"""Everything a report says, in words: kinds of shot, changes, the centre, the table, weeks, the streak."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from trainer.drills.words import capital, counted, kind_name, small
from trainer.geometry.fullness import SIDES
from trainer.history.clock import short_date
from trainer.history.streaks import Streak
from trainer.learner.change import Change
from trainer.learner.measured import FARTHEST, Measured
from trainer.learner.table_cause import LINE, TableCause
from trainer.learner.table_verdict import ALL, MADE_UP, SEEING, STROKE, TableVerdict
from trainer.learner.verdicts import MOST_TO_GO, NOT_YET, THICK, THIN, TRUE, KindVerdict
from trainer.levels.level import Pass
from trainer.play.causes_in_words import SAYS
from trainer.play.measure import ball, change_sentence, pots
from trainer.report.weeks import Calendar, Week, WeekBias
from trainer.shots.style import FINEST, Style

UNSURE = 1 / 16  # balls: what is known no better than this is too early to tell
EVEN = "about as often thick as thin so far"


def kind_words(row: KindVerdict, style: Style, *, short: bool = False) -> str:
    """``1/16 thick, sure within 1/32``, ``true, within 1/24; settled``, or what is seen so far.

    ``short``: of what is seen so far without its interval, where a bar beside it shows that.
    """
    if row.verdict == NOT_YET:
        return _so_far(row, style, short=short)
    if row.verdict == TRUE:
        said = f"true, within {style.one_over(max(-row.low, row.high))}"
        if row.scatters:
            said += f"; it scatters, {max(round(10 * row.pots), 1)} of 10 would pot"
    else:
        within = style.one_over((row.high - row.low) / 2)
        said = f"{style.one_over(row.bias)} {row.verdict}, sure within {within}"
    return f"{said}; settled" if row.settled else said


def _so_far(row: KindVerdict, style: Style, *, short: bool) -> str:
    """``so far 1/32 thick, likely between 1/48 thin and 1/12 thick; about 9 more calls to say``."""
    seen = f"so far {_at_least(row.bias, style) if abs(row.bias) >= FINEST else TRUE}"
    if short:
        return seen if row.to_go is None else f"{seen}; {counted(row.to_go, 'more call')}"
    more = NOT_YET if row.to_go is None else f"about {counted(row.to_go, 'more call')} to say"
    return f"{seen}, likely between {_at_least(row.low, style)} and {_at_least(row.high, style)}; {more}"


def _at_least(error: float, style: Style) -> str:
    """``1/32 thick``; what is finer than a mark says, ``under 1/64 thin``."""
    return f"{style.room(error).removesuffix(' ball').removesuffix(' balls')} {THICK if error > 0 else THIN}"


def change_words(change: Change, style: Style) -> str:
    """``3/8 to the right: 1/16 thick until about 5 Mar, true since 11 Mar``, or how many calls it takes."""
    then = _part(change.then, style)
    if change.cause:
        kind, then = f"It was so: {small(SAYS[change.cause](change.then, style, ())[0])}", ""
    else:
        kind = capital(kind_name(change.kind))
    if change.better and change.until is not None:
        until = f"{then} until about {day_words(change.until)}".strip()
        said = f"{kind}, {until}" if change.cause else f"{kind}: {until}"
        if change.since is not None:
            return f"{said}, true since {day_words(change.since)}"
        return f"{said}; {_gone(change.gone)} of it is gone"
    if change.missing is None or change.missing > MOST_TO_GO:
        return f"{kind}: {then}; a change can't be told yet"
    return f"{kind}: {then}; {counted(change.missing, 'more call')} to tell a change"


def day_words(ordinal: int) -> str:
    """``5 Mar``."""
    return short_date(date.fromordinal(ordinal).isoformat()).strip()


def _gone(part: float) -> str:
    return "nearly all" if part > 0.85 else PARTS[min(PARTS, key=lambda known: abs(known - part))]


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


def table_cause_words(found: TableCause) -> str:
    """The same of what runs through all cuts: ``Your stroke goes across to the right at every shot: ...``."""
    if found.cause == LINE:
        sees = f"You see the line of aim too far to the {found.eye}"
        strokes = f"your stroke goes across to the {found.stroke}"
    else:
        sees, strokes = (
            f"You judge everything too {found.eye}",
            f"your stroke sends everything {found.stroke}",
        )
    counted_so = f"{found.mine} of {found.misses} misses went that way"
    if found.verdict == STROKE:
        alone = f"by your eye alone it would be {round(found.expected * found.misses)}"
        return f"{capital(strokes)} at every shot: {counted_so}, {alone}."
    if found.verdict == SEEING:
        return f"{sees}, and miss so at the table: {counted_so}. It is the seeing."
    if found.verdict == ALL:
        return f"{sees}, and {strokes} besides: {counted_so}. It is both."
    return f"{sees}, but don't miss that way at the table: {strokes} and makes up for it."


def open_words(rows: Sequence[TableVerdict], more: int | None) -> str:
    """What is missing until the eye can be told from the stroke over all shots.

    '' without a note, and where a kind of shot tells it already.
    """
    if not rows or any(row.table != NOT_YET or row.verdict != NOT_YET for row in rows):
        return ""
    thick, thin = sum(row.thick for row in rows), sum(row.thin for row in rows)
    went = f"{thick} thick and {thin} thin over all shots"
    sides = {row.side for row in rows if row.misses}
    if len(sides) < len(SIDES):
        other = next((side for side in SIDES if side not in sides), "") if sides else "either side"
        return f"{went}: misses to {f'the {other}' if sides else other} can tell your eye from your stroke."
    if more is None:
        return f"{went}: nothing runs through them so far."
    misses = f"{more} more miss{'es' * (more > 1)}"
    return f"{went}: about {misses} to tell your eye from your stroke."


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


PARTS = {1 / 4: "a quarter", 1 / 3: "a third", 1 / 2: "half", 2 / 3: "two thirds", 3 / 4: "three quarters"}
WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
SHADES = (1, 20, 40, 80)  # calls from which a day is a shade darker; 40 are a day's dose
COMPARED = "What has changed"  # the head of what has changed
MISSED, FORGIVEN, TODAY = "·", "~", "now"
HEADS = ("calls", "right", "time", "thick/thin", "scatter")
NARROW = (5, 6, 6, 11, 8)  # characters of each of these; the wide ones have room for how sure it is
WIDE = (5, 6, 7, 32, 9)
# The power of the comparison: what tests/benchmarks/bench_change.py prints, rounded.
POWER = (
    "A change is told only when it is sure. With 30 calls a day that takes two to four weeks where a fault "
    "of 1/10 ball heals, and longer where it is smaller."
)
MOST_CALLS = 9999  # that a cell has room for


@dataclass(frozen=True)
class DayCell:
    """What a cell of the calendar says, how strong its shade is (0: no practice), and whether it is today."""

    text: str
    shade: int
    today: bool


@dataclass(frozen=True)
class Row:
    """A week of the calendar: the date of its Monday, seven cells, its figures, and how it was seen."""

    label: str
    cells: tuple[DayCell, ...]
    figures: tuple[str, ...]
    seen: WeekBias | None


def calendar_rows(calendar: Calendar, weeks: int, style: Style, *, wide: bool = False) -> list[Row]:
    """The last weeks, the present one at the end; ``wide``: with how sure the average is."""
    return [
        Row(
            short_date(week.monday),
            tuple(_cell(calendar, week, place) for place in range(7)),
            figures(week, style, wide=wide),
            week.seen if week.calls else None,
        )
        for week in calendar.last(weeks)
    ]


def _cell(calendar: Calendar, week: Week, place: int) -> DayCell:
    day, played = week.on(place)
    is_today = day == calendar.today
    if played is not None:
        shade = sum(played.calls >= least for least in SHADES)
        return DayCell(str(min(played.calls, MOST_CALLS)), shade, is_today)
    if day in calendar.streak.forgiven:
        return DayCell(FORGIVEN, 0, is_today)
    if is_today:
        return DayCell(TODAY, 0, is_today)
    return DayCell(MISSED if calendar.first <= day < calendar.today else "", 0, is_today)


def figures(week: Week, style: Style, *, wide: bool = False) -> tuple[str, ...]:
    """Calls, share of right ones, response time, bias and scatter of a week; nothing without calls."""
    if not week.calls:
        return ("",) * len(HEADS)
    share, seconds = week.share_right or 0.0, week.seconds
    if week.seen is None:
        seen = (f"{week.missing} to go", "")
    else:
        seen = seen_words(week.seen, style, wide=wide), style.one_over(week.seen.noise)
    return (str(week.calls), f"{100 * share:.0f} %", "" if seconds is None else f"{seconds:.1f} s", *seen)


def seen_words(seen: WeekBias, style: Style, *, wide: bool = True) -> str:
    """``1/32 thick, sure within 1/96``, or ``true, within 1/64`` where it may be none."""
    if seen.low <= 0 <= seen.high:
        within = max(-seen.low, seen.high)
        if within > UNSURE:
            return f"too early to say, within {style.one_over(within)}" if wide else "too early"
        return f"{TRUE}, within {style.one_over(within)}" if wide else TRUE
    said = f"{style.one_over(seen.bias)} {'thick' if seen.bias > 0 else 'thin'}"
    return f"{said}, sure within {style.one_over((seen.high - seen.low) / 2)}" if wide else said


def streak_words(streak: Streak) -> str:
    """``12 days in a row, one missed day forgiven. Practise today to keep it, or it goes on from 5.``"""
    if not streak.days:
        return "Practise today, and days in a row begin to count."
    said = f"{counted(streak.days, 'day')} in a row"
    if streak.forgiven:
        said += f", {counted(len(streak.forgiven), 'missed day')} forgiven"
    if streak.tomorrow >= streak.days:
        return f"{said}."
    if not streak.tomorrow:
        return f"{said}. Practise today to keep it."
    return f"{said}. Practise today to keep it, or it goes on from {streak.tomorrow}."


def runs_words(calendar: Calendar, settled: int) -> str:
    """``Longest run of pots 14, this week 9; 3 kinds of shot settled.``"""
    (week,) = calendar.last(1)
    said = f"Longest run of pots {calendar.best_run_of_pots}"
    if week.calls:
        said += f", this week {week.best_run_of_pots}"
    return f"{said}; {counted(settled, 'kind')} of shot settled."


def calendar_lines(calendar: Calendar, weeks: int, style: Style) -> list[str]:
    """The calendar as plain text, its heads first."""
    heads = "".join(f"{head:>{size}}" for head, size in zip(HEADS, WIDE, strict=True))
    lines = [f"  {'':6} {''.join(f'{name:>5}' for name in WEEKDAYS)} {heads}"]
    for row in calendar_rows(calendar, weeks, style, wide=True):
        days = "".join(f"{cell.text:>5}" for cell in row.cells)
        told = "".join(f"{text:>{size}}" for text, size in zip(row.figures, WIDE, strict=True))
        lines.append(f"  {row.label:6} {days} {told}".rstrip())
    return lines


MEASURED = "The weekly measure"  # the head of its chart
MEASURE_HEADS: tuple[str, ...] = ("go in", "sure", "ball off", "sure")
MEASURE_SIZES = (10, 9, 11, 13)  # characters of each of these
MEASURE_RULE = "24 shots, as hard every week and never the same; they teach the choice of shots nothing."


def measure_figures(mine: Measured, style: Style) -> tuple[str, ...]:
    """What a measure came to, under ``MEASURE_HEADS``: ``14 of 24``, ``9-18``, ``1/21``, ``1/30-1/15``."""
    fewest, most = pots(mine)
    least, largest = (ball(end, style) for end in mine.typical_range)
    typical = ball(mine.typical, style)
    return (f"{mine.potted} of {mine.shots}", f"{fewest}-{most}", typical, f"{least}-{largest}")


def measure_scale(measures: Sequence[Measured]) -> float:
    """The end of a chart of measures, in balls: a half, a quarter and so on of the farthest, as they need."""
    most = max(each.typical_range[1] for each in measures)
    return min(FARTHEST, 2.0 ** math.ceil(math.log2(most)))


def measure_lines(measures: Sequence[Measured], most: int, style: Style) -> list[str]:
    """The last measures as plain text: heads, a line each, what has changed; nothing before the first."""
    if not measures:
        return []
    rows = [("", MEASURE_HEADS)]
    rows += [(short_date(each.day), measure_figures(each, style)) for each in measures[-most:]]
    lines = [
        f"  {day:6}" + "".join(f"{text:>{size}}" for text, size in zip(figures, MEASURE_SIZES, strict=True))
        for day, figures in rows
    ]
    return [*lines, f"  {change_sentence(measures, style)}"]

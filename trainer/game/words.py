"""What is thought of a kind of shot, in words."""

from trainer.drills.words import counted, one_over
from trainer.learner.change import Change
from trainer.learner.report import NOT_YET, TRUE, Kind


def kind_words(row: Kind) -> str:
    """``1/16 thick, sure within 1/32``, ``true, within 1/24; settled``, ``about 9 more calls to say``."""
    if row.verdict == NOT_YET:
        return NOT_YET if row.to_go is None else f"about {counted(row.to_go, 'more call')} to say"
    if row.verdict == TRUE:
        said = f"true, within {one_over(max(-row.low, row.high))}"
    else:
        said = f"{one_over(row.bias)} {row.verdict}, sure within {one_over((row.high - row.low) / 2)}"
    return f"{said}; settled" if row.settled else said


def change_words(change: Change) -> str:
    """``3/8 right: 1/16 thick then, 1/64 thick now``, or how many calls it takes to say more."""
    kind, then = f"{change.band} {change.side}", _part(change.then)
    if change.better:
        return f"{kind}: {then} then, {_part(change.now)} now"
    if change.missing is None:
        return f"{kind}: {then} then; too few calls then to tell a change"
    return f"{kind}: {then} then; {counted(change.missing, 'more call')} to tell a change"


def _part(error: float) -> str:
    return f"{one_over(error)} {'thick' if error > 0 else 'thin'}"

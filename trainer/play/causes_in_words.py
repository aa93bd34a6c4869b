"""Each cause of misses in plain words: what is wrong, what it does at the pocket, why, and what mends it."""

import math
from collections.abc import Callable, Sequence
from datetime import date

from trainer.drills.words import small
from trainer.history.clock import short_date
from trainer.learner import causes
from trainer.learner.diagnosis import CauseSize, Healed
from trainer.shots.style import FOOT, Style

HALF_BALL, THIN_CUT = 0.5, 0.75  # sines of the cuts that sizes are said for
# The distance from the object ball to the pocket that they are said for: mm, and in words.
AWAY, AWAY_IMPERIAL = (1000.0, "a metre"), (3 * FOOT, "a yard")
COARSE = 50.0  # mm: from here on they are said to the next 10
THROWN = 0.073  # balls: by so much a slow half ball with stun is straightened (``geometry.throw``)
CONTACT_POINT = 2 / 3  # of the whole width: from here on a player aims at the point where the balls touch
SHARES = {1 / 4: "a quarter", 1 / 3: "a third", 1 / 2: "half", 2 / 3: "two thirds", 1.0: "all"}


def wide(sine: float, error: float, style: Style) -> str:
    """What an error of fullness (balls) does to a cut: ``120 mm wide at a pocket a metre away``."""
    off = math.asin(sine) - math.asin(max(min(sine - error, 1.0), -1.0))
    away, named = AWAY_IMPERIAL if style.imperial else AWAY
    return f"{style.distance(_rounded(away * abs(math.tan(off))))} wide at a pocket {named} away"


def _rounded(mm: float) -> float:
    """A length no finer than the size that it follows from is known."""
    return round(mm, -1) if mm >= COARSE else mm


def part(size: float, style: Style) -> str:
    """A size as a part of a ball: ``1/24 ball``, ``1/4 ball``."""
    return f"{style.one_over(size)} ball" if abs(size) < 3 / 16 else style.ball_part(size)


def _way(size: float) -> str:
    return "thick" if size > 0 else "thin"


Said = tuple[str, str, str]  # what is wrong, what it does at the pocket, and why or what follows


def _ball_width(size: float, style: Style, _: Sequence[str]) -> Said:
    what = f"Your cuts go too {_way(size)}, the thinner the more: {part(size, style)} at half ball"
    if size > CONTACT_POINT * 0.25:
        why = "because you send the middle of the cue ball at the point where the balls touch"
    elif size > 0:
        why = "because you allow for too little of the cue ball's width"
    else:
        why = "because you allow for more of the cue ball's width than there is"
    return what, wide(HALF_BALL, size, style), why


def _line_shift(size: float, style: Style, _: Sequence[str]) -> Said:
    side, other = ("right", "left") if size > 0 else ("left", "right")
    what = f"Your line of aim lies {part(size, style)} to the {side} at every shot"
    return what, wide(HALF_BALL, size, style), f"so cuts to the {other} go thin and cuts to the {side} thick"


def _overall(size: float, style: Style, _: Sequence[str]) -> Said:
    what = f"Everything goes {part(size, style)} too {_way(size)}, whatever the cut"
    fuller = "fuller" if size > 0 else "thinner"
    return what, wide(HALF_BALL, size, style), f"because you see each hit {fuller} than it is"


def _names(size: float, style: Style, _: Sequence[str]) -> Said:
    # The farthest from a name is an eighth of a ball.
    does = f"up to {wide(HALF_BALL, size / 8, style)}"
    if size < 0:
        return "You call shots farther from 3/4, 1/2 and 1/4 than they are", does, ""
    what = "What lies between full, 3/4, 1/2 and 1/4 you take for the nearest of them"
    return what, f"{_share(size)} of the way there: {does}", ""


def _middle(size: float, style: Style, _: Sequence[str]) -> Said:
    one, other = ("thinner", "fuller") if size > 0 else ("fuller", "thinner")
    what = f"You see full hits {one} and thin ones {other} than they are"
    return what, f"{part(size, style)} at either end", "so both ends of the range miss and the middle pots"


def _thin_cuts(size: float, style: Style, _: Sequence[str]) -> Said:
    what = f"Thinner than half ball you are suddenly {part(size, style)} too {_way(size)}"
    why = "because there the line of aim leaves the object ball: nothing is left to aim at"
    return what, wide(THIN_CUT, size, style), why


def _throw(size: float, style: Style, _: Sequence[str]) -> Said:
    does = f"a slow half ball with stun goes {wide(HALF_BALL, size * THROWN, style)}"
    if size < 0:
        return "You allow for more throw than there is", does, ""
    what = "You don't allow for throw" if size > 0.8 else f"You leave out {_share(size)} of the throw"
    return what, does, "because friction between the balls straightens the object ball's way"


def _view(size: float, style: Style, views: Sequence[str]) -> Said:
    one, other = (VIEWED[view] for view in views)
    fuller = "fuller" if size > 0 else "thinner"
    what = f"{one} you see every hit {part(size, style)} {fuller} than {small(other)}"
    return what, wide(HALF_BALL, size, style), "so the line you choose in one you leave in the other"


def _share(size: float) -> str:
    """A part in words: ``a third``, ``half``."""
    return SHARES[min(SHARES, key=lambda share: abs(share - abs(size)))]


def healed_words(cause: str, healed: Healed, now: CauseSize | None, style: Style) -> str:
    """``The cue ball's width: healed since 8 Mar. It was 1/4 ball once, and now is within 1/48 ball.``"""
    name, since = cause.split(maxsplit=1)[0], short_date(date.fromordinal(healed.day).isoformat()).strip()
    said = f"{HEALED[name]}: healed since {since}. It was {part(healed.worst, style)} once"
    return f"{said}." if now is None else f"{said}, and now is within {part(max(-now.low, now.high), style)}."


SAYS: dict[str, Callable[[float, Style, Sequence[str]], Said]] = {
    "ball-width": _ball_width,
    "line-shift": _line_shift,
    causes.OVERALL: _overall,
    "names": _names,
    "middle": _middle,
    "thin-cuts": _thin_cuts,
    causes.THROW: _throw,
    causes.VIEW: _view,
}
VIEWED = {"down": "Down on the shot", "standing": "Standing", "plan": "From above"}
# The level that shows a cause bare, and what is to be learnt there; then where it must hold.
CURES = {
    "ball-width": ("slide-the-line", "See where the middle of the cue ball must be"),
    "line-shift": ("straight-or-not", "See where the middle of the object ball is"),
    causes.OVERALL: ("thick-or-thin", "Learn to tell thick from thin"),
    "names": ("between-the-eighths", "See what lies between the names"),
    "middle": ("aim-eighths", "See the ends as they are"),
    "thin-cuts": ("inside-edge", "Aim with the edge of the cue ball instead"),
    causes.THROW: ("throw-or-not", "Learn how much to allow for"),
}
COURSES = {
    "ball-width": ("inside-edge", "aim-beyond-the-edge", "slide-thin"),
    "line-shift": ("slide-with-the-line", "slide-the-line", "aim-eighths"),
    causes.OVERALL: ("slide-the-line", "eighths", "aim-eighths"),
    "names": ("name-it-back", "aim-fine", "slide-the-line"),
    "middle": ("eighths", "slide-the-line", "between-the-eighths"),
    "thin-cuts": ("aim-beyond-the-edge", "slide-thin", "thin-cuts"),
    causes.THROW: ("throw-slow", "throw-any"),
    causes.VIEW: ("standing-or-down",),
}
# What each was, once it has healed.
HEALED = {
    "ball-width": "The cue ball's width",
    "line-shift": "The line to one side",
    causes.OVERALL: "All thick or thin",
    "names": "Pulled to the names",
    "middle": "Pulled to the middle",
    "thin-cuts": "Lost thin cuts",
    causes.THROW: "Throw left out",
    causes.VIEW: "One view unlike the other",
}
VIEW_CURES = {
    "down": ("down-only", "Practise it down on the shot"),
    "standing": ("standing-only", "Practise it standing"),
    "plan": ("slide-the-line", "Practise it in every view"),
}

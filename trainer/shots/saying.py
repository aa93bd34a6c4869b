"""How lengths and parts of a ball are said to this player: decided once, when a command or the app starts.

Only what people read goes by it. JSON, exports and the names of answers are the same for everybody.
"""

from dataclasses import dataclass

from trainer.geometry.tables import INCH

METRIC, IMPERIAL = UNITS = ("metric", "imperial")
FRACTIONS, HUNDREDTHS = NUMBERS = ("fractions", "hundredths")
FOOT = 12 * INCH  # mm
LONG = 995.0  # mm from which a length is said in metres, or in feet
SMALL = 0.0095  # balls below which hundredths would say nothing


@dataclass(frozen=True)
class Saying:
    """Units of lengths, and how parts of a ball are said."""

    units: str = METRIC
    numbers: str = FRACTIONS


_now = Saying()


def say_as(units: str | None = None, numbers: str | None = None) -> None:
    """From now on say lengths in these units, and parts of a ball in these numbers; None is the usual."""
    global _now
    _now = Saying(units or METRIC, numbers or FRACTIONS)


def in_inches() -> bool:
    """Whether lengths are said in inches and feet."""
    return _now.units == IMPERIAL


def in_hundredths() -> bool:
    """Whether parts of a ball are said in hundredths."""
    return _now.numbers == HUNDREDTHS


def measured(mm: float, decimals: int = 0) -> str:
    """A length to so many decimals of a mm, or to one more of an inch: ``41 mm``, ``1.6 in``."""
    if in_inches():
        return f"{mm / INCH:.{decimals + 1}f} in"
    return f"{mm:.{decimals}f} mm"


def far(mm: float) -> str:
    """A length; where it is long in metres, or in feet."""
    if mm < LONG:
        return measured(mm)
    return f"{mm / FOOT:.1f} ft" if in_inches() else f"{mm / 1000:.1f} m"


def hundredths(balls: float) -> str:
    """A part of a ball, without sign: ``0.06``; very small ones in thousandths."""
    balls = abs(balls)
    return f"{balls:.2f}" if balls >= SMALL else f"{balls:.3f}"

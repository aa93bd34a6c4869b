"""How lengths and parts of a ball are written for one player.

Only what people read goes by it. JSON, exports and the names of answers are the same for everybody.
"""

import math
from dataclasses import dataclass
from fractions import Fraction

from trainer.geometry.tables import INCH

METRIC, IMPERIAL = UNITS = ("metric", "imperial")
FRACTIONS, HUNDREDTHS = NUMBERS = ("fractions", "hundredths")
FOOT = 12 * INCH  # mm
LONG = 995.0  # mm from which a length is written in metres, or in feet
LEAST, SHORT = 0.95, 10.0  # mm below which a small length has a decimal more, and one of inches has
SMALL = 0.0095  # balls below which hundredths would say nothing
HAIR = 1 / 128  # balls: less than this can't be said, and hardly be played
FINEST = 1 / 64  # balls: finer parts than this are no words of a mark
LARGE = 1 / 8  # balls from which what is forgiven is written as any other part is
FINE = 3 / 64  # balls below which parts are written in 32nds and 64ths, above it in 16ths
ONE_OVER = (2, 3, 4, 6, 8, 12, 16, 24, 32, 48, 64, 96, 128, 192, 256, 384, 512)
ROUNDING = 1e-9  # balls: sums are off by less, and what is said by more


@dataclass(frozen=True)
class Style:
    """Units of lengths, and how parts of a ball are written; what isn't said is as usual."""

    units: str = METRIC
    numbers: str = FRACTIONS

    @property
    def imperial(self) -> bool:
        """Whether lengths are in inches and feet."""
        return self.units == IMPERIAL

    @property
    def decimal(self) -> bool:
        """Whether parts of a ball are in hundredths."""
        return self.numbers == HUNDREDTHS

    def length(self, mm: float, decimals: int = 0) -> str:
        """A length to so many decimals of a mm, or to one more of an inch: ``41 mm``, ``1.6 in``."""
        if self.imperial:
            return f"{mm / INCH:.{decimals + 1}f} in"
        return f"{mm:.{decimals}f} mm"

    def small(self, mm: float) -> str:
        """A length at a ball, where a few mm are much: ``2 mm``, ``0.4 mm``, ``0.06 in``."""
        return self.length(mm, int(mm < (SHORT if self.imperial else LEAST)))

    def distance(self, mm: float) -> str:
        """A length; a long one in metres, or in feet."""
        if mm < LONG:
            return self.length(mm)
        return f"{mm / FOOT:.1f} ft" if self.imperial else f"{mm / 1000:.1f} m"

    def ball_part(self, width: float) -> str:
        """A part of a ball's width as a player says it: ``1/8 ball``, ``a hair``, or ``0.12 ball``."""
        width = abs(width)
        if width < HAIR:
            return "a hair"
        if self.decimal:
            said = hundredths(width)
            return f"{said} {'ball' if float(said) <= 1 else 'balls'}"
        if width < FINE:
            return "1/64 ball" if width < 3 / 128 else "1/32 ball"
        sixteenths = Fraction(max(round(width * 16), 1), 16)
        whole, part = divmod(sixteenths, 1)
        if not part:
            return f"{whole} ball" if whole == 1 else f"{whole} balls"
        if not whole:
            return f"{part.numerator}/{part.denominator} ball"
        return f"{whole} {part.numerator}/{part.denominator} balls"

    def one_over(self, width: float) -> str:
        """A small part of a ball as one over a round number, or in hundredths: how much a pot forgives.

        A large one is in sixteenths, as it is elsewhere.
        """
        if self.decimal:
            return hundredths(width)
        if abs(width) >= LARGE:
            return self.ball_part(width).removesuffix("s").removesuffix(" ball")
        width = max(abs(width), 1 / ONE_OVER[-1])
        return f"1/{min(ONE_OVER, key=lambda n: abs(math.log(n * width)))}"

    def room(self, width: float) -> str:
        """A small part of a ball in a mark: ``1/24 ball``, never finer than ``under 1/64 ball``."""
        if abs(width) < FINEST:
            return f"under {self.one_over(FINEST)} ball"
        return self.ball_part(width) if abs(width) >= LARGE else f"{self.one_over(width)} ball"

    def thick_or_thin(self, error: float) -> str:
        """``1/8 ball thick``, ``a hair thin``."""
        return f"{self.ball_part(error)} {'thick' if error > 0 else 'thin'}"


USUAL = Style()  # in JSON, and where nobody has chosen


def as_full(fullness: float) -> str:
    """A fullness in hundredths: ``0.88`` of 7/8, however the table is turned.

    Rounding in the sums before it would make it 0.87 or 0.88 by chance.
    """
    return f"{fullness + ROUNDING:.2f}"


def hundredths(balls: float) -> str:
    """A part of a ball, without sign: ``0.06``; very small ones in thousandths."""
    balls = abs(balls)
    return f"{balls:.2f}" if balls >= SMALL else f"{balls:.3f}"

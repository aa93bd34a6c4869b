"""A mark in the words of the trade."""

import math
from fractions import Fraction

from trainer.drills.mark import Mark
from trainer.geometry.aiming import Stroke
from trainer.geometry.meetings import Meeting, Met
from trainer.shots import saying
from trainer.shots.speeds import FAST, MEDIUM, SLOW

HAIR = 1 / 128  # balls: less than this can't be said, and hardly be played
FINE = 3 / 64  # below this parts are said in 32nds and 64ths, above it in 16ths
FORGIVES = (4, 6, 8, 12, 16, 24, 32, 48, 64, 96, 128, 192, 256, 384, 512)


def ball_part(width: float) -> str:
    """A part of a ball's width as a player says it: ``1/8 ball``, ``a hair``, in hundredths ``0.12 ball``."""
    width = abs(width)
    if width < HAIR:
        return "a hair"
    if saying.in_hundredths():
        said = saying.hundredths(width)
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


def one_over(width: float) -> str:
    """A small part of a ball as one over a round number, or in hundredths: how much a pot forgives."""
    if saying.in_hundredths():
        return saying.hundredths(width)
    width = max(abs(width), 1 / FORGIVES[-1])
    n = min(FORGIVES, key=lambda n: abs(math.log(n * width)))
    return f"1/{n}"


def thick_or_thin(error: float) -> str:
    """``1/8 ball thick``, ``a hair thin``."""
    return f"{ball_part(error)} {'thick' if error > 0 else 'thin'}"


def aimed(mark: Mark, said: str = "") -> str:
    """An aim marked: ``In, 1/32 ball thick.``, ``1/8 ball thin, past the centre.``

    ``said`` is put before what a missed one is off by.
    """
    if mark.potted:
        return "In, dead centre." if abs(mark.error) < HAIR else f"In, {thick_or_thin(mark.error)}."
    beyond = ""
    if mark.offset * mark.question.truth.offset < 0 and abs(mark.offset) > HAIR:
        beyond = ", past the centre"
    return capital(f"{said}{thick_or_thin(mark.error)}{beyond}.")


def point_name(value: float) -> str:
    """A point's name: its distance from the object ball's centre in hundredths of a ball."""
    said = beside(value)
    return said if said == "centre" else f"{said} of centre"


def beside(value: float) -> str:
    """The same in short: ``0.25 left``, ``centre``."""
    if abs(value) < 0.005:
        return "centre"
    return f"{abs(value):.2f} {'right' if value > 0 else 'left'}"


def goes(mark: Mark) -> str:
    """Where the ball goes: ``drops off the far jaw``, ``goes 41 mm wide of the pocket's middle, ...``."""
    return f"drops{off_what(mark)}" if mark.potted else where(mark)


def thrown(mark: Mark) -> str:
    """How much of the angle is throw, where it counts; else nothing."""
    if mark.question.shot.stroke is None:
        return ""
    return f" Throw is {math.degrees(mark.question.truth.throw):.1f} degrees of it."


def where(mark: Mark) -> str:
    """Where a missed ball goes: ``goes 41 mm wide of the pocket's middle, off the near jaw``."""
    if mark.met is None:
        return "misses the object ball altogether"
    return f"goes {wide(mark.miss_mm)} wide of the pocket's middle, {meets(mark.met)}"


def wide(mm: float) -> str:
    """A distance in mm or inches, or in metres or feet where it is long."""
    return saying.far(mm)


def meets(met: Meeting) -> str:
    """What the ball meets: ``off the near jaw``, ``into the top cushion``."""
    if met.met is Met.POCKET:
        return f"into the {met.which} pocket"
    if met.met is Met.BALL:
        return "into another ball"
    if met.met is Met.JAW:
        return f"off the {met.jaw} jaw" if met.jaw in ("near", "far") else f"off the {met.jaw}-hand jaw"
    return f"into the {met.which if met.which in ('baulk', 'top') else 'side'} cushion"


def off_what(mark: Mark) -> str:
    """What a ball that drops touches on its way: `` off the far jaw``, or nothing."""
    if mark.met is None or mark.met.met is Met.POCKET:
        return ""
    return f" {meets(mark.met)}" if mark.met.met is Met.JAW else " off the cushion beside the pocket"


def forgives(mark: Mark) -> str:
    """How far off a call may be: ``This pot forgives 1/24 ball.``; of a miss, to the side that it went."""
    truth, off = mark.question.truth, played_off(mark)
    thin, thick = truth.fullness - truth.margin[0], truth.margin[1] - truth.fullness
    room = (thin + thick) / 2 if mark.potted else thick if off > 0 else thin
    # Where a miss is off by what is said to be forgiven, it is off by a little more.
    ties = not mark.potted and (f"{one_over(room)} ball" == ball_part(off) or one_over(room) == one_over(off))
    return f"This pot forgives {'just under ' if ties else ''}{one_over(room)} ball."


def played_off(mark: Mark) -> float:
    """How much fuller than true the line that was played is, + thick, in ball widths of its offset."""
    return mark.question.truth.thick_by(mark.offset)


def stroke(played: Stroke) -> str:
    """How the cue ball is played: ``slow (0.67 m/s), stun``, ``1.2 m/s, natural roll``."""
    named = {SLOW: "slow", MEDIUM: "medium", FAST: "fast"}.get(played.speed)
    speed = f"{named} ({played.speed:g} m/s)" if named else f"{played.speed:g} m/s"
    said = f"{speed}, {spin(played)}"
    if not played.side_spin:
        return said
    side = "right" if played.side_spin > 0 else "left"
    return f"{said}, {abs(played.side_spin):g} of the most {side}-hand side"


def spin(played: Stroke) -> str:
    """``stun``, ``natural roll``."""
    return {0.0: "stun", 1.0: "natural roll"}.get(played.roll, f"{played.roll:g} of natural roll")


def counted(n: int, thing: str) -> str:
    """``1 day``, ``3 days``."""
    return f"{n} {thing}" if n == 1 else f"{n} {thing}s"


def capital(text: str) -> str:
    """The text with its first letter large."""
    return text[:1].upper() + text[1:]

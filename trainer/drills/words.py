"""A mark in the words of the trade, and why it is so: the construction of the shot, step by step."""

import math
from dataclasses import dataclass
from fractions import Fraction

from trainer.drills.mark import Mark
from trainer.geometry.aiming import FAST, MEDIUM, SLOW, Stroke
from trainer.geometry.fullness import EIGHTH, Kind, band_of
from trainer.geometry.meetings import Meeting, Met
from trainer.shots.style import FINEST, HAIR, Style, as_full
from trainer.shots.tolerance import TURNED_DOWN, ease
from trainer.shots.truth import Truth

KINDS = {"full": "full balls", "thinner": "cuts thinner than 1/8"}  # of bands whose name alone is no noun
MISSES, BLOCKED = "The cue ball misses the object ball.", "The cue ball meets another ball first."


def aimed(mark: Mark, style: Style, said: str = "") -> str:
    """An aim marked: ``In, 1/32 ball thick.``, ``1/8 ball thin.``, ``The wrong side: it must go left.``

    ``said`` is put before what a missed one is off by.
    """
    if mark.potted:
        return "In, dead centre." if abs(mark.error) < HAIR else f"In, {style.thick_or_thin(mark.error)}."
    truth = mark.question.truth
    if mark.offset * truth.offset < 0 and min(abs(mark.offset), abs(truth.offset)) > HAIR:
        return capital(f"{said}the wrong side, it must go {truth.side}.")
    return capital(f"{said}{style.thick_or_thin(mark.error)}.")


def point_name(value: float) -> str:
    """A point's name: its distance from the object ball's centre in hundredths of a ball."""
    said = beside(value)
    return said if said == "centre" else f"{said} of centre"


def beside(value: float, digits: int = 2) -> str:
    """The same in short: ``0.25 left``, ``centre``."""
    if is_centre(value):
        return "centre"
    return f"{abs(value):.{digits}f} {'right' if value > 0 else 'left'}"


def is_centre(value: float) -> bool:
    """Whether an offset is too small to be said."""
    return abs(value) < 0.005


def missed(mine: float, true: float) -> tuple[str, str]:
    """Where a line went and where it pots, in as many figures as tell them apart.

    ``0.44 left`` and ``it pots at 0.31 left``, ``the centre`` and ``it pots at 0.25 right``.
    """
    digits = 2 if round(mine, 2) != round(true, 2) else 3
    went = "the centre" if is_centre(mine) else beside(mine, digits)
    return went, "it pots dead centre" if is_centre(true) else f"it pots at {beside(true, digits)}"


def passes(value: float) -> str:
    """How a line of aim passes: ``0.25 of a ball to the left of the object ball's centre``."""
    if is_centre(value):
        return "through the object ball's centre"
    return f"{abs(value):.2f} of a ball to the {'right' if value > 0 else 'left'} of the object ball's centre"


def goes(mark: Mark, style: Style, ball: str = "It") -> str:
    """Where the ball goes: ``It goes in off the far jaw.``, ``It goes 41 mm wide of the pocket's ...``.

    ``ball`` begins the sentence, but where it isn't hit.
    """
    if mark.met is None:
        return BLOCKED if mark.run.stopped else MISSES
    if mark.potted:
        return f"{ball} goes in{off_what(mark)}."
    return f"{ball} goes {style.distance(mark.miss_mm)} wide of the pocket's middle, {meets(mark.met)}."


def comes_to(mark: Mark, style: Style, ball: str = "It", still: str = "", error: float | None = None) -> str:
    """The same with its size: ``It is 2 mm off at the ball, 27 mm at the pocket: off the far jaw.``

    Of a pot ``It is 1 mm off at the ball, 9 mm at the pocket, and goes in.``, or where that is nothing just
    that it goes in. ``still`` is put before that; ``error`` (ball widths) is what is off at the ball, where
    that isn't how the line of aim lies.
    """
    off = played_off(mark) if error is None else error
    if mark.met is None:
        return f"{goes(mark, style)[:-1]}: {at_ball(mark, style, off)} off."
    if mark.potted and abs(off) < HAIR:
        return f"{ball}{still} goes in{off_what(mark)}."
    size = f"{ball} is {sizes(mark, style, off)}"
    return f"{size}, and{still} goes in{off_what(mark)}." if mark.potted else f"{size}: {meets(mark.met)}."


def sizes(mark: Mark, style: Style, off: float) -> str:
    """``2 mm off at the ball, 27 mm at the pocket``."""
    return f"{at_ball(mark, style, off)} off at the ball, {style.distance(mark.miss_mm)} at the pocket"


def landed(mark: Mark, style: Style, ball: str = "It") -> str:
    """The same, with a space after it; nothing of a pot dead centre that touches nothing."""
    clean = mark.potted and not off_what(mark) and abs(played_off(mark)) < HAIR
    return "" if clean else f"{comes_to(mark, style, ball)} "


def at_ball(mark: Mark, style: Style, off: float) -> str:
    """How long so many ball widths are: ``2 mm``."""
    return style.small(abs(off) * mark.question.shot.table.ball_width)


def comes_to_as_called(mark: Mark, style: Style, ball: str) -> str:
    """The same of a name that was called and played.

    One that is wrong may pot all the same, and one that is right may be too coarse to.
    """
    if mark.right and not mark.potted:
        ball = f"Right by name, but {small(ball)}"
    return comes_to(mark, style, ball, " still" if mark.potted and not mark.right else "")


def thrown(mark: Mark) -> str:
    """How much of the angle is throw, where it counts; else nothing."""
    if mark.question.shot.stroke is None:
        return ""
    degrees = math.degrees(mark.question.truth.throw)
    return f" Throw turns the ball by {abs(degrees):.1f}°{other_way(degrees)}."


def other_way(throw: float) -> str:
    """What is said beside a throw (degrees) that goes against the cut's usual one: `` the other way``."""
    return " the other way" if round(throw, 1) < 0 else ""


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
    """What a ball that goes in touches on its way: `` off the far jaw``, or nothing."""
    if mark.met is None or mark.met.met is Met.POCKET:
        return ""
    return f" {meets(mark.met)}" if mark.met.met is Met.JAW else " off the cushion beside the pocket"


ARTICLES = {"easy": "An easy", "medium": "A medium", "hard": "A hard"}


def how_hard(mark: Mark, style: Style, forgiven: tuple[float, float] | None = None) -> str:
    """The pot in a word: ``A medium pot.``; of a miss what it forgave: ``A hard pot: it forgives 1/24 ...``

    A pot hardly ever forgives as much to thick as to thin: what counts of a miss is its own side.
    ``forgiven`` are the errors between which a call pots, ball widths, where that isn't the shot's margin.
    """
    truth, reach = mark.question.truth, mark.question.shot.table.reach
    own = tuple((end - truth.fullness) * reach for end in truth.margin)
    low, high = own if forgiven is None else forgiven
    off = played_off(mark) if forgiven is None else mark.error
    down = forgiven is None and (high - low) / 2 < TURNED_DOWN
    said = "A pot to turn down" if down else f"{ARTICLES[ease((low, high), 0.0)]} pot"
    room = high if off > 0 else -low
    if mark.potted or abs(off) < room:  # what stood in the way has nothing to do with how fine the pot is
        return f"{said}."
    forgives = f"it forgives {less_than(room, off, style)} that way."
    # Nobody who has missed wants to hear that it was easy.
    return capital(forgives) if said.endswith("easy pot") else f"{said}: {forgives}"


def less_than(room: float, off: float, style: Style) -> str:
    """What a miss was forgiven: less than it is off by, whatever the two are rounded to."""
    part, said = style.room(room), style.ball_part(off)
    if room >= FINEST and _number(part) >= _number(said):
        return f"just under {said}"
    return part


def _number(part: str) -> Fraction:
    """The number in a part of a ball: of ``1 1/4 balls`` 5/4."""
    return sum((Fraction(word) for word in part.split() if word[0].isdigit()), Fraction(0))


def played_off(mark: Mark) -> float:
    """How much fuller than true the line that was played is, + thick, in ball widths of its offset."""
    return mark.question.truth.thick_by(mark.offset)


def kind_name(kind: Kind) -> str:
    """A kind of shot inside a sentence: ``3/8 to the left``, ``full balls to the right``."""
    return f"{KINDS.get(kind.band, kind.band)} to the {kind.side}"


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


def small(sentence: str) -> str:
    """A sentence as it stands after a colon."""
    return sentence[:1].lower() + sentence[1:]


EXACT = 1e-9  # balls: what rounding may do to a sum
# What a picture may show of a shot's construction, in the order in which it is drawn.
PARTS = ("way", "touching", "aim", "offset", "fullness", "call")


@dataclass(frozen=True)
class Step:
    """One step: what it says, and which of ``PARTS`` are on the picture by then."""

    says: str
    parts: tuple[str, ...]


def construction(mark: Mark, style: Style, last: str) -> tuple[Step, ...]:
    """Line to the pocket, touching position, line of aim, offset, fullness, the call; last in numbers."""
    shot, truth = mark.question.shot, mark.question.truth
    run = math.dist(shot.cue_ball, truth.touching)
    says = (
        *touched(mark, style),
        f"So this is the line of aim, {style.length(run)} long: {turned(truth)}.",
        f"It passes {passes(truth.offset)}.",
        f"So the cue ball covers {as_full(truth.fullness)} of it, {named(truth, style)}. "
        f"{forgives(mark, style)}",
        last,
        f"{in_numbers(truth, shot.table.reach)} {pots(truth, style)}",
    )
    return steps_of(says)


def steps_of(says: tuple[str, ...]) -> tuple[Step, ...]:
    """Sentences as steps, each with one part of the picture more than the one before, while there are any."""
    return tuple(Step(text, PARTS[: k + 1]) for k, text in enumerate(says))


def turned(truth: Truth) -> str:
    """By how much the ball leaves the line of aim: ``a cut of 35.2 degrees to the left``."""
    cut = abs(math.degrees(truth.cut))
    return "dead straight" if cut < 0.05 else f"a cut of {cut:.1f} degrees to the {truth.side}"


def in_numbers(truth: Truth, reach: float) -> str:
    """For whoever wants to work it out: how the angle makes the offset, and that the fullness."""
    cut = abs(math.degrees(truth.cut))
    sine = f"sin {cut:.1f}" if abs(reach - 1) < 1e-9 else f"{reach:.3f} x sin {cut:.1f}"
    passing = f"In numbers: the line passes at {sine} = {abs(truth.offset):.2f}"
    return f"{passing}, so {covered(truth, reach)} is covered."


def touched(mark: Mark, style: Style) -> tuple[str, str]:
    """The first two steps: the line to the pocket, and where the cue ball is when it touches."""
    shot, truth = mark.question.shot, mark.question.truth
    away = math.dist(shot.object_ball, truth.target)
    line = f"The ball must go along this line, {style.length(away)} to the middle of the pocket's opening."
    behind = f"{style.length(shot.table.contact, 1)} from the object ball's"
    if not truth.throw:
        where = "on that line, on the side away from the pocket"
        return line, f"To send it there the cue ball touches it {where}: its centre is here, {behind}."
    thrown = f"Friction throws it by {abs(math.degrees(truth.throw)):.1f} degrees"
    return line, f"{thrown}, so the balls touch off that line: the cue ball's centre is here, {behind}."


def forgives(mark: Mark, style: Style) -> str:
    """``It forgives 1/48 ball thick, 1/32 ball thin: a hard pot.``"""
    truth, reach = mark.question.truth, mark.question.shot.table.reach
    thin, thick = (style.room((end - truth.fullness) * reach) for end in truth.margin)
    return (
        f"It forgives {thick} thick, {thin} thin: {ARTICLES[ease(truth.margin, truth.fullness)].lower()} pot."
    )


def played(mark: Mark, style: Style, what: str) -> str:
    """``Your call covers 0.62: 1/8 ball thick. The ball goes ...``; ``what`` was it that was played."""
    return f"{called(mark, style, what)} {goes(mark, style, 'The ball')}"


def called(mark: Mark, style: Style, what: str) -> str:
    """``Your call covers 0.62: 1/8 ball thick.``"""
    truth, off = mark.question.truth, played_off(mark)
    covers = truth.fullness + off / mark.question.shot.table.reach
    if covers > 1 + EXACT:
        said = "goes past the centre"
    elif covers < -EXACT:
        said = "passes the ball"
    else:
        said = f"covers {as_full(covers)}"
    is_off = "as it must" if abs(off) < HAIR else style.thick_or_thin(off)
    return f"{capital(what)} {said}: {is_off}."


def covered(truth: Truth, reach: float) -> str:
    """``1 - 0.55 = 0.45``; of balls of two sizes ``1 - 0.64 / 0.972 = 0.34``."""
    if abs(reach - 1) < 1e-9:
        return f"1 - {1 - float(as_full(truth.fullness)):.2f} = {as_full(truth.fullness)}"
    return f"1 - {abs(truth.offset):.2f} / {reach:.3f} = {as_full(truth.fullness)}"


def pots(truth: Truth, style: Style, what: str = "it pots") -> str:
    """``From 0.44 to 0.52 it pots.``: rounded inward, so that all that is said to pot does."""
    low, high = math.ceil(truth.margin[0] * 100 - 1e-9) / 100, math.floor(truth.margin[1] * 100 + 1e-9) / 100
    if low > high:  # next to nothing pots
        low, high = truth.margin
        return f"From {low:.4f} to {min(high, 1.0):.4f} {what}."
    if truth.margin[1] > 1.0:
        beyond = style.ball_part(truth.margin[1] - 1.0)
        return f"From {low:.2f} to full {what}, and {beyond} past the centre."
    return f"From {low:.2f} to {high:.2f} {what}."


def named(truth: Truth, style: Style) -> str:
    """``a little more than 3/8``, ``3/8``, or ``thinner than 1/8``."""
    band = band_of(truth.fullness, EIGHTH)
    if band.value < 1 / 8:
        return "thinner than 1/8"
    off = truth.fullness - band.value
    if abs(off) < HAIR:
        return band.name
    return f"{style.ball_part(off)} {'more' if off > 0 else 'less'} than {band.name}"

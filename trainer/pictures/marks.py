"""Marks: all that a picture shows besides the empty table, as one list of values that no view is needed for.

Balls, and what is laid over the shot: lines, tinted regions, spots, ghost balls, rings, labels. Places are
mm on the table. A mark says what it *means*; how that looks is said here once, in :data:`APPEARANCES`.
:func:`~trainer.pictures.projection.paint` paints a list of marks in any projection.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import Enum, auto

from trainer.pictures import colours
from trainer.pictures.colours import Colour
from trainer.shots.shot import Point, Shot


class Meaning(Enum):
    """What a mark says."""

    HELP = auto()  # before the call: the line to the pocket, a part of the cloth that is spoken of
    ASKED = auto()  # a part of the cloth that the question asks for
    CHOICE = auto()  # one of several places to choose from
    BALL = auto()  # one of several balls to choose from
    CONSIDERED = auto()  # what the player considers
    POT = auto()  # the object ball's true way, and the right one of several
    AIM = auto()  # the cue ball's true way
    OFFSET = auto()  # from the object ball's centre to the line of aim
    AFTER = auto()  # the cue ball's way after contact
    CALL = auto()  # what was called
    FIRST = auto()  # what was called standing, where the same shot is called again down on it
    REST = auto()  # after the call, the places that are neither right nor called


@dataclass(frozen=True)
class Appearance:
    """How a meaning looks: its colour, how opaque its lines are, and whether they are dashed.

    Dashes let the line below through, so that a call can be told from the truth where the two agree.
    """

    colour: Colour
    opacity: float = 1.0
    dashed: bool = False


FAINT = 0.45  # opacity of what is only considered
APPEARANCES = {
    Meaning.HELP: Appearance(colours.AMBER, FAINT),
    Meaning.ASKED: Appearance(colours.AMBER),
    Meaning.CHOICE: Appearance(colours.MARK_QUIET),
    Meaning.BALL: Appearance(colours.OBJECT_BALL),
    Meaning.CONSIDERED: Appearance(colours.TRUE_AIM, FAINT),
    Meaning.POT: Appearance(colours.AMBER, 0.9),
    Meaning.AIM: Appearance(colours.TRUE_AIM, 0.9),
    Meaning.OFFSET: Appearance(colours.MARK, 0.9),
    Meaning.AFTER: Appearance(colours.CUE_BALL, dashed=True),
    Meaning.CALL: Appearance(colours.CHALK, dashed=True),
    Meaning.FIRST: Appearance(colours.CHALK, FAINT),
    Meaning.REST: Appearance(colours.MARK_QUIET),
}
TINTS = {Meaning.HELP: 0.14, Meaning.ASKED: 0.28}  # opacity of a region


class Role(Enum):
    """Which ball it is; its value is the ball's colour."""

    CUE = colours.CUE_BALL
    OBJECT = colours.OBJECT_BALL
    OTHER = colours.OTHER_BALL


@dataclass(frozen=True)
class Ball:
    """A ball on the table."""

    at: Point
    role: Role


@dataclass(frozen=True)
class GhostBall:
    """The cue ball where it must touch the object ball, half seen through."""

    at: Point


@dataclass(frozen=True)
class Ring:
    """The cue ball's outline at a place, over everything else."""

    at: Point
    meaning: Meaning


@dataclass(frozen=True)
class Cue:
    """The cue behind the cue ball, as it lies to send it toward a place."""

    at: Point
    toward: Point


@dataclass(frozen=True)
class Line:
    """Straight lines on the cloth from point to point; of a single point nothing is seen."""

    points: Sequence[Point]
    meaning: Meaning


@dataclass(frozen=True)
class Region:
    """A convex part of the cloth, tinted; outlined where it is asked for."""

    corners: Sequence[Point]
    meaning: Meaning


@dataclass(frozen=True)
class Spot:
    """A disc on the cloth where the cue ball may lie."""

    at: Point
    meaning: Meaning


@dataclass(frozen=True)
class Label:
    """A few characters over a ball or a spot; the terminal writes them, they are never painted."""

    at: Point
    text: str
    meaning: Meaning

    @property
    def colours(self) -> tuple[Colour, Colour | None]:
        """Its colour and that of its ground; None: on what is there."""
        if self.meaning is Meaning.REST:
            return colours.MARK, None
        return colours.POCKET, APPEARANCES[self.meaning].colour


Mark = Ball | GhostBall | Ring | Cue | Line | Region | Spot | Label


def balls_of(
    shot: Shot, *, cue_ball: bool = True, object_ball: bool = True, chosen_from: Iterable[Point] = ()
) -> list[Mark]:
    """The balls of a shot where they lie.

    Parameters
    ----------
    shot : Shot
    cue_ball, object_ball : bool
        Whether this ball is on the table: one may have yet to be laid, or have dropped.
    chosen_from : iterable of (float, float)
        Object balls to choose from, mm: none of them stands out.
    """
    alike = set(chosen_from)
    found = [Ball(at, Role.OBJECT if at in alike else Role.OTHER) for at in shot.others]
    found += [Ball(shot.object_ball, Role.OBJECT)] * object_ball
    return [*found, *[Ball(shot.cue_ball, Role.CUE)] * cue_ball]


def truth_marks(
    shot: Shot, target: Point | None, way: Sequence[Point], after: Sequence[Point] = ()
) -> dict[str, Mark]:
    """What pots a shot, by the parts of its construction, in the order in which they are laid over it.

    Parameters
    ----------
    shot : Shot
    target : (float, float) or None
        Where the object ball crosses the pocket's mouth, mm; None where no pocket is called.
    way : sequence of (float, float)
        The cue ball's way, from where it lies to the touching position, mm.
    after : sequence of (float, float)
        Its way from there on, which is the first part where no pocket is called.
    """
    to_pocket = Line((shot.object_ball, target), Meaning.POT) if target else Line(after, Meaning.AIM)
    beside = shot.beside_line(way[-1])
    return {
        "way": to_pocket,
        "aim": Line(way, Meaning.AIM),
        "offset": Line((shot.object_ball, beside), Meaning.OFFSET),
        "touching": GhostBall(way[-1]),
    }


def call_marks(ways: Iterable[Sequence[Point]], touching: Point | None) -> list[Mark]:
    """What was called: the balls' ways, mm, and where the cue ball touches; None where it misses."""
    lines: list[Mark] = [Line(tuple(way), Meaning.CALL) for way in ways if len(way) > 1]
    return lines if touching is None else [*lines, Ring(touching, Meaning.CALL)]

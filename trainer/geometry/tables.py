"""Tables and ball sets. Every number stands here once, with its source."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from trainer.geometry.vectors import Floats

INCH = 25.4

POCKETS = ("baulk-left", "baulk-right", "middle-left", "middle-right", "top-left", "top-right")


@dataclass(frozen=True)
class Balls:
    """A set of balls: radii in mm, masses in grams."""

    cue_radius: float
    object_radius: float
    cue_mass: float
    object_mass: float


# Ball 52.5 mm: rules of snooker (WPBSA). Mass is not fixed by the rules; 141 g from memory.
SNOOKER_BALLS = Balls(52.5 / 2, 52.5 / 2, 141.0, 141.0)
# Ball 2.25 in, 5.5 to 6 oz: WPA equipment specifications.
POOL_BALLS = Balls(2.25 * INCH / 2, 2.25 * INCH / 2, 163.0, 163.0)
# Object ball 2 in, 116 g; cue ball 1 7/8 in, 94 g: WEPF specifications as quoted by a retailer.
SMALL_BALLS = Balls(1.875 * INCH / 2, 2.0 * INCH / 2, 94.0, 116.0)


@dataclass(frozen=True)
class Jaw:
    """The shape of a pocket's jaws, in plan.

    ``facing`` is the angle in the rubber between cushion nose and facing, degrees: how far the jaw is
    cut back. ``depth`` is how far behind the mouth the ball drops, mm along the pocket's axis (the
    shelf). ``rounding`` is the radius between cushion nose and facing, mm; 0 is a sharp nose.
    """

    facing: float
    depth: float
    rounding: float = 0.0


# How far a pocket's mouth lies turned from its cushions: a corner pocket's runs across the corner.
CORNER_TURN, MIDDLE_TURN = 45.0, 0.0


@dataclass(frozen=True)
class Table:
    """A table: playing area between the cushion noses, pocket mouths, marks on the cloth.

    Lengths in mm. ``corner`` and ``middle`` are pocket mouths from nose to nose: where the lines of
    cushion nose and facing meet, before any rounding. ``corner_jaw`` and ``middle_jaw`` say how the
    jaws go on from there. ``baulk`` is the
    distance of the baulk (head) line from the baulk cushion, ``d_radius`` the radius of the D
    (0: none), ``spots`` the spots' ``(x, y)``.
    """

    name: str
    title: str
    length: float
    width: float
    balls: Balls
    corner: float
    middle: float
    corner_jaw: Jaw
    middle_jaw: Jaw
    baulk: float
    d_radius: float
    spots: tuple[tuple[float, float], ...]

    @property
    def size(self) -> tuple[float, float]:
        """Length and width, mm."""
        return self.length, self.width

    @cached_property
    def jaws(self) -> Floats:
        """The two ends of each pocket's mouth, shape (6, 2, 2), in the order of ``POCKETS``.

        Seen from the table the first is the right-hand jaw, the second the left-hand one.
        """
        c, m = self.corner / np.sqrt(2.0), self.middle / 2.0
        length, width, mid = self.length, self.width, self.length / 2
        return np.array(
            [
                [(c, width), (0.0, width - c)],  # baulk-left
                [(0.0, c), (c, 0.0)],  # baulk-right
                [(mid + m, width), (mid - m, width)],  # middle-left
                [(mid - m, 0.0), (mid + m, 0.0)],  # middle-right
                [(length, width - c), (length - c, width)],  # top-left
                [(length - c, 0.0), (length, c)],  # top-right
            ]
        )

    @cached_property
    def discs(self) -> tuple[Floats, Floats]:
        """Centres (6, 2, 2, 2) and radii (6, 2, 2) of the discs that bound each jaw, mm.

        For each pocket and jaw (right-hand, left-hand): the rounded nose, and the inner end of the
        facing. Between them the facing runs straight, so a ball that is clear of both is clear of
        the jaw.
        """
        centres, radii = np.zeros((6, 2, 2, 2)), np.zeros((6, 2, 2))
        for k, name in enumerate(POCKETS):
            is_middle = name.startswith("middle")
            jaw = self.middle_jaw if is_middle else self.corner_jaw
            turned = np.radians(MIDDLE_TURN if is_middle else CORNER_TURN)
            mouth = self.jaws[k, 1] - self.jaws[k, 0]
            left = mouth / np.sqrt(mouth @ mouth)
            axis = np.array([-left[1], left[0]]) * -1.0  # into the pocket
            # Cushion toward the nose, then the facing, both as angles off the axis, inward.
            bend = np.pi - np.radians(jaw.facing)
            inward = np.pi / 2 - turned - bend
            for j, side in enumerate((1.0, -1.0)):
                across = side * left
                facing = axis * np.cos(inward) + across * np.sin(inward)
                nose = self.jaws[k, j]
                # The rounding touches cushion and facing; its centre is in the rubber between them.
                along = axis * np.cos(inward + bend) + across * np.sin(inward + bend)
                back = facing - along
                size = np.sqrt(back @ back)
                middle = back / size if size > 0 else -across
                centres[k, j, 0] = nose + middle * (jaw.rounding / np.cos(bend / 2))
                centres[k, j, 1] = nose + facing * (jaw.depth / np.cos(inward))
                radii[k, j, 0] = jaw.rounding
        return centres, radii

    @property
    def contact(self) -> float:
        """Distance of the centres in plan when the two balls touch, mm: ``2 sqrt(Rc Ro)``."""
        return float(2.0 * np.sqrt(self.balls.cue_radius * self.balls.object_radius))

    @property
    def reach(self) -> float:
        """The largest offset that still touches, in ball widths: ``sqrt(Rc / Ro)``."""
        return float(np.sqrt(self.balls.cue_radius / self.balls.object_radius))


def _pool(name: str, title: str, length_in: float, width_in: float) -> Table:
    length, width = length_in * INCH, width_in * INCH
    return Table(
        name=name,
        title=title,
        length=length,
        width=width,
        balls=POOL_BALLS,
        corner=4.5 * INCH,  # WPA: corner mouth 4.5 to 4.625 in
        middle=5.0 * INCH,  # WPA: side mouth 5 to 5.125 in
        # WPA: horizontal cut angle 142 degrees at the corners, 104 at the sides. Shelf 1 to 2.25 in
        # and 0 to 0.375 in: from memory.
        corner_jaw=Jaw(facing=142.0, depth=1.5 * INCH),
        middle_jaw=Jaw(facing=104.0, depth=0.2 * INCH),
        baulk=length / 4,  # head string through the head spot: from memory
        d_radius=0.0,
        spots=((length / 4, width / 2), (length * 3 / 4, width / 2)),  # from memory
    )


def _snooker() -> Table:
    # Rules of snooker (WPBSA): playing area 3569 x 1778 mm, baulk line 737 mm from the bottom
    # cushion, D radius 292 mm, black spot 324 mm from the top cushion, blue mid-table, pink midway
    # between the centre spot and the top cushion.
    length, width, baulk, d_radius = 3569.0, 1778.0, 737.0, 292.0
    centre = width / 2
    return Table(
        name="snooker",
        title="snooker, full size",
        length=length,
        width=width,
        balls=SNOOKER_BALLS,
        corner=86.0,  # templates are not public; 83 to 89 mm: from memory
        middle=104.0,  # 100 to 108 mm: from memory
        # Rounded jaws that end along the pocket's axis. Templates are not public: the radii and
        # depths are from memory and rough, a setting for a player's own table.
        corner_jaw=Jaw(facing=135.0, depth=20.0, rounding=25.0),
        middle_jaw=Jaw(facing=90.0, depth=10.0, rounding=40.0),
        baulk=baulk,
        d_radius=d_radius,
        spots=(
            (baulk, centre),
            (baulk, centre - d_radius),
            (baulk, centre + d_radius),
            (length / 2, centre),
            (length * 3 / 4, centre),
            (length - 324.0, centre),
        ),
    )


def _small_ball() -> Table:
    # Playing surface 6 x 3 ft, baulk line at a fifth of the length, pockets 85 and 95 mm: WEPF
    # specifications as quoted by a retailer (who gives the pockets as their "depth").
    length, width = 72 * INCH, 36 * INCH
    return Table(
        name="small-ball",
        title="small-ball pool, 6 x 3 ft",
        length=length,
        width=width,
        balls=SMALL_BALLS,
        corner=85.0,
        middle=95.0,
        # Rounded like snooker's; from memory and rough.
        corner_jaw=Jaw(facing=135.0, depth=20.0, rounding=25.0),
        middle_jaw=Jaw(facing=90.0, depth=10.0, rounding=30.0),
        baulk=length / 5,
        d_radius=0.0,
        spots=((length * 3 / 4, width / 2),),
    )


TABLES: dict[str, Table] = {
    table.name: table
    for table in (
        _snooker(),
        _pool("pool-9", "pool, 9 ft", 100, 50),  # WPA: 100 x 50 in
        _pool("pool-8", "pool, 8 ft", 92, 46),  # WPA: 92 x 46 in
        _pool("pool-7", "pool, 7 ft", 76, 38),  # a retailer; 78 x 39 and 74 x 37 in also exist
        _small_ball(),
    )
}

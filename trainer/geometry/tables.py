"""Tables and ball sets. Every number stands here once, with its source."""

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from trainer.geometry.aiming import Stroke
from trainer.geometry.vectors import Floats, dot, left_of, length, unit

INCH = 25.4

POCKETS = ("baulk-left", "baulk-right", "middle-left", "middle-right", "top-left", "top-right")


@dataclass(frozen=True)
class Balls:
    """A set of balls: radii in mm, masses in grams."""

    cue_radius: float
    object_radius: float
    cue_mass: float
    object_mass: float


# Ball 52.5 mm, equal within 3 g: rules of snooker (WPBSA). The mass itself is not fixed by the rules;
# 141 to 142 g: from memory.
SNOOKER_BALLS = Balls(52.5 / 2, 52.5 / 2, 141.0, 141.0)
# Ball 2.25 in, 5.5 to 6 oz (156 to 170 g): WPA equipment specifications. 163 g is the middle of that.
POOL_BALLS = Balls(2.25 * INCH / 2, 2.25 * INCH / 2, 163.0, 163.0)
# Object ball 2 in, 116 g; cue ball 1 7/8 in, 94 g: WEPF specifications as quoted by a retailer.
SMALL_BALLS = Balls(1.875 * INCH / 2, 2.0 * INCH / 2, 94.0, 116.0)
# Least and most playing surface for small-ball pool, 6 x 3 ft and 7 x 3 1/2 ft: the same. The usual
# table, also where it is called a 7 ft one, has the least: from memory.
SMALL_SURFACES = ((72 * INCH, 36 * INCH), (84 * INCH, 42 * INCH))


@dataclass(frozen=True)
class Jaw:
    """The shape of a pocket's jaws, in plan.

    ``facing`` is the angle in the rubber between cushion nose and facing, degrees: how far the jaw is
    cut back. ``depth`` is how far behind the mouth the ball drops, mm along the pocket's axis (the
    shelf); where the rounding ends deeper than that, it drops there. ``rounding`` is the radius
    between cushion nose and facing, mm; 0 is a sharp nose. With no depth and no rounding the jaws
    are points.
    """

    facing: float
    depth: float
    rounding: float = 0.0


@dataclass(frozen=True)
class Table:
    """A table: playing area between the cushion noses, pocket mouths, marks on the cloth.

    Lengths in mm. ``corner`` and ``middle`` are pocket mouths from nose to nose: where the lines of
    cushion nose and facing meet, before any rounding. ``corner_jaw`` and ``middle_jaw`` say how the
    jaws go on from there. ``baulk`` is the
    distance of the baulk (head) line from the baulk cushion, ``d_radius`` the radius of the D
    (0: none), ``spots`` the spots' ``(x, y)``. ``diamonds`` is how many steps the diamonds in the rail divide
    the length into, and half as many the width; 0: there are none. ``stroke`` is how its player means to
    play there, None where throw isn't counted; ``help`` one of ``jaws.HELPS``: which jaws a pot may
    touch.
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
    stroke: Stroke | None = None
    help: str = "both"
    diamonds: int = 0

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
    def mouths(self) -> Floats:
        """The middle of each pocket's mouth, mm, shape (6, 2)."""
        return np.asarray(self.jaws.mean(axis=1))

    @cached_property
    def discs(self) -> tuple[Floats, Floats, Floats]:
        """The shape of each jaw: centres (6, 2, 2, 2), radii (6, 2, 2), mm, and facings (6, 2, 2).

        For each pocket and jaw (right-hand, left-hand): the disc that rounds the nose, the inner end
        of the facing as a disc of no size, and the unit direction in which the facing runs straight
        from the one to the other. The disc is rubber only as far as the facing, which ends where the
        ball drops, or where the rounding ends if that is deeper.
        """
        centres, radii, facings = np.zeros((6, 2, 2, 2)), np.zeros((6, 2, 2)), np.zeros((6, 2, 2))
        for k, name in enumerate(POCKETS):
            jaw = self.middle_jaw if name.startswith("middle") else self.corner_jaw
            # Rounded, since the last bit of a sine is not the same on every machine.
            cosine, sine = (round(f(math.radians(jaw.facing)), 12) for f in (math.cos, math.sin))
            right, left = self.jaws[k]
            axis = unit(-left_of(left - right))  # into the pocket
            for j, nose in enumerate((right, left)):
                # The cushion runs from the nose along the table's edge, away from the other nose.
                on_side = nose[1] in (0.0, self.width)
                outward = np.array([0.0, 1.0] if on_side else [1.0, 0.0])
                outward = outward if dot(outward, axis) > 0 else -outward
                away = left_of(outward)
                away = away if dot(away, nose - self.jaws[k, 1 - j]) > 0 else -away
                facing = unit(away * cosine + outward * sine)
                # |facing -+ away| are twice the sine and the cosine of half the angle between them.
                into, across = facing + away, float(length(facing - away))
                rounded = jaw.rounding * float(length(into)) / across
                run = max(jaw.depth / float(dot(facing, axis)), rounded)
                centres[k, j, 0] = nose + unit(into) * (jaw.rounding * 2.0 / across)
                centres[k, j, 1] = nose + facing * run
                radii[k, j, 0], facings[k, j] = jaw.rounding, facing
        return centres, radii, facings

    @property
    def ball_width(self) -> float:
        """The object ball's, mm: what offsets and fullness are counted in."""
        return 2.0 * self.balls.object_radius

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
        # and 0 to 0.375 in: from memory. Straight facings: common practice.
        corner_jaw=Jaw(facing=142.0, depth=1.5 * INCH),
        middle_jaw=Jaw(facing=104.0, depth=0.2 * INCH),
        baulk=length / 4,  # WPA: head line and foot line mark a quarter of the table
        d_radius=0.0,  # no D: common practice
        spots=((length / 4, width / 2), (length * 3 / 4, width / 2)),  # WPA: where they cross the long line
        diamonds=8,  # WPA: they mark an eighth of the length, a quarter of the width
    )


def _snooker() -> Table:
    # Rules of snooker (WPBSA): playing area 3569 x 1778 mm, baulk line 737 mm from the bottom
    # cushion, D radius 292 mm, black spot 324 mm from the top cushion, blue mid-table, pink midway
    # between the centre spot and the top cushion, brown in the middle of the baulk line, yellow and
    # green where the D meets it.
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
        middle_jaw=Jaw(facing=90.0, depth=40.0, rounding=40.0),
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
    # Baulk line at a fifth of the length, black spot in the middle of the top half, pockets 85 and
    # 95 mm: WEPF specifications as quoted by a retailer (who gives the pockets as their "depth").
    length, width = SMALL_SURFACES[0]
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
        middle_jaw=Jaw(facing=90.0, depth=30.0, rounding=30.0),
        baulk=length / 5,
        d_radius=0.0,  # no D: from memory
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

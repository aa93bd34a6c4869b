"""A practice card: some layouts on one table, in words, and as plain characters that print on anything."""

import math
import re
import secrets
import textwrap
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from trainer.drills import words
from trainer.geometry.fullness import SIDES
from trainer.geometry.tables import POCKETS, Table
from trainer.shots.layout import WITHIN, Layout, Wanted, lay_out
from trainer.shots.places import number
from trainer.shots.played import Played, played
from trainer.shots.shot import Point
from trainer.shots.style import USUAL
from trainer.shots.truth import Truth

TRIES = 5  # boxes a layout
OUTCOMES = ("potted", "thick", "thin")  # one box of each try is ticked
# Not to be parted at the end of a line: a number, its half, and its unit.
TOGETHER = re.compile(r"(?<=\d) (?=\d/\d|mm|in\b|ball|diamond)")
LEAST_SAID = 1 / 500  # balls: less than this throw makes no difference to an aim
OFF_SAID = {"mm": "5 mm", "in": "3/16 in"}  # no more than OFF


@dataclass(frozen=True)
class Card:
    """Layouts on one table; ``unit`` (``mm`` or ``in``) is that of their numbers, ``seed`` makes it again.

    ``number`` is what its ticks come back by, None where it isn't kept; ``why`` says what it is of these
    kinds for, '' where the player chose them.
    """

    table: Table
    layouts: tuple[Layout, ...]
    unit: str
    day: str
    seed: int
    number: int | None = None
    why: str = ""

    @property
    def heading(self) -> str:
        """Table, its size between the noses, and day."""
        length, width = (number(size, self.unit) for size in self.table.size)
        return f"{self.table.title}, {length} x {width} {self.unit}, {self.day}"

    @property
    def title(self) -> str:
        """``Practice card 12``."""
        return "Practice card" if self.number is None else f"Practice card {self.number}"

    @property
    def how(self) -> list[str]:
        """How to use it, in a few sentences."""
        said = [self.why] if self.why else []
        said += [
            "Distances run from the noses of the cushions to the middle of the ball: "
            "put a small mark there and rest the ball on it.",
            "Left and right, baulk and top are as seen from baulk, the end the game begins at.",
        ]
        if self.table.diamonds:
            said.append("Diamonds (d on the plan) are counted from the corner, where the noses would meet.")
        said += [
            f"Every fullness is within 1/{round(1 / WITHIN)} ball of its name, throw counted for the pace "
            "and spin that are named. Tick one box a try: potted, missed thick (too full) or missed thin."
        ]
        if self.number is not None:
            said.append(f"Back home, trainer notebook card {self.number}: p t n p p enters the ticks.")
        return said

    def lines(self, layout: Layout) -> list[tuple[str, str]]:
        """What is said of a layout, each line with its name."""
        cut = math.degrees(abs(layout.truth.cut))
        found = played(layout.shot, layout.truth, layout.wanted.band.value)
        less = math.floor(layout.change * 1000 + 1) / 1000
        return [
            ("object ball", layout.object_ball.words),
            ("cue ball", layout.cue_ball.words),
            ("aim", aim_words(self.table, layout.wanted)),
            ("played", f"{words.stroke(found.stroke)}; {paces_words(found)}"),
            ("throw", throw_words(found, layout.truth)),
            ("forgives", forgives_words(found.forgives)),
            (
                "fullness",
                f"{layout.truth.fullness:.3f}, cut {cut:.1f} degrees; "
                f"with both balls up to {OFF_SAID[self.unit]} off it changes by less than {less:.3f}",
            ),
        ]


def new_card(
    table: Table, kinds: Sequence[Wanted], count: int, unit: str, day: str, *, seed: int | None, why: str = ""
) -> Card:
    """A card of so many layouts, the kinds taken in turn; without a seed one that nobody has seen.

    Raises
    ------
    NoSuchShot
        If there are not so many on that table.
    """
    seed = secrets.randbits(32) if seed is None else seed
    layouts = lay_out(table, kinds, count, np.random.default_rng(seed), unit)
    return Card(table, tuple(layouts), unit, day, seed, why=why)


def paces_words(found: Played) -> str:
    """At which paces an aim pots: ``pots from slow to fast``, ``pots fast, slow and medium fall short``."""
    if not found.own.reaches:
        return "the ball stops short of the pocket"
    pots = [one.name for one in found.paces if one.reaches and one.pots]
    misses = [one.name for one in found.paces if one.reaches and not one.pots]
    short = [one.name for one in found.paces if not one.reaches]
    if not pots:
        return "pots at this pace only"
    said = "pots from slow to fast" if len(pots) == len(found.paces) else f"pots {' and '.join(pots)}"
    said += f", not {' or '.join(misses)}" if misses else ""
    return said + (f", {' and '.join(short)} {'falls' if len(short) == 1 else 'fall'} short" if short else "")


def throw_words(found: Played, truth: Truth) -> str:
    """``2.9 degrees: aim 1/32 ball thinner than without``."""
    degrees = math.degrees(truth.throw)
    said = f"{abs(degrees):.1f} degrees{words.other_way(degrees)}: aim {thinner_words(found.thinner)}"
    # Without throw counted one would hit thick by so much, thin where it goes the other way.
    room = found.forgives.get("thick" if found.thinner > 0 else "thin")
    more = room is not None and abs(found.thinner) > room
    return said + (", more than the pot forgives" if more else "")


def thinner_words(thinner: float) -> str:
    """How much thinner an aim is than without throw: ``1/32 ball thinner than without``."""
    if abs(thinner) < LEAST_SAID:
        return "the same as without"
    return f"{USUAL.ball_part(thinner)} {'thinner' if thinner > 0 else 'thicker'} than without"


def forgives_words(forgives: Mapping[str, float]) -> str:
    """``1/24 ball thick, 1/32 ball thin``; of a full ball ``to the left`` and ``to the right``."""
    return ", ".join(
        f"{USUAL.one_over(room)} ball {f'to the {way}' if way in SIDES else way}"
        for way, room in forgives.items()
    )


def wrapped(said: str, letters: int, *, first: str = "", indent: str = "") -> list[str]:
    """Lines of so many letters at most, numbers and their units together; ``first`` begins the first one."""
    kept = TOGETHER.sub("\N{NO-BREAK SPACE}", said)
    lines = textwrap.wrap(
        kept, letters, initial_indent=first, subsequent_indent=indent, break_on_hyphens=False
    )
    return [line.replace("\N{NO-BREAK SPACE}", " ") for line in lines]


def aim_words(table: Table, wanted: Wanted) -> str:
    """Where the cue ball is sent: ``cue ball's centre at the object ball's right edge: half a ball``."""
    if not wanted.side:
        return "cue ball's centre at the object ball's centre: a full ball"
    side = "left" if wanted.side == "right" else "right"
    if table.reach != 1.0:
        # Balls of two sizes: no part of a ball that has a name.
        offset = (1.0 - wanted.band.value) * table.reach
        return f"cue ball's centre {offset:.2f} ball {side} of the object ball's centre"
    beside = 1 - Fraction(wanted.band.value)
    covered = f"{Fraction(wanted.band.value)} of it covered"
    half = Fraction(1, 2)
    if beside == half:
        return f"cue ball's centre at the object ball's {side} edge: half a ball"
    if beside <= half / 2:
        return f"cue ball's centre {beside} ball {side} of the object ball's centre, {covered}"
    inside, part = ("inside", half - beside) if beside < half else ("outside", beside - half)
    return f"cue ball's centre {part} ball {inside} the object ball's {side} edge, {covered}"


WIDE = 78  # columns
PLAN = (48, 12)  # columns and rows inside the cushions; a character is about twice as high as wide
CUE_BALL, BALL, POCKET, PLAYED, WAY = "C", "O", "o", "@", "."
NAMES = 13  # columns for the name of a line


def card_text(card: Card) -> str:
    """The whole card, ``WIDE`` columns at most."""
    lines = [f"{card.title}: {card.heading}", ""]
    lines += wrapped(" ".join(card.how), WIDE)
    lines += wrapped(
        f"On the plans {CUE_BALL} is the cue ball, {BALL} the object ball, {PLAYED} the pocket to play; "
        "baulk is at their left end, the left-hand cushion on top.",
        WIDE,
    )
    for nth, layout in enumerate(card.layouts, 1):
        lines += ["", *_layout(card, nth, layout)]
    again = f"The same card again: --seed {card.seed}"
    return "\n".join([*lines, "", again])


def _layout(card: Card, nth: int, layout: Layout) -> Iterator[str]:
    yield f"{nth}. {layout.wanted.name}, {layout.shot.pocket} pocket"
    for name, said in card.lines(layout):
        first = f"   {name:<{NAMES}}"
        yield from wrapped(said, WIDE, first=first, indent=" " * len(first))
    beside = _boxes()
    for i, row in enumerate(_plan(card.table, layout)):
        yield f"   {row}   {beside.get(i, '')}".rstrip()


def _boxes() -> dict[int, str]:
    """The boxes to tick, by the row of the plan that they stand beside."""
    rows = {3: " " * 7 + "".join(f" {k} " for k in range(1, TRIES + 1))}
    rows |= {4 + 2 * i: f"{name:<7}" + "[ ]" * TRIES for i, name in enumerate(OUTCOMES)}
    return rows


def _plan(table: Table, layout: Layout) -> list[str]:
    """The whole table from above, baulk on the left."""
    columns, rows = PLAN
    shot, truth = layout.shot, layout.truth
    field = [
        list(f"+{'-' * columns}+"),
        *(list(f"|{' ' * columns}|") for _ in range(rows)),
        list(f"+{'-' * columns}+"),
    ]

    def cell(point: Point) -> tuple[int, int]:
        column = min(max(int(point[0] / table.length * columns), 0), columns - 1)
        row = min(max(int((1.0 - point[1] / table.width) * rows), 0), rows - 1)
        return 1 + row, 1 + column

    for start, end in ((shot.cue_ball, truth.touching), (shot.object_ball, truth.target)):
        steps = 2 * columns
        for k in range(steps + 1):
            part = k / steps
            row, column = cell((start[0] + (end[0] - start[0]) * part, start[1] + (end[1] - start[1]) * part))
            field[row][column] = WAY
    for name in POCKETS:
        column = {"baulk": 0, "middle": (columns + 1) // 2, "top": columns + 1}[name.split("-")[0]]
        row = 0 if name.endswith("left") else rows + 1
        field[row][column] = PLAYED if name == shot.pocket else POCKET
    for point, sign in ((shot.object_ball, BALL), (shot.cue_ball, CUE_BALL)):
        row, column = cell(point)
        field[row][column] = sign
    return ["".join(row) for row in field]

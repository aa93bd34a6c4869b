"""A few shots from above beside one another, each with its number and perhaps its mark."""

from collections.abc import Sequence
from dataclasses import dataclass

from trainer.pictures.colours import Colour, linear
from trainer.pictures.marks import Line, Mark, Meaning, balls_of, truth_marks
from trainer.pictures.painted import Painted, Text
from trainer.pictures.plan import Plan
from trainer.pictures.projection import Viewport, paint
from trainer.shots.shot import Point, Shot

GAP = 1  # columns between pictures


@dataclass(frozen=True)
class Option:
    """One picture: its shot and target (mm), its label, and the label's colours, else those of the room.

    ``touching`` is where the cue ball must touch, mm, if that is to be seen.
    """

    shot: Shot
    target: Point
    label: str
    ink: Colour | None = None
    paper: Colour | None = None
    touching: Point | None = None


@dataclass(frozen=True)
class Place:
    """Where a picture lies, in cells: its label's row is ``top``, the picture is below it."""

    left: int
    top: int
    columns: int
    rows: int

    def holds(self, x: int, y: int) -> bool:
        """Whether a cell is in the picture or its label."""
        return 0 <= x - self.left < self.columns and 0 <= y - self.top < self.rows


def places(count: int, viewport: Viewport) -> list[Place]:
    """Where so many pictures lie in a viewport: in a grid that gives each the most room.

    The room that counts is a picture's shorter side. Where there is none for a picture, it has no cells.
    """
    size, best, most = viewport.size, 1, -1.0
    for across in range(1, count + 1):
        wide, high = _cell(count, across, size)
        room = min(wide, (high - 1) * viewport.cell_aspect)
        if room > most:
            best, most = across, room
    wide, high = _cell(count, best, size)
    return [Place(i % best * (wide + GAP), i // best * high, wide, high) for i in range(count)]


def _cell(count: int, across: int, size: tuple[int, int]) -> tuple[int, int]:
    down = -(-count // across)
    return max((size[0] - (across - 1) * GAP) // across, 0), size[1] // down


def painted_options(options: Sequence[Option], viewport: Viewport, *, way: bool = False) -> Painted:
    """The options in a grid, each cropped to its shot.

    Parameters
    ----------
    options : sequence of Option
        In the order of reading.
    viewport : Viewport
        1 x 1 at least.
    way : bool
        Whether the object balls' ways are shown, faintly.
    """
    scheme, texts, (across, down) = viewport.scheme, [], viewport.cell
    canvas = viewport.canvas(scheme.room)
    for option, place in zip(options, places(len(options), viewport), strict=True):
        if place.columns < 1 or place.rows < 2:
            continue
        room = Viewport((place.columns, place.rows - 1), viewport.cell_aspect, viewport.cell, scheme)
        picture = paint(Plan(option.shot, option.target, room, small=True), _marks(option, way))
        left, top = place.left * across, place.top * down
        paper = scheme.shown(option.paper or scheme.room)
        canvas.paste(picture, (top + down, left))
        canvas.pixels[top : top + down, left : left + place.columns * across] = linear(paper)
        label = option.label[: place.columns - 1]
        texts.append(Text(place.left + 1, place.top, label, option.ink or scheme.ink, paper))
    return Painted(canvas, texts)


def _marks(option: Option, way: bool) -> list[Mark]:
    """The balls of an option, and its way if it is asked for, or all that pots it."""
    shot, target = option.shot, option.target
    found = balls_of(shot)
    if option.touching is not None:
        truth = truth_marks(shot, target, (shot.cue_ball, option.touching))
        found += [truth[part] for part in ("way", "aim", "touching")]
    elif way:
        found.append(Line((shot.object_ball, target), Meaning.HELP))
    return found

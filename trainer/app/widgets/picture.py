"""A picture in cells as a widget: it is drawn anew for each size and content, and then only shown.

On a picture of a scene what is pointed at before the call is an answer.
"""

from abc import abstractmethod
from collections.abc import Callable, Sequence

import numpy as np
from textual import events
from textual.geometry import Region
from textual.message import Message
from textual.strip import Strip
from textual.widget import Widget

from trainer.app.scene import Scene
from trainer.app.textual_private import pixel_rows, pressed, rows_of, send
from trainer.drills import Choice, Question
from trainer.pictures import GlyphSet
from trainer.pictures.asked import Pictures
from trainer.pictures.colours import CLUB, Scheme
from trainer.pictures.marks import Mark
from trainer.pictures.painted import Painted, in_cells
from trainer.pictures.pixels import PixelPicture, Way, cell_drawn, pixelled
from trainer.pictures.projection import Projection, Viewport, painted
from trainer.pictures.reduced import Reduced, reduced
from trainer.pictures.terminal import USUAL_ASPECT, Depth

CLICK_SLACK = 1  # cells that the mouse may move in a click


Drawing = Callable[[Viewport], Painted]  # what fills a viewport


def drawing_of(project: Callable[[Viewport], Projection], marks: Sequence[Mark]) -> Drawing:
    """A drawing of marks in the projection that a viewport gives."""
    return lambda viewport: painted(project(viewport), marks)


class Picture(Widget):
    """Shows what a drawing makes of the widget's size in cells."""

    ALLOW_SELECT = False
    can_focus = False

    class Clicked(Message):
        """The picture was clicked at a cell."""

        def __init__(self, picture: "Picture", x: int, y: int) -> None:
            super().__init__()
            self.picture, self.x, self.y = picture, x, y

        @property
        def control(self) -> "Picture":
            """The picture."""
            return self.picture

    class Rolled(Message):
        """The wheel was turned over the picture: + away from it."""

        def __init__(self, picture: "Picture", steps: int) -> None:
            super().__init__()
            self.picture, self.steps = picture, steps

        @property
        def control(self) -> "Picture":
            """The picture."""
            return self.picture

    def __init__(self, drawing: Drawing | None = None, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._drawing = drawing
        self._shown: Reduced | PixelPicture | None = None
        self._way: Way | None = None  # to the terminal, of pixels
        self._way_of: Pictures | None = None
        self.coarse = False  # in cells for now, though pixels could be shown
        self._strips: list[Strip] = []
        self._drawn: tuple[int, int] | None = None
        self._moved = 0
        self._held: tuple[float, float] = (0, 0)

    @property
    def viewport(self) -> Viewport:
        """What of the screen it fills."""
        aspect: float = getattr(self.app, "cell_aspect", USUAL_ASPECT)
        return Viewport((self.size.width, self.size.height), aspect, scheme=self._scheme)

    @property
    def _scheme(self) -> Scheme:
        """As the screen's theme; in few colours as by night: there paper would be white, as a ball is."""
        return getattr(self.app, "scheme", CLUB) if self._depth > Depth.FEW else CLUB

    def show(self, drawing: Drawing | None) -> None:
        """Show this drawing from now on; only what differs is sent to the terminal again.

        While keys wait it isn't drawn: what they do is to be shown.
        """
        size = self.size.width, self.size.height
        known, self._drawing, self._drawn = self._drawn == size, drawing, None
        changed = self._draw(size) if known and not pressed(self.app) else None
        if changed is None:
            self.refresh()
        elif changed:
            self.refresh(*changed)

    def redraw(self) -> None:
        """Draw the same thing again, since something else about the screen has changed."""
        self._shown = None
        self._leave_way()
        self.show(self._drawing)

    def on_unmount(self) -> None:
        """No picture is left behind."""
        self._leave_way()

    def _leave_way(self) -> None:
        if self._way is not None:
            send(self.app, self._way.removed())
        self._way = None

    def _draw(self, size: tuple[int, int]) -> list[Region] | None:
        """Bring the rows up to date; what of them has changed, None for all."""
        before, self._shown, self._drawn = self._shown, None, size
        if self._drawing is None or 0 in size:
            self._strips = []
            return None
        way = self._way_for(size)
        cell = None if way is None else cell_drawn(getattr(self.app, "pixel_cell", None), size, way.scales)
        if way is not None and cell is not None:
            return self._draw_pixels(before if isinstance(before, PixelPicture) else None, size, way, cell)
        self._shown = self._in_cells()
        changed = differing(before, self._shown) if isinstance(before, Reduced) else None
        if changed is None:
            self._strips = rows_of(self._shown)
        else:
            rows = [part.y for part in changed]
            for y, row in zip(rows, rows_of(self._shown.part(rows)), strict=True):
                self._strips[y] = row
        return changed

    def _in_cells(self) -> Reduced:
        assert self._drawing is not None
        glyphs: GlyphSet = getattr(self.app, "glyphs", "quadrants")
        return reduced(in_cells(self._drawing(self.viewport), glyphs), self._depth)

    @property
    def _depth(self) -> Depth:
        return getattr(self.app, "colours", Depth.TRUE)

    def _way_for(self, size: tuple[int, int]) -> Way | None:
        """The way of this picture to a terminal that shows pixels; None where it is in cells."""
        pictures: Pictures | None = None if self.coarse else getattr(self.app, "pictures", None)
        if self._way_of is not pictures:
            self._leave_way()
            self._way_of = pictures
        if self._way is None and pictures is not None:
            self._way = pictures.way()
        return self._way if self._way is not None and self._way.can_show(size) else None

    def _draw_pixels(
        self, before: PixelPicture | None, size: tuple[int, int], way: Way, cell: tuple[int, int]
    ) -> list[Region] | None:
        """Bring the pixels to the terminal, and the rows up to date; which cells are to be written again."""
        assert self._drawing is not None
        across, down = getattr(self.app, "pixel_cell", cell)  # what is coarser is drawn in the same shape
        viewport = Viewport(size, down / across, cell, self._scheme)
        shown = pixelled(self._drawing(viewport), viewport, self._depth)
        if before is not None and (before.pixels.shape, before.size) != (shown.pixels.shape, shown.size):
            before = None
        send(self.app, way.brought(before, shown))
        self._shown = shown
        # What else asks for the screen, as who keeps a picture of it, gets cells.
        self._strips = pixel_rows(shown, way, Later(self._in_cells))
        if before is None:
            return None
        return [Region(start, y, end - start, 1) for y, start, end in way.stretches(before, shown)]

    def render_line(self, y: int) -> Strip:
        """One row of cells."""
        return self.render_lines(Region(0, y, self.size.width, 1))[0]

    def render_lines(self, crop: Region) -> list[Strip]:
        """Rows as they are: a picture has no border, and its colours are already the terminal's own."""
        size = self.size.width, self.size.height
        if self._drawn != size:
            self._draw(size)
        strips = self._strips or [Strip.blank(size[0], self.rich_style)] * size[1]
        if crop.column_span == (0, size[0]):
            return strips[crop.y : crop.bottom]
        return [strip.crop(crop.x, crop.right) for strip in strips[crop.y : crop.bottom]]

    def on_mouse_down(self, event: events.MouseDown) -> None:
        """A drag may begin."""
        self._moved, self._held = 0, (event.screen_x, event.screen_y)
        self.capture_mouse()

    def on_mouse_move(self, event: events.MouseMove) -> None:
        """It is dragged."""
        if self.app.mouse_captured is not self:
            return
        across, down = event.screen_x - self._held[0], event.screen_y - self._held[1]
        if across or down:
            self._held = event.screen_x, event.screen_y
            self._moved += int(abs(across) + abs(down))
            self.dragged(int(across), int(down), int(event.x), int(event.y))

    def on_mouse_up(self) -> None:
        """The drag ends."""
        self.release_mouse()

    def on_mouse_scroll_up(self, event: events.MouseScrollUp) -> None:
        """Closer."""
        event.stop()
        self.wheeled(-1)

    def on_mouse_scroll_down(self, event: events.MouseScrollDown) -> None:
        """Farther."""
        event.stop()
        self.wheeled(1)

    def on_click(self, event: events.Click) -> None:
        """The end of a drag is no click."""
        if self._moved <= CLICK_SLACK:
            self.clicked(event.x, event.y)

    # What the mouse means; a subclass may know better

    def clicked(self, x: int, y: int) -> None:
        """It was clicked at a cell."""
        self.post_message(self.Clicked(self, x, y))

    def wheeled(self, steps: int) -> None:
        """The wheel was turned over it: + away from it."""
        self.post_message(self.Rolled(self, steps))

    def dragged(self, across: int, down: int, x: int, y: int) -> None:
        """It was dragged by so many cells, to the cell ``x``, ``y``."""


class ScenePicture(Picture):
    """Shows the scene that it is given.

    A subclass says what is drawn of it and which answer a cell stands for. After the call a click on it
    is one like on any picture.
    """

    class Pointed(Message):
        """An answer to a question was pointed at."""

        def __init__(self, question: Question, choice: Choice) -> None:
            super().__init__()
            self.question, self.choice = question, choice

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self.scene: Scene | None = None

    def show_scene(self, scene: Scene) -> None:
        """Show this scene from now on."""
        self.scene = scene
        self.show(self.drawing(scene))

    @abstractmethod
    def drawing(self, scene: Scene) -> Drawing:
        """What is drawn of a scene."""

    def answer_at(self, scene: Scene, x: int, y: int) -> Choice | None:
        """The answer that a cell stands for before the call, if it stands for one."""
        return None

    def clicked(self, x: int, y: int) -> None:
        """Before the call it points at an answer."""
        if self.scene is None or self.scene.mark is not None:
            super().clicked(x, y)
        else:
            self._point(self.scene, x, y)

    def dragged(self, across: int, down: int, x: int, y: int) -> None:
        """A number to be set goes with the mouse; an answer is called only by a click."""
        scene = self.scene
        if scene is not None and scene.mark is None and scene.question.dial is not None:
            self._point(scene, x, y)

    def _point(self, scene: Scene, x: int, y: int) -> None:
        choice = self.answer_at(scene, x, y)
        if choice is not None:
            self.post_message(self.Pointed(scene.question, choice))


class Later:
    """A picture in cells that is drawn when a part of it is first asked for."""

    def __init__(self, draw: Callable[[], Reduced]) -> None:
        self._draw = draw
        self._drawn: Reduced | None = None

    def part(self, rows: slice | list[int], columns: slice = slice(None)) -> Reduced:
        """A part of it."""
        if self._drawn is None:
            self._drawn = self._draw()
        return self._drawn.part(rows, columns)


def differing(before: Reduced, after: Reduced) -> list[Region] | None:
    """Where two pictures differ, a stretch of each row that does; None where that can't be said."""
    if before.depth is not after.depth:
        return None
    pairs = ((before.glyphs, after.glyphs), (before.ink, after.ink), (before.paper, after.paper))
    if before.glyphs.shape != after.glyphs.shape:
        return None
    cells = np.logical_or.reduce([a != b for a, b in pairs])
    stretches = [(y, np.flatnonzero(cells[y])) for y in np.flatnonzero(cells.any(axis=1)).tolist()]
    return [Region(int(x[0]), y, int(x[-1] - x[0]) + 1, 1) for y, x in stretches]

"""A picture in cells as a widget: it is drawn anew for each size and content, and then only shown."""

from collections.abc import Sequence
from functools import lru_cache
from typing import Protocol

import numpy as np
from rich.color import Color
from rich.segment import Segment
from rich.style import Style
from textual import events
from textual.filter import ANSIToTruecolor, LineFilter
from textual.geometry import Region
from textual.message import Message
from textual.strip import Strip
from textual.widget import Widget

from trainer.app.cell_shape import USUAL
from trainer.pictures import GlyphSet
from trainer.pictures.cells import Cells

CLICK_SLACK = 1  # cells that the mouse may move in a click


class Drawing(Protocol):
    """Makes cells of a size (columns, rows) whose height is ``cell_aspect`` times their width."""

    def __call__(self, size: tuple[int, int], *, cell_aspect: float, glyphs: GlyphSet) -> Cells:
        """Draw."""
        ...


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

    class Dragged(Message):
        """The picture was dragged by so many cells."""

        def __init__(self, picture: "Picture", across: int, down: int) -> None:
            super().__init__()
            self.picture, self.across, self.down = picture, across, down

    def __init__(self, drawing: Drawing | None = None, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._drawing = drawing
        self._strips: list[Strip] = []
        self._drawn: tuple[int, int] | None = None
        self._moved = 0
        self._held: tuple[float, float] = (0, 0)

    def show(self, drawing: Drawing | None) -> None:
        """Show this drawing from now on; only rows that differ are sent to the terminal again."""
        before, size = self._strips, (self.size.width, self.size.height)
        whole = self._drawn != size or drawing is None or len(before) != size[1]
        self._drawing, self._drawn = drawing, None
        if whole:
            self.refresh()
            return
        self._draw(size)
        changed = [y for y in range(size[1]) if self._strips[y] != before[y]]
        if changed:
            self.refresh(*[Region(0, y, size[0], 1) for y in changed])

    def redraw(self) -> None:
        """Draw the same thing again, since something else about the screen has changed."""
        self.show(self._drawing)

    def _draw(self, size: tuple[int, int]) -> None:
        self._drawn = size
        cells = None
        if self._drawing is not None and 0 not in size:
            aspect: float = getattr(self.app, "cell_aspect", USUAL)
            glyphs: GlyphSet = getattr(self.app, "glyphs", "quadrants")
            cells = self._drawing(size, cell_aspect=aspect, glyphs=glyphs)
        self._strips = [] if cells is None else strips(cells)

    def get_line_filters(self) -> Sequence[LineFilter]:
        """Those of the app, less the one for the terminal's own sixteen colours: none is here."""
        return [f for f in super().get_line_filters() if not isinstance(f, ANSIToTruecolor)]

    def render_line(self, y: int) -> Strip:
        """One row of cells."""
        size = self.size.width, self.size.height
        if self._drawn != size:
            self._draw(size)
        return self._strips[y] if y < len(self._strips) else Strip.blank(size[0], self.rich_style)

    def on_mouse_down(self, event: events.MouseDown) -> None:
        """A drag may begin."""
        self._moved, self._held = 0, (event.screen_x, event.screen_y)
        self.capture_mouse()

    def on_mouse_move(self, event: events.MouseMove) -> None:
        """Say how far it is dragged."""
        if self.app.mouse_captured is not self:
            return
        across, down = event.screen_x - self._held[0], event.screen_y - self._held[1]
        if across or down:
            self._held = event.screen_x, event.screen_y
            self._moved += int(abs(across) + abs(down))
            self.post_message(self.Dragged(self, int(across), int(down)))

    def on_mouse_up(self) -> None:
        """The drag ends."""
        self.release_mouse()

    def on_mouse_scroll_up(self, event: events.MouseScrollUp) -> None:
        """Closer."""
        event.stop()
        self.post_message(self.Rolled(self, -1))

    def on_mouse_scroll_down(self, event: events.MouseScrollDown) -> None:
        """Farther."""
        event.stop()
        self.post_message(self.Rolled(self, 1))

    def on_click(self, event: events.Click) -> None:
        """Say where it was clicked; the end of a drag is no click."""
        if self._moved <= CLICK_SLACK:
            self.post_message(self.Clicked(self, event.x, event.y))


def strips(cells: Cells) -> list[Strip]:
    """Rows of run-length merged segments."""
    columns, rows = cells.size
    changes = np.ones((rows, columns), bool)
    changes[:, 1:] = (cells.ink[:, 1:] != cells.ink[:, :-1]).any(-1)
    changes[:, 1:] |= (cells.paper[:, 1:] != cells.paper[:, :-1]).any(-1)
    made = []
    for y in range(rows):
        text = "".join(cells.glyphs[y].tolist())
        starts = np.flatnonzero(changes[y]).tolist()
        ink, paper = cells.ink[y].tolist(), cells.paper[y].tolist()
        made.append(
            Strip(
                [
                    Segment(text[a:b], _style(*ink[a], *paper[a]))
                    for a, b in zip(starts, [*starts[1:], columns], strict=True)
                ],
                columns,
            )
        )
    return made


@lru_cache(maxsize=8192)
def _style(r: int, g: int, b: int, pr: int, pg: int, pb: int) -> Style:
    return Style.from_color(Color.from_rgb(r, g, b), Color.from_rgb(pr, pg, pb))

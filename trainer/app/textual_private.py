"""All that leans on what Textual keeps to itself (8.2), and what each of it gains.

Nothing else in the program touches a name of Textual's with an underscore, or a class that it may change
without a word. Each of these is a gain that one can do without; figures are for 120 x 40 cells, by
``tests/benchmarks/bench_rows.py``:

:class:`Row`
    A strip with its text ready. Ordinary strips of segments take 1.3 ms a picture instead of 0.5 ms, a third
    more bytes for a whole picture and a fifth more for a frame of a film; and Rich would bring the colours
    down to those that *it* knows the terminal for, whatever the player has chosen. All that it overrides is
    public; asked for anything else it makes its segments and is a strip like any other.
:func:`narrow`, called from ``App._display``
    A frame of a film sends only what changed: 0.8 kB instead of 1.2 kB standing, 3.6 kB instead of 3.9 kB
    down on the shot, and the more is spared the farther right a ball rolls. Without ``_display``, or with
    updates of another form, those bytes are sent and the screen is the same.
:func:`send`
    Pictures in true pixels by the terminal graphics protocol: their pixels are written beside the cells.
    Without ``_driver`` those pictures stay empty.
:func:`waiting`
    On a slow link a film leaves frames out. Without ``_writer_thread`` it sends them all, but to a browser.
:func:`pressed`
    Of keys that came in while the game was busy only the last is drawn. Without the queues each is.
:class:`FaultApp`
    What comes in from a terminal is read by :mod:`~trainer.app.textual_driver`, and what goes to a page is
    written by :mod:`~trainer.app.served_driver`. A fault of ours is said in
    one line by whoever runs the app; without these methods Textual prints its pages of code first, and the
    exit code stays 1.
"""

import sys
from collections.abc import Iterable, Sequence
from functools import lru_cache
from itertools import pairwise
from typing import Any, Protocol

import numpy as np
from rich.color import Color
from rich.color_triplet import ColorTriplet
from rich.console import Console
from rich.segment import Segment
from rich.style import Style
from textual.app import App
from textual.driver import Driver
from textual.events import Key
from textual.screen import Screen
from textual.strip import Strip

from trainer.history.errors import Damaged
from trainer.pictures.pixels import PixelPicture, Way, shown_row
from trainer.pictures.reduced import Reduced, rows
from trainer.pictures.terminal import Depth

PIECE = 8192  # bytes in a pipe: less than a frame, so that one that waits is seen


class FaultApp(App[None]):
    """An app that keeps a fault of ours for whoever runs it, and sends no more than what changed.

    ``fault`` is what ended it, damage of the history among them; None where all went well.
    """

    fault: Exception | None = None

    def get_driver_class(self) -> type[Driver]:
        """The usual one; of a terminal and of a server, ours."""
        usual = super().get_driver_class()
        if usual.__module__ == "textual.drivers.linux_driver":
            from trainer.app.textual_driver import TerminalDriver

            return TerminalDriver
        if usual.__module__ == "textual.drivers.web_driver":
            from trainer.app.served_driver import ServedDriver

            return ServedDriver
        return usual

    def _display(self, screen: Screen[Any], renderable: Any) -> None:
        narrow(renderable)
        super()._display(screen, renderable)

    def _handle_exception(self, error: Exception) -> None:
        self.fault = self.fault or error
        if isinstance(self.fault, Damaged):  # what fails after it is no news
            self.exit()
        else:
            super()._handle_exception(error)

    def _fatal_error(self) -> None:
        self.panic()

    def panic(self, *renderables: object) -> None:
        """Leave because of a fault, :attr:`fault`; without one the terminal can't be read any more."""
        self._return_code = 1
        self._close_messages_no_wait()


def send(app: App[Any], text: str) -> None:
    """Write to the terminal beside what Textual writes; nothing where there is none."""
    if app._driver is not None and text and not app.is_headless:
        app._driver.write(text)


def waiting(app: App[Any]) -> int:
    """How much of what was written is still on its way to the terminal: pieces, 0 where that isn't known."""
    try:
        return int(app._driver._writer_thread._queue.qsize())  # type: ignore[union-attr]
    except AttributeError:
        return _waiting_in_pipe() if getattr(app._driver, "is_web", False) else 0


def _waiting_in_pipe() -> int:
    """How much a server hasn't taken of what was written for its page: a pipe holds a piece or two."""
    try:
        import fcntl
        import termios

        assert sys.__stdout__ is not None
        said = fcntl.ioctl(sys.__stdout__.fileno(), termios.FIONREAD, bytes(4))
    except (ImportError, AssertionError, OSError, ValueError):  # Windows, or no pipe
        return 0
    return -(-int.from_bytes(said, sys.byteorder) // PIECE)


def pressed(app: App[Any]) -> bool:
    """Whether keys wait that the app or its screen hasn't got to; False where that isn't known."""
    try:
        queues: list[Any] = [pump._message_queue.values for pump in (app, app.screen)]
    except AttributeError:
        return False
    return any(isinstance(message, Key) for queue in queues for message in queue)


class Parts(Protocol):
    """What gives parts of a picture in cells."""

    def part(self, rows: slice | list[int], columns: slice = slice(None)) -> Reduced:
        """A part of it."""
        ...


class Row(Strip):
    """The cells of row ``y`` of a picture from column ``start`` to before ``end``.

    ``ready`` is their text, if that is made already.
    """

    __slots__ = ("_end", "_ready", "_shown", "_start", "_y")

    def __init__(self, shown: "Parts", y: int, start: int, end: int, ready: str | None = None) -> None:
        # Nothing of a strip's own yet: see __getattr__.
        self._shown, self._y, self._start, self._end, self._ready = shown, y, start, end, ready

    def __getattr__(self, name: str) -> object:
        """What a strip has of its own is made when it is first asked for."""
        if name in Row.__slots__:
            raise AttributeError(name)
        super().__init__(segments(self._cells), self.cell_length)
        return super().__getattribute__(name)

    @property
    def _cells(self) -> Reduced:
        return self._shown.part(slice(self._y, self._y + 1), slice(self._start, self._end))

    @property
    def cell_length(self) -> int:
        """Cells: one a glyph."""
        return self._end - self._start

    @property
    def text(self) -> str:
        """The glyphs."""
        return "".join(self._cells.glyphs[0].tolist())

    def render(self, console: Console) -> str:
        """The text for the terminal, whatever the console would make of segments."""
        if self._ready is None:
            self._ready = rows(self._cells)[0]
        return self._ready

    def crop(self, start: int, end: int | None = None) -> Strip:
        """The cells from ``start`` to before ``end``."""
        start = self._start + max(start, 0)
        end = self._end if end is None else min(self._start + end, self._end)
        if (start, end) == (self._start, self._end):
            return self
        return self._part(start, end) if start < end else Strip([], 0)

    def _part(self, start: int, end: int) -> "Row":
        return Row(self._shown, self._y, start, end)

    def divide(self, cuts: Iterable[int]) -> Sequence[Strip]:
        """The cells up to each cut in turn."""
        length = self.cell_length
        return [self.crop(start, end) for start, end in pairwise([0, *cuts]) if end <= length]


class PixelRow(Row):
    """The cells of a row of a picture in true pixels; as segments they are ``shown``, a picture in cells."""

    __slots__ = ("_picture", "_way")

    def __init__(self, picture: PixelPicture, way: Way, shown: "Parts", y: int, start: int, end: int) -> None:
        super().__init__(shown, y, start, end)
        self._picture, self._way = picture, way

    def render(self, console: Console) -> str:
        """What shows the pixels, and the text over them."""
        if self._ready is None:
            self._ready = shown_row(self._picture, self._y, self._start, self._end, self._way.run)
        return self._ready

    def _part(self, start: int, end: int) -> "PixelRow":
        return PixelRow(self._picture, self._way, self._shown, self._y, start, end)


def pixel_rows(picture: PixelPicture, way: Way, shown: "Parts") -> list[Strip]:
    """The rows of a picture in true pixels; parameters as in :class:`PixelRow`."""
    columns, rows = picture.size
    return [PixelRow(picture, way, shown, y, 0, columns) for y in range(rows)]


def rows_of(shown: Reduced) -> list[Strip]:
    """The rows of a picture."""
    end = shown.glyphs.shape[1]
    return [Row(shown, y, 0, end, ready) for y, ready in enumerate(rows(shown))]


def segments(shown: Reduced) -> list[Segment]:
    """The first row of a picture as styled segments, one for each run of cells in the same colours."""
    ink, paper = shown.ink[0], shown.paper[0]
    changes = np.flatnonzero((ink[1:] != ink[:-1]) | (paper[1:] != paper[:-1])) + 1
    text = "".join(shown.glyphs[0].tolist())
    bounds = pairwise([0, *changes.tolist(), len(text)])
    return [Segment(text[a:b], _style(int(ink[a]), int(paper[a]), shown.depth)) for a, b in bounds]


@lru_cache(maxsize=8192)
def _style(ink: int, paper: int, depth: Depth) -> Style:
    if depth is Depth.NONE:
        return Style.null()
    return Style.from_color(_colour(ink, depth), _colour(paper, depth))


def _colour(number: int, depth: Depth) -> Color:
    if depth is Depth.TRUE:
        return Color.from_triplet(ColorTriplet(number >> 16, number >> 8 & 255, number & 255))
    return Color.from_ansi(number)


def narrow(update: object) -> None:
    """Cut the pictures' rows of an update of the screen where what is to be shown begins.

    A ball that rolls changes a few cells in each of its rows. Textual leaves out what comes after these, but
    sends whole pieces of its rows from the one in which a span begins; so a piece is to begin there, too.
    What isn't an update of some spans, or not in the form that we know, stays as it is.
    """
    try:
        spans, pieces, ends = update.spans, update.chops, update.chop_ends  # type: ignore[attr-defined]
    except AttributeError:
        return
    for y, first, _ in spans:
        for x, end in zip(list(pieces[y]), ends[y], strict=False):
            piece = pieces[y][x]
            if x < first < end and isinstance(piece, Row):
                parts = {x: piece.crop(0, first - x), first: piece.crop(first - x)}
                pieces[y] = dict(sorted((pieces[y] | parts).items()))
                ends[y] = sorted([*ends[y], first])
                break

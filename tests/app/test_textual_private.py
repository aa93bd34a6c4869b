"""A picture's rows on a terminal: ready text and ordinary segments come to the same, cell by cell.

The terminal is pyte (https://pypi.org/project/pyte), a VT100 emulator in Python.
"""

import os
import re
import sys
from dataclasses import replace
from functools import partial
from types import SimpleNamespace
from typing import cast

import numpy as np
import pyte
import pytest
from rich.color import ColorSystem
from textual.app import App, ComposeResult
from textual.strip import Strip
from textual.widgets import Static

from trainer.app.app import TrainerApp
from trainer.app.textual_private import FaultApp, Row, narrow, rows_of, waiting
from trainer.app.widgets import picture as widget
from trainer.app.widgets.picture import Picture
from trainer.pictures.colours import MARK, RAIL
from trainer.pictures.marks import balls_of
from trainer.pictures.painted import Painted, Text, in_cells
from trainer.pictures.plan import Plan
from trainer.pictures.projection import Viewport, painted
from trainer.pictures.reduced import Reduced, reduced
from trainer.pictures.terminal import Depth
from trainer.play.game import Game
from trainer.shots.draw import draw
from trainer.shots.shot import Limits
from trainer.shots.truth import truth_of

SIZE = (60, 20)
SHOT = draw(np.random.default_rng(8), 1, Limits())[0]


def drawing(*, whole: bool):
    """The plan of a shot."""

    def draw_it(viewport: Viewport) -> Painted:
        plan = Plan(SHOT, truth_of(SHOT).target, viewport, whole=whole)
        return painted(plan, balls_of(SHOT))

    return draw_it


def ordinary(shown: Reduced) -> list[Strip]:
    """The rows as strips of segments, with nothing ready."""
    return [Strip(list(row), row.cell_length) for row in rows_of(shown)]


class Overlaid(App[None]):
    """A picture, a label that hides a part of it, and a picture beside it."""

    CSS = """
    Screen { layers: below above; layout: horizontal; }
    Picture { width: 1fr; }
    Static { layer: above; offset: 7 4; width: 11; height: 3; background: darkblue; }
    """

    def __init__(self, colours: Depth) -> None:
        super().__init__()
        self.colours = colours

    def compose(self) -> ComposeResult:
        yield Picture(drawing(whole=True), id="first")
        yield Picture(drawing(whole=False))
        yield Static("over\nthe\npicture")


def feed(app: App[None], screen: pyte.Screen, *, hooked: bool = True) -> str:
    """Write to the emulator what the app would write now, and give it back."""
    update = app.screen._compositor.render_update(screen_stack=app._background_screens)
    if hooked:
        narrow(update)
    text = update.render_segments(app.console) if update is not None else ""
    pyte.Stream(screen).feed(text.replace("\n", "\r\n"))
    return text


def shown_on(screen: pyte.Screen) -> list[tuple[str, str, str]]:
    """Character, ink and paper of each cell; a space has no ink."""
    cells = [screen.buffer[y][x] for y in range(screen.lines) for x in range(screen.columns)]
    return [(c.data, "" if c.data == " " else c.fg, c.bg) for c in cells]


async def frames(colours: Depth) -> list[list[tuple[str, str, str]]]:
    """What the emulator shows: at first, after a change, and after the label has moved."""
    app, screen, found = Overlaid(colours), pyte.Screen(*SIZE), []
    app.console._color_system = ColorSystem.TRUECOLOR  # whatever the tests run in
    async with app.run_test(size=SIZE) as pilot:
        await pilot.pause()
        app.screen._compositor._dirty_regions.add(app.screen.size.region)
        feed(app, screen)
        found.append(shown_on(screen))
        app.query_one("#first", Picture).show(drawing(whole=False))
        app.screen._compositor.update_widgets({app.query_one("#first")})
        feed(app, screen)
        found.append(shown_on(screen))
        app.query_one(Static).styles.offset = (25, 9)
        await pilot.pause()
        app.screen._compositor._dirty_regions.add(app.screen.size.region)
        feed(app, screen)
        found.append(shown_on(screen))
    return found


@pytest.mark.parametrize("colours", Depth)
async def test_ready_rows_and_segments_show_the_same(colours: Depth, monkeypatch: pytest.MonkeyPatch) -> None:
    ready = await frames(colours)
    monkeypatch.setattr(widget, "rows_of", ordinary)
    plain = await frames(colours)
    assert ready == plain
    assert ready[0] != ready[1] != ready[2]
    here = ready[0]
    inside = [here[y * SIZE[0] + x][0] for y in (4, 5, 6) for x in range(7, 18)]
    assert "".join(inside).split() == ["over", "the", "picture"]


@pytest.mark.parametrize("colours", Depth)
@pytest.mark.parametrize(
    ("first", "over"),
    [(32, 0), (35, 3), (40, 8), (51, 0)],
    ids=["before the label", "under its edge", "under it", "after it"],
)
async def test_only_what_differs_is_sent(colours: Depth, first: int, over: int) -> None:
    """Cells of the second picture change, in a row that the label lies over: it may be sent up to there."""
    y, many, label, edge = 5, 6, range(38, 49), SIZE[0] // 2
    before = Painted(drawing(whole=False)(Viewport((edge, SIZE[1]))).canvas.copy())
    after = replace(before, texts=[Text(first - edge, y, "X" * many, MARK, RAIL)])
    app, screen, anew = Overlaid(colours), pyte.Screen(*SIZE), pyte.Screen(*SIZE)
    app.console._color_system = ColorSystem.TRUECOLOR
    async with app.run_test(size=SIZE) as pilot:
        app.query_one(Static).styles.offset = (label.start, 4)
        picture = app.query(Picture).last()
        picture.show(lambda _: before)
        await pilot.pause()
        app.screen._compositor._dirty_regions.add(app.screen.size.region)
        feed(app, screen)
        picture.show(lambda _: after)
        app.screen._compositor.update_widgets({picture})
        sent = re.sub("\x1b\\[[^a-zA-Z]*[a-zA-Z]", "", feed(app, screen))
        app.screen._compositor._dirty_regions.add(app.screen.size.region)
        feed(app, anew)
    assert sent.count("X") == sum(x not in label for x in range(first, first + many))
    assert len(sent) - sent.count("X") == over
    assert shown_on(screen) == shown_on(anew)


@pytest.mark.parametrize("colours", Depth)
def test_the_terminal_shows_the_very_cells(colours: Depth) -> None:
    shown = reduced(in_cells(drawing(whole=True)(Viewport(SIZE))), colours)
    screen = pyte.Screen(*SIZE)
    pyte.Stream(screen).feed("\r\n".join(row.render(None) for row in rows_of(shown)))
    found = shown_on(screen)
    assert [c for c, _, _ in found] == shown.glyphs.ravel().tolist()
    if colours is Depth.TRUE:
        for (_, ink, paper), front, back in zip(found, shown.ink.ravel(), shown.paper.ravel(), strict=True):
            assert paper == f"{back:06x}"
            assert ink in ("", f"{front:06x}")
    elif colours is Depth.NONE:
        assert {(ink, paper) for _, ink, paper in found} <= {("default", "default"), ("", "default")}


def test_a_part_of_a_row_is_that_part() -> None:
    shown = reduced(in_cells(drawing(whole=True)(Viewport(SIZE))), Depth.TRUE)
    row = rows_of(shown)[9]
    whole = row.text
    assert len(whole) == row.cell_length == SIZE[0]
    assert row.crop(0, 99) is row
    part = row.crop(11, 40)
    assert isinstance(part, Row)
    assert (part.text, part.cell_length) == (whole[11:40], 29)
    assert part.crop(3, 9).text == whole[14:20]
    assert part.crop(-4).text == part.text
    assert not part.crop(9, 9).text
    assert [piece.text for piece in part.divide([4, 5, 29])] == [whole[11:15], whole[15:16], whole[16:40]]
    assert re.sub("\x1b[^m]*m", "", part.render(None)) == part.text
    joined = Strip.join(part.divide([4, 5, 29]))
    assert joined.text == part.text
    assert [style for _, style, _ in joined.simplify()] == [style for _, style, _ in part.simplify()]


def taken(app: TrainerApp) -> str:
    """A screenshot without the random ids in it."""
    return re.sub(r"terminal-\d+", "terminal", app.export_screenshot(simplify=True))


async def test_a_screenshot_shows_pictures(game: Game, monkeypatch: pytest.MonkeyPatch) -> None:
    async def screenshot() -> str:
        app = TrainerApp(game, game.begin(game.level("eighths", None), seed=4))
        async with app.run_test(size=(80, 24)) as pilot:
            await pilot.pause()
            return taken(app)

    ready = await screenshot()
    monkeypatch.setattr(widget, "rows_of", ordinary)
    assert ready == await screenshot()
    assert "▄" in ready


# What happens where Textual calls a hook of ours no more, or hands it something else


async def test_without_narrow_the_screen_is_the_same_and_more_is_sent() -> None:
    sent, shown = {}, {}
    for hooked in (True, False):
        app, screen = Overlaid(Depth.TRUE), pyte.Screen(*SIZE)
        app.console._color_system = ColorSystem.TRUECOLOR
        async with app.run_test(size=SIZE) as pilot:
            await pilot.pause()
            app.screen._compositor._dirty_regions.add(app.screen.size.region)
            feed(app, screen, hooked=hooked)
            picture = app.query(Picture).last()
            before = drawing(whole=False)(Viewport((SIZE[0] // 2, SIZE[1])))
            after = replace(before, texts=[Text(20, 15, "XXXX", MARK, RAIL)])
            picture.show(partial(lambda shown, _: shown, after))
            app.screen._compositor.update_widgets({picture})
            sent[hooked] = len(feed(app, screen, hooked=hooked))
        shown[hooked] = shown_on(screen)
    assert shown[True] == shown[False]
    assert sent[True] < sent[False]


@pytest.mark.parametrize("update", [None, object(), "text", replace])
def test_what_is_no_update_that_we_know_stays_as_it_is(update: object) -> None:
    narrow(update)


async def fail(app: TrainerApp) -> None:
    """Run into a fault of ours."""

    def fails() -> None:
        raise ZeroDivisionError("ours")

    async with app.run_test(size=(80, 24)) as pilot:
        app.call_later(fails)
        await pilot.pause()


async def test_a_fault_is_kept_for_whoever_runs_the_app(game: Game, capsys: pytest.CaptureFixture) -> None:
    app = TrainerApp(game)
    with pytest.raises(ZeroDivisionError):
        await fail(app)
    assert (app.return_code, type(app.fault)) == (1, ZeroDivisionError)
    assert "Traceback" not in capsys.readouterr().err


async def test_without_the_hooks_a_fault_still_ends_the_app_with_code_1(
    game: Game, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in ("_display", "_handle_exception", "_fatal_error", "panic"):
        assert hasattr(App, name)  # Textual has it still, so that ours is called
        monkeypatch.delattr(FaultApp, name)
    app = TrainerApp(game)
    with pytest.raises(ZeroDivisionError):
        await fail(app)
    assert app.return_code == 1
    assert app.fault is None  # nobody kept it: whoever runs the app has no line to say


@pytest.mark.skipif(os.name == "nt", reason="no such pipes")
def test_what_a_browser_s_server_has_not_taken_yet_is_waiting(monkeypatch: pytest.MonkeyPatch) -> None:
    app = cast(App[None], SimpleNamespace(_driver=SimpleNamespace(is_web=True)))
    ours, theirs = os.pipe()
    with open(ours, "rb", buffering=0) as server, open(theirs, "wb", buffering=0) as game:
        monkeypatch.setattr(sys, "__stdout__", game)
        assert waiting(app) == 0
        game.write(b"x" * 40_000)
        assert waiting(app) > 2
        server.read(39_999)
        assert waiting(app) == 1
    assert waiting(app) == 0  # it is closed

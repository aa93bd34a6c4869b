"""The picture's widget: what it sends again, and that it shows what is drawn."""

import pytest
from textual import events
from textual.app import App, ComposeResult
from textual.geometry import Region, Size

from trainer.app.app import TrainerApp
from trainer.app.widgets.picture import Picture
from trainer.pictures.painted import Painted, Text
from trainer.pictures.projection import Viewport
from trainer.pictures.terminal import aspect_of
from trainer.play.game import Game


def drawing(marked: int | None):
    """A drawing of grey cells, with a letter at the start of one row."""

    def draw(viewport: Viewport) -> Painted:
        assert viewport.cell_aspect == 2.0
        texts = [] if marked is None else [Text(0, marked, "▀", (255, 255, 255))]
        return Painted(viewport.canvas((40, 40, 40)), texts)

    return draw


class One(App[None]):
    def compose(self) -> ComposeResult:
        yield Picture(drawing(2))


def rows_of(app: App[None]) -> list[str]:
    return [strip.text for strip in app.screen._compositor.render_strips()]


async def test_only_what_differs_is_sent_again(monkeypatch: pytest.MonkeyPatch) -> None:
    app = One()
    async with app.run_test(size=(20, 8)) as pilot:
        await pilot.pause()
        picture = app.query_one(Picture)
        asked: list[tuple[Region, ...]] = []
        plain = Picture.refresh

        def refresh(self: Picture, *regions: Region, **how: bool) -> Picture:
            asked.append(regions)
            return plain(self, *regions, **how)

        monkeypatch.setattr(Picture, "refresh", refresh)
        picture.show(drawing(5))
        assert asked == [(Region(0, 2, 1, 1), Region(0, 5, 1, 1))]
        await pilot.pause()
        assert [row[0] for row in rows_of(app)] == [*"     ▀  "]
        asked.clear()
        picture.show(drawing(5))  # the same again: nothing to send
        assert asked == []
        picture.show(None)
        await pilot.pause()
        assert all(row == " " * 20 for row in rows_of(app))
        picture.show(drawing(0))
        await pilot.pause()
        assert rows_of(app)[0][0] == "▀"
        await pilot.resize_terminal(24, 5)
        await pilot.pause()
        assert rows_of(app)[0] == "▀" + " " * 23
        assert len(rows_of(app)) == 5


@pytest.mark.parametrize(
    ("cells", "pixels", "aspect"),
    [
        ((80, 24), (640, 384), 2.0),
        ((120, 40), (1080, 720), 2.0),
        ((100, 50), (1000, 900), 1.8),
        ((80, 24), (0, 0), None),
        ((0, 0), (640, 384), None),
        ((80, 24), (640, 38), None),
        ((80, 24), (80, 384), None),
    ],
)
def test_the_shape_of_a_cell(cells: tuple[int, int], pixels: tuple[int, int], aspect: float | None) -> None:
    found = aspect_of(cells, pixels)
    assert found == (None if aspect is None else pytest.approx(aspect))


async def test_a_terminal_that_says_its_cells_shape_gets_round_balls(game: Game) -> None:
    app = TrainerApp(game, game.begin(game.level("eighths", None), seed=4))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        picture = app.screen.query_one("#shot", Picture)
        before = [picture.render_line(y) for y in range(10)]
        size = Size(80, 24)
        app.post_message(events.Resize(size, size, size, Size(800, 408)))
        await pilot.pause()
        assert app.cell_aspect == pytest.approx(1.7)
        assert [picture.render_line(y) for y in range(10)] != before
        app.post_message(events.Resize(size, size, size, Size(800, 4)))  # nonsense changes nothing
        await pilot.pause()
        assert app.cell_aspect == pytest.approx(1.7)

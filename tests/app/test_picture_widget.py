"""The picture's widget: what it sends again, and that it shows what is drawn."""

import numpy as np
import pytest
from textual.app import App, ComposeResult
from textual.geometry import Region

from trainer.app.widgets.picture import Picture
from trainer.pictures.cells import Cells


def drawing(marked: int | None):
    """A drawing of grey cells, with a letter at the start of one row."""

    def draw(size: tuple[int, int]) -> Cells:
        cols, rows = size
        glyphs = np.full((rows, cols), " ", "<U1")
        if marked is not None:
            glyphs[marked, 0] = "▀"
        return Cells(glyphs, np.full((rows, cols, 3), 255, np.uint8), np.full((rows, cols, 3), 40, np.uint8))

    return draw


class One(App[None]):
    def compose(self) -> ComposeResult:
        yield Picture(drawing(2))


def rows_of(app: App[None]) -> list[str]:
    return [strip.text for strip in app.screen._compositor.render_strips()]


async def test_only_rows_that_differ_are_sent_again(monkeypatch: pytest.MonkeyPatch) -> None:
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
        assert asked == [(Region(0, 2, 20, 1), Region(0, 5, 20, 1))]
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

"""A practice card's ticks on the screen: a key a try, the layout after the fifth, undo, the card before."""

import pytest
from by_hand import MOSTLY_SMALL, shown, text_of
from textual.pilot import Pilot

from trainer.app.app import TrainerApp
from trainer.app.screens.card import CardScreen
from trainer.app.screens.summary import WarmedScreen
from trainer.app.screens.table import TableScreen
from trainer.geometry.tables import TABLES
from trainer.play.game import Game
from trainer.report.kept_cards import KeptCards
from trainer.report.notebook import Notebook

Cell = tuple[int, int]


async def opened(app: TrainerApp, pilot: Pilot[None]) -> None:
    """Through home and the notebook to the card."""
    await pilot.pause()
    await pilot.press("escape", "m", "k")
    await pilot.pause()
    assert isinstance(app.screen, CardScreen)


def kept(game: Game) -> list[tuple[str, str]]:
    """Layout and result of the notes that stand, from the disk."""
    return [(note.layout, note.result) for note in Notebook(game).notes]


def rows(app: TrainerApp) -> list[str]:
    return text_of(app, "#layouts").split("\n")


@pytest.mark.parametrize("size", MOSTLY_SMALL)
async def test_a_key_ticks_a_try_and_the_fifth_goes_on(game: Game, size: Cell) -> None:
    card = KeptCards(game).make(TABLES["snooker"])
    app = TrainerApp(game)
    async with app.run_test(size=size) as pilot:
        await opened(app, pilot)
        assert text_of(app, "#headline").startswith("Practice card 1   snooker, full size, made 2026-03-01")
        assert "A key a try, 5 a layout: p potted, t missed thick, n missed thin." in shown(app)
        assert rows(app)[0].startswith("\N{LEFT HALF BLOCK}  1. ")
        await pilot.press("p", "t")
        assert kept(game) == [(card[0].id, "potted"), (card[0].id, "thick")]
        assert rows(app)[0].endswith(" p t · · ·")
        await pilot.press("n", "p", "p", "t")
        assert rows(app)[0].endswith(" p t n p p")
        assert rows(app)[1].startswith("\N{LEFT HALF BLOCK}  2. ")
        assert kept(game)[-1] == (card[1].id, "thick")
        await pilot.press("u", "u")  # the last of the second, and of the first
        assert rows(app)[0].startswith("\N{LEFT HALF BLOCK}")
        assert "Taken back: potted, layout 1." in shown(app)
        assert len(kept(game)) == 4
        await pilot.press("n", "up", "n")
        assert "All 5 tries of layout 1 are ticked." in shown(app)
        assert len(kept(game)) == 5
        await pilot.press("escape")
        await pilot.pause()
        assert isinstance(app.screen, TableScreen)
        assert "5 notes" in text_of(app, "#headline")


async def test_without_a_card_one_is_made_there(game: Game) -> None:
    app = TrainerApp(game)
    async with app.run_test(size=(80, 24)) as pilot:
        await opened(app, pilot)
        assert text_of(app, "#layouts").startswith("No card was made yet: w lays one out, ")
        await pilot.press("p", "u", "k", "down")
        assert kept(game) == []
        await pilot.press("w")
        await pilot.pause()
        assert text_of(app, "#headline").startswith("Practice card 1 ")
        assert len(rows(app)) == 4
        await pilot.press("w", "p", "k")
        await pilot.pause()
        assert text_of(app, "#headline").startswith("Practice card 1 ")
        assert all(row.endswith("· · · · ·") for row in rows(app))  # the tick is the other card's
        await pilot.press("u")
        assert "The last note is no tick of this card" in shown(app)
        assert len(kept(game)) == 1


async def test_a_layout_is_chosen_by_mouse_and_said_in_words(game: Game) -> None:
    card = KeptCards(game).make(TABLES["snooker"])
    app = TrainerApp(game)
    async with app.run_test(size=(120, 40)) as pilot:
        await opened(app, pilot)
        await pilot.click("#layouts", offset=(6, 2))
        await pilot.pause()
        assert rows(app)[2].startswith("\N{LEFT HALF BLOCK}")
        said = " ".join(text_of(app, "#lies").split())
        assert f"to the {card[2].pocket} pocket. Cue ball " in said
        assert f"{card[2].object_ball[0]:.0f} mm up" in said


async def test_a_card_of_a_table_that_is_gone_says_so(game: Game, monkeypatch: pytest.MonkeyPatch) -> None:
    cards = KeptCards(game)
    cards.make(TABLES["pool-9"])
    tables = {name: table for name, table in game.shelf.tables.items() if name != "pool-9"}
    monkeypatch.setattr(game.shelf, "tables", tables)
    app = TrainerApp(game)
    async with app.run_test(size=(80, 24)) as pilot:
        await opened(app, pilot)
        assert "The table pool-9 isn't here any more." in shown(app)
        await pilot.press("p")
        assert "Not ticked: card 1 is of the table 'pool-9'" in shown(app)
        assert kept(game) == []


async def test_a_match_day_goes_from_the_warm_up_to_a_card_of_three(game: Game) -> None:
    app = TrainerApp(game, game.begin(game.level("warmup"), shots=1))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await pilot.press("5", "enter", "enter")
        await pilot.pause()
        assert isinstance(app.screen, WarmedScreen)
        await pilot.press("w")
        await pilot.pause()
        assert isinstance(app.screen, CardScreen)
        assert len(rows(app)) == 3
        await pilot.press("p", "t")
        assert [result for _, result in kept(game)] == ["potted", "thick"]

"""The table notebook on the screen: three keys a note, the mouse, the plan, undo, and what is said."""

from pathlib import Path

import pytest
from by_hand import MOSTLY_SMALL, SIZES, shown, text_of
from textual.pilot import Pilot

from trainer.app.app import TrainerApp
from trainer.app.screens.help import HelpScreen
from trainer.app.screens.home import HomeScreen
from trainer.app.screens.table import TableScreen
from trainer.app.widgets.picture import Picture
from trainer.geometry.tables import TABLES
from trainer.history.note import UNDONE, Note
from trainer.pictures.cells import ACROSS
from trainer.pictures.plan_table import mouths, place_on_whole, pocket_at, whole_frame
from trainer.pictures.projection import Viewport
from trainer.play.game import Game
from trainer.report.note_words import NAMED
from trainer.report.notebook import Notebook, Said, lay, note_words
from trainer.shots.style import USUAL

SNOOKER = TABLES["snooker"]
Cell = tuple[int, int]


async def opened(app: TrainerApp, pilot: Pilot[None]) -> None:
    """Through home to the notebook."""
    await pilot.pause()
    await pilot.press("escape", "m")
    await pilot.pause()
    assert isinstance(app.screen, TableScreen)


def kept(game: Game) -> list[str]:
    """The notes that stand, from the disk."""
    return [note_words(note, USUAL) for note in Notebook(game).notes]


def size_of(app: TrainerApp) -> tuple[int, int]:
    size = app.screen.query_one("#plan", Picture).size
    return size.width, size.height


def cell_of(app: TrainerApp, place: tuple[float, float]) -> Cell:
    """The cell of the plan that shows a place."""
    width, height = size_of(app)
    viewport = Viewport((width, height))
    return viewport.cell_at(whole_frame(SNOOKER, viewport).at(place))


async def click_plan(app: TrainerApp, pilot: Pilot[None], place: tuple[float, float]) -> None:
    await pilot.click("#plan", offset=cell_of(app, place))
    await pilot.pause()


@pytest.mark.parametrize("size", MOSTLY_SMALL)
async def test_three_keys_make_a_note(game: Game, size: Cell) -> None:
    app = TrainerApp(game)
    async with app.run_test(size=size) as pilot:
        await opened(app, pilot)
        assert "A note is three keys" in text_of(app, "#note-says")
        await pilot.press("5")
        assert "To which side was it?" in text_of(app, "#note-says")
        await pilot.press("l")
        assert "How did it go?" in text_of(app, "#note-says")
        assert kept(game) == []
        await pilot.press("t")
        assert kept(game) == ["1/2 left, thick, middle"]  # on disk at once
        assert "Noted: 1/2 to the left, missed thick, middle distance." in shown(app)
        # In any order; the distance stays as it was.
        await pilot.press("d", *"n9r", *"p1", "left", *"r2n")
        assert kept(game)[1:] == [
            "thinner right, thin, far",
            "full left, potted, far",
            "7/8 right, thin, far",
        ]
        for line in kept(game):
            assert line in shown(app)
        assert "4 notes" in text_of(app, "#headline")


async def test_a_key_pressed_again_replaces_what_was_said_and_esc_forgets_it(game: Game) -> None:
    app = TrainerApp(game)
    async with app.run_test(size=SIZES[0]) as pilot:
        await opened(app, pilot)
        await pilot.press(*"34", *"lr", "p")
        assert kept(game) == ["5/8 right, potted, middle"]
        await pilot.press("6", "escape", *"ln")
        assert kept(game) == ["5/8 right, potted, middle"]
        assert "How full did it have to be?" in text_of(app, "#note-says")
        await pilot.press("escape")
        assert isinstance(app.screen, TableScreen)
        await pilot.press("escape")
        await pilot.pause()
        assert isinstance(app.screen, HomeScreen)


async def test_the_last_notes_are_taken_back_and_nothing_is_lost(game: Game) -> None:
    app = TrainerApp(game)
    async with app.run_test(size=SIZES[0]) as pilot:
        await opened(app, pilot)
        await pilot.press("u")
        assert "There is no note to take back." in text_of(app, "#note-says")
        await pilot.press(*"5lt", *"6rn", "u")
        assert "Taken back: 3/8 to the right, missed thin, middle distance." in text_of(app, "#note-says")
        assert kept(game) == ["1/2 left, thick, middle"]
        assert "3/8 right, thin" not in text_of(app, "#notes")
        await pilot.press("u")
        assert kept(game) == []
        assert [line.result for line in game.history.notes()] == ["thick", "thin", UNDONE, UNDONE]


@pytest.mark.parametrize("size", MOSTLY_SMALL)
async def test_a_note_by_mouse(game: Game, size: Cell) -> None:
    app = TrainerApp(game)
    async with app.run_test(size=size) as pilot:
        await opened(app, pilot)

        async def click(word: str) -> None:
            rows = text_of(app, "#entry").split("\n")
            y = next(i for i, row in enumerate(rows) if f"{word} " in f"{row} ")
            await pilot.click("#entry", offset=(1 + f"{rows[y]} ".index(f"{word} "), y))
            await pilot.pause()

        for word in ("3/8", "near", "right", "missed thin"):
            await click(word)
        assert kept(game) == ["3/8 right, thin, near"]
        for word in (*list(NAMED)[::4], "left", "far", "potted"):
            await click(word)
        assert kept(game)[1:] == ["thinner left, potted, far"]


@pytest.mark.parametrize("size", MOSTLY_SMALL)
async def test_the_balls_are_laid_on_the_plan(game: Game, size: Cell) -> None:
    app = TrainerApp(game)
    ball, cue = (2900.0, 1200.0), (2000.0, 900.0)
    async with app.run_test(size=size) as pilot:
        await opened(app, pilot)
        await pilot.press("v")
        await pilot.pause()
        assert "Click where the object ball lay." in text_of(app, "#note-says")
        await click_plan(app, pilot, ball)
        assert "Click where the cue ball lay." in text_of(app, "#note-says")
        await click_plan(app, pilot, cue)
        meant = lay(SNOOKER, *[_cell_place(app, place) for place in (cue, ball)], USUAL)
        said = text_of(app, "#note-says")
        assert said.startswith(f"{meant.said.called} {meant.said.side}, ")
        assert f"mm from {meant.shot.pocket}. How did it go?" in said
        # Another pocket, clicked at its hole.
        await click_plan(app, pilot, mouths(SNOOKER)["top-right"].hole)
        assert "mm from top-right. How did it go?" in text_of(app, "#note-says")
        await pilot.press("t")
        (note,) = Notebook(game).notes
        wanted = lay(SNOOKER, *[_cell_place(app, place) for place in (cue, ball)], USUAL, "top-right").said
        assert (note.fullness, note.called, note.side) == (wanted.fullness, wanted.called, wanted.side)
        assert (note.distance, note.pocket, note.result) == (wanted.distance, "top-right", "thick")
        assert note.cue_ball == pytest.approx(cue, abs=80)
        assert note.object_ball == pytest.approx(ball, abs=80)
        # The plan is free for the next; a result may come first, too.
        await pilot.press("p")
        await click_plan(app, pilot, ball)
        await click_plan(app, pilot, cue)
        assert [one.result for one in Notebook(game).notes] == ["thick", "potted"]
        await pilot.press("v")
        await pilot.pause()
        assert not app.screen.query_one("#plan").display
        assert "potted" in text_of(app, "#notes")


def _cell_place(app: TrainerApp, place: tuple[float, float]) -> tuple[float, float]:
    x, y = place_on_whole(SNOOKER, Viewport(size_of(app)), cell_of(app, place))
    return round(x, 1), round(y, 1)


async def test_on_the_plan_what_can_not_be_is_told_and_words_take_its_place(game: Game) -> None:
    app = TrainerApp(game)
    async with app.run_test(size=SIZES[1]) as pilot:
        await opened(app, pilot)
        await pilot.press("v")
        await pilot.pause()
        await click_plan(app, pilot, (2900.0, 1200.0))
        await click_plan(app, pilot, (2900.0, 1200.0))
        assert "The balls overlap or touch" in text_of(app, "#note-says")
        await click_plan(app, pilot, (2000.0, 900.0))
        await click_plan(app, pilot, mouths(SNOOKER)["baulk-left"].hole)
        assert "would need a cut of" in text_of(app, "#note-says")
        await click_plan(app, pilot, (1000.0, 500.0))  # a new position
        assert "Click where the cue ball lay." in text_of(app, "#note-says")
        await pilot.press("escape")
        assert "Click where the object ball lay." in text_of(app, "#note-says")
        await click_plan(app, pilot, (-60.0, 700.0))  # a ball frozen to the cushion
        assert "Object ball 26 mm up from the baulk cushion" in text_of(app, "#note-says")
        await pilot.press(*"5lp")
        assert kept(game) == ["1/2 left, potted, middle"]
        assert Notebook(game).notes[0].object_ball is None
        await pilot.press("v", "escape", "escape")
        await pilot.pause()
        assert isinstance(app.screen, HomeScreen)


async def test_the_table_is_gone_through_and_kept_with_the_note(game: Game) -> None:
    app = TrainerApp(game)
    async with app.run_test(size=SIZES[0]) as pilot:
        await opened(app, pilot)
        await pilot.press("b")
        assert "pool, 9 ft" in text_of(app, "#headline")
        await pilot.press(*"5lt")
        await pilot.press(*["b"] * len(TABLES))
        assert "pool, 9 ft" in text_of(app, "#headline")
        await pilot.press("escape", "m")
        await pilot.pause()
        assert "pool, 9 ft" in text_of(app, "#headline")
        assert [note.table for note in Notebook(game).notes] == ["pool-9"]


@pytest.mark.parametrize("size", MOSTLY_SMALL)
async def test_what_the_notes_say_stands_beside_them(game: Game, size: Cell) -> None:
    book = Notebook(game)
    for i in range(31):
        book.add(Said(0.5, "1/2", "left", "far"), "thin" if i % 10 == 9 else "thick")
        book.add(Said(0.75, "3/4", "right", "far"), "thin" if i % 2 else "thick")
    app = TrainerApp(game, table=True)  # as trainer table opens it
    async with app.run_test(size=size) as pilot:
        await pilot.pause()
        assert isinstance(app.screen, TableScreen)
        said = text_of(app, "#verdicts").split("\n")
        assert said[1] == "1/2 and 3/8 left   28 thick, 3 thin, 0 potted"  # what is known comes first
        assert said[2].startswith("  You miss these thick at the table; how you see them takes")
        assert said[3] == "3/4 and 5/8 right   16 thick, 15 thin, 0 potted"
        assert "1/2 and 3/8 left   28 thick, 3 thin, 0 potted" in shown(app)
        await pilot.press("question_mark")
        await pilot.pause()
        assert isinstance(app.screen, HelpScreen)
        assert "Missed thick" in shown(app)


async def test_a_note_that_can_not_be_kept_is_told(game: Game, monkeypatch: pytest.MonkeyPatch) -> None:
    from trainer.history import TrainerError

    def full(note: Note) -> None:
        raise TrainerError("the disk is full")

    app = TrainerApp(game)
    async with app.run_test(size=SIZES[0]) as pilot:
        await opened(app, pilot)
        await pilot.press(*"5lt")
        monkeypatch.setattr(game.history, "append_note", full)
        await pilot.press(*"5ln")
        assert "Not noted: the disk is full" in text_of(app, "#note-says")
        await pilot.press("u")
        assert "Not taken back: the disk is full" in text_of(app, "#note-says")
        assert kept(game) == ["1/2 left, thick, middle"]


async def test_in_a_terminal_too_small_keys_note_nothing(game: Game) -> None:
    app = TrainerApp(game, table=True)
    async with app.run_test(size=(79, 24)) as pilot:
        await pilot.pause()
        await pilot.press(*"5lt")
        assert kept(game) == []


@pytest.mark.parametrize("name", list(TABLES))
def test_every_cell_of_the_plan_shows_the_place_it_is_drawn_at(name: str) -> None:
    table = TABLES[name]
    for size in ((80, 16), (120, 31)):
        viewport = Viewport(size, 2.1)
        view = whole_frame(table, viewport)
        for cell in ((3, 2), (40, 8), (77, 15)):
            x, y = view.at(place_on_whole(table, viewport, cell))
            assert (x / ACROSS, y / ACROSS / 2.1) == pytest.approx((cell[0] + 0.5, cell[1] + 0.5))
    for pocket, mouth in mouths(table).items():
        assert pocket_at(table, mouth.hole) == pocket
    assert pocket_at(table, (table.length / 3, table.width / 2), 100.0) is None


def test_the_notebook_is_opened_without_touching_another_folder(game: Game, tmp_path: Path) -> None:
    Notebook(game).add(Said(0.5, "1/2", "left", "far"), "thick")
    assert {file.name.split("-")[0] for file in (tmp_path / "data").iterdir()} == {"history.sqlite3"}

"""Shots called standing, then again down on them, by the keys: what is said, what is shown, and when."""

from pathlib import Path

import pytest
from by_hand import MOSTLY_SMALL, begun, playing, shown, text_of

from trainer.app.app import TrainerApp
from trainer.app.screens.help import HelpScreen
from trainer.app.screens.progress import ProgressScreen
from trainer.app.screens.summary import SummaryScreen
from trainer.app.widgets.play import Inset, _hit
from trainer.drills import DRILLS
from trainer.pictures.marks import Line, Meaning
from trainer.play.game import Game
from trainer.play.routine import Routine
from trainer.settings.settings import Settings

LEVEL = "choose-standing"


def lines(app: TrainerApp, meaning: Meaning) -> list[Line]:
    """What of the large picture's lines has a meaning, and can be seen."""
    marks = playing(app).scene.marks
    return [m for m in marks if isinstance(m, Line) and m.meaning is meaning and len(m.points) > 1]


@pytest.mark.parametrize("size", MOSTLY_SMALL)
async def test_chosen_standing_trusted_down(game: Game, size: tuple[int, int]) -> None:
    async with begun(game, LEVEL, size, shots=4) as (app, pilot):
        assert text_of(app, "#ask") == (
            "Standing: slide the line of aim to where it pots.  You get down on it next."
        )
        assert "shot 1 of 2, standing" in shown(app)
        assert playing(app).scene.view == "standing"
        await pilot.press("enter")  # a line begins anywhere, and isn't called before it is moved
        assert playing(app).scene.look == "standing"
        await pilot.press("7", "left")
        chosen = playing(app).scene.considered
        assert chosen is not None
        await pilot.press("enter")
        await pilot.pause()
        screen = playing(app)
        assert screen.mark is None
        assert screen.scene.view == "down"
        assert "shot 1 of 2, down" in shown(app)
        assert text_of(app, "#ask") == f"Down: trust it or change it.  You chose {chosen.name}."
        assert f"enter trust {chosen.name}" in shown(app)
        assert screen.scene.considered == chosen
        assert len(lines(app, Meaning.FIRST)) == 1
        assert _hit(screen.scene).first == chosen.value
        await pilot.press("enter")  # trusted as it is
        await pilot.pause()
        assert screen.mark is not None
        assert "shot 1 of 2, both looks" in shown(app)
        said = text_of(app, "#ask")
        assert said[2:].startswith("Standing ")
        assert ", down " in said
        assert text_of(app, "#told").startswith(("You trusted it: well chosen.", "Both alike: "))
        assert [a.view for a in game.history.attempts()] == ["standing", "down"]
        assert len(lines(app, Meaning.FIRST)) == 1
        await pilot.press("space")
        await pilot.pause()
        assert "shot 2 of 2, standing" in shown(app)
        assert not lines(app, Meaning.FIRST)


async def test_nothing_shown_before_the_second_call_tells_the_truth_of_the_first(game: Game) -> None:
    """Whether the first call was right or wrong, the screen says the same, but for what was chosen."""
    said = []
    for error in (0.0, 0.2):
        async with begun(game, LEVEL, shots=2) as (app, pilot):
            screen = playing(app)
            question = screen.question
            choice = DRILLS[question.drill].answer(question, error)
            screen._consider(choice)
            await pilot.press("enter")
            await pilot.pause()
            scene = screen.scene
            assert (scene.mark, scene.pair, scene.steps) == (None, None, ())
            told = {Meaning.POT, Meaning.AIM, Meaning.OFFSET, Meaning.CALL, Meaning.AFTER}
            assert not [mark for mark in scene.marks if getattr(mark, "meaning", None) in told]
            hit = _hit(scene)
            assert (hit.true, hit.called) == (None, None)
            assert not screen.query_one("#told").display
            assert screen.board.film is None
            assert "Why?" not in shown(app)
            texts = [text_of(app, part) for part in ("#title", "#run", "#ask", "#note")]
            said.append([text.replace(choice.name, "") for text in texts])
            assert screen.played.rights == []
        game.undo()
    assert said[0] == said[1]
    assert "●" not in str(said)
    assert said[0][1] == "right in a row ○○○○○"


async def test_changed_down_both_lines_and_the_true_one_are_shown(game: Game) -> None:
    async with begun(game, LEVEL, shots=2) as (app, pilot):
        await pilot.press("7", "enter", "down", "down", "enter")
        await pilot.pause()
        scene = playing(app).scene
        assert scene.pair is not None
        assert scene.pair.changed
        first, called = lines(app, Meaning.FIRST), lines(app, Meaning.CALL)
        true = lines(app, Meaning.AIM)
        assert len(first) == len(true) == 1
        assert first[0].points == scene.pair.standing.run.before
        assert scene.pair.down.run.before in [line.points for line in called]
        hit = _hit(scene)
        assert hit.first == scene.pair.standing.offset
        assert hit.called == scene.pair.down.offset != hit.first
        assert hit.true is not None
        assert text_of(app, "#told").startswith(scene.pair.lesson)
        await pilot.press("y")  # while it is explained the calls come last
        assert not lines(app, Meaning.FIRST)
        assert playing(app).query_one(Inset).scene is not None


async def test_in_a_row_of_points_the_chosen_one_is_marked(game: Game) -> None:
    game.routine = True
    async with begun(game, None, drill="aim", shots=2) as (app, pilot):
        assert text_of(app, "#ask").startswith("Standing: where do you send the cue ball's centre?")
        await pilot.press("3")
        await pilot.pause()
        scene = playing(app).scene
        assert text_of(app, "#ask") == "Down: trust it or change it.  You chose 3."
        assert scene.considered == scene.question.choices[2]
        assert _hit(scene).selected == 2
        await pilot.press("enter")
        await pilot.pause()
        assert playing(app).mark is not None
        one, other = game.history.attempts()
        assert one.value == other.value
        assert one.choices == other.choices


async def test_taken_back_between_the_looks(game: Game) -> None:
    async with begun(game, LEVEL, shots=4) as (app, pilot):
        assert "u Undo" not in shown(app)
        await pilot.press("7", "enter")
        await pilot.pause()
        assert "u Undo" in shown(app)
        await pilot.press("u")
        await pilot.pause()
        assert playing(app).scene.look == "standing"
        assert "Taken back: your last call counts for nothing." in shown(app)
        assert game.history.count() == 0
        assert not lines(app, Meaning.FIRST)


async def test_left_between_the_looks_it_goes_on_with_the_second(game: Game) -> None:
    level = game.level(LEVEL)
    app = TrainerApp(game, game.begin(level))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await pilot.press("7", "enter")
        await pilot.pause()
        chosen = playing(app).scene.chosen
        await pilot.press("escape")
        await pilot.pause()
        app.play_level(level)
        await pilot.pause()
        scene = playing(app).scene
        assert (scene.look, scene.chosen, scene.mark) == ("down", chosen, None)


async def test_the_end_of_a_set_says_how_often_they_agreed(game: Game) -> None:
    async with begun(game, LEVEL, shots=4) as (app, pilot):
        await pilot.press("7", "enter", "enter", "space", "7", "enter", "down", "enter", "space")
        await pilot.pause()
        assert isinstance(app.screen, SummaryScreen)
        assert "Standing and down agreed within 1/32 ball in 1 of 2 shots; " in " ".join(shown(app).split())
        app.show_page("progress")
        await pilot.pause()
        assert isinstance(app.screen, ProgressScreen)
        assert "Standing, then down: 8 more shots called twice" in str(app.screen._text(10))


async def test_help_says_what_it_is_for(game: Game) -> None:
    async with begun(game, LEVEL, (120, 40), shots=4) as (app, pilot):
        await pilot.press("question_mark")
        await pilot.pause()
        assert isinstance(app.screen, HelpScreen)
        assert "Here each shot is called twice, as a line is chosen standing" in " ".join(shown(app).split())


async def test_the_setting_makes_sets_go_so_and_others_not(game: Game, tmp_path: Path) -> None:
    app = TrainerApp(game, settings=Settings(routine="on"))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        assert not isinstance(playing(app).played, Routine)  # the first look
        for name, twice in (("eighths", True), ("standing-only", False), ("warmup", False)):
            app.play_level(game.level(name))
            await pilot.pause()
            assert isinstance(playing(app).played, Routine) == twice
        app.use_settings(Settings())
        app.play_level(game.level(None, "slide"))
        await pilot.pause()
        assert not isinstance(playing(app).played, Routine)


@pytest.mark.parametrize("drill", [name for name, drill in DRILLS.items() if drill.looked_at_twice])
async def test_every_drill_says_what_to_do_within_its_row(game: Game, drill: str) -> None:
    game.routine = True
    async with begun(game, None, drill=drill, shots=2) as (app, pilot):
        prompt = playing(app).question.prompt
        asked = text_of(app, "#ask")
        assert asked in shown(app)
        assert prompt[1:] in asked
        assert asked.startswith("Standing: ") or len(prompt) > 67
        await pilot.press("1", "enter") if playing(app).question.dial else await pilot.press("1")
        await pilot.pause()
        asked = text_of(app, "#ask")
        assert asked.startswith("Down: trust it or change it.  You chose ")
        assert asked in shown(app)
        await pilot.press("enter")
        await pilot.pause()
        assert text_of(app, "#ask")[2:].startswith("Standing ")

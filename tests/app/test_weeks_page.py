"""The page of weeks on the screen: all of it is there at every size and in any number of colours."""

from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest
from by_hand import shown, text_of

from trainer.app.app import TrainerApp
from trainer.app.screens.home import HomeScreen
from trainer.app.screens.weeks import WeeksScreen
from trainer.drills import DRILLS
from trainer.history.clock import FixedClock, short_date
from trainer.history.store import History
from trainer.history.streaks import RULE
from trainer.levels.shelf import open_shelf
from trainer.pictures.terminal import Depth
from trainer.play.game import Game
from trainer.play.measure import measures_of
from trainer.simulate.demo import DayClock, Diary, write_history
from trainer.simulate.players import Nature

UNTIL = "2026-04-20T09:00:00+00:00"


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> Path:
    shelf, clock = open_shelf(), FixedClock(UNTIL)
    folder, level = tmp_path_factory.mktemp("weeks") / "data", shelf.find("eighths")
    given = {"until": clock.now(), "days": 42, "shots": 2, "seed": 1, "level": level}
    write_history(folder, shelf, Nature(), diary=Diary(frozenset({27})), **given)
    return folder


@pytest.fixture
def played(kept: Path) -> Iterator[Game]:
    with History.open(kept, FixedClock(UNTIL)) as history:
        yield Game(history, open_shelf())


@pytest.mark.parametrize(
    ("size", "colours"),
    [
        ((80, 24), Depth.NONE),
        ((120, 40), Depth.TRUE),
        *(pytest.param(size, Depth.NONE, marks=pytest.mark.slow) for size in ((120, 40), (200, 60))),
        *(pytest.param(size, Depth.TRUE, marks=pytest.mark.slow) for size in ((80, 24), (200, 60))),
    ],
)
async def test_weeks_are_told_in_full_at_every_size(
    played: Game, size: tuple[int, int], colours: Depth
) -> None:
    app = TrainerApp(played, colours=colours)
    async with app.run_test(size=size) as pilot:
        await pilot.pause()
        await pilot.press("w")
        await pilot.pause()
        assert isinstance(app.screen, WeeksScreen)
        said = shown(app)
        words = " ".join(said.split())
        assert "Weeks 82 calls on 41 days" in words
        assert "41 days in a row, 1 missed day forgiven." in words
        assert RULE in words
        for monday in ("16 Mar", "23 Mar", "30 Mar", " 6 Apr", "13 Apr", "20 Apr"):
            row = next(line for line in said.splitlines() if monday in line)
            assert row.count("2") >= 7 or monday == "20 Apr"
        assert "~" in said
        assert "now" in said
        assert "What has changed" in said
        assert ("░" in said) == (colours is Depth.NONE)
        assert all(len(line) <= size[0] for line in said.splitlines())
        page = app.screen.query_one("#page")
        assert page.max_scroll_y == 0
        assert text_of(app, "#weeks").count("\n") < size[1]
        await pilot.press("escape")
        await pilot.pause()
        assert isinstance(app.screen, HomeScreen)


async def test_a_terminal_that_grows_shows_more(played: Game) -> None:
    app = TrainerApp(played)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await pilot.press("w")
        await pilot.pause()
        before = text_of(app, "#weeks")
        assert "±" not in before
        await pilot.resize_terminal(120, 40)
        await pilot.pause()
        assert text_of(app, "#weeks").count("\n") > before.count("\n")


async def test_a_new_player_has_an_empty_calendar(game: Game) -> None:
    app = TrainerApp(game)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await pilot.press("escape", "w")
        await pilot.pause()
        said = " ".join(shown(app).split())
        assert "days in a row begin to count" in said
        assert "Too early to compare: look again in 4 days." in said


@pytest.mark.parametrize("key", ["p", "w"])
async def test_the_report_is_kept_as_a_page(game: Game, key: str) -> None:
    app = TrainerApp(game, game.begin(game.shelf.levels[0]))
    target = game.history.file.parent / "report-2026-03-01.html"
    async with app.run_test(size=(120, 40), notifications=True) as pilot:
        await pilot.pause()
        await pilot.press("1", "escape", key)
        await pilot.pause()
        await pilot.press("k")
        await pilot.pause()
        assert target.name in "".join(shown(app).split())
        assert "1 call on 1 day" in target.read_text(encoding="utf-8")
        target.unlink()
        target.mkdir()
        await pilot.press("k")
        await pilot.pause()
        assert "Not written" in shown(app)


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
async def test_the_weekly_measures_are_a_chart_and_begin_from_here(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    rng, clock = np.random.default_rng(1), DayClock(FixedClock(UNTIL).now())
    with History.open(tmp_path, clock) as history:
        game = Game(history, open_shelf())
        for week in range(3):
            clock.set(date(2026, 3, 30) + timedelta(days=7 * week), 9.0)
            played = game.begin(game.level("measure"), seed=week)
            while not played.done:
                question = played.question()
                played.call(DRILLS[question.drill].answer(question, float(rng.normal(0.0, 0.04))))
        app = TrainerApp(game)
        async with app.run_test(size=size) as pilot:
            await pilot.pause()
            await pilot.press("escape", "w")
            await pilot.pause()
            said = text_of(app, "#weeks")
            for mine in measures_of(history):
                day = short_date(mine.day)
                (row,) = [line for line in said.splitlines() if line.startswith(day) and " of 24" in line]
                assert f"{mine.potted} of 24" in row
                assert row.index("│") < row.index("─") < row.index("●") < row.rindex("─") < size[0]
            assert "1 more week, and a change can be told." in said
            await pilot.press("e")
            await pilot.pause()
            assert "Weekly measure" in shown(app)
            assert "shot 1 of 24" in " ".join(shown(app).split())

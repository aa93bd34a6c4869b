"""What is known of a player without going through all calls: the same as if one did."""

import json
import math
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from calendar_at_once import calendar
from passed import is_passed

from trainer.drills import DRILLS
from trainer.history.clock import Clock, FixedClock
from trainer.history.exchange import export, import_
from trainer.history.store import History
from trainer.history.streaks import best_run
from trainer.levels.level import Pass
from trainer.levels.shelf import Shelf, open_shelf
from trainer.play import player_model
from trainer.play.game import Game
from trainer.play.passing import Passing
from trainer.play.player_model import MOST, NAME, SIGHTED, WORTH_KEEPING, PlayerModel, built
from trainer.play.set_in_play import SetInPlay
from trainer.report.report import report
from trainer.report.weeks import calendar_of
from trainer.simulate.demo import Diary, write_history
from trainer.simulate.players import Bump, Nature

UNTIL = "2026-04-20T12:00:00+00:00"
SHELF = open_shelf()
Opened = Callable[[Path], Game]


@pytest.fixture(scope="module")
def weeks(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Twenty days of a player on the path, with two days off."""
    folder = tmp_path_factory.mktemp("known")
    given = {"until": FixedClock(UNTIL).now(), "days": 20, "shots": 12, "seed": 3, "level": None}
    diary = Diary(frozenset({6, 15}))
    write_history(folder, SHELF, Nature(noise=0.04, bumps=(Bump(30.0, 0.1),)), diary=diary, **given)
    return folder


@pytest.fixture
def folder(weeks: Path, tmp_path: Path) -> Path:
    copy = tmp_path / "weeks"
    copy.mkdir()
    for file in weeks.glob("history*"):
        (copy / file.name).write_bytes(file.read_bytes())
    return copy


@pytest.fixture
def opened(opening: Callable[[Path, Clock], Game]) -> Opened:
    return lambda folder: opening(folder, FixedClock(UNTIL))


def anew(game: Game) -> PlayerModel:
    return built(game.history)


def plain(model: PlayerModel) -> object:
    return json.loads(json.dumps(model.plain()))


def play(played: SetInPlay, shots: int, seed: int = 1) -> None:
    rng = np.random.default_rng(seed)
    for _ in range(shots):
        question = played.question()
        drill = DRILLS[question.drill]
        played.call(drill.answer(question, float(rng.normal(0.02, 0.05))), 2.0)


@pytest.fixture
def anew_counted(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """How often the model was made anew."""
    times = list[int]()

    def counting(*args: object) -> PlayerModel:
        times.append(1)
        return built(*args)  # type: ignore[arg-type]

    monkeypatch.setattr(player_model, "built", counting)
    return times


def test_call_by_call_it_comes_to_the_same_as_all_at_once(game: Game) -> None:
    for name in DRILLS:
        play(game.begin(game.level(None, name), shots=7, seed=1), 7)
        play(game.begin(game.level("eighths"), shots=3, seed=1), 3)
    assert plain(game.model) == plain(anew(game))


def test_what_was_kept_is_read_and_what_came_after_taken_in(
    folder: Path, opened: Opened, anew_counted: list[int]
) -> None:
    first = opened(folder)
    there = len(anew_counted)
    play(first.begin(first.level("eighths"), seed=5), 7)
    first.history.close()
    again = opened(folder)
    assert len(anew_counted) == there
    assert plain(again.model) == plain(first.model) == plain(anew(again))
    assert [a.id for a in again.attempts] == [a.id for a in again.history.attempts()][-len(again.attempts) :]


def test_the_counts_are_those_of_plain_loops(folder: Path, opened: Opened) -> None:
    game = opened(folder)
    attempts = game.history.attempts()
    game.history.undo(attempts.pop(40).id)
    days, longest = game.history.day_counts()
    assert game.model.last_id == attempts[-1].id
    assert len(attempts) == game.history.count() == 18 * 12 - 1
    assert longest == best_run([a.potted for a in attempts])
    assert [each.day for each in days] == game.history.days() == sorted({a.local_day for a in attempts})
    for each in days:
        mine = [a for a in attempts if a.local_day == each.day]
        rights, pots = [a.right for a in mine], [a.potted for a in mine]
        assert (each.calls, each.right, each.potted) == (len(mine), sum(rights), sum(pots))
        assert (each.best_run, each.best_run_of_pots) == (best_run(rights), best_run(pots))
        assert game.history.count(each.day) == len(mine)
    for level in SHELF.levels:
        mine = [a for a in attempts if a.level == level.name and a.drill in level.drills]
        assert game.passed(level) == is_passed(level, [a.right for a in mine])


def test_another_program_that_takes_back_or_adds_is_noticed(
    folder: Path, opened: Opened, anew_counted: list[int]
) -> None:
    game = opened(folder)
    game._kept.keep(0)
    game.history.undo(game.history.attempts()[-3].id)
    game.history.close()
    before = len(anew_counted)
    again = opened(folder)
    assert len(anew_counted) == before + 1
    assert again.history.count() == 18 * 12 - 1
    assert plain(again.model) == plain(anew(again))


def test_calls_from_before_that_are_imported_are_noticed(
    folder: Path, opened: Opened, tmp_path: Path
) -> None:
    game = opened(folder)
    export(game.history, tmp_path / "all.csv")
    with History.open(tmp_path / "other", FixedClock("2026-05-01T12:00:00+00:00")) as history:
        other = Game(history, SHELF)
        play(other.begin(other.level(None), seed=1), 20)
        play(other.begin(other.level(None), shots=WORTH_KEEPING, seed=1), WORTH_KEEPING)
        other.begin(other.level("eighths"))
        assert history.get_snapshot(NAME) is not None
        import_(history, tmp_path / "all.csv")
        assert history.get_snapshot(NAME) is None
        again = Game(history, SHELF)
        assert again.history.count() == 18 * 12 + 20 + WORTH_KEEPING
        assert plain(again.model) == plain(anew(again))


@pytest.mark.parametrize(
    "change",
    [
        "UPDATE snapshots SET text = '[]'",
        "UPDATE snapshots SET text = substr(text, 1, 100)",
        "DELETE FROM snapshots",
    ],
)
def test_what_is_spoilt_is_made_anew(
    folder: Path, opened: Opened, change: str, anew_counted: list[int]
) -> None:
    game = opened(folder)
    game._kept.keep(0)
    with game.history._writing() as db:
        db.execute(change)
    before = len(anew_counted)
    again = opened(folder)
    assert len(anew_counted) == before + 1
    assert plain(again.model) == plain(game.model)


def test_one_of_another_version_is_made_anew(
    folder: Path, opened: Opened, monkeypatch: pytest.MonkeyPatch, anew_counted: list[int]
) -> None:
    game = opened(folder)
    game._kept.keep(0)
    monkeypatch.setattr(player_model, "VERSION", player_model.VERSION + 1)
    before = len(anew_counted)
    assert plain(opened(folder).model) == plain(game.model)
    assert len(anew_counted) == before + 1


def test_taking_back_leaves_what_was_known_before(
    folder: Path, opened: Opened, anew_counted: list[int]
) -> None:
    game = opened(folder)
    played = game.begin(game.level("eighths"), seed=2)
    play(played, 4)
    before, times = plain(game.model), len(anew_counted)
    play(played, 1)
    assert played.undo()
    assert plain(game.model) == before == plain(anew(game))
    assert len(anew_counted) == times
    # After a start it is the set's own calls that are there, and they can be taken back, too.
    game.history.close()
    again = opened(folder)
    on = again.begin(again.level("eighths"))
    assert on.number == 6
    assert on.undo()
    assert plain(again.model) == plain(anew(again))


def test_in_a_set_without_end_it_is_kept_now_and_then(
    game: Game, monkeypatch: pytest.MonkeyPatch, anew_counted: list[int]
) -> None:
    monkeypatch.setattr(player_model, "MOST", 5)
    assert MOST > 5
    played = game.begin(game.level(None), shots=40, seed=1)
    for number in range(1, 13):
        play(played, 1, seed=number)
        kept = game.history.get_snapshot(NAME)
        assert (kept is not None) == (number > 5)
    before, times = plain(anew(game)), len(anew_counted)
    play(played, 1)
    assert played.undo()
    assert plain(game.model) == before
    assert len(anew_counted) == times


def test_weeks_that_are_over_are_kept_and_the_same_as_from_all_calls(folder: Path, opened: Opened) -> None:
    game = opened(folder)
    wanted = calendar(game.history.attempts(), game.history.today)
    assert calendar_of(game) == wanted
    _, text = game.history.get_snapshot("weeks") or ("", "")
    kept = json.loads(text)
    assert sorted(kept) == [week.monday for week in wanted.weeks][:-1]
    game.history.close()
    again = opened(folder)
    assert calendar_of(again) == wanted
    play(again.begin(again.level("eighths"), seed=5), 3)
    assert calendar_of(again) == calendar(again.history.attempts(), again.history.today)
    assert report(again)["weeks"] == report(opened(folder))["weeks"]


def test_a_level_whose_rule_is_changed_is_passed_by_the_new_one(game: Game) -> None:
    from dataclasses import replace

    level = game.shelf.levels[0]
    played = game.begin(level, seed=1)
    for _ in range(6):
        question = played.question()
        played.call(question.choices[question.best], 1.0)
    assert not game.passed(level)
    easy = replace(level, passed=Pass(3, 5, 6))
    assert game.passed(easy)
    assert not game.passed(replace(level, passed=None))


@pytest.mark.parametrize("seed", range(6))
def test_passing_call_by_call_is_that_of_every_stretch(seed: int) -> None:
    rng, level = np.random.default_rng(seed), SHELF.levels[3]
    rights = (rng.random(60) < 0.75).tolist()
    rule = level.passed
    assert rule is not None
    passing = Passing.of_level(level)
    for end, right in enumerate(rights, 1):
        passing.take("another drill", not right)
        passing.take(level.drill, right)
        ends = [rights[max(0, e - rule.of) : e] for e in range(1, end + 1)]
        assert passing.passed == any(sum(e) >= rule.right and best_run(e) >= rule.in_a_row for e in ends)


def test_a_level_is_passed_as_calls_come_and_no_more_once_one_is_taken_back(
    folder: Path, opened: Opened
) -> None:
    game = opened(folder)
    level = next(each for each in SHELF.levels if not game.passed(each))
    played = game.begin(level, shots=60, seed=3)
    while not game.passed(level):
        played.call(DRILLS[level.drill].best(played.question()), 1.0)
    assert is_passed(level, [a.right for a in game.history.attempts() if a.level == level.name])
    assert played.undo()
    assert not game.passed(level)
    assert not opened(folder).passed(level)


@pytest.mark.parametrize("most", [40, pytest.param(SIGHTED, marks=pytest.mark.long)])
def test_what_tells_of_the_centre_is_known_without_looking_back(
    history: History, shelf: Shelf, most: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(player_model, "SIGHTED", most)
    game = Game(history, shelf)
    play(game.begin(game.level(None, "straight"), shots=most + 50, seed=2), most + 50)
    play(game.begin(game.level(None, "aim"), shots=5, seed=2), 5)
    mine = [a for a in game.history.attempts() if a.drill == "straight"][-most:]
    middles = [(a.margin_low + a.margin_high) / 2 - a.fullness for a in mine]
    offsets = [a.offset - math.copysign(1.0, a.cut_deg) * m for a, m in zip(mine, middles, strict=True)]
    needed, ways = zip(*game.model.sighted, strict=True)
    assert list(needed) == pytest.approx(offsets)
    assert list(ways) == [{"cut left": 1, "straight": 0, "cut right": -1}[a.call] for a in mine]
    assert plain(game.model) == plain(anew(game)) == plain(PlayerModel.of_plain(plain(game.model)))


@pytest.mark.parametrize(("most", "times"), [(30, 0), (29, 1)])
def test_where_many_came_after_all_are_counted_instead(
    folder: Path,
    opened: Opened,
    anew_counted: list[int],
    monkeypatch: pytest.MonkeyPatch,
    most: int,
    times: int,
) -> None:
    game = opened(folder)
    game._kept.keep(0)
    there, before = len(anew_counted), game.history.count()
    play(game.begin(game.level(None), shots=30, seed=1), 30)
    game.history.close()
    monkeypatch.setattr(player_model, "ANEW", most)
    again = opened(folder)
    assert len(anew_counted) == there + times
    assert again.history.count() == before + 30
    assert plain(again.model) == plain(anew(again))

"""The weekly measure: as hard every week, never the same, teaching nothing, once a week; what it says."""

import io
import json
import math
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from statistics import NormalDist

import numpy as np
import pytest

from trainer.drills import DRILLS, Question
from trainer.history.clock import Clock, FixedClock
from trainer.history.store import History
from trainer.levels.shelf import open_shelf
from trainer.play.game import Game
from trainer.play.measure import LEVEL, SHOTS, WeeklyMeasure, is_due, measures_of
from trainer.play.named_levels import level_named
from trainer.play.player_model import built
from trainer.play.scripted import play_lines
from trainer.play.set_in_play import SetInPlay
from trainer.play.today import MEASURE_FROM, plan
from trainer.report.report import report
from trainer.report.wording import measure_lines
from trainer.shots.style import HUNDREDTHS, Style
from trainer.simulate.demo import DayClock

NOISE = 0.05
MONDAY = date(2026, 3, 2)
SHELF = open_shelf()
Opened = Callable[[Path, Clock], Game]
ASK = WeeklyMeasure._ask
ASKED: dict[tuple[int, int], Question] = {}  # by their set's seed and their number


@pytest.fixture(autouse=True)
def asked_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """A question is worked out once: its set's seed and its number decide it (which is tested below)."""

    def ask(played: WeeklyMeasure) -> Question:
        which = played.kept.seed, played.number
        if which not in ASKED:
            ASKED[which] = ASK(played)
        return ASKED[which]

    monkeypatch.setattr(WeeklyMeasure, "_ask", ask)


@pytest.fixture
def clock() -> DayClock:
    found = DayClock(FixedClock("2026-03-01T18:00:00+00:00").now())
    found.set(MONDAY, 18.0)
    return found


@pytest.fixture
def game(tmp_path: Path, clock: DayClock, opening: Opened) -> Game:
    return opening(tmp_path / "data", clock)


def call(played: SetInPlay, error: float) -> None:
    question = played.question()
    played.call(DRILLS[question.drill].answer(question, error), 3.0)


def play(played: SetInPlay, rng: np.random.Generator, noise: float = NOISE, shots: int = 1000) -> None:
    while not played.done and shots:
        call(played, float(rng.normal(0.0, noise)))
        shots -= 1


def questions(game: Game, seed: int) -> list[Question]:
    played = game.begin(LEVEL, seed=seed)
    assert isinstance(played, WeeklyMeasure)
    found = []
    for number in range(1, played.of + 1):
        played.number = number
        found.append(played.question())
    return found


# Which shots


@pytest.mark.parametrize("weeks", [4, pytest.param(30, marks=pytest.mark.long)])
def test_it_is_as_hard_every_week_and_never_the_same(game: Game, weeks: int) -> None:
    sets = [questions(game, seed) for seed in range(weeks)]
    by_formula = [
        np.mean([phi(ends(q)[1] / NOISE) - phi(ends(q)[0] / NOISE) for q in asked]) for asked in sets
    ]
    assert max(by_formula) - min(by_formula) < 0.02
    # The same by playing, where the errors of all weeks are the same: the drill marks whether a ball drops.
    spread = (np.arange(25) + np.random.default_rng(1).random((SHOTS, 25))) / 25
    errors = NOISE * np.vectorize(NormalDist().inv_cdf)(spread)
    by_playing = []
    for asked in sets:
        inside = sorted(asked, key=lambda q: (q.truth.fullness, q.truth.sign))
        drill = DRILLS[LEVEL.drill]
        by_playing.append(
            np.mean(
                [
                    drill.mark(q, drill.answer(q, float(error))).potted
                    for q, mine in zip(inside, errors, strict=True)
                    for error in mine
                ]
            )
        )
    assert max(by_playing) - min(by_playing) < 0.02
    assert np.mean(by_playing) == pytest.approx(np.mean(by_formula), abs=0.01)
    shots = [q.shot for asked in sets for q in asked]
    assert len({(shot.cue_ball, shot.object_ball) for shot in shots}) == weeks * SHOTS


def phi(z: float) -> float:
    return math.erfc(-z / math.sqrt(2.0)) / 2.0


def ends(question: Question) -> tuple[float, float]:
    truth = question.truth
    return truth.margin[0] - truth.fullness, truth.margin[1] - truth.fullness


def test_its_cuts_are_spread_alike_and_go_to_both_sides(game: Game) -> None:
    orders = []
    for seed in range(3):
        signed = [math.sin(math.radians(math.degrees(q.truth.cut))) for q in questions(game, seed)]
        left, right = sorted(s for s in signed if s > 0), sorted(-s for s in signed if s < 0)
        for side in (left, right):
            assert [math.floor((s - 0.04) / 0.07 + 1e-9) for s in side] == list(range(12))
        orders.append(tuple(np.argsort(signed)))
    assert len(set(orders)) == 3


def test_it_shows_no_more_than_free_practice_and_asks_for_no_answer_in_a_row() -> None:
    slide = level_named(SHELF, None, "slide")
    assert (LEVEL.inset, LEVEL.line_to_pocket, LEVEL.whole_table) == (
        slide.inset,
        slide.line_to_pocket,
        slide.whole_table,
    )
    assert LEVEL.views == ("down",)
    assert not LEVEL.adaptive
    assert DRILLS[LEVEL.drill].name == "slide"


def test_a_question_asked_again_is_the_same_and_belief_changes_none(
    tmp_path: Path, opening: Opened, monkeypatch: pytest.MonkeyPatch
) -> None:
    fixed = FixedClock("2026-03-02T18:00:00+00:00")
    mine, other = opening(tmp_path / "one", fixed), opening(tmp_path / "two", fixed)
    play(other.begin(other.level(None, "slide"), shots=40, seed=3), np.random.default_rng(1), 0.2)
    monkeypatch.setattr(WeeklyMeasure, "_ask", ASK)
    assert [q.shot for q in questions(mine, 5)] == [q.shot for q in questions(other, 5)]


# What it teaches


def test_its_calls_are_kept_and_count_today_but_teach_nothing(game: Game, tmp_path: Path) -> None:
    rng = np.random.default_rng(2)
    play(game.begin(game.level(None, "slide"), shots=30, seed=1), rng)
    before = json.dumps(game.model.plain()["skills"]), game.model.calls, game.diagnosis.sentence
    kinds = report(game)["bands"]
    play(game.begin(LEVEL, seed=0), rng, 0.2)
    assert (json.dumps(game.model.plain()["skills"]), game.model.calls, game.diagnosis.sentence) == before
    assert report(game)["bands"] == kinds
    assert game.history.count(game.history.today) == 30 + SHOTS
    with History.open(game.history.file.parent, game.history.clock) as again:
        reloaded = Game(again, SHELF)
        assert json.dumps(reloaded.model.plain()["skills"]) == before[0]
        assert json.loads(json.dumps(built(again).plain()["skills"])) == json.loads(before[0])


def test_taking_a_call_back_leaves_the_belief_alone(game: Game) -> None:
    rng = np.random.default_rng(2)
    play(game.begin(game.level(None, "slide"), shots=10, seed=1), rng)
    before = json.dumps(game.model.plain()["skills"])
    played = game.begin(LEVEL, seed=1)
    call(played, 0.3)
    assert played.undo()
    assert json.dumps(game.model.plain()["skills"]) == before
    call(played, 0.3)
    assert played.number == 3


# Once a week


def offered(game: Game) -> bool:
    return any(part.level is LEVEL for part in plan(game).parts)


def test_it_is_offered_once_in_seven_days_from_thirty_calls_on(game: Game, clock: DayClock) -> None:
    rng = np.random.default_rng(2)
    free = game.level(None, "slide")
    play(game.begin(free, shots=MEASURE_FROM - 1, seed=1), rng)
    clock.set(MONDAY + timedelta(days=1), 18.0)
    assert not offered(game)
    play(game.begin(free, shots=1, seed=2), rng)
    assert offered(game)
    lines = [part.line for part in plan(game, 15).parts]
    # A question of the day comes before it.
    assert lines.index("A first measure, to see later what practice brings; 24 shots") == 1
    play(game.begin(LEVEL, seed=1), rng)
    for day, due in ((1, False), (2, False), (7, False), (8, True), (9, True)):
        clock.set(MONDAY + timedelta(days=day), 18.0)
        assert (offered(game), is_due(game.history)) == (due, due), day


def test_it_waits_for_a_day_with_time_for_it(game: Game, clock: DayClock) -> None:
    play(game.begin(game.level(None, "slide"), shots=MEASURE_FROM, seed=1), np.random.default_rng(2))
    assert not offered(game)  # enough for today
    clock.set(MONDAY + timedelta(days=1), 18.0)
    assert [any(part.level is LEVEL for part in plan(game, minutes).parts) for minutes in (1, 2, 5, 30)] == [
        False,
        False,
        True,
        True,
    ]


def test_one_that_was_left_goes_on_the_same_day_alone(game: Game, clock: DayClock) -> None:
    rng = np.random.default_rng(2)
    played = game.begin(LEVEL)
    play(played, rng, shots=5)
    assert game.begin(LEVEL).number == 6
    assert is_due(game.history)
    clock.set(MONDAY + timedelta(days=1), 18.0)
    assert game.begin(LEVEL).number == 1


def test_the_first_whole_one_of_a_week_counts(game: Game, clock: DayClock) -> None:
    rng = np.random.default_rng(2)
    play(game.begin(LEVEL, shots=12, seed=0), rng)
    assert measures_of(game.history) == []
    first = game.begin(LEVEL, seed=1)
    play(first, rng)
    (kept,) = measures_of(game.history)
    assert (kept.day, kept.shots, kept.potted) == ("2026-03-02", SHOTS, first.potted)
    clock.set(MONDAY + timedelta(days=6), 18.0)
    second = game.begin(LEVEL, shots=100, seed=2)
    assert isinstance(second, WeeklyMeasure)
    assert second.of == SHOTS
    play(second, rng)
    assert measures_of(game.history) == [kept]
    assert "This week has its measure already" in second.closing
    clock.set(MONDAY + timedelta(days=7), 18.0)
    play(game.begin(LEVEL, seed=3), rng)
    assert [each.day for each in measures_of(game.history)] == ["2026-03-02", "2026-03-09"]


# What it says


def test_over_lines_it_ends_with_what_it_came_to(game: Game) -> None:
    written = list[str]()
    played = game.begin(game.level("measure"), seed=4)
    play_lines(played, io.StringIO("0.4\n" * SHOTS), written.append, lambda: 0.0)
    end = json.loads(written[-1])
    assert end["closing"].startswith(f"{end['potted']} of 24 go in, 1/")
    assert end["closing"].endswith("Next week other shots, as hard, tell more.")


def test_each_week_is_held_against_the_last_and_told_better_only_when_sure(
    game: Game, clock: DayClock
) -> None:
    rng, said = np.random.default_rng(2), list[str]()
    for week, noise in enumerate((0.12, 0.1, 0.06, 0.03, 0.02, 0.015, 0.01)):
        clock.set(MONDAY + timedelta(days=7 * week), 18.0)
        played = game.begin(LEVEL, seed=week)
        assert isinstance(played, WeeklyMeasure)
        play(played, rng, noise)
        said.append(played.closing)
    assert "2 Mar: " in said[1]
    assert said[1].endswith("2 more weeks, and a change can be told.")
    assert "Better for sure: from 1/" in said[-1]
    found = report(game)["measures"]
    assert [each["day"] for each in found][:2] == ["2026-03-02", "2026-03-09"]
    for each in found:
        assert each["low"] <= each["potted"] / each["shots"] <= each["high"]
        assert each["typical_error_low"] < each["typical_error"] < each["typical_error_high"]
        assert each["error_low"] < each["error"] < each["error_high"]
    lines = measure_lines(measures_of(game.history), 12, game.style)
    assert len(lines) == 1 + 7 + 1
    assert " 2 Mar" in lines[1]
    assert lines[-1].strip().startswith("Better for sure")
    assert "0.0" in measure_lines(measures_of(game.history), 12, Style(numbers=HUNDREDTHS))[-1]

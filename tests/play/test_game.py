"""Sets played without a screen: what is asked, kept, learnt, passed."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from passed import is_passed

from trainer import drills
from trainer.drills import Choice, Dial, Question
from trainer.drills.back import BackQuestion
from trainer.drills.edge import EdgeQuestion
from trainer.drills.leave import LeaveQuestion
from trainer.drills.pick import PickQuestion
from trainer.drills.send import SendQuestion, region_at
from trainer.geometry.tables import TABLES
from trainer.history import TrainerError
from trainer.history.attempt import Attempt
from trainer.history.clock import Clock, FixedClock
from trainer.history.store import History
from trainer.levels.level import Level, Pass
from trainer.levels.shelf import open_shelf
from trainer.play.game import Game
from trainer.play.set_in_play import SetInPlay
from trainer.play.summary import kind_summaries
from trainer.report.report import report
from trainer.shots.obstacles import hindrance
from trainer.shots.shot import Shot
from trainer.shots.truth import truth_of


def play(played: SetInPlay, player: "Player | None" = None) -> None:
    while not played.done:
        question = played.question()
        played.call(player(question) if player else drills.DRILLS[question.drill].best(question), 2.5)


class Player:
    """Sees 3/8 to the right an eighth thick, everything else true, with a little noise."""

    def __init__(self, seed: int) -> None:
        self.rng = np.random.default_rng(seed)

    def __call__(self, question: Question) -> Choice:
        truth = question.truth
        fault = 0.125 if truth.side == "right" and truth.band == "3/8" else 0.0
        off = fault + self.rng.normal(0, 0.03)
        if question.dial is not None:
            return drills.DRILLS[question.drill].answer(question, off)
        seen = truth.fullness + off
        wanted = seen if question.drill == "band" else truth.sign * (1 - seen)
        return min(question.choices, key=lambda c: abs(c.value - wanted))


def test_a_set_is_asked_to_its_end_and_kept(game: Game, history: History) -> None:
    played = game.begin(game.shelf.levels[0])
    play(played)
    assert played.done
    assert history.count() == played.of == 10
    assert played.best_run == played.run == 10
    assert all(played.rights)
    assert game.passed(game.shelf.levels[0])
    assert game.next_level() == game.shelf.levels[1]


def test_a_call_is_on_disk_before_its_mark_is_given(game: Game, tmp_path: Path) -> None:
    played = game.begin(game.shelf.levels[0])
    question = played.question()
    played.call(question.choices[0], 1.0)
    with History.open(tmp_path / "data", FixedClock("2026-03-01T12:00:00+00:00")) as other:
        (kept,) = other.attempts()
    assert kept == game.attempts[0]
    assert kept.call == question.choices[0].name


QUESTIONS: dict[str, type[Question]] = {
    "edge": EdgeQuestion,
    "back": BackQuestion,
    "leave": LeaveQuestion,
    "send": SendQuestion,
    "pick": PickQuestion,
}


def balls_of(shot: Shot, kept: Attempt) -> dict[str, Any]:
    """The balls that could be picked, each known by how much of its way is barred, and the one that goes."""
    balls, by_amount = (shot.object_ball, *shot.others), {}
    for ball in balls:
        about = tuple(other for other in balls if other != ball)
        by_amount[hindrance(replace(shot, object_ball=ball, others=about)).amount] = ball
    found = tuple(by_amount[value] for _, _, value in kept.choices)
    return {"balls": found, "best": found.index(shot.object_ball)}


@pytest.mark.parametrize("every", [False, pytest.param(True, marks=pytest.mark.slow)])
def test_an_attempt_holds_all_that_is_needed_to_mark_it_again(game: Game, every: bool) -> None:
    """Of a level of each drill; in the slow tests of every level."""
    levels = game.shelf.levels
    for level in levels if every else {level.drill: level for level in reversed(levels)}.values():
        play(game.begin(level, shots=3), Player(1))
    for kept in game.attempts:
        shot = Shot(
            TABLES[kept.table], kept.cue_ball, kept.object_ball, kept.pocket, kept.stroke, kept.others
        )
        truth = truth_of(shot)
        choices = tuple(Choice(*c) for c in kept.choices)
        best = next((i for i, choice in enumerate(choices) if choice.value == kept.value), -1)
        if len(choices) == 2 and not kept.right:  # one way or the other: then it was the other
            best = 1 - best
        more: dict[str, Any] = {
            "edge": {"inset": kept.called_offset - kept.value},
            "back": {"wanted": kept.called_offset},
            "leave": {"wanted": kept.called_offset},
        }.get(kept.drill, {})
        if kept.drill == "send":
            more = {"region": region_at(shot, kept.target)}
        question = QUESTIONS.get(kept.drill, Question)(
            kept.drill,
            shot,
            truth,
            "",
            choices,
            best,
            kept.answer_width,
            dial=None if choices else Dial(-1e3, 1e3, 0.0, (1.0, 1.0, 1.0), "", str),  # a number was asked
            **more,
        )
        if kept.drill == "pick":
            question = replace(question, **balls_of(shot, kept))
        again = drills.mark(question, Choice(kept.key, kept.call, kept.value))
        assert again.potted == kept.potted
        assert (again.error, again.miss_mm) == pytest.approx((kept.error, kept.miss_mm), abs=1e-9)
        if kept.drill == "send":  # the truth is that of the place
            truth = again.question.truth
        assert (truth.fullness, truth.offset, truth.margin) == (
            kept.fullness,
            kept.offset,
            (kept.margin_low, kept.margin_high),
        )


def test_a_call_that_can_not_be_kept_gives_no_mark_and_the_question_stays(
    game: Game, monkeypatch: pytest.MonkeyPatch
) -> None:
    played = game.begin(game.shelf.levels[0])
    question = played.question()

    def full(_: object) -> None:
        raise TrainerError("no space left")

    monkeypatch.setattr(game.history, "append", full)
    with pytest.raises(TrainerError):
        played.call(question.choices[0])
    assert played.number == 1
    assert played.question() is question
    assert not game.skill().tally.calls
    monkeypatch.undo()
    played.call(question.choices[0])
    assert played.number == 2


def test_leaving_and_coming_back_goes_on_with_the_same_question(
    tmp_path: Path, game: Game, opening: Callable[[Path, Clock], Game]
) -> None:
    level = game.shelf.find("eighths")
    played = game.begin(level)
    for _ in range(4):
        played.call(played.question().choices[2])
    left = played.question()
    again = opening(tmp_path / "data", FixedClock("2026-03-02T09:00:00+01:00"))
    assert again.standing().under_way
    assert again.standing().level == level
    back = again.begin(level)
    assert (back.number, back.of, back.rights) == (5, 12, played.rights)
    assert back.question() == left


def test_a_set_that_was_left_waits_whatever_else_is_opened_or_played(game: Game) -> None:
    left = game.begin(game.level("eighths"))
    for _ in range(3):
        left.call(left.question().choices[0])
    game.begin(game.level("quarters"))  # looked at, no more
    assert (game.standing().level.name, game.standing().done) == ("eighths", 3)
    play(game.begin(game.level("first-look")))
    assert (game.standing().level.name, game.standing().done) == ("eighths", 3)
    later = game.begin(game.level("thin-cuts"))
    later.call(later.question().choices[0])
    assert game.standing().level.name == "thin-cuts"  # the last one first
    while not later.done:
        later.call(later.question().choices[0])
    assert game.standing().level.name == "eighths"
    play(game.begin(game.level("eighths")))
    assert not game.standing().under_way


@pytest.mark.parametrize("name", ["first-look", "thick-cuts", "quarters", "eighths"])
@pytest.mark.parametrize("seeds", [(0,), pytest.param((1, 2), marks=pytest.mark.slow)])
def test_no_level_is_passed_by_one_answer(name: str, seeds: tuple[int, ...], game: Game) -> None:
    level = game.level(name)
    for key in range(5):
        for seed in seeds:
            played = game.begin(level, seed=seed)
            while not played.done:
                choices = played.question().choices
                played.call(choices[min(key, len(choices) - 1)])
            assert played.best_run <= 3
            assert not game.passed(level)


def test_a_set_killed_after_its_last_call_is_over(game: Game, monkeypatch: pytest.MonkeyPatch) -> None:
    level = game.shelf.levels[0]
    monkeypatch.setattr(game.history, "finish_set", lambda _: None)
    play(game.begin(level))
    assert game.begin(level).number == 1
    assert not game.standing().under_way


def test_the_same_seed_and_history_give_the_same_questions(tmp_path: Path) -> None:
    asked = []
    for folder in ("a", "b"):
        with History.open(tmp_path / folder, FixedClock("2026-03-01T12:00:00+00:00")) as history:
            game = Game(history, open_shelf())
            played = game.begin(game.level(None, "aim"), shots=15, seed=7)
            player = Player(3)
            questions = []
            while not played.done:
                questions.append(played.question())
                played.call(player(questions[-1]))
            asked.append(questions)
    assert asked[0] == asked[1]


def test_no_two_shots_of_a_set_look_alike(game: Game) -> None:
    played = game.begin(game.level(None, "band"), shots=40, seed=1)
    shots = []
    while not played.done:
        shots.append(played.question().shot)
        played.call(played.question().choices[0])
    assert len({s.cue_ball for s in shots}) == len({s.object_ball for s in shots}) == 40
    assert len({s.pocket for s in shots}) == 6


@pytest.mark.slow
@pytest.mark.parametrize("drill", ["aim", pytest.param("band", marks=pytest.mark.slow)])
def test_a_fault_brings_more_of_its_kind_than_chance(tmp_path: Path, drill: str) -> None:
    there = 0
    # Two players: by bands one of four finds it only after some hundred calls.
    for seed in (3, 13):
        with History.open(tmp_path / str(seed), FixedClock("2026-03-01T12:00:00+00:00")) as history:
            game, player = Game(history, open_shelf()), Player(seed + 2)
            play(game.begin(game.level(None, drill), shots=60, seed=seed), player)
            before = len(game.attempts)
            play(game.begin(game.level(None, drill), shots=100, seed=seed + 1), player)
            there += sum(a.cut_deg < 0 and 0.3 < a.fullness < 0.45 for a in game.attempts[before:])
            rows = {(r["band"], r["side"]): r for r in report(game)["bands"]}
        assert rows["3/8", "right"]["verdict"] == "thick"
        assert rows["3/8", "right"]["bias"] == pytest.approx(0.125, abs=0.06)
    even = 0.15 / 0.966 / 2  # the share of free practice's offsets that lies there
    assert there / 200 > 2.5 * even


def test_the_report_counts_what_there_is(game: Game) -> None:
    empty = report(game)
    assert (empty["attempts"], empty["days"], empty["streak_days"]) == (0, 0, 0)
    assert {b["verdict"] for b in empty["bands"]} == {"not enough yet"}
    play(game.begin(game.shelf.levels[0]))
    found = report(game)
    assert (found["attempts"], found["days"], found["streak_days"]) == (10, 1, 1)
    assert sum(b["attempts"] for b in found["bands"]) == 10
    low, high = np.array(found["belief"]["low"]), np.array(found["belief"]["high"])
    assert (low < np.array(found["belief"]["bias"])).all()
    assert (high > np.array(found["belief"]["bias"])).all()


def test_what_a_set_showed_adds_up(game: Game) -> None:
    played = game.begin(game.level(None, "band"), shots=30, seed=2)
    play(played, Player(2))
    rows = kind_summaries(played.attempts)
    assert sum(r.calls for r in rows) == 30
    assert sum(r.right for r in rows) == sum(played.rights)
    total = sum(r.error * r.calls for r in rows)
    assert total == pytest.approx(sum(a.error for a in played.attempts))


@pytest.mark.parametrize(
    ("right", "passed"),
    [
        ("", False),
        ("11111", False),  # five in a row, but only five
        ("11111101", True),
        ("1110111011", False),  # eight of ten, never four in a row
        ("1111000011", False),
        ("0000000000" + "1101111101", True),
        ("1101111101" + "0000000000", True),  # passed once is passed
    ],
)
def test_a_level_is_passed_by_so_many_right_and_so_many_in_a_row(right: str, passed: bool) -> None:
    level = Level("t", "t", "t", "band", passed=Pass(in_a_row=4, right=7, of=10))
    assert is_passed(level, [r == "1" for r in right]) == passed


def test_free_practice_is_never_passed(game: Game) -> None:
    assert not is_passed(game.level(None), [True] * 100)


def test_when_every_level_is_passed_free_practice_is_next(
    game: Game, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(game, "passed", lambda level: True)
    assert game.next_level().name == "free"


def test_an_own_level_taken_away_since_is_no_trouble(game: Game) -> None:
    level = game.shelf.levels[0]
    game.history.start_set("gone", "band", 1, 10)
    assert game.standing().level == level


def test_another_drill_over_a_levels_shots(game: Game) -> None:
    level = game.level("eighths", "aim")
    assert level.drill == "aim"
    assert level.limits == game.level("eighths").limits
    assert len(game.begin(level).question().choices) == 7

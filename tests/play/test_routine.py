"""Shots that are called standing, then again down on them: questions, marks, what is learnt, undo, breaks."""

import io
import json
import math
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from trainer.drills import DRILLS, Choice, Question
from trainer.history.attempt import Attempt
from trainer.history.clock import Clock, FixedClock
from trainer.history.store import History
from trainer.levels.level import Level
from trainer.levels.shelf import Shelf
from trainer.play.game import Game
from trainer.play.pair import STANDING, SURE, Pair, TwoLooks, pairs_in, two_looks, without_seconds
from trainer.play.player_model import built
from trainer.play.routine import Routine
from trainer.play.scripted import play_lines
from trainer.play.set_in_play import SetInPlay
from trainer.report.report import looks_line, report
from trainer.shots.style import USUAL

LEVEL = "choose-standing"
NOON = "2026-03-01T12:00:00+00:00"
CAN = [name for name, drill in DRILLS.items() if drill.looked_at_twice]


def best(question: Question) -> Choice:
    return DRILLS[question.drill].best(question)


def off(question: Question, error: float = 0.3) -> Choice:
    """An answer that is wrong: off by so much, or another one."""
    if question.dial is None:
        return question.choices[question.best - 1]
    return DRILLS[question.drill].answer(question, error)


def routine(
    game: Game, name: str = LEVEL, shots: int = 6, seed: int = 4, drill: str | None = None
) -> Routine:
    game.routine = True
    played = game.begin(game.level(None if drill else name, drill), shots=shots, seed=seed)
    assert isinstance(played, Routine)
    return played


def written(played: SetInPlay, calls: str, *, plain: bool = False) -> list[Any]:
    lines: list[str] = []
    play_lines(played, io.StringIO(calls), lines.append, lambda: 0.0, plain=plain)
    return lines if plain else [json.loads(line) for line in lines]


def typed(choice: Choice) -> str:
    return f"{choice.key or repr(choice.value)}\n"


@pytest.mark.parametrize("drill", CAN)
def test_every_drill_asks_standing_then_down_from_what_was_chosen(game: Game, drill: str) -> None:
    played = routine(game, drill=drill, shots=6)
    shots = []
    while not played.done:
        assert played.views == ("standing",)
        assert played.chosen is None
        first = played.question()
        chosen = (best, off)[len(shots) % 2](first)
        played.call(chosen, view="standing")
        assert played.pair is None
        assert played.views == ("down",)
        assert played.chosen == chosen
        second = played.question()
        assert (second.shot, second.choices, second.best) == (first.shot, first.choices, first.best)
        assert second.truth == first.truth
        if second.dial is not None:
            assert second.dial.start == chosen.value
        else:
            assert chosen in second.choices
        mark = played.call(best(second), view="down")
        assert isinstance(played.pair, Pair)
        assert played.pair.down == mark
        assert played.pair.standing.choice == chosen
        assert played.pair.standing.error == played.attempts[-2].error
        assert played.pair.headline(USUAL).startswith("Standing ")
        shots.append(first.shot)
    assert len(set(shots)) == 3
    assert [a.view for a in played.attempts] == ["standing", "down"] * 3
    assert [a.number for a in played.attempts] == [1, 2, 3, 4, 5, 6]


@pytest.mark.parametrize("drill", sorted(set(DRILLS) - set(CAN)))
def test_the_other_drills_are_asked_as_ever(game: Game, drill: str) -> None:
    game.routine = True
    assert type(game.begin(game.level(None, drill), shots=3)) is SetInPlay


def test_nothing_written_before_the_second_call_tells_of_the_first(
    tmp_path: Path, opening: Callable[[Path, Clock], Game]
) -> None:
    """Whether it was right or wrong, the same is written, but for what was chosen; the truth is in none."""
    said = []
    for call in (best, off):
        played = routine(opening(tmp_path / call.__name__, FixedClock(NOON)), shots=4, seed=9)
        said.append(written(played, typed(call(played.question()))))
        assert played.number == 2  # it is kept, and asked for again
    for first, second, end in said:
        assert {first["type"], second["type"]} == {"question"}
        assert (first["view"], second["view"]) == ("standing", "down")
        assert "truth" not in json.dumps(said)
        new = {"number", "view", "look", "chosen"}
        assert {k: v for k, v in second.items() if k not in new} == {
            k: v for k, v in first.items() if k not in new
        }
        assert (end["shots"], end["right"], end["potted"], end["best_run"]) == (0, 0, 0, 0)
    one, other = (
        [{k: v for k, v in line.items() if k not in ("chosen", "look")} for line in s] for s in said
    )
    assert one == other


def test_the_set_itself_tells_nothing_of_a_first_call(game: Game) -> None:
    for call in (best, off):
        played = routine(game, shots=4, seed=9)
        played.call(call(played.question()), view="standing")
        assert (played.run, played.best_run, played.rights, played.potted) == (0, 0, [], 0)
        assert played.told == []
        played.call(best(played.question()), view="down")
        assert len(played.rights) == 2


def test_over_lines_both_marks_come_after_the_second_call(game: Game) -> None:
    played = routine(game, shots=4)
    wrong = off(played.question())
    said = written(played, f"nonsense\n{typed(wrong)}what\n{typed(best(played.question()))}" + 2 * "0.25\n")
    kinds = [line["type"] for line in said]
    assert kinds == [
        *("question", "problem", "question", "question", "problem", "question", "mark", "mark"),
        *("question", "question", "mark", "mark", "summary"),
    ]
    marks = [line for line in said if line["type"] == "mark"]
    assert [(mark["view"], mark["number"]) for mark in marks] == [
        *[("standing", 1), ("down", 2), ("standing", 3), ("down", 4)]
    ]
    assert (marks[0]["right"], marks[1]["right"]) == (False, True)
    assert (marks[1]["agree"], marks[1]["nearer"]) == (False, "down")
    assert marks[1]["lesson"] == "The change was right."
    assert marks[2]["error"] == marks[3]["error"]
    assert (marks[3]["agree"], marks[3]["nearer"]) == (True, "")
    figures = said[-1]["routine"]
    assert (figures["pairs"], figures["agree"], figures["changed_for_better"]) == (2, 1, 1)
    errors = [abs(attempt.error) for attempt in played.attempts]
    assert figures["standing_typical_error"] == pytest.approx((errors[0] + errors[2]) / 2)
    assert figures["down_typical_error"] == pytest.approx((errors[1] + errors[3]) / 2)


def test_in_sentences(game: Game) -> None:
    said = written(routine(game, shots=2, seed=3), "0.3\n0.2\n", plain=True)
    looks = [said.index("Standing: choose the line. You get down on it next.")]
    looks.append(said.index("Down: trust it or change it. You chose 0.30 right of centre."))
    marks = [said.index("Standing: wrong."), said.index("Down: wrong.")]
    assert looks + marks == sorted(looks + marks)
    assert "Standing was nearer: trust it." in said
    assert said[-4].startswith("The end: 2 calls, ")
    assert said[-1].startswith(
        "Standing and down agreed within 1/32 ball in 0 of 1 shot; standing was nearer"
    )


def test_other_sets_write_what_they_did(game: Game) -> None:
    played = game.begin(game.level("slide-the-line"), shots=1, seed=3)
    question, mark, end = written(played, "0.3\n")
    assert not {"view", "look", "chosen"} & set(question)
    assert not {"view", "number", "agree", "nearer", "lesson"} & set(mark)
    assert "routine" not in end


# The lesson


def pair(game: Game, standing: float, down: float) -> Pair:
    played = routine(game, shots=2, seed=3)
    for error, view in ((standing, "standing"), (down, "down")):
        played.call(off(played.question(), error), view=view)
    assert played.pair is not None
    return played.pair


@pytest.mark.parametrize(
    ("standing", "down", "says", "nearer", "agree"),
    [
        (0.0, 0.0, "You trusted it: well chosen.", "", True),
        (0.3, 0.3, "Both alike: choose it better standing.", "", True),
        (0.0, 0.3, "You were right standing: trust it.", "standing", False),
        (0.2, -0.3, "Standing was nearer: trust it.", "standing", False),
        (0.3, 0.0, "The change was right.", "down", False),
        (0.3, 0.2, "The change was for the better.", "down", False),
        (0.3, -0.3, "The change made no difference: trust what you chose.", "", False),
        (0.3, 0.28, "The change was for the better.", "down", True),
    ],
)
def test_what_is_said_of_two_looks(
    game: Game, standing: float, down: float, says: str, nearer: str, agree: bool
) -> None:
    found = pair(game, standing, down)
    if not nearer and standing == -down and standing:  # to the last bit
        found = Pair(found.standing, replace(found.down, error=-found.standing.error))
    assert found.lesson == says
    assert found.nearer == nearer
    assert found.agree == agree


def test_the_words_of_a_mark(game: Game) -> None:
    assert pair(game, 1 / 16, -1 / 64).headline(USUAL) == (
        "Standing 1/16 thick, down 1/64 thin. It needs 0.56 right of centre."
    )
    assert pair(game, 0.0, 9 / 8).headline(USUAL).startswith("Standing dead on, down 1 1/8 thick. ")
    played = routine(game, drill="band", shots=2)
    for view in ("standing", "down"):
        played.call((off if view == STANDING else best)(played.question()), view=view)
    assert played.pair is not None
    one, other = (attempt.call for attempt in played.attempts)
    assert played.pair.headline(USUAL) == f"Standing {one}, down {other}. The answer: {other}."


# What is learnt


def test_only_the_first_call_of_a_pair_teaches(game: Game, history: History, shelf: Shelf) -> None:
    """A second look begins at the first answer: it would count the same evidence twice."""
    played = routine(game, shots=8)
    rng = np.random.default_rng(1)
    while not played.done:
        before, calls = game.belief.plain(), game.skill().tally.calls
        played.call(off(played.question(), float(rng.normal(0.05, 0.05))), view="standing")
        taught = game.belief.plain()
        assert taught != before
        assert game.skill().tally.calls == calls + 1
        played.call(off(played.question(), float(rng.normal(0.0, 0.05))), view="down")
        assert game.belief.plain() == taught
        assert game.skill().tally.calls == calls + 1
    assert history.count() == 8
    assert len(list(without_seconds(history.attempts()))) == 4
    for other in (Game(history, shelf), Game(history, shelf)):
        assert other.belief.plain() == taught
    assert built(history).plain() == game.model.plain()


def test_a_start_between_two_looks_and_a_kept_model_know_of_the_first(
    game: Game, history: History, shelf: Shelf
) -> None:
    played = routine(game, shots=4)
    played.call(best(played.question()), view="standing")
    game._kept.keep(0)
    again = Game(history, shelf)
    on = Routine(again, played.level, replace(played.kept, done=1))
    on.call(best(on.question()), view="down")
    assert again.skill().tally.calls == 1
    assert Game(history, shelf).belief.plain() == again.belief.plain()
    assert Game(history, shelf).skill().tally.calls == 1


# Taken back, and left


def test_taken_back_between_the_looks_another_shot_is_chosen_for(game: Game) -> None:
    played = routine(game, shots=6)
    first = played.question().shot
    played.call(best(played.question()), view="standing")
    assert played.undo()
    assert (played.number, played.views, played.chosen) == (2, ("standing",), None)
    assert played.question().shot != first
    calls = 0
    while not played.done:
        views = played.views
        played.call(best(played.question()), view=views[0])
        calls += 1
    assert calls == 5
    assert [a.view for a in played.attempts[:4]] == ["standing", "down"] * 2
    assert played.attempts[-1].view == played.level.views[0]  # one call is left: as usual
    assert played.pair is None
    assert len(list(pairs_in(played.attempts))) == 2
    assert [played.shot_of_call(n) for n in range(2, 7)] == [1, 1, 2, 2, 3]


def test_after_both_marks_the_second_is_taken_back_and_the_next_shot_comes(game: Game) -> None:
    played = routine(game, shots=4)
    before = played.question().shot
    for view in ("standing", "down"):
        played.call(best(played.question()), view=view)
    assert played.undo()
    assert played.pair is None
    assert (played.number, played.views, played.chosen) == (3, ("standing",), None)
    assert played.question().shot != before
    assert [a.view for a in played.attempts] == ["standing"]
    assert two_looks(pairs_in(game.history.attempts())) is None


def test_left_between_the_looks_it_goes_on_with_the_second(
    game: Game, history: History, shelf: Shelf
) -> None:
    level = game.level(LEVEL)
    played = game.begin(level)
    for view in ("standing", "down", "standing"):
        played.call(off(played.question()), view=view)
    asked, chosen = played.question(), played.chosen
    again = Game(history, shelf).begin(level)
    assert isinstance(again, Routine)
    assert again.kept.id == played.kept.id
    assert (again.number, again.views, again.chosen) == (4, ("down",), chosen)
    assert (again.question().shot, again.question().truth) == (asked.shot, asked.truth)
    assert again.question().dial is not None
    assert again.question().dial.start == asked.dial.start  # type: ignore[union-attr]
    assert len(again.rights) == 2  # the third isn't told yet
    again.call(best(again.question()), view="down")
    assert again.pair is not None
    assert again.pair.standing.error == again.attempts[2].error


def test_what_a_first_call_earns_is_cheered_after_the_second(game: Game) -> None:
    level = game.level(LEVEL)
    assert level.passed is not None
    played = routine(game, shots=12)
    cheers = []
    while not played.done:
        played.call(best(played.question()), view=played.views[0])
        cheers.append(played.cheer)
    assert cheers[::2] == [""] * 6
    assert cheers.count("Level passed") == 1
    assert cheers[level.passed.right - 1] == "Level passed"


# Whose sets, how long, and passing


def test_which_sets_the_setting_changes(game: Game, shelf: Shelf) -> None:
    game.routine = True
    twice = {level.name for level in shelf.levels if isinstance(game.begin(level, shots=4), Routine)}
    for level in shelf.levels:
        both = {"standing", "down"} <= set(level.views) and DRILLS[level.drill].looked_at_twice
        assert (level.name in twice) == (both and not level.again and not level.picks), level.name
    assert {LEVEL, "eighths", "slide-the-line"} <= twice
    assert not {"standing-only", "down-only", "standing-or-down", "pick-and-pot", "same-angle"} & twice
    for name in ("warmup", "primer", "first"):
        assert not isinstance(game.begin(game.level(name)), Routine)
    assert isinstance(game.begin(game.level("about-3/8-left")), Routine)
    game.routine = False
    assert [x.name for x in shelf.levels if isinstance(game.begin(x, shots=4), Routine)] == [LEVEL]


def test_an_odd_number_of_calls_gets_one_more(game: Game) -> None:
    assert routine(game, shots=5).of == 6


def test_a_set_that_was_begun_otherwise_goes_on_so(game: Game) -> None:
    level = game.level("slide-the-line")
    played = game.begin(level)
    for _ in range(3):
        played.call(best(played.question()), view="standing")
    game.routine = True
    on = game.begin(level)
    assert type(on) is SetInPlay
    assert on.number == 4


def play(played: SetInPlay, right: list[bool]) -> None:
    for each in right:
        played.call((best if each else off)(played.question()), view=played.views[0])


def test_second_looks_pass_only_a_level_that_asks_for_them(
    game: Game, history: History, shelf: Shelf
) -> None:
    """Ten right of twelve calls are five of six shots, which luck does more often."""
    level = shelf.find("slide-the-line")
    assert level.passed is not None
    game.passed(level)
    play(routine(game, level.name, shots=12), [True] * 12)
    for each in (game, Game(history, shelf)):
        assert not each.passed(level)
    assert level.passed.right == 7
    play(routine(game, level.name, shots=2), [True, False])
    for each in (game, Game(history, shelf)):
        assert each.passed(level)
    mine = shelf.find(LEVEL)
    assert mine.passed is not None
    game.passed(mine)
    play(routine(game, LEVEL, shots=8), [True] * mine.passed.right)
    for each in (game, Game(history, shelf)):
        assert each.passed(mine)


# What pairs come to


def attempts(game: Game, errors: list[tuple[float, float]]) -> list[Attempt]:
    played = routine(game, shots=2 * len(errors))
    for both in errors:
        for error, view in zip(both, ("standing", "down"), strict=True):
            played.call(off(played.question(), error), view=view)
    return list(played.attempts)


def test_figures_of_pairs_by_plain_numpy(game: Game) -> None:
    rng = np.random.default_rng(3)
    errors = rng.normal(0.0, (0.12, 0.04), (12, 2))
    errors[3, 1] = errors[3, 0]
    made = attempts(game, [(float(a), float(b)) for a, b in errors])
    found = two_looks(pairs_in(made))
    assert found is not None
    size = np.abs(errors)
    gains = size[:, 0] - size[:, 1]
    assert found.pairs == 12
    assert found.agree == int((np.abs(errors[:, 0] - errors[:, 1]) <= 1 / 32).sum())
    assert found.standing_typical_error == pytest.approx(size[:, 0].mean())
    assert found.down_typical_error == pytest.approx(size[:, 1].mean())
    assert (found.changed_for_better, found.changed_for_worse) == (
        (gains > 1e-9).sum(),
        (gains < -1e-9).sum(),
    )
    assert found.changed_for_better + found.changed_for_worse == 11
    assert found.gain == pytest.approx(gains.mean())
    assert found.gain_sd == pytest.approx(gains.std(ddof=1) / math.sqrt(12))
    assert report(game)["routine"] == pytest.approx(found.plain())
    assert looks_line(game).startswith("Standing, then down: within 1/32 ball of each other in ")


def test_nothing_is_said_of_a_look_before_it_is_sure(game: Game) -> None:
    assert report(game)["routine"] is None
    assert looks_line(game) == ""
    attempts(game, [(0.1, 0.0)] * 9)
    assert looks_line(game) == "Standing, then down: 1 more shot called twice will tell which look to trust."
    base = TwoLooks(20, 8, 0.08, 0.05, 9, 3, 0.03, 0.009)
    assert base.of_a_player(USUAL).endswith("Neither look is surely nearer yet.")
    sure = replace(base, gain_sd=0.008)
    assert sure.of_a_player(USUAL) == (
        "Standing, then down: within 1/32 ball of each other in 8 of 20 shots; 9 changed for the better, "
        "3 for the worse. Down is nearer by 1/32 ball, sure within 1/64."
    )
    assert "Standing is nearer by" in replace(sure, gain=-0.03).of_a_player(USUAL)


@pytest.mark.slow
def test_how_often_a_look_is_called_nearer_that_is_not() -> None:
    """Looking after every shot from the tenth to the hundredth, of players who see the same both times."""
    rng, told = np.random.default_rng(5), 0
    for _ in range(1000):
        gains = np.abs(rng.normal(0, 0.06, 100)) - np.abs(rng.normal(0, 0.06, 100))
        n = np.arange(1, 101)
        mean = np.cumsum(gains) / n
        spread = np.cumsum(gains**2) / n - mean**2
        sd = np.sqrt(spread[9:] / (n[9:] - 1))
        told += bool((np.abs(mean[9:]) > SURE * sd).any())
    assert told < 30  # 3 in 100


def test_only_the_adjacent_calls_of_one_set_are_a_pair(game: Game) -> None:
    first, second, *_ = made = attempts(game, [(0.1, 0.0), (0.2, 0.1)])
    assert [(a.number, b.number) for a, b in pairs_in(made)] == [(1, 2), (3, 4)]
    for changed in (
        replace(second, set_id="another"),
        replace(second, number=3),
        replace(second, drill="aim"),
        replace(second, cut_deg=second.cut_deg + 1e-9),
        replace(second, view="plan"),
    ):
        assert not list(pairs_in([first, changed]))
    assert not list(pairs_in([replace(first, view="down"), second]))


def test_with_another_drill_the_level_keeps_its_way_where_that_can_be(shelf: Shelf) -> None:
    level: Level = shelf.find(LEVEL)
    assert level.with_drill("band").routine
    assert level.with_drill("aim").takes_routine
    assert not level.with_drill("same").routine

"""The warm-up: its length by the clock, what it asks in which order, going on with it, and what it says."""

import io
import json
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from trainer.drills import Choice
from trainer.history.clock import FixedClock
from trainer.history.store import History
from trainer.learner.belief import Belief
from trainer.learner.call import Call
from trainer.learner.tally import Tally
from trainer.learner.today_shift import EVERYTHING, today_shifts
from trainer.learner.verdicts import NOT_YET, THICK, THIN, TRUE, KindVerdict, kind_verdicts
from trainer.levels.shelf import open_shelf
from trainer.play import warmup
from trainer.play.game import Game
from trainer.play.scripted import play_lines
from trainer.play.set_in_play import SetInPlay
from trainer.play.warmup import (
    AS_USUAL,
    LEFT_FOR,
    MOST_SHOTS,
    NOTHING,
    SECONDS,
    SLOWLY,
    TOO_FEW,
    Warmup,
    best_seen,
    closing,
    seconds_of,
    sine_asked,
    weakest,
)
from trainer.shots.style import USUAL as STYLE
from trainer.simulate.demo import DayClock
from trainer.simulate.players import Nature, Player
from trainer.simulate.simulation import answer

START = FixedClock("2026-03-01T18:00:00+00:00").now()


def clocked() -> DayClock:
    clock = DayClock(START)
    clock.set(date(2026, 3, 1), 18.0)
    return clock


def begun(game: Game, shots: int | None = None, seed: int = 1) -> Warmup:
    played = game.begin(game.level("warmup"), shots=shots, seed=seed)
    assert isinstance(played, Warmup)
    return played


def best(played: Warmup, seconds: float = 2.0) -> None:
    played.call(_exact(played), seconds)


def _exact(played: SetInPlay) -> Choice:
    question = played.question()
    assert question.dial is not None
    return question.dial.at(question.truth.offset)


# Its length


@pytest.mark.parametrize("usual", [3.0, 6.0, 9.0])
def test_it_takes_five_minutes_whatever_the_pace(tmp_path: Path, usual: float) -> None:
    clock, rng = clocked(), np.random.default_rng(round(usual))
    player = Player(Nature(noise=0.05), np.random.default_rng(1))
    with History.open(tmp_path, clock) as history:
        played = begun(Game(history, open_shelf()))
        player.begin_set()
        foretold = []
        while not played.done:
            question = played.question()
            foretold.append(played.of)
            thinks, looks = usual * rng.lognormal(0.0, 0.3), rng.uniform(1.0, 3.0)
            clock.wait(thinks)
            played.call(answer(question, player), thinks)
            clock.wait(looks)
        minutes = (clock.now().epoch_ms - START.epoch_ms) / 60_000
        assert 4.0 <= minutes <= 6.0
        # Half way it is known how many shots it will be.
        assert foretold[len(foretold) // 2] == pytest.approx(len(foretold), rel=0.25)
        assert history.unfinished_set("warmup", "slide") is None


def test_a_break_counts_for_half_a_minute_and_it_ends_all_the_same(tmp_path: Path) -> None:
    clock = clocked()
    with History.open(tmp_path, clock) as history:
        played = begun(Game(history, open_shelf()))
        clock.wait(5)
        best(played, 5.0)
        clock.wait(500)
        best(played, 4.0)
        assert seconds_of(played.attempts) == 35.0
        assert played.part == pytest.approx(35.0 / SECONDS)
        assert played.seconds_left == SECONDS - 35.0


def test_where_no_time_passes_it_ends_too(game: Game, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(warmup, "MOST_SHOTS", 7)
    played = begun(game)
    while not played.done:
        best(played, 0.0)
    assert len(played.attempts) == 7 < MOST_SHOTS


@pytest.mark.parametrize("shots", [1, 9])
def test_with_a_number_of_shots_the_clock_says_nothing(tmp_path: Path, shots: int) -> None:
    clock = clocked()
    with History.open(tmp_path, clock) as history:
        game = Game(history, open_shelf())
        played = begun(game, shots)
        while not played.done:
            assert played.of == shots
            clock.wait(29)
            best(played)
        assert len(game.attempts) == shots


# Going on with it


def test_it_is_gone_on_with_soon_and_begun_anew_later(tmp_path: Path) -> None:
    clock = clocked()
    with History.open(tmp_path, clock) as history:
        game = Game(history, open_shelf())
        played = game.begin(game.level("warmup"))
        for _ in range(3):
            clock.wait(8)
            played.call(_exact(played), 6.0)
        asked = played.question()
        clock.wait(LEFT_FOR - 60)
        again = Game(history, open_shelf())
        assert again.standing().under_way
        on = again.begin(again.level("warmup"))
        assert (on.kept.id, on.number) == (played.kept.id, 4)
        assert on.question().shot == asked.shot
        clock.wait(120)
        assert not again.standing().under_way
        assert game.begin(game.level("warmup")).kept.id != played.kept.id


def test_one_whose_time_is_over_isn_t_gone_on_with(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    clock = clocked()
    with History.open(tmp_path, clock) as history:
        # As if it were killed before the set is called finished.
        monkeypatch.setattr(history, "finish_set", lambda set_id: None)
        game = Game(history, open_shelf())
        played = begun(game)
        while not played.done:
            clock.wait(25)
            best(played)
        assert game.unfinished(game.level("warmup")) is None


def test_it_can_t_be_asked_with_another_drill(game: Game) -> None:
    with pytest.raises(LookupError, match="warmup asks in its own way; leave --drill out"):
        game.level("warmup", "band")
    assert game.level("warmup", "slide") is game.level("warmup")


# What it asks


def test_straight_then_thick_to_thin_on_both_sides(game: Game) -> None:
    played = begun(game, 40)
    sines = []
    while not played.done:
        truth = played.question().truth
        sines.append(truth.sign * (1.0 - truth.fullness))
        best(played)
    first, spread = np.array(sines[:4]), np.array(sines[4:20])
    assert (np.abs(first) < np.sin(np.radians(3.1))).all()
    assert (np.diff(np.abs(spread)) > 0).all()
    assert (np.sign(spread[:-1]) == -np.sign(spread[1:])).all()
    assert np.abs(spread).min() < 0.1
    assert np.abs(spread).max() > 0.85


def row(band: str, side: str, bias: float, verdict: str, wide: float = 0.1) -> KindVerdict:
    return KindVerdict(band, side, bias, bias - wide / 2, bias + wide / 2, 0.05, 9, verdict, False, 0, 0.8)


def test_the_weak_come_first_the_worst_before_and_else_what_is_known_least() -> None:
    rows = [
        row("1/2", "left", 0.02, THICK),
        row("1/4", "right", -0.09, THIN),
        row("3/4", "left", 0.0, TRUE, 0.01),
        row("3/8", "left", 0.01, NOT_YET, 0.3),
    ]
    assert [r.band for r in weakest(rows)] == ["1/4", "1/2"]
    assert [r.band for r in weakest(rows[2:])] == ["3/8", "3/4"]


def test_it_ends_with_what_is_seen_well_the_surest_before_and_else_with_the_thicker_ones() -> None:
    rows = [
        row("1/4", "left", 0.0, TRUE, 0.04),
        row("5/8", "right", 0.0, TRUE, 0.02),
        row("3/4", "left", 0.06, THICK),
        row("7/8", "left", 0.01, NOT_YET),
    ]
    assert [r.band for r in best_seen(rows)] == ["5/8", "1/4"]
    assert [r.band for r in best_seen(rows[2:])] == ["7/8", "3/4"]


@pytest.mark.slow
def test_late_shots_are_of_the_weak_and_of_the_well_seen_kinds() -> None:
    rng, calls = np.random.default_rng(3), list[Call]()
    for k in range(400):
        sine = float(rng.uniform(-0.9, 0.9))
        error = float(rng.normal(0.12 if 0.56 < sine < 0.69 else 0.0, 0.03))
        calls.append(Call(sine, error, error, error, True, "slide down", str(k // 20), k // 40))
    belief = Belief()
    for call in calls:
        belief.update(call)
    worst = weakest(kind_verdicts(belief, Tally(calls)))[0]
    assert (worst.band, worst.side) == ("3/8", "left")
    weak = [sine_asked(rng, 0.6, 1.0, belief, Tally(calls)) for _ in range(60)]
    assert sum(0.5625 <= s <= 0.6875 for s in weak) >= 12
    well = [sine_asked(rng, 0.9, 1.0, belief, Tally(calls)) for _ in range(60)]
    assert not any(0.5 < s < 0.75 for s in well)


def test_without_a_call_it_can_be_asked_too() -> None:
    for part in (0.0, 0.05, 0.3, 0.6, 0.95, 1.2):
        assert abs(sine_asked(np.random.default_rng(1), part, -1.0, Belief(), Tally())) <= 0.91


# What it says


def called(sine: float, error: float, set_id: str = "today", day: int = 9) -> Call:
    return Call(sine, error, error, error, abs(error) < 0.03, "slide down", set_id, day)


def mornings(off: float, calls: int = 7) -> list[Call]:
    """Calls about thick and thin cuts to both sides in turn; thin ones to the left are off by so much."""
    rng = np.random.default_rng(5)
    sines = [s for _ in range(calls) for s in (0.7, -0.2, 0.3, -0.8)]
    return [called(s, float(rng.normal(off if s == 0.7 else 0.0, 0.03))) for s in sines]


def test_a_shift_of_today_is_told_with_its_side_and_what_to_do() -> None:
    told = closing(mornings(0.12), [], "", STYLE)
    assert told == "Today you see thin cuts to the left 1/8 ball thick, so aim those a little thinner."
    told = closing(mornings(-0.12), [], "", STYLE)
    assert told == "Today you see thin cuts to the left 1/8 ball thin, so aim those a little thicker."
    assert closing(mornings(0.0), [], "", STYLE) == NOTHING


def test_what_is_usual_is_no_news_of_today() -> None:
    rng = np.random.default_rng(6)
    before = [
        called(s, float(rng.normal(0.12 if s == 0.7 else 0.0, 0.03)), str(k // 5), k // 5)
        for k in range(30)
        for s in (0.7, -0.2, 0.3, -0.8)
    ]
    told = closing(mornings(0.12), before, "You see 1/4 to the left 1/8 ball thick.", STYLE)
    assert told == f"{AS_USUAL}: you see 1/4 to the left 1/8 ball thick."
    assert closing(mornings(0.12), before, "", STYLE) == f"{AS_USUAL}."
    # Today it is gone: that is off from what is usual, but nothing to aim otherwise for.
    assert closing(mornings(0.0), before, "", STYLE) == f"{AS_USUAL}."


def test_three_calls_of_a_group_tell_nothing_and_a_slip_is_none_of_them() -> None:
    assert not any(
        s.is_sure for s in today_shifts(mornings(0.3, calls=3), []).shifts if s.shots != EVERYTHING
    )
    slips = [*mornings(0.0), called(0.7, 0.6), called(-0.2, -0.7)]
    assert closing(slips, [], "", STYLE) == NOTHING


def test_what_is_off_everywhere_is_told_of_everything() -> None:
    rng = np.random.default_rng(7)
    today = [called(float(s), 0.1 + float(rng.normal(0, 0.04))) for s in rng.uniform(-0.9, 0.9, 24)]
    assert (
        closing(today, [], "", STYLE) == "Today you see everything 1/12 ball thick, so aim a little thinner."
    )


def test_few_calls_say_nothing_and_wild_ones_say_so() -> None:
    assert closing([], [], "", STYLE) == TOO_FEW
    assert closing(mornings(0.0)[:9], [], "You miss.", STYLE) == TOO_FEW
    rng = np.random.default_rng(4)
    wild = [called(float(s), float(rng.normal(0, 0.3))) for s in rng.uniform(-0.9, 0.9, 20)]
    assert closing(wild, [], "", STYLE) == SLOWLY


def test_what_draws_a_player_is_no_shift() -> None:
    """Thick cuts after thin ones are drawn thinner: by .3 of the difference here, day after day."""
    rng, before = np.random.default_rng(8), list[Call]()
    for k in range(300):
        last = before[-1] if before and before[-1].set_id == str(k // 20) else None
        before.append(_drawn(rng, float(rng.uniform(-0.9, 0.9)), last, str(k // 20), k // 20))
    today, pushed = list[Call](), list[Call]()
    for some, off in ((today, 0.0), (pushed, 0.12)):
        for k in range(28):
            sine, last = (0.85, 0.15, -0.85, -0.15)[k % 4], some[-1] if some else None
            some.append(_drawn(rng, sine, last, "today", 20, off * (sine == -0.15)))
    drawn = [call.error for call in today if call.sine == 0.15]
    assert np.mean(drawn) < -0.1
    assert not any(shift.is_sure for shift in today_shifts(today, before).shifts)
    surest = max(today_shifts(pushed, before).shifts, key=lambda shift: shift.sure)
    assert (surest.shots, surest.is_sure) == ("thick cuts to the right", True)


def _drawn(
    rng: np.random.Generator, sine: float, last: Call | None, set_id: str, day: int, off: float = 0.0
) -> Call:
    fullness = 1.0 - abs(sine)
    pull = 0.0 if last is None else 0.3 * (last.fullness + last.error - fullness)
    return called(sine, off + pull + float(rng.normal(0, 0.03)), set_id, day)


def test_over_lines_the_summary_says_it(game: Game) -> None:
    said: list[str] = []
    play_lines(begun(game, 3), io.StringIO("0\n" * 3), said.append, lambda: 0.0)
    summary = json.loads(said[-1])
    assert (summary["type"], summary["shots"], summary["closing"]) == ("summary", 3, TOO_FEW)

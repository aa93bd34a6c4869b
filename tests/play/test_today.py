"""What is worth doing today: what comes first, how long it is, and why it is said to be worth it."""

import math
import re
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest

from trainer import drills
from trainer.drills import DRILLS, Choice, Question
from trainer.drills.words import kind_name
from trainer.geometry.fullness import Kind
from trainer.history.clock import Clock, FixedClock
from trainer.history.store import History
from trainer.learner.diagnosis import Healed
from trainer.learner.verdicts import THICK, TRUE
from trainer.levels.shelf import open_shelf
from trainer.play import first_look, mixed, placement, warmup
from trainer.play.game import Game
from trainer.play.set_in_play import SetInPlay
from trainer.play.today import (
    DOSE,
    FEWEST,
    MINUTES,
    NEW,
    PACE,
    USUAL_MINUTES,
    minutes_of,
    other_minutes,
    pace_of,
    plan,
)
from trainer.report.report import game_kinds
from trainer.simulate.demo import DayClock
from trainer.simulate.players import Bump

FIRST = date(2026, 3, 1)
FAULT = Bump(-38.7, 0.125)
Opened = Callable[[Path, int], tuple[Game, DayClock]]


def at_six(clock: DayClock, day: int) -> None:
    clock.set(FIRST + timedelta(days=day), 18.0)


class Eye:
    """Sees cuts of about 39 degrees (3/8) to the right thick, all else true, with a little noise."""

    def __init__(self, seed: int) -> None:
        self.rng = np.random.default_rng(seed)

    def __call__(self, question: Question) -> Choice:
        fault = FAULT.at(math.degrees(question.truth.cut))
        return drills.DRILLS[question.drill].answer(question, fault + self.rng.normal(0, 0.02))


def play(played: SetInPlay, eye: Eye, clock: DayClock, shots: int | None = None, pause: float = 8.0) -> None:
    while not played.done and shots != 0:
        played.call(eye(played.question()), 4.0)
        clock.wait(pause)
        shots = None if shots is None else shots - 1


@pytest.fixture(autouse=True)
def measured(monkeypatch: pytest.MonkeyPatch) -> None:
    """This week's measure has been taken; what there is to do besides."""
    monkeypatch.setattr("trainer.play.today.measure.is_due", lambda _: False)


@pytest.fixture(scope="module")
def practised(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Eight days of free practice by an eye with one fault, the last of them on 8 March."""
    folder, clock, eye = (
        tmp_path_factory.mktemp("today"),
        DayClock(FixedClock("2026-03-01T12:00:00+00:00").now()),
        Eye(1),
    )
    at_six(clock, 0)
    with History.open(folder, clock) as history:
        game = Game(history, open_shelf())
        for day in range(8):
            at_six(clock, day)
            play(game.begin(game.level(None, "slide"), shots=36, seed=day), eye, clock)
    return folder


@pytest.fixture
def folder(practised: Path, tmp_path: Path) -> Path:
    copy = tmp_path / "practised"
    copy.mkdir()
    for file in practised.glob("history*"):
        (copy / file.name).write_bytes(file.read_bytes())
    return copy


@pytest.fixture
def opened(opening: Callable[[Path, Clock], Game]) -> Opened:
    """Opens a history at six on a day; the game and its clock."""

    def at(folder: Path, day: int) -> tuple[Game, DayClock]:
        clock = DayClock(FixedClock("2026-03-01T12:00:00+00:00").now())
        at_six(clock, day)
        return opening(folder, clock), clock

    return at


def test_who_never_called_a_shot_begins_with_a_first_look_and_then_the_path(game: Game) -> None:
    found = plan(game)
    assert [part.level for part in found.parts] == [first_look.LEVEL]
    assert found.parts[0].line == f"A first look at how you see angles; {first_look.SHOTS} shots"
    assert (found.calls, found.enough) == (0, "")
    played = game.begin(first_look.LEVEL, shots=1)
    played.call(played.question().choices[0])
    level = game.shelf.levels[0]
    said = ["Why shots go thick: slide a line until it pots; 1 page"]
    said.append(f"Next level: {level.title}; {level.shots} shots")
    assert [part.line for part in plan(game).parts] == said
    page = game.begin(game.level("space"))
    page.call(page.question().choices[0])
    assert [part.line for part in plan(game).parts] == said[1:]


def test_who_sees_well_is_asked_once_to_find_the_place(
    game: Game,
) -> None:
    def first(shots: int) -> None:
        played = game.begin(first_look.LEVEL, shots=shots)
        while not played.done:
            question = played.question()
            played.call(question.choices[question.best])

    first(10)
    assert plan(game).parts[0].level is placement.LEVEL
    assert plan(game).parts[0].line == "Find your place: skip what you master; 40 shots at most"
    first(NEW)
    game.history.clock = FixedClock("2026-03-02T12:00:00+00:00")
    says = "Nothing stands out: find your place, and skip what you master; 40 shots at most"
    assert says in [part.line for part in plan(game, 60).parts]
    played = game.begin(placement.LEVEL)
    played.call(answer_to(played))
    played = game.begin(game.level("eighths"), shots=1)
    played.call(answer_to(played))
    assert says not in [part.line for part in plan(game, 60).parts]


def test_a_day_ends_with_every_drill_that_was_met(game: Game) -> None:
    names = ("eighths", "aim-coarse", "slide-the-line")
    for name in names[:2]:
        game.begin(game.level(name), shots=1).call(answer_to(game.begin(game.level(name), shots=1)))
    assert mixed.LEVEL not in [part.level for part in plan(game, 60).parts]
    for _ in range(DOSE - mixed.SHOTS):
        played = game.begin(game.level(names[2]), shots=1)
        played.call(answer_to(played))
    assert plan(game).parts[0].level is mixed.LEVEL
    played = game.begin(mixed.LEVEL, seed=1)
    asked = []
    while not played.done:
        asked.append(played.question().drill)
        played.call(answer_to(played))
    assert all(set(asked[k : k + 3]) == {"band", "aim", "slide"} for k in (0, 3, 6))
    assert mixed.LEVEL not in [part.level for part in plan(game, 60).parts]


def answer_to(played: SetInPlay) -> Choice:
    question = played.question()
    return question.choices[0] if question.choices else DRILLS[question.drill].answer(question, 0.1)


def test_a_set_that_was_left_comes_first_and_isn_t_said_twice(tmp_path: Path) -> None:
    clock = DayClock(FixedClock("2026-03-01T12:00:00+00:00").now())
    at_six(clock, 0)
    with History.open(tmp_path, clock) as history:
        game = Game(history, open_shelf())
        level = game.shelf.levels[0]
        play(game.begin(level), Eye(1), clock, shots=3)
        found = plan(game, 30)
        assert [part.level for part in found.parts] == [level]
        to_go = f"go on at shot 4 of {level.shots}, {level.shots - 3} to go"
        assert found.parts[0].line == f"{level.title}: {to_go}"


def test_a_set_whose_only_call_was_taken_back_is_begun_anew(game: Game) -> None:
    played = game.begin(game.shelf.levels[2])
    played.call(played.question().choices[0])
    played.undo()
    assert not game.attempts
    assert plan(game).parts[0].level is first_look.LEVEL


def named(level: str) -> str:
    """How a sentence names the kind that a level is about."""
    _, band, side = level.split("-")
    return kind_name(Kind(band, side))


def test_what_is_seen_thick_comes_next_once_a_day_and_then_the_path(folder: Path, opened: Opened) -> None:
    game, clock = opened(folder, 8)
    wrong = {f"about-{row.band}-{row.side}" for row in game_kinds(game) if row.verdict == THICK}
    assert "about-3/8-right" in wrong
    part, *later = plan(game, 30).parts
    assert part.level.name in wrong
    kind = re.escape(named(part.level.name))
    assert re.match(rf"You see {kind} 1/\d+ ball thick", part.says, re.IGNORECASE)
    assert (part.level.drill, part.shots) == ("slide", 12)
    assert later
    played = game.begin(part.level, seed=4)
    assert played.of == 12
    play(played, Eye(2), clock)
    low, high = part.level.about or (0.0, 0.0)
    about = [a for a in played.attempts if low <= math.sin(math.radians(a.cut_deg)) <= high]
    assert len(about) >= 2
    then = plan(game, 30)
    assert then.calls == 12
    assert part.level.name not in [part.level.name for part in then.parts]
    at_six(clock, 11)
    turns = [part for part in plan(game, 30).parts if part.says.startswith("You see ")]
    assert 1 <= len(turns) <= 2  # the longest ago first
    assert all(", no set about it for " in part.says for part in turns)


def test_what_is_seen_true_comes_back_when_its_gap_is_over(folder: Path, opened: Opened) -> None:
    game, _ = opened(folder, 8 + 20)
    verdicts = {f"about-{row.band}-{row.side}": row.verdict for row in game_kinds(game)}
    parts = [part for part in plan(game, 60).parts if part.level.about is not None]
    said = [verdicts[part.level.name] for part in parts]
    # What is seen wrong, then what is seen true.
    assert said == sorted(said)
    assert set(said) == {THICK, TRUE}
    for part in parts[said.index(TRUE) :]:
        kind = named(part.level.name)
        assert part.says in [f"{kind}: not practised for {n} days" for n in range(20, 29)]
    # A day after the last set nothing comes back that was practised in the last three days.
    near, _ = opened(folder, 8)
    back = [part.says for part in plan(near, 60).parts if ": not practised" in part.says]
    assert all(says.split()[-2] in ("three", "four", "five", "six", "seven", "eight") for says in back)


def test_forty_calls_are_enough_and_then_the_path_is_offered(folder: Path, opened: Opened) -> None:
    game, clock = opened(folder, 8)
    play(game.begin(game.level(None, "slide"), shots=DOSE - 1), Eye(3), clock)
    assert not plan(game).enough
    # One more call is left of the dose, but less than a few shots isn't worth beginning.
    assert len(plan(game, 30).parts) == 1
    play(game.begin(game.level(None, "slide"), shots=1), Eye(3), clock)
    found = plan(game, 30)
    assert found.enough == "40 calls today are enough to learn from: more adds little."
    assert [part.level for part in found.parts] == [game.next_level()]
    at_six(clock, 9)
    assert not plan(game).enough


@pytest.mark.parametrize("minutes", [1, 2, 5, 10, 60])
def test_it_fits_the_minutes_and_the_dose(folder: Path, opened: Opened, minutes: int) -> None:
    game, _ = opened(folder, 28)
    found = plan(game, minutes)
    total = sum(part.shots for part in found.parts)
    assert pace_of(game.attempts) == 8.0
    wanted = minutes * 60 / 8.0
    assert FEWEST <= found.parts[0].shots <= 12
    assert total <= max(DOSE, found.parts[0].shots) + 12
    assert total <= max(wanted, FEWEST) + 12
    assert found.minutes == max(round(total * 8 / 60), 1)
    assert found.parts[0].level.shots == found.parts[0].shots


def test_the_pace_is_the_middle_of_the_gaps_within_sets_and_usual_before(
    folder: Path, opened: Opened, game: Game
) -> None:
    assert pace_of(game.attempts) == PACE
    old, _ = opened(folder, 8)
    assert pace_of(old.attempts[:10]) == PACE
    assert pace_of(old.attempts) == 8.0  # the days between the sets are none


def test_minutes_are_remembered(history: History) -> None:
    assert minutes_of(history) == USUAL_MINUTES
    assert other_minutes(history, 1) == 8
    assert minutes_of(history) == 8
    for _ in range(20):
        other_minutes(history, -1)
    assert minutes_of(history) == MINUTES[0]
    for _ in range(20):
        other_minutes(history, 1)
    assert minutes_of(history) == MINUTES[-1]
    for odd in ("", "0", "61", "999", "-5", "\u0665", "five"):
        history.put_setting("minutes", odd)
        assert minutes_of(history) == USUAL_MINUTES


@pytest.mark.parametrize("drill", [None, "aim", "band", "judge", "same"])
def test_a_level_about_a_kind_is_found_by_its_name(game: Game, drill: str | None) -> None:
    level = game.level("about-3/8-right", drill)
    assert (level.name, level.title) == ("about-3/8-right", "Mixed practice")
    assert level.drill == (drill or "aim")
    assert level.about == (-11 / 16, -9 / 16)
    assert game.begin(level, seed=1).question().drill == level.drill


@pytest.mark.parametrize("name", ["about-3/7-right", "about-3/8-up", "about-", "about-3/8-right-left"])
def test_no_other_name_is_one(game: Game, name: str) -> None:
    with pytest.raises(LookupError):
        game.level(name)


# Questions, and what mends a cause


def test_a_question_is_asked_in_the_first_week_with_its_reason(game: Game) -> None:
    eye, clock = Eye(2), DayClock(game.history.clock.now())
    played = game.begin(game.level("eighths"), shots=29, seed=1)
    while not played.done:
        played.call(played.question().choices[played.question().best])
    assert all("line of aim" not in part.says for part in plan(game).parts)
    play(game.begin(game.level("eighths"), shots=1, seed=2), eye, clock)
    asked = [part for part in plan(game, 30).parts if part.level.name == "straight-or-not"]
    assert [part.says for part in asked] == ["Does your line of aim go to one side? Straight or not tells"]
    played = game.begin(game.level("straight-or-not"), shots=1, seed=3)
    played.call(played.question().choices[1])
    assert all(part.level.name != "straight-or-not" for part in plan(game, 30).parts)


def at_the_contact_point(question: Question) -> Choice:
    """The line goes through the point where the balls touch: half of the cut's fullness too thick."""
    return drills.DRILLS[question.drill].answer(question, (1.0 - question.truth.fullness) / 2)


def test_what_mends_the_cause_comes_first_once_a_day(game: Game) -> None:
    played = game.begin(game.level(None, "slide"), shots=20, seed=5)
    while not played.done:
        played.call(at_the_contact_point(played.question()))
    first = plan(game).parts[0]
    assert first.level.name == "slide-the-line"
    assert first.says == "See where the middle of the cue ball must be: Slide the line"
    level = game.begin(first.level, shots=1, seed=6)
    level.call(at_the_contact_point(level.question()))
    assert plan(game).parts[0].level.name != "slide-the-line"


def answered(game: Game, level: str, shots: int, seed: int) -> None:
    played = game.begin(game.level(level), shots=shots, seed=seed)
    while not played.done:
        question = played.question()
        played.call(drills.DRILLS[question.drill].best(question))


def asked_of(game: Game) -> list[str]:
    return [part.says for part in plan(game, 30).parts if part.says.endswith(" tells")]


def test_after_the_centre_come_throw_and_the_views_each_until_it_is_known(game: Game) -> None:
    answered(game, "slide-the-line", 95, 1)
    answered(game, "straight-or-not", 30, 2)
    game.history.clock = FixedClock("2026-03-02T12:00:00+00:00")
    throw = ["Do you allow for throw? Throw or not tells"]
    assert asked_of(game) == throw
    answered(game, "throw-or-not", 3, 3)
    assert asked_of(game) == []  # played today
    game.history.clock = FixedClock("2026-03-03T12:00:00+00:00")
    assert asked_of(game) == throw
    answered(game, "throw-or-not", 57, 4)
    answered(game, "slide-the-line", 20, 5)
    game.history.clock = FixedClock("2026-03-04T12:00:00+00:00")
    assert asked_of(game) == ["Do you see the same standing and down? Standing or down tells"]
    answered(game, "standing-or-down", 24, 6)
    game.history.clock = FixedClock("2026-03-05T12:00:00+00:00")
    assert asked_of(game) == []


def test_the_steps_of_a_cure_come_in_their_order_two_a_day_with_a_question_between(game: Game) -> None:
    played = game.begin(game.level(None, "slide"), shots=40, seed=5)
    while not played.done:
        played.call(at_the_contact_point(played.question()))
    steps = {3: [], 4: []}
    for day, names in steps.items():
        game.history.clock = FixedClock(f"2026-03-0{day}T12:00:00+00:00")
        for _ in range(3):
            part = plan(game, 30).parts[0]
            names.append(part.level.name)
            again = game.begin(part.level)
            while not again.done:
                question = again.question()
                choice = at_the_contact_point(question) if question.dial else question.choices[0]
                again.call(choice)
    assert steps[3] == ["slide-the-line", "straight-or-not", "inside-edge"]
    # A question that was never asked comes first; half of the cure wasn't right, so it comes again.
    assert steps[4] == ["throw-or-not", "slide-the-line", "aim-beyond-the-edge"]


def test_one_kind_that_is_seen_true_comes_back_in_a_day_and_no_more(folder: Path, opened: Opened) -> None:
    game, clock = opened(folder, 8 + 20)
    (first,) = [part for part in plan(game, 60).parts if ": not practised" in part.says]
    play(game.begin(first.level, seed=4), Eye(2), clock)
    assert all(": not practised" not in part.says for part in plan(game, 60).parts)


def test_a_warm_up_that_was_left_does_not_stand_in_the_way_of_the_day(game: Game) -> None:
    answered(game, "eighths", 12, 1)
    left = game.begin(warmup.LEVEL)
    left.call(drills.DRILLS[left.question().drill].best(left.question()))
    assert all(part.level is not warmup.LEVEL for part in plan(game, 30).parts)


def test_what_has_healed_is_asked_again_and_once_a_day(tmp_path: Path) -> None:
    clock = DayClock(FixedClock("2026-03-01T12:00:00+00:00").now())
    at_six(clock, 0)
    with History.open(tmp_path, clock) as history:
        game = Game(history, open_shelf())
        level = game.level("slide-thin")
        play(game.begin(level), Eye(1), clock)
        play(game.begin(placement.LEVEL), Eye(1), clock)
        game.skill().looks.healed["ball-width"] = Healed(FIRST.toordinal(), 0.2)
        said = []
        for day in range(5):
            at_six(clock, day)
            parts = [part for part in plan(game, 60).parts if part.says.startswith("Does it hold?")]
            said.append([part.says for part in parts])
            for part in parts:
                play(game.begin(part.level), Eye(day), clock)
                assert not [part for part in plan(game, 60).parts if part.says.startswith("Does it hold?")]
                game.skill().looks.healed.setdefault("ball-width", Healed(FIRST.toordinal(), 0.2))
        title = level.title
        assert said == [
            [],
            [f"Does it hold? The cue ball's width, healed yesterday: {title}"],
            [],
            [f"Does it hold? The cue ball's width, healed three days ago: {title}"],
            [],
        ]

"""What a set showed: its figures, its calls' errors, its kinds of shot, and the text of it to show."""

import math

import pytest

from trainer.drills import DRILLS
from trainer.drills.pick import PickQuestion
from trainer.levels.level import Level, free_practice
from trainer.levels.shelf import open_shelf
from trainer.play import summary
from trainer.play.first_look import LEVEL as FIRST
from trainer.play.game import Game
from trainer.play.set_in_play import SetInPlay, sample_of
from trainer.play.summary import IN_A_LINE, RIGHT, WRONG, KindSummary, errors_in, grouped, to_show, was_about

SHELF = open_shelf()
LEVELS = [*SHELF.levels, *(free_practice(drill, SHELF.tables) for drill in DRILLS)]


def played(game: Game, level: Level, shots: int, seen: float) -> SetInPlay:
    """A set of one who sees every shot so much too full."""
    set_ = game.begin(level, shots=shots, seed=3)
    while not set_.done:
        question = set_.question()
        set_.call(DRILLS[question.drill].answer(question, seen), 2.0)
    return set_


def test_errors_say_which_calls_pot(game: Game) -> None:
    set_ = played(game, game.level("slide-the-line"), 20, 0.05)
    found = errors_in(set_.attempts)
    assert found.enough
    for attempt, sine, error, (low, high) in zip(
        set_.attempts, found.sines, found.errors, found.forgiven, strict=True
    ):
        assert sine == pytest.approx(math.sin(math.radians(attempt.cut_deg)))
        assert (low <= error <= high) == attempt.potted
    assert 0 < sum(a.potted for a in set_.attempts) < 20


@pytest.mark.parametrize("drill", DRILLS)
def test_calls_that_don_t_tell_how_full_a_shot_was_seen_make_no_chart(game: Game, drill: str) -> None:
    set_ = played(game, game.level(None, drill), 6, 0.0)
    errors = errors_in(set_.attempts)
    assert errors.enough == (drill not in ("same", "pick"))
    assert len(errors.sines) == len(errors.errors) == len(errors.forgiven) <= 6


def test_the_text_to_show_holds_a_mark_a_call_and_what_came_often(game: Game) -> None:
    set_ = played(game, game.level("eighths"), 26, 0.09)
    lines = to_show(set_, "2026-03-01").splitlines()
    assert lines[0] == "Eighths, 2026-03-01"
    assert [len(line) for line in lines[1:3]] == [IN_A_LINE, 6]
    marks = "".join(lines[1:3])
    assert [mark == RIGHT for mark in marks] == set_.rights
    assert set(marks) <= {RIGHT, WRONG}
    said = "\n".join(lines[3:])
    groups = grouped(set_.attempts)
    assert {row.kind: row.calls for _, rows in groups for row in rows} == {
        row.kind: row.calls for row in summary.kind_summaries(set_.attempts) if row.calls >= 3
    }
    for heading, rows in groups:
        (line,) = [line for line in lines if line.startswith(f"{heading}: ")]
        kinds = [{"full": "full balls", "thinner": "cuts thinner than 1/8"}.get(r.band, r.band) for r in rows]
        assert all(f"{kind} to the {row.side}" in line for kind, row in zip(kinds, rows, strict=True))
    assert "thick" in said


def test_the_first_look_shows_what_was_found(game: Game) -> None:
    set_ = played(game, FIRST, 10, 0.25)
    assert "Your cuts go too thick, the thinner the more" in to_show(set_, "2026-03-01")


def test_a_level_that_was_passed_before_is_known_when_it_is_begun(game: Game) -> None:
    level = game.level("first-look")
    first = played(game, level, 10, 0.0)
    assert not first.passed_before
    assert game.passed(level)
    assert game.begin(level).passed_before


@pytest.mark.parametrize("level", LEVELS, ids=lambda level: f"{level.name}-{level.drill}")
def test_a_sample_of_a_level_is_one_of_its_questions_and_always_the_same(level: Level) -> None:
    question = sample_of(level)
    assert question == sample_of(level)
    assert question.shot.table.name == level.limits.table.name
    low, high = (math.sin(math.radians(cut)) for cut in level.limits.cuts)
    if not isinstance(question, PickQuestion) and level.drill not in ("cushion",):
        assert low - 0.05 <= abs(math.sin(question.truth.cut)) <= high + 0.05


@pytest.mark.parametrize(
    ("calls", "right", "error", "heading"),
    [
        (4, 4, 0.2, "Called well"),
        (4, 3, 0.03, "Called well"),  # less than can be told
        (4, 2, 0.03, "To look at again"),
        (4, 1, 0.04, "Called thick"),
        (4, 1, -0.04, "Called thin"),
        (3, 1, -0.2, "Called thin"),
        (4, 1, None, "To look at again"),
    ],
)
def test_a_kind_is_called_what_its_calls_tell(
    calls: int, right: int, error: float | None, heading: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(
        summary, "kind_summaries", lambda attempts: [KindSummary("1/2", "left", calls, right, error)]
    )
    ((found, _),) = grouped([])
    assert found == heading


def test_of_a_kind_that_came_once_or_twice_nothing_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    rows = [KindSummary("1/2", "left", 2, 0, 0.3), KindSummary("3/4", "left", 1, 1, 0.0)]
    monkeypatch.setattr(summary, "kind_summaries", lambda attempts: rows)
    assert grouped([]) == []


def test_a_set_about_a_kind_says_so_at_its_end_and_not_before(game: Game) -> None:
    played = game.begin(game.level("about-3/8-right"), seed=3)
    assert "3/8" not in f"{played.level.title} {played.level.teaches}"
    while not played.done:
        played.call(played.question().choices[played.question().best])
    about = [a for a in played.attempts if -11 / 16 <= math.sin(math.radians(a.cut_deg)) <= -9 / 16]
    assert 2 <= len(about) <= 8
    assert was_about(played) == f"It was about 3/8 to the right: {len(about)} of {len(about)} right."
    other = game.begin(game.level("eighths"), shots=3, seed=3)
    assert was_about(other) == ""

"""What a player is told of the eye: true, in plain words, with a level that mends it."""

import math
import re

import pytest
from misjudging import FREE, MIXED, Asking, Misjudging, calls_of

from trainer.drills import ANGLE
from trainer.geometry.aiming import SLOW
from trainer.geometry.throw import throw_angle
from trainer.learner.call import thrown_by
from trainer.learner.diagnosis import CauseSize
from trainer.learner.verdicts import THICK
from trainer.levels.shelf import open_shelf
from trainer.play.causes_in_words import CURES, SAYS, THROWN, VIEW_CURES, part, wide
from trainer.play.diagnosis import FIRST_WORD, Diagnosis, by_view, calls_to_be_sure, diagnose, kinds_by_view
from trainer.play.player_model import PlayerModel
from trainer.shots.style import USUAL, Style

SHELF = open_shelf()
IMPERIAL = Style("imperial")


def told(
    player: Misjudging, calls: int, asking: Asking = FREE, style: Style = USUAL, seed: int = 1
) -> Diagnosis:
    model = PlayerModel()
    for number, call in enumerate(calls_of(player, seed, calls, asking), 1):
        model.skill(ANGLE).learn(call, number)
    return diagnose(model, SHELF, style)


def test_whoever_aims_at_the_contact_point_is_told_so_in_one_sentence() -> None:
    found = told(Misjudging(contact=1.0), 60)
    (cause,) = found.causes
    assert cause.cause == "ball-width"
    assert cause.low < 0.25 < cause.high
    assert cause.since_call <= 15
    assert cause.chance > 0.99
    assert found.sentence.startswith("Your cuts go too thick, the thinner the more: 1/4 ball at half ball (2")
    assert found.sentence.endswith(
        "because you send the middle of the cue ball at the point where the balls touch."
    )
    assert found.said == f"{found.sentence} See where the middle of the cue ball must be: Slide the line."
    assert found.calls_to_go is None


@pytest.mark.parametrize(
    ("player", "asking", "says", "cure"),
    [
        (Misjudging(contact=-0.5), FREE, "Your cuts go too thin, the thinner the more: ", "slide-the-line"),
        (Misjudging(right=0.06), FREE, " to the right at every shot", "straight-or-not"),
        (
            Misjudging(right=-0.06),
            FREE,
            "so cuts to the right go thin and cuts to the left thick",
            "straight-or-not",
        ),
        (Misjudging(fuller=-0.07), FREE, "Everything goes 1/16 ball too thin", "thick-or-thin"),
        (Misjudging(to_names=0.6), FREE, "you take for the nearest of them", "between-the-eighths"),
        (Misjudging(to_middle=0.12), FREE, "You see full hits thinner and thin ones fuller", "aim-eighths"),
        (Misjudging(lost=0.1), FREE, "Thinner than half ball you are suddenly ", "inside-edge"),
        (Misjudging(in_view={"standing": -0.1}), MIXED, "Standing you see every hit ", "standing-only"),
        (Misjudging(bump=(-38.0, 0.12, 14.0)), FREE, "You see 3/8 to the right ", "about-3/8-right"),
    ],
)
def test_each_cause_is_told_with_its_cure(player: Misjudging, asking: Asking, says: str, cure: str) -> None:
    worst = told(player, 240, asking).worst
    assert worst is not None
    assert says in worst.says
    assert worst.cure.name == cure
    assert worst.cure == SHELF.find(cure) if not worst.kinds else worst.cure.about is not None


def test_two_causes_are_told_the_costlier_one_first() -> None:
    found = told(Misjudging(contact=0.8, right=0.06), 200)
    assert [each.cause for each in found.causes] == ["ball-width", "line-shift"]
    assert found.causes[0].cost > found.causes[1].cost
    assert " Besides: your line of aim lies " in found.sentence


def test_before_the_first_word_it_says_how_many_calls_it_takes() -> None:
    assert told(Misjudging(), 0).sentence == "12 more calls, and a first word on your eye can be said."
    early = told(Misjudging(), FIRST_WORD - 1)
    assert early.sentence == "1 more call, and a first word on your eye can be said."
    assert early.calls_to_go == 1


def test_where_nothing_is_wrong_it_says_so() -> None:
    found = told(Misjudging(), 200)
    assert found.causes == ()
    assert found.worst is None
    assert found.calls_to_go is None
    assert found.said == found.sentence
    assert "Nothing stands out after 200 calls" in found.sentence or "nothing is surely off" in found.sentence


def test_a_fault_too_small_to_lose_pots_is_not_told_first() -> None:
    found = told(Misjudging(fuller=0.012, noise=0.03), 900)
    assert found.worst is None


def test_scatter_is_told_with_the_share_that_would_pot() -> None:
    found = told(Misjudging(noise=0.055), 2500)
    assert found.worst is None
    # A call of this noise is within .02 ball, what half balls forgive in the middle, in about 3 of 10.
    assert "what is left is scatter: 3 of 10 such calls would pot." in found.sentence


def test_each_cure_is_a_level() -> None:
    for name, aim in (*CURES.values(), *VIEW_CURES.values()):
        assert SHELF.find(name).name == name
        assert aim[0].isupper()
        assert not aim.endswith(".")


@pytest.mark.parametrize("cause", SAYS)
@pytest.mark.parametrize("size", [0.09, -0.09, 0.9])
def test_each_cause_can_be_said_either_way(cause: str, size: float) -> None:
    what, does, why = SAYS[cause](size, USUAL, ("standing", "down"))
    assert what[0].isupper()
    assert not what.endswith(".")
    assert does
    assert not why.endswith(".")


def test_what_it_does_at_the_pocket_is_geometry() -> None:
    # Half a ball: 30 degrees. A quarter ball too thick is a cut of asin(1/4).
    off = 1000 * math.tan(math.radians(30.0) - math.asin(0.25))
    assert wide(0.5, 0.25, USUAL) == f"{round(off, -1):.0f} mm wide at a pocket a metre away"
    assert (
        wide(0.5, 0.25, IMPERIAL) == f"{round(off * 0.9144, -1) / 25.4:.1f} in wide at a pocket a yard away"
    )
    assert part(1 / 24, USUAL) == "1/24 ball"
    assert part(0.26, USUAL) == "1/4 ball"


def test_a_slow_half_ball_is_thrown_by_as_much_as_is_said() -> None:
    half_ball = math.radians(30.0)
    assert thrown_by(half_ball, float(throw_angle(half_ball, SLOW))) == pytest.approx(THROWN, rel=0.1)


def test_how_many_calls_are_missing_grows_less_the_surer_it_is() -> None:
    def missing(size: float, chance: float) -> int | None:
        return calls_to_be_sure(CauseSize(size, 0.01, "line-shift", chance), 60)

    likely, less, little = missing(0.025, 0.75), missing(0.022, 0.5), missing(0.001, 0.5)
    assert likely is not None
    assert less is not None
    assert 1 <= likely < less
    assert little is None


def test_each_view_is_told_beside_the_first() -> None:
    def lines(player: Misjudging, calls: int) -> list[str]:
        model = PlayerModel()
        for number, call in enumerate(calls_of(player, 1, calls, MIXED), 1):
            model.skill(ANGLE).learn(call, number)
        return by_view(model, USUAL)

    differs, *kinds = lines(Misjudging(in_view={"standing": 0.08}), 200)
    assert 1 <= len(kinds) <= 3
    for kind in kinds:
        assert re.fullmatch(r".+ to the (left|right): down on the shot .+, standing 1/\d+ ball thick\.", kind)
    assert differs.startswith("Standing you see hits 1/1")
    assert differs.endswith(" ball fuller than down on the shot.")
    (same,) = lines(Misjudging(), 200)
    assert same.startswith("Standing you see hits as down on the shot, within 1/")
    assert by_view(PlayerModel(), USUAL) == []


def test_kinds_are_judged_in_each_view_once_the_views_surely_differ() -> None:
    def model_of(player: Misjudging) -> PlayerModel:
        model = PlayerModel()
        for number, call in enumerate(calls_of(player, 1, 300, MIXED), 1):
            model.skill(ANGLE).learn(call, number)
        return model

    views = kinds_by_view(model_of(Misjudging(in_view={"standing": 0.08}, noise=0.04)))
    assert list(views) == ["down", "standing"]
    apart = [s.bias - d.bias for d, s in zip(views["down"], views["standing"], strict=True)]
    assert all(abs(a - 0.08) < 0.03 for a in apart)
    thick = {view: sum(row.verdict == THICK for row in rows) for view, rows in views.items()}
    assert thick["standing"] > 8
    assert thick["down"] < 4
    assert kinds_by_view(model_of(Misjudging(noise=0.04))) == {}

"""What a practice card is of where the player didn't say: players with one known fault, told and healed."""

import pytest
from misjudging import FREE, Misjudging, calls_of

from trainer.drills import ANGLE
from trainer.learner.diagnosis import Healed
from trainer.learner.verdicts import kind_verdicts
from trainer.levels.shelf import open_shelf
from trainer.play.diagnosis import diagnose
from trainer.play.player_model import PlayerModel
from trainer.report.proposed import Proposed, proposed
from trainer.shots.style import USUAL


def practised(player: Misjudging, calls: int) -> PlayerModel:
    model = PlayerModel()
    for number, call in enumerate(calls_of(player, 1, calls, FREE), 1):
        model.skill(ANGLE).learn(call, number)
    return model


def card_of(model: PlayerModel) -> Proposed:
    skill = model.skill(ANGLE)
    return proposed(diagnose(model, open_shelf(), USUAL), model, kind_verdicts(skill.belief, skill.tally))


@pytest.mark.parametrize(
    ("player", "kinds", "why"),
    [
        # Whoever forgets the cue ball's width errs most at the thinnest cuts, to both sides alike.
        (
            Misjudging(contact=1.0),
            ["1/8 left", "1/8 right", "1/4 left", "1/4 right"],
            "Your cuts go too thick",
        ),
        # A line to one side is as wrong everywhere: half a ball and next to it are easiest to lay out.
        (Misjudging(right=0.08), ["1/2 left", "1/2 right", "5/8 left", "5/8 right"], "Your line of aim lies"),
        (Misjudging(lost=0.12), ["3/8 left", "3/8 right", "1/4 left", "1/4 right"], "Thinner than half ball"),
    ],
)
def test_a_fault_that_is_told_is_tried_where_it_is_greatest(
    player: Misjudging, kinds: list[str], why: str
) -> None:
    found = card_of(practised(player, 240))
    assert [one.name for one in found.kinds] == kinds
    assert found.why.startswith(why)
    assert found.why.endswith(". Try whether the table agrees, to both sides.")


def test_one_stretch_of_cuts_is_tried_there_and_to_the_other_side() -> None:
    found = card_of(practised(Misjudging(bump=(-38.0, 0.12, 14.0)), 240))
    assert "You see 3/8 to the right" in found.why
    names = [one.name for one in found.kinds]
    assert names[0] == "3/8 right"
    assert "3/8 left" in names


def test_what_has_healed_lately_is_tried_at_the_table() -> None:
    model = practised(Misjudging(), 240)
    looks, day = model.skill(ANGLE).looks, model.skill(ANGLE).belief.day
    looks.healed["line-shift"] = Healed(day - 3, 0.08)
    found = card_of(model)
    assert found.why == "The line to one side has healed here: see whether it has at the table."
    assert [one.name for one in found.kinds] == ["1/2 left", "1/2 right", "5/8 left", "5/8 right"]
    looks.healed["line-shift"] = Healed(day - 30, 0.08)
    assert card_of(model).why == ""


def test_else_it_is_what_is_known_least() -> None:
    found = card_of(PlayerModel())
    assert found.why == ""
    assert [one.name for one in found.kinds[:4]] == ["3/4 left", "1/2 right", "1/4 left", "3/8 right"]

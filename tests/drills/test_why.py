"""The construction that explains a mark: its numbers against the positions themselves."""

import math
import re
from dataclasses import replace

import numpy as np
import pytest
from test_every_drill import asked

from trainer import drills
from trainer.drills import DRILLS, words
from trainer.drills.words import PARTS
from trainer.geometry.tables import TABLES
from trainer.levels.level import free_practice
from trainer.shots.draw import draw
from trainer.shots.shot import Limits
from trainer.shots.style import USUAL
from trainer.shots.truth import truth_of


def numbers(text: str) -> list[float]:
    return [float(n) for n in re.findall(r"(?<![/\d])\d+\.?\d*(?![/\d])", text)]


@pytest.mark.parametrize("name", ["slide", "throw", "band"])
def test_each_step_says_what_can_be_measured_on_the_cloth(name: str) -> None:
    for question in asked(name, 120):
        mark = drills.mark(question, DRILLS[name].answer(question, 0.09))
        steps = DRILLS[name].why(mark, USUAL)
        shot, truth = question.shot, question.truth
        cue, ball, touch, target = (
            np.array(p) for p in (shot.cue_ball, shot.object_ball, truth.touching, truth.target)
        )
        way, touching, aim, offset, fullness, call, formulas = (step.says for step in steps)
        assert numbers(way)[0] == pytest.approx(np.linalg.norm(target - ball), abs=0.5)
        assert numbers(touching)[-1] == pytest.approx(np.linalg.norm(touch - ball), abs=0.05)
        length, *cut = numbers(aim)
        assert length == pytest.approx(np.linalg.norm(touch - cue), abs=0.5)
        (ax, ay), (bx, by) = touch - cue, ball - touch
        turned = math.degrees(math.atan2(ax * by - ay * bx, ax * bx + ay * by))
        assert (cut[0] if cut else 0.0) == pytest.approx(abs(turned), abs=0.06)
        side = "left" if turned > 0 else "right"
        assert side in aim or not cut
        wide = abs(ax * (ball - cue)[1] - ay * (ball - cue)[0]) / math.hypot(ax, ay) / 52.5
        assert (numbers(offset) or [0.0])[0] == pytest.approx(wide, abs=0.006)
        assert numbers(fullness)[0] == pytest.approx(1 - wide, abs=0.006)
        sine, out, one, less, left = numbers(formulas)[:5]
        assert sine == pytest.approx(abs(turned), abs=0.06)
        assert (out, one, less, left) == pytest.approx((wide, 1, wide, 1 - wide), abs=0.006)
        assert not any("sin" in step.says.split() or "=" in step.says for step in steps[:-1])  # formulas last
        assert drills.mark(question, DRILLS[name].best(question)).right
        if mark.offset and 0 <= truth.fullness + mark.error <= 1:
            assert numbers(call)[0] == pytest.approx(1 - abs(mark.offset), abs=0.006)
        assert ("thrown" in touching or "throws" in touching) == (truth.throw != 0)
        assert [step.parts for step in steps] == [*(PARTS[: k + 1] for k in range(6)), PARTS]
        assert all(len(step.says) <= 150 for step in steps)  # two lines at 80 columns


@pytest.mark.parametrize("name", DRILLS)
def test_the_last_step_says_what_was_played_and_by_how_much(name: str) -> None:
    for question in asked(name, 12):
        choices = question.choices or [DRILLS[name].answer(question, 0.12)]
        for choice in choices:
            mark = drills.mark(question, choice)
            steps = DRILLS[name].why(mark, USUAL)
            assert all(0 < len(step.says) <= 160 for step in steps)
            assert steps[-1].parts == PARTS
            called = next(step.says for step in steps if step.parts == PARTS)
            covers = re.search(r"covers (\d\.\d\d): (.*?)\. The (?:cue )?ball", called)
            if covers:
                played = 1 - abs(mark.offset) / question.shot.table.reach
                assert float(covers[1]) == pytest.approx(played, abs=0.006)
                off = played - mark.question.truth.fullness
                if abs(off) > 1 / 64 and mark.offset * mark.question.truth.offset > 0:
                    assert covers[2].endswith("thick" if off > 0 else "thin")


def test_over_a_cushion_the_angles_are_those_of_the_way_over_it() -> None:
    for question in asked("cushion", 40):
        mark = drills.mark(question, DRILLS["cushion"].answer(question, 0.05))
        *_, line, meets, _ = (step.says for step in DRILLS["cushion"].why(mark, USUAL))
        cue, nose, touch = (np.array(p) for p in DRILLS["cushion"].true_way(question))
        (x, y), table = nose, question.shot.table
        at_end = min(x, table.length - x) < min(y, table.width - y)
        along = np.array([0.0, 1.0]) if at_end else np.array([1.0, 0.0])
        off = [
            math.degrees(math.asin(abs((p - nose) @ along) / np.linalg.norm(p - nose))) for p in (cue, touch)
        ]
        assert numbers(meets)[:2] == pytest.approx(off, abs=0.06)
        (ax, ay), (bx, by) = touch - nose, np.array(question.shot.object_ball) - touch
        turned = math.degrees(math.atan2(ax * by - ay * bx, ax * bx + ay * by))
        assert numbers(line)[0] == pytest.approx(abs(turned), abs=0.06)
        assert ("left" if turned > 0 else "right") in line.replace("left cushion", "").replace(
            "right cushion", ""
        )


def test_what_is_said_to_pot_does() -> None:
    """The ends are rounded inward, and nothing is fuller than full."""
    for question in [*asked("straight", 60), *asked("slide", 60)]:
        mark = drills.mark(question, DRILLS[question.drill].best(question))
        low, high = question.truth.margin
        said = DRILLS[question.drill].why(mark, USUAL)[-1].says
        found = re.search(r"From (\d\.\d+) to (full|\d\.\d+)", said)
        assert found
        top = 1.0 if found[2] == "full" else float(found[2])
        assert low - 1e-9 <= float(found[1]) <= top <= high + 1e-9
        assert (found[2] == "full") == (high > 1.0)


def test_balls_of_two_sizes_are_told_with_the_numbers_that_give_it() -> None:
    level = replace(free_practice("slide"), limits=Limits(TABLES["small-ball"]))
    rng = np.random.default_rng(1)
    for shot in [draw(rng, 1, level.limits)[0] for _ in range(20)]:
        question = level.question(shot, truth_of(shot), rng)
        mark = drills.mark(question, DRILLS["slide"].answer(question, 0.05))
        steps = DRILLS["slide"].why(mark, USUAL)
        _, _, out, one, off, reach, full = numbers(steps[-1].says)[:7]
        assert (one, reach) == (1, pytest.approx(shot.table.reach, abs=6e-4))
        assert numbers(steps[3].says)[-1] == off == out
        assert 1 - off / reach == pytest.approx(full, abs=0.012)
        assert USUAL.thick_or_thin(mark.error) in steps[5].says  # as the mark itself says it


def test_by_the_edge_the_way_from_the_centre_to_the_edge_is_told() -> None:
    for question in asked("edge", 30):
        mark = drills.mark(question, DRILLS["edge"].answer(question, 0.0))
        says = DRILLS["edge"].why(mark, USUAL)[3].says
        assert says.endswith(f"nearer: {words.beside(question.truth.offset - question.inset)}.")

"""How hard levels are."""

import dataclasses
import itertools

import numpy as np
import pytest
from scipy import stats

from trainer.drills import DRILLS, Question
from trainer.drills.question import Answers
from trainer.geometry.acceptance import table_window
from trainer.geometry.tables import POCKETS
from trainer.levels.level import CHAPTERS, Level, free_practice, level_chance, narrowed
from trainer.levels.shelf import open_shelf
from trainer.shots.along_cushion import along_cushion
from trainer.shots.draw import draw
from trainer.shots.shot import Limits, Shot
from trainer.shots.tolerance import NOISE
from trainer.shots.truth import truth_of, work_out


def test_harder_with_more_noise_thinner_cuts_and_longer_ways() -> None:
    level = free_practice("aim")
    by_noise = [level_chance(level, noise) for noise in (0.005, 0.02, 0.05, 0.2)]
    assert by_noise == sorted(by_noise, reverse=True)

    def mean(**changed: object) -> float:
        limits = dataclasses.replace(Limits(), **changed)  # type: ignore[arg-type]
        return level_chance(Level("x", "x", "x", "aim", limits=limits))

    assert mean(cuts=(0.0, 20.0)) > mean(cuts=(30.0, 50.0)) > mean(cuts=(60.0, 75.0))
    near, far = (150.0, 400.0), (900.0, 1400.0)
    assert mean(pocket_distance=near) > 1.5 * mean(pocket_distance=far)


def test_a_levels_chance_is_the_mean_over_shots_of_its_own() -> None:
    """The same every time, and near the mean of other, many shots by scipy's own distribution."""
    for level in open_shelf().levels[::4]:
        found = level_chance(level)
        assert found == level_chance(level)
        many = level_chance(level, shots=4000, seed=9)
        assert found == pytest.approx(many, abs=0.05)
    limits = Limits()
    truths = work_out(draw(np.random.default_rng(0), 200, limits))
    want = stats.norm.cdf(truths.margin[:, 1], truths.fullness, NOISE)
    want -= stats.norm.cdf(truths.margin[:, 0], truths.fullness, NOISE)
    level = Level("x", "x", "x", "aim", limits=limits, answers=Answers())
    assert level_chance(level) == pytest.approx(want.mean(), abs=1e-6)


def test_off_a_cushion_it_is_the_chance_of_a_right_call() -> None:
    level = free_practice("cushion")
    shots = draw(np.random.default_rng(1), 12, narrowed(level))
    found = DRILLS["cushion"].chances(level, shots, work_out(shots), NOISE)
    for i, chance in enumerate(found.tolist()):
        lie = along_cushion(shots[i])
        assert lie is not None
        offs = lie.off(np.array(lie.elsewhere()))
        low, high = sorted(lie.sign * (lie.offset - offs))
        assert low <= lie.margin[0] + 1e-9
        assert high >= lie.margin[1] - 1e-9
        assert chance == pytest.approx(stats.norm.cdf(high / NOISE) - stats.norm.cdf(low / NOISE), abs=1e-6)
        # The margin is where played calls begin to miss.
        for end in lie.margin:
            for far, drops in ((0.98, True), (1.02, False)):
                value = lie.place_at(lie.offset - lie.sign * end * far)
                run = DRILLS["cushion"].run(_asked(level, shots[i]), value)
                assert run.way is not None
                assert _pots(shots[i], run.way) == drops


def _asked(level: Level, shot: Shot) -> Question:
    return level.question(shot, truth_of(shot), np.random.default_rng(0))


def _pots(shot: Shot, way: tuple[float, float]) -> bool:
    window = table_window(shot.table, np.array(shot.object_ball), POCKETS.index(shot.pocket))
    return bool(window.holds(np.array(way)))


def test_the_path_has_thirty_levels_in_chapters_and_no_level_is_easier_than_the_one_before() -> None:
    levels = open_shelf().levels
    assert len(levels) >= 30
    chances = [level_chance(level) for level in levels]
    for (before, level), (easier, harder) in zip(
        itertools.pairwise(levels), itertools.pairwise(chances), strict=True
    ):
        assert harder <= easier, f"{level.name} is easier than {before.name}"
    assert chances[0] > 0.85
    assert chances[-1] < 0.35
    chapters = [chapter for chapter, _ in itertools.groupby(level.chapter for level in levels)]
    assert chapters == list(CHAPTERS)
    # One sentence each, and one line of a small terminal.
    for aim in CHAPTERS.values():
        assert len(aim) <= 76
        assert aim.count(".") == 1

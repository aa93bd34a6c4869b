"""The drill cushion: played and marked against complex numbers and roots found by scipy.

The rebound is the trainer's own where the arithmetic around it is checked to rounding, and that of
``impulses`` where it is checked to a fiftieth of a ball.
"""

import cmath
import math
from collections.abc import Callable
from functools import cache, lru_cache, partial

import numpy as np
import pytest
from impulses import MODEL, in_one_go, model_of, out_of
from scipy.optimize import brentq

from trainer import drills
from trainer.drills import DRILLS, CallError
from trainer.drills.mark import ROLLS, rolling
from trainer.drills.question import Answers
from trainer.geometry.acceptance import table_window
from trainer.geometry.cushion import choices
from trainer.geometry.rebound import OTHERS, Rubber
from trainer.geometry.rebound import rebound as looked_up
from trainer.geometry.tables import POCKETS, TABLES
from trainer.levels.level import FREE, Level, free_practice, narrowed
from trainer.levels.reading import read_level
from trainer.levels.shelf import open_shelf
from trainer.levels.toml_reader import FileError
from trainer.shots.along_cushion import along_cushion
from trainer.shots.draw import draw, even_offsets
from trainer.shots.shot import Limits, NoSuchShot, Shot
from trainer.shots.style import USUAL
from trainer.shots.truth import truth_of
from trainer.simulate.players import Nature
from trainer.simulate.simulation import practise

CUSHION = DRILLS["cushion"]
INWARD = {"baulk": 1, "top": -1, "right": 1j, "left": -1j}


@cache
def stepped() -> dict[Rubber | None, tuple[np.ndarray, np.ndarray]]:
    """Degrees off square, in and out, of a rolling ball by impulses in small steps, all tables at once."""
    angles = np.linspace(0.0, 89.5, 180)  # straight between them within .005 degrees
    out = in_one_go([MODEL, *map(model_of, OTHERS)], angles)
    return {rubber: (angles, out_of(found)) for rubber, found in zip((None, *OTHERS), out, strict=True)}


def rebound(came: complex, inward: complex) -> complex:
    """A rolling ball off a nose, by the trainer's own rebound."""
    turned = came / inward * 1j  # the cushion below, its normal up
    (x, y), _ = looked_up([turned.real, turned.imag], [0.0, 1.0])
    return complex(x, y) / 1j * inward


def own_rebound(came: complex, inward: complex, rubber: Rubber | None = None) -> complex:
    """The same by impulses in small steps."""
    turned = came / inward * 1j
    out = np.interp(math.degrees(math.atan2(abs(turned.real), -turned.imag)), *stepped()[rubber])
    angle = math.radians(math.copysign(float(out), turned.real))
    return complex(math.sin(angle), math.cos(angle)) / 1j * inward


def ride(
    shot: Shot, cushion: str, place: float, toward: complex, off: Callable[..., complex] = rebound
) -> tuple[complex, complex]:
    """Nose and direction off it, for a place along ``toward``."""
    cue, ball, inward = complex(*shot.cue_ball), complex(*shot.object_ball), INWARD[cushion]
    size = complex(*shot.table.size)
    corner = size if cushion in ("top", "left") else 0
    height = ((ball - corner) / inward).real - shot.table.balls.cue_radius
    nose = ball - height * inward + place * 2 * shot.table.balls.object_radius * toward
    return nose, off((nose - cue) / abs(nose - cue), inward)


def passes(shot: Shot, nose: complex, out: complex) -> float:
    """How far to its right the line leaves the ball's centre, ball widths."""
    return ((complex(*shot.object_ball) - nose) / out).imag / (2 * shot.table.balls.object_radius)


@lru_cache(maxsize=4)
def shots(n: int = 120, table: str = "snooker", apart: float = 1.0) -> list[Shot]:
    limits = Limits(TABLES[table], by_cushion=apart)
    rng = np.random.default_rng(11)
    batch = draw(rng, n, limits, even_offsets(rng, n, limits))
    return [batch[i] for i in range(n)]


def asked(shot: Shot, ask: str = "place", seed: int = 0):
    level = Level("x", "x", "x", "cushion", answers=Answers(ask=ask))
    return level.question(shot, truth_of(shot), np.random.default_rng(seed))


def toward_pocket(shot: Shot, cushion: str) -> complex:
    jaws = shot.table.jaws[POCKETS.index(shot.pocket)].mean(axis=0)
    along = INWARD[cushion] * 1j
    return along if ((complex(*jaws) - complex(*shot.object_ball)) / along).real > 0 else -along


@pytest.mark.parametrize("table", [pytest.param("snooker", marks=pytest.mark.slow), "pool-9"])
@pytest.mark.parametrize("count", [30, pytest.param(500, marks=pytest.mark.long)])
def test_true_places_and_marks_agree_with_complex_numbers_and_roots(table: str, count: int) -> None:
    rng = np.random.default_rng(5)
    for shot in shots(count, table):  # 1,000 of them on the two tables
        question = asked(shot)
        lie = along_cushion(shot)
        assert lie is not None
        assert question.dial is not None
        toward = toward_pocket(shot, lie.by.cushion)
        opening = table_window(shot.table, shot.object_ball, POCKETS.index(shot.pocket))
        way = complex(*opening.middle.tolist())
        want = complex(*shot.object_ball) - way * shot.table.contact

        def off(place: float, shot=shot, lie=lie, toward=toward, want=want) -> float:
            nose, out = ride(shot, lie.by.cushion, place, toward)
            return ((want - nose) / out).imag

        root = brentq(off, -12.0, 3.0, xtol=1e-12)
        assert lie.place == pytest.approx(root, abs=1e-7)
        best = drills.mark(question, CUSHION.best(question))
        assert best.right
        assert abs(best.error) < 1e-6
        assert best.miss_mm < 0.01
        value = question.dial.at(root + 0.4 * rng.standard_normal()).value
        mark = drills.mark(question, question.dial.at(value))
        nose, out = ride(shot, lie.by.cushion, value, toward)
        true_nose, true_out = ride(shot, lie.by.cushion, root, toward)
        true = passes(shot, true_nose, true_out)
        sign = math.copysign(1.0, (way / true_out).imag)
        assert mark.offset == pytest.approx(passes(shot, nose, out), abs=1e-9)
        assert mark.error == pytest.approx(sign * (true - passes(shot, nose, out)), abs=1e-7)
        if len(mark.run.before) < 3:  # the ball is in the way of the cushion
            assert not mark.right
            continue
        assert complex(*mark.run.before[1]) == pytest.approx(nose, abs=1e-6)
        wide = passes(shot, nose, out) / shot.table.reach
        if mark.way is None:
            assert abs(wide) > 1 - 1e-9
            continue
        # A line that passes on the right sends the ball left by asin of how far.
        assert cmath.phase(complex(*mark.way) / out) == pytest.approx(math.asin(wide), abs=1e-7)


@pytest.mark.parametrize("table", ["snooker", "pool-9"])
def test_places_are_those_of_impulses_in_small_steps_and_right_is_what_pots_on_one_table(table: str) -> None:
    """The true place pots by another integration of the impact, and so do the ends of what is right."""
    potted, wider = 0, []
    for shot in shots(120, table)[:60]:
        question, lie = asked(shot), along_cushion(shot)
        assert lie is not None
        assert question.dial is not None
        toward = toward_pocket(shot, lie.by.cushion)
        opening = table_window(shot.table, shot.object_ball, POCKETS.index(shot.pocket))
        want = complex(*shot.object_ball) - complex(*opening.middle.tolist()) * shot.table.contact

        def drops(
            place: float, rubber: Rubber | None, shot=shot, lie=lie, toward=toward, opening=opening
        ) -> bool:
            nose, out = ride(shot, lie.by.cushion, place, toward, partial(own_rebound, rubber=rubber))
            wide = passes(shot, nose, out) / shot.table.reach
            if abs(wide) >= 1:
                return False
            way = out * cmath.rect(1, math.asin(wide))
            return bool(opening.holds(np.array([way.real, way.imag])))

        def off(place: float, shot=shot, lie=lie, toward=toward, want=want) -> float:
            nose, out = ride(shot, lie.by.cushion, place, toward, own_rebound)
            return ((want - nose) / out).imag

        assert lie.place == pytest.approx(brentq(off, -12.0, 3.0), abs=0.02)
        potted += drops(lie.place, None)
        low, high = lie.elsewhere()
        assert low <= lie.place <= high
        # Somewhere within a fiftieth of a ball of each end some table pots; nowhere far outside does one.
        for end, outward in ((low, -1), (high, 1)):
            near = end - outward * np.linspace(0.0, 0.02, 5)
            assert any(drops(place, rubber) for place in near for rubber in (None, *OTHERS))
            assert not any(drops(end + outward * 0.02, rubber) for rubber in (None, *OTHERS))
        wider.append((high - low) / 2)
        for value in (low + 1e-3, high - 1e-3):
            choice = question.dial.at(value)
            if lie.is_free(choice.value) and low <= choice.value <= high:
                assert drills.mark(question, choice).right
        for value in (low - 0.01, high + 0.01):
            choice = question.dial.at(value)
            if choice.value < low or choice.value > high:
                assert not drills.mark(question, choice).right
    assert potted >= 57  # 60, but for pots that forgive less than the two integrations differ by
    assert 0.02 < np.median(wider) < 0.12


@pytest.mark.parametrize("count", [20, pytest.param(60, marks=pytest.mark.long)])
def test_the_answer_of_an_error_is_its_inverse_and_thicker_is_one_way_along_the_cushion(count: int) -> None:
    reached = 0
    for shot in shots()[:count]:
        question, lie = asked(shot), along_cushion(shot)
        assert lie is not None
        offs = lie.off(np.linspace(*lie.ends, 300))
        steps = np.diff(offs)
        assert (steps > 0).all() or (steps < 0).all()
        for error in (-0.3, -0.02, 0.07, 0.25):
            choice = CUSHION.answer(question, error)
            if lie.ends[0] + 1e-6 < choice.value < lie.ends[1] - 1e-6:
                reached += 1
                assert CUSHION.error(question, choice.value) == pytest.approx(error, abs=1e-9)
        low, high = CUSHION.forgiven(question)
        for error, pots in (
            (0.98 * low, True),
            (1.05 * low, False),
            (0.98 * high, True),
            (1.05 * high, False),
        ):
            choice = CUSHION.answer(question, error)
            if lie.is_free(choice.value):
                assert drills.mark(question, choice).potted == pots
    assert reached > 3 * count


def test_which_way_is_asked_only_where_one_is_clearly_surer() -> None:
    rights = set()
    level = Level("x", "x", "x", "cushion", limits=Limits(TABLES["pool-9"], cuts=(60, 79)))
    level = Level("x", "x", "x", "cushion", limits=level.limits, answers=Answers(ask="way"))
    batch = draw(np.random.default_rng(3), 60, narrowed(level))
    for i in range(60):
        question = asked(batch[i], "way")
        lie = along_cushion(batch[i])
        assert lie is not None
        wide, straight = lie.by.wide, lie.by.direct_wide
        assert max(wide, straight) > 1.149 * min(wide, straight) > 0
        assert question.best == (1 if wide > straight else 0)
        rights.add(question.best)
        for choice in question.choices:
            mark = drills.mark(question, choice)
            assert mark.potted
            assert mark.right == (choice == question.choices[question.best])
            assert (mark.error == 0) == mark.right
            assert CUSHION.meant(question.asked, choice, mark.error) == (-math.inf, math.inf)
            assert len(mark.run.before) == (3 if choice.name == "cushion first" else 2)
            assert "times as many lines" in drills.headline(mark, USUAL)
    assert rights == {0, 1}


def test_neither_way_is_the_answer_of_the_level_in_most_of_its_shots_nor_told_by_one_distance() -> None:
    limits = narrowed(open_shelf().find("cushion-or-straight"))
    batch = draw(np.random.default_rng(8), 300, limits)
    window = table_window(limits.table, batch.object_ball, batch.pocket)
    found = choices(limits.table, batch.cue_ball, batch.object_ball, window)
    cushion = found.wide > found.direct_wide
    assert 0.35 < cushion.mean() < 0.65
    for told in (window.target, batch.cue_ball):
        far = np.linalg.norm(batch.object_ball - told, axis=1)
        by_rule = [np.mean(cushion == (far > limit)) for limit in np.quantile(far, np.linspace(0, 1, 41))]
        assert max(*by_rule, *(1 - share for share in by_rule)) < 0.85


def test_the_film_runs_over_the_cushion() -> None:
    for shot in shots()[:30]:
        question = asked(shot)
        mark = drills.mark(question, CUSHION.best(question))
        film = rolling(mark)
        assert film.cue_before == mark.run.before
        nose = mark.run.before[1]
        ways = [film.at(t).cue_ball for t in np.linspace(0, ROLLS, 400)]
        assert min(math.dist(way, nose) for way in ways) < 6


def test_the_start_tells_nothing_and_numbers_out_of_range_are_answered_in_one_line() -> None:
    question = asked(shots()[3])
    assert question.dial is not None
    assert question.dial.start == asked(shots()[3]).dial.start
    starts = [asked(shot, seed=i).dial.start for i, shot in enumerate(shots())]
    places = [along_cushion(shot).place for shot in shots()]
    assert abs(np.corrcoef(starts, places)[0, 1]) < 0.3
    for text in ("12", "-9", "nan", "far", "", "1/0"):
        with pytest.raises(CallError, match="allowed: a number from") as wrong:
            question.read(text)
        assert "\n" not in str(wrong.value)
    assert question.read("-1.5").value == -1.5


def test_a_level_says_what_it_asks(monkeypatch: pytest.MonkeyPatch) -> None:
    head = 'title = "x"\nteaches = "x"\ndrill = "{}"\n[answers]\nask = "{}"\n'
    assert read_level(head.format("cushion", "way"), "x", "x.toml").answers.ask == "way"
    for drill, ask, said in (
        ("aim", "way", "only for the drill leave or cushion"),
        ("cushion", "why", "place, way"),
    ):
        with pytest.raises(FileError) as wrong:
            read_level(head.format(drill, ask), "x", "x.toml")
        assert said in str(wrong.value)
    assert narrowed(free_practice("cushion")).by_cushion == 1.0
    assert free_practice("cushion").name == FREE
    monkeypatch.setattr("trainer.shots.draw.ROUNDS", 40)  # why there is none is found out afterwards
    with pytest.raises(NoSuchShot, match="cushion"):
        draw(np.random.default_rng(0), 1, Limits(by_cushion=20.0))


@pytest.mark.long
def test_a_bias_off_the_cushion_is_found_by_that_drill_alone() -> None:
    level, player = free_practice("cushion"), Nature(noise=0.05, everywhere=0.1)
    means, sds = [], []
    for seed in range(6):
        *_, moment = practise(level, player, days=1, shots=60, seed=seed)
        mean, sd = moment.belief.curve([-0.5, 0.0, 0.5])
        means.append(mean)
        sds.append(sd)
    # 60 calls: 1/10 ball thick, told too small by what is believed of an eye before it is known.
    assert np.mean(means, axis=0) == pytest.approx(0.1, abs=0.03)
    assert (np.abs(np.subtract(means, 0.1)) < 3 * np.array(sds)).all()
    assert (np.array(sds) < 0.05).all()

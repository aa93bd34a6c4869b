"""Which hits send the cue ball over a place, against balls that are moved in small steps of time."""

from collections.abc import Iterator
from itertools import islice, pairwise

import numpy as np
import pytest
import shapely
from rolled import aside, complex_of

from trainer.geometry.aiming import Stroke
from trainer.geometry.sending import Stretch, passing, sent_over
from trainer.geometry.tables import TABLES, Table
from trainer.geometry.vectors import clipped

STROKES = [Stroke(1.4, 0.0), Stroke(1.4, 1.0), Stroke(0.67, 1.0), Stroke(2.55, 0.0), Stroke(2.55, 1.0)]
EACH_TABLE = pytest.mark.parametrize("name", ["snooker", "pool-9", "small-ball"])


def laid(table: Table, n: int, seed: int) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Cue balls, object balls, places anywhere, a third of them close to a cushion; and offsets."""
    rng = np.random.default_rng(seed)
    r, size = table.balls.cue_radius + 0.5, np.array(table.size)
    cue, ball, place = (r + rng.random((n, 2)) * (size - 2 * r) for _ in range(3))
    ball[: n // 3, 1] = r + 60 * rng.random(n // 3)
    near = np.hypot(*(cue - ball).T) < 1.2 * table.contact
    cue[near] = size - ball[near]
    place = ball + (place - ball) * rng.random((n, 1))
    return cue, ball, place, rng.uniform(-1, 1, n) * table.reach


@EACH_TABLE
@pytest.mark.parametrize("stroke", STROKES, ids=str)
def test_a_thousand_ways_pass_as_near_as_in_small_steps(name: str, stroke: Stroke) -> None:
    table = TABLES[name]
    cue, ball, place, offset = laid(table, 1000, 5)
    found = passing(table, cue, ball, offset, stroke, place)
    steps = aside(
        table, complex_of(cue), complex_of(ball), offset, stroke.speed, stroke.roll, complex_of(place)
    )
    np.testing.assert_allclose(np.abs(found), steps, atol=2e-3)
    assert 100 < (found > 0).sum() < 900


def close_by(stretch: Stretch) -> np.ndarray:
    """Hits just inside and outside either end, those of the middles, and some between each two of them."""
    ends = [end + side * out for end, out in ((stretch.low, -1e-6), (stretch.high, 1e-6)) for side in (-1, 1)]
    between = [np.linspace(one, other, 50) for one, other in pairwise(stretch.middles)]
    return np.concatenate([ends, stretch.middles, *between])


@pytest.mark.parametrize(
    ("name", "stroke"),
    [
        pytest.param(name, stroke, marks=[pytest.mark.slow] if not i == k == 1 else [], id=f"{name}-{stroke}")
        for i, name in enumerate(("snooker", "pool-9", "small-ball"))
        for k, stroke in enumerate(STROKES[:3])
    ],
)
def test_stretches_are_all_those_that_small_steps_find_and_end_where_they_end(
    name: str, stroke: Stroke
) -> None:
    table = TABLES[name]
    cue, ball, _, _ = laid(table, 12, 9)
    rng = np.random.default_rng(4)
    off = np.exp(1j * np.radians(rng.uniform(-60, 60, 12))) * rng.uniform(150, 1000, 12)
    aimed = complex_of(ball) + off * np.exp(1j * np.angle(complex_of(ball - cue)))
    place = np.clip(np.stack([aimed.real, aimed.imag], axis=-1), 0, table.size)
    radius = 2.0 * table.balls.object_radius
    tried = np.linspace(-table.reach, table.reach, 402)[1:-1]
    every = [sent_over(table, c, b, stroke, p, radius) for c, b, p in zip(cue, ball, place, strict=True)]
    # All the hits that are looked at, moved in one go.
    looked_at = [np.concatenate([tried, *map(close_by, found)]) for found in every]
    row = np.repeat(np.arange(len(cue)), [len(offsets) for offsets in looked_at])
    c, b, p = (complex_of(x[row]) for x in (cue, ball, place))
    passed = aside(table, c, b, np.concatenate(looked_at), stroke.speed, stroke.roll, p)
    many = ends = 0
    for k, found in enumerate(every):
        distances = iter(passed[row == k])

        def far(n: int, distances: Iterator[float] = distances) -> np.ndarray:
            return np.array(list(islice(distances, n)))

        held = np.any([[(s.low <= tried) & (tried <= s.high)] for s in found] or [[tried < -9]], axis=0)[0]
        steps = far(len(tried))
        sure = np.abs(steps - radius) > 2e-3
        np.testing.assert_array_equal(held[sure], (steps <= radius)[sure])
        assert list(found) == sorted(found, key=lambda s: s.low)
        for stretch in found:
            for end in (stretch.low, stretch.high):
                inner, outer = far(2)
                assert inner <= radius + 2e-3
                if abs(end) < table.reach - 2e-6:
                    assert outer >= radius - 2e-3
                    ends += 1
            lowest = far(len(stretch.middles))
            inside = steps[(tried > stretch.low) & (tried < stretch.high)]
            assert lowest.min() <= min(inside, default=radius) + 2e-3
            assert all(stretch.low <= at <= stretch.high for at in stretch.middles)
            for low, high in pairwise(lowest):  # it rises between them
                assert far(50).max() >= max(low, high)
        many += len(found) > 1
    assert ends > 5
    assert many >= (stroke == STROKES[1])


def test_a_stretch_between_two_of_the_hits_tried_is_found() -> None:
    """Stunned into a corner, the cue ball passes a place ever nearer, and all at once ever farther away.

    A ten-thousandth of a ball wide: of the hits that are played first none sends it there, and the one that
    comes nearest passes 7 mm outside. A question that holds such a hit for a miss would be wrong.
    """
    table, stroke = TABLES["snooker"], Stroke(2.55, 0.0)
    cue, ball, place = np.array([[2499.6, 644.0], [26.4, 891.6], [26.4, 1557.0]])
    found = sent_over(table, cue, ball, stroke, place, 42.4)
    (narrow,) = found
    hits = np.array([narrow.low - 1e-5, *np.linspace(narrow.low, narrow.high, 5), narrow.high + 1e-5])
    passed = aside(
        table, complex_of(cue), complex_of(ball), hits, stroke.speed, stroke.roll, complex_of(place)
    )
    assert (passed[1:-1] <= 42.4 + 2e-3).all()
    assert (passed[[0, -1]] > 42.4).all()
    assert narrow.high - narrow.low < 2e-4
    (middle,) = narrow.middles
    nearest = abs(float(passing(table, cue, ball, middle, stroke, place)))
    assert nearest == pytest.approx(passed.min(), abs=0.1)


def test_a_rolling_ball_gets_to_a_place_by_about_a_quarter_and_by_three_quarters() -> None:
    table = TABLES["snooker"]
    cue, ball = np.array([800.0, 889.0]), np.array([1600.0, 889.0])
    turned = np.radians(27.5)
    place = ball + 1200 * np.array([np.cos(turned), -np.sin(turned)])
    found = sent_over(table, cue, ball, Stroke(1.4, 1.0), place, 52.5)
    assert len(found) == 2
    sines = np.array([s.middles[0] for s in found])
    assert 1 - sines[0] > 0.6 > 0.35 > 1 - sines[1]
    stunned = sent_over(table, cue, ball, Stroke(1.4, 0.0), place, 52.5)
    assert len(stunned) == 1  # and stunned by one: 62.5 degrees of cut, but for where it starts from
    assert stunned[0].middles[0] == pytest.approx(np.sin(np.radians(62.5)), abs=0.05)
    assert sent_over(table, cue, ball, Stroke(1.4, 0.0), cue - [60, 0], 52.5) == ()


def test_how_far_an_offset_is_from_a_stretch() -> None:
    stretch = Stretch(-0.5, 0.25, (0.0,))
    assert [stretch.apart(at) for at in (-0.75, -0.5, 0.1, 0.5)] == [0.25, 0, 0, 0.25]


def test_a_polygon_is_clipped_to_the_table() -> None:
    size = (900.0, 500.0)
    turn = np.linspace(0, 2 * np.pi, 24, endpoint=False)
    rng = np.random.default_rng(2)
    for _ in range(60):
        corners = rng.uniform(-100, 1000, 2) + 120 * np.stack([np.cos(turn), np.sin(turn)], axis=-1)
        for inset in (0.0, 26.25):
            mine = clipped(corners, size, inset)
            box = shapely.box(inset, inset, size[0] - inset, size[1] - inset)
            theirs = shapely.Polygon(corners).intersection(box)
            assert (shapely.Polygon(mine).area if len(mine) > 2 else 0.0) == pytest.approx(theirs.area)

"""A lit part of the cloth in every view: where the cloth of each pixel is, and what is drawn over it."""

from collections.abc import Sequence

import numpy as np
import pytest
from looking import as_pixels, draw_view, eye_for, marked, plan_frame, to_light

from trainer import drills
from trainer.drills import DRILLS, Question
from trainer.levels.level import free_practice, narrowed_each
from trainer.pictures import colours
from trainer.pictures.cells import ACROSS, DOWN, Cells
from trainer.pictures.marks import TINTS, Mark, Meaning, Region
from trainer.pictures.views import stand_of
from trainer.shots.draw import draw
from trainer.shots.truth import truth_of

SIZES = [(52, 19), (78, 34)]
EACH_VIEW = pytest.mark.parametrize("view", ["plan", "down", "standing"])
SEND = DRILLS["send"]
ASKED = TINTS[Meaning.ASKED]
GREEN, AMBER = to_light(colours.CLOTH), to_light(colours.AMBER)


def questions(n: int) -> list[Question]:
    """Questions of where the cue ball is to be sent."""
    level = free_practice("send")
    found = []
    for k, limits in enumerate(narrowed_each(level)):
        shots = draw(np.random.default_rng(k), n, limits)
        found += [level.question(shots[i], truth_of(shots[i]), np.random.default_rng(i)) for i in range(n)]
    return found


def seen(view: str, question: Question, size: tuple[int, int], over: Sequence[Mark] = ()) -> Cells:
    return draw_view(view, question.shot, None, size, over, also=SEND.in_view(question))


def on_cloth(view: str, question: Question, size: tuple[int, int]) -> np.ndarray:
    """Where the cloth is that each pixel shows, mm; infinite above the horizon."""
    room, also = (float(size[0] * ACROSS), float(size[1] * DOWN)), SEND.in_view(question)
    x, y = np.meshgrid(np.arange(size[0] * ACROSS) + 0.5, np.arange(size[1] * DOWN) + 0.5)
    if view == "plan":
        frame = plan_frame(question.shot, None, room, also=also)
        at = [frame.table(place) for place in zip(x.ravel().tolist(), y.ravel().tolist(), strict=True)]
        return np.array(at).reshape(*x.shape, 2)
    eye = eye_for(question.shot, None, room, stand_of(view, question.shot), also)
    ray = eye.ray(x, y)
    far = -eye.place[2] / np.minimum(ray[..., 2], -1e-9)
    return np.where(ray[..., 2:] < -1e-6, eye.place[:2] + ray[..., :2] * far[..., None], np.inf)


def near_balls(view: str, question: Question, at: np.ndarray) -> np.ndarray:
    """Pixels where a ball or its shadow may be in the way."""
    hidden = np.zeros(at.shape[:2], bool)
    for place in (question.shot.cue_ball, question.shot.object_ball):
        hidden |= np.hypot(*np.moveaxis(at - np.array(place), -1, 0)) < 130
    rows = np.flatnonzero(hidden.any(axis=1))
    if view != "plan" and rows.size:  # a ball stands up from where it lies
        hidden = np.roll(hidden, -12, axis=0) | hidden | np.roll(hidden, -24, axis=0)
    return hidden


@EACH_VIEW
@pytest.mark.parametrize("size", [SIZES[0], pytest.param(SIZES[1], marks=pytest.mark.slow)])
def test_the_place_is_tinted_where_its_cloth_is_and_nowhere_else(view: str, size: tuple[int, int]) -> None:
    looked_at = 0
    for question in questions(4):
        region = question.region
        assert region is not None
        lit = Region(SEND.shown(question, None).region, Meaning.ASKED)
        tinted = as_pixels(seen(view, question, size, [lit]))
        plain = as_pixels(seen(view, question, size))
        at = on_cloth(view, question, size)
        away = np.hypot(*np.moveaxis(at - np.array(region.middle), -1, 0)) / region.radius
        changed = np.abs(tinted - plain).sum(axis=-1) > 0.02
        # Cells have two colours, so what changes may reach a cell beyond the ring, and no further.
        about = away <= 1.0
        for axis, cell in ((0, DOWN), (1, ACROSS)):
            grown = [np.roll(about, k, axis) for k in range(-cell - 2, cell + 3)]
            about = np.any(grown, axis=0)
        assert not (changed & ~about).any()
        inner = (away < 0.5) & ~near_balls(view, question, at)
        if inner.sum() < 20:
            continue
        tint = ((tinted - GREEN) / (AMBER - GREEN))[..., 0][inner]
        assert np.median(tint) > 0.6 * ASKED
        if inner.sum() > 2000:  # not a cell that holds a part of the ring as well
            assert np.median(tint) == pytest.approx(ASKED, abs=0.05)
        ring = (away > 0.8) & (away < 1.1)
        assert ((tinted - GREEN) / (AMBER - GREEN))[..., 0][ring].max() > 0.6
        looked_at += 1
    assert looked_at >= 4


@EACH_VIEW
def test_no_pocket_is_lit_where_none_is_called(view: str) -> None:
    for question in questions(3):
        called = draw_view(view, question.shot, question.truth.target, (78, 34))
        for cells, there in ((seen(view, question, (78, 34)), False), (called, True)):
            drawn = np.stack([cells.ink, cells.paper]).astype(int)
            off = np.abs(drawn - colours.AMBER).max(axis=-1)
            assert (np.min(off) < 24) == there


@EACH_VIEW
def test_both_ways_after_contact_are_drawn(view: str) -> None:
    for question in questions(2):
        mark = drills.mark(question, SEND.answer(question, 0.1))
        after = SEND.shown_after(mark)
        shot, touching = question.shot, mark.question.truth.touching
        bare = marked(shot, None, touching, mark.touching)
        with_true = marked(shot, None, touching, mark.touching, after=after.true_after)
        both = marked(
            shot, None, touching, mark.touching, after=after.true_after, called_after=after.called_after
        )
        pictures = [as_pixels(seen(view, question, (78, 34), over)) for over in (bare, with_true, both)]
        # The true way leads over the place's middle.
        at = on_cloth(view, question, (78, 34))
        assert question.region is not None
        over = np.hypot(*np.moveaxis(at - np.array(question.region.middle), -1, 0)) < 0.7 * 52.5
        assert (np.abs(pictures[1] - pictures[0]).sum(axis=-1) > 0.1)[over].any()
        assert (np.abs(pictures[2] - pictures[1]).sum(axis=-1) > 0.05).sum() > 20

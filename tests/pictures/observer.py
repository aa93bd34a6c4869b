"""An observer who sees only the drawn cells: where the balls are, and so how full the hit must be.

It knows what a player knows: the table, which pocket is marked, and where its own eye is. It finds each
ball as the patch of its colour in the cells as a terminal draws them, and takes the patch's middle.
"""

import numpy as np
from looking import as_pixels, draw_plan, draw_view, eye_for, middle, plan_frame, white

from trainer.pictures.plan_table import Frame
from trainer.pictures.views import stand_of
from trainer.shots.shot import Shots
from trainer.shots.truth import work_out


def ball_orange(pixels):
    """Which pixels are the orange ball and not the amber mark: far more red than green."""
    r, g = pixels[..., 0], pixels[..., 1]
    return np.where((r > 0.14) & (r > 1.5 * g), 1.0, 0.0)


def patch(weights, place, radius, step):
    """The patch that begins at a place, as the eye keeps to one thing: no farther than the ball is wide."""
    ys, xs = np.indices(weights.shape)
    near = np.hypot(xs + 0.5 - place[0], (ys + 0.5) * step - place[1]) < radius
    return np.where(near, weights, 0.0)


def centre(weights, place, radius, step):
    """Middle of a patch; NaN where nothing is seen."""
    mine = patch(weights, place, 1.6 * radius + 3.0, step)
    return middle(mine, step) if mine.sum() > 0 else (np.nan, np.nan)


def read_plan(shot, target, size, aspect=2.0):
    """Cue ball and object ball (mm) as read off the plan view's cells."""
    pixels = as_pixels(draw_plan(shot, target, size, cell_aspect=aspect))
    view: Frame = plan_frame(shot, target, (size[0] * 4.0, size[1] * 4.0 * aspect))
    balls, step = shot.table.balls, aspect / 2
    found = []
    for weights, ball, radius in (
        (white(pixels), shot.cue_ball, balls.cue_radius),
        (ball_orange(pixels), shot.object_ball, balls.object_radius),
    ):
        found.append(view.table(centre(weights, view.at(ball), radius * view.scale, step)))
    return found


def read_eye(view, shot, target, size, aspect=2.0):
    """Cue ball and object ball (mm) as read off an eye view's cells."""
    pixels = as_pixels(draw_view(view, shot, target, size, cell_aspect=aspect))
    eye = eye_for(shot, target, (size[0] * 4.0, size[1] * 4.0 * aspect), stand_of(view, shot))
    balls, step = shot.table.balls, aspect / 2
    found = []
    for weights, ball, radius in (
        (white(pixels), shot.cue_ball, balls.cue_radius),
        (ball_orange(pixels), shot.object_ball, balls.object_radius),
    ):
        at = [*ball, radius]
        wide = radius * eye.lens / float(eye.depth(at))
        x, y = centre(weights, eye.see(at).tolist(), wide, step)
        ray = eye.ray(x, y)
        place = eye.place + ray * ((radius - eye.place[2]) / ray[2])
        found.append((float(place[0]), float(place[1])))
    return found


def errors(view, shots, size):
    """Fullness read less true fullness, (n,), and whether the side is read wrong, (n,)."""
    truths = work_out(shots)
    cue, ball = [], []
    for i in range(len(shots)):
        target = tuple(truths.window.target[i].tolist())
        read = read_plan if view == "plan" else lambda *a: read_eye(view, *a)
        c, o = read(shots[i], target, size)
        cue.append(c)
        ball.append(o)
    seen = work_out(Shots(shots.table, np.array(cue), np.array(ball), shots.pocket))
    return seen.fullness - truths.fullness, (seen.cut * truths.cut < 0) & (np.abs(truths.cut) > 0.05)

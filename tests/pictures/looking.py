"""Looking at pictures: cells back to pixels, and where the things in them are."""

import numpy as np

from trainer.pictures.cells import ACROSS, DOWN, cover, coverages
from trainer.pictures.marks import Line, Meaning, balls_of, call_marks, truth_marks
from trainer.pictures.plan import Plan
from trainer.pictures.projection import Viewport, paint
from trainer.pictures.projection import draw as draw_marks
from trainer.pictures.views import EyeView, projection_of
from trainer.shots.draw import draw
from trainer.shots.shot import Limits
from trainer.shots.truth import truth_of


def one_shot(seed, **limits):
    """A random shot and its truth."""
    shot = draw(np.random.default_rng(seed), 1, Limits(**limits))[0]
    return shot, truth_of(shot)


def over_balls(shot, over):
    """The marks of a picture: the shot's balls, and what is laid over them."""
    return [*over, *balls_of(shot)]


def paint_plan(shot, target, size, over=(), *, cell_aspect=2.0, **how):
    """The pixels of a plan."""
    return paint(Plan(shot, target, Viewport(size, cell_aspect), **how), over_balls(shot, over))


def draw_plan(shot, target, size, over=(), *, cell_aspect=2.0, glyphs="quadrants", **how):
    """The cells of a plan."""
    return draw_marks(Plan(shot, target, Viewport(size, cell_aspect), **how), over_balls(shot, over), glyphs)


def plan_frame(shot, target, room, **how):
    """Where a plan lays the table in a picture of so many widths of a pixel across and down."""
    return Plan(shot, target, Viewport((room[0] / ACROSS, room[1] / DOWN)), **how).frame


def paint_eye_view(shot, target, size, stand, cell_aspect=2.0, over=(), **how):
    """The pixels of an eye view."""
    return paint(EyeView(shot, target, Viewport(size, cell_aspect), stand, **how), over_balls(shot, over))


def draw_eye_view(shot, target, size, stand, cell_aspect=2.0):
    """The cells of an eye view."""
    return draw_marks(EyeView(shot, target, Viewport(size, cell_aspect), stand), balls_of(shot))


def eye_for(shot, target, room, stand, also=()):
    """The eye of a picture of so many widths of a pixel across and down."""
    return EyeView(shot, target, Viewport((room[0] / ACROSS, room[1] / DOWN)), stand, also).eye


def draw_view(view, shot, target, size, over=(), *, cell_aspect=2.0, glyphs="quadrants", **how):
    """The cells of a view by its name."""
    projection = projection_of(view, shot, target, Viewport(size, cell_aspect), **how)
    return draw_marks(projection, over_balls(shot, over), glyphs)


def way_of(shot, target):
    """The help that leads to the pocket."""
    return Line((shot.object_ball, target), Meaning.HELP)


def aim_of(shot, offset):
    """A considered line of aim."""
    return Line((shot.cue_ball, shot.abreast(offset)), Meaning.CONSIDERED)


def marked(shot, target, touching, called=None, past=None, way=(), after=(), called_after=()):
    """What is laid over a shot after a call: ``called`` is its touching position, or it ends ``past``."""
    truth = truth_marks(shot, target, (shot.cue_ball, touching), after)
    end = called or past
    ways = [[shot.object_ball, *way], [shot.cue_ball, end] if end else [], called_after]
    return [*(truth[part] for part in ("way", "aim", "touching")), *call_marks(ways, called)]


def to_light(srgb):
    """Linear light of sRGB bytes (IEC 61966-2-1)."""
    v = np.asarray(srgb, float) / 255
    return np.where(v <= 0.04045, v / 12.92, ((v + 0.055) / 1.055) ** 2.4)


def as_pixels(cells, finer=1):
    """What the cells show, linear light, (rows * 8, cols * 4, 3) times ``finer``; text counts as paper."""
    rows, cols = cells.glyphs.shape
    down, across = 8 * finer, 4 * finer
    masks = np.zeros((rows, cols, down, across))
    for letter in coverages("quadrants")[0]:
        masks[cells.glyphs == letter] = cover(letter, across, down)
    ink, paper = to_light(cells.ink), to_light(cells.paper)
    shown = paper[:, :, None, None] + masks[..., None] * (ink - paper)[:, :, None, None]
    return shown.transpose(0, 2, 1, 3, 4).reshape(rows * down, cols * across, 3)


def axes(pixels, x, y, radius, step):
    """Half-axes, across and down, of the ellipse through a ball's outline about (x, y).

    The outline is where, on the way out, a ball's light has fallen half way to that of the ground. All
    in widths of a pixel; ``step`` is a pixel's height.
    """
    light = pixels.sum(axis=-1)
    out = np.arange(0.5 * radius, 1.45 * radius, 0.05)
    found = []
    for turn in np.linspace(0, 2 * np.pi, 180, endpoint=False):
        dx, dy = np.cos(turn), np.sin(turn)
        rows = np.clip(((y + out * dy) / step).astype(int), 0, len(light) - 1)
        columns = np.clip((x + out * dx).astype(int), 0, light.shape[1] - 1)
        seen = light[rows, columns]
        inside, ground = seen[(out > 0.7 * radius) & (out < 0.85 * radius)].mean(), seen[-1]
        past = np.flatnonzero(np.abs(seen - inside) > np.abs(seen - ground))
        edge = out[past[past > np.searchsorted(out, 0.8 * radius)][0]]
        found.append(((edge * dx) ** 2, (edge * dy) ** 2))
    return 1 / np.sqrt(np.linalg.lstsq(np.array(found), np.ones(len(found)), rcond=None)[0])


def likeness(pixels, colour, ground):
    """How much of each pixel is ``colour`` on ``ground`` (sRGB), 0 to 1."""
    a, b = to_light(ground), to_light(colour)
    return np.clip((pixels - a) @ (b - a) / ((b - a) @ (b - a)), 0, 1)


def orange(pixels):
    """Which pixels are an orange ball, its gleam too: more red than green, and not dark."""
    r, g = pixels[..., 0], pixels[..., 1]
    return np.where((r > 0.14) & (r > 1.1 * g), 1.0, 0.0)


def white(pixels):
    """Which pixels are a white ball: all three colours much alike, and not dark."""
    r, b = pixels[..., 0], pixels[..., 2]
    return np.where((pixels.min(axis=-1) > 0.17) & (b > 0.8 * r), 1.0, 0.0)


def middle(weights, step):
    """Centre of mass in widths of a pixel."""
    ys, xs = np.indices(weights.shape)
    total = weights.sum()
    return (weights * (xs + 0.5)).sum() / total, (weights * (ys + 0.5)).sum() * step / total


def spreads(weights, step):
    """Standard deviations across and down, widths of a pixel."""
    ys, xs = np.indices(weights.shape)
    x, y = middle(weights, step)
    total = weights.sum()
    across = (weights * (xs + 0.5 - x) ** 2).sum() / total
    down = (weights * ((ys + 0.5) * step - y) ** 2).sum() / total
    return np.sqrt(across), np.sqrt(down)

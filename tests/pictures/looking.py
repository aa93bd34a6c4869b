"""Looking at pictures: cells back to pixels, and where the things in them are."""

import numpy as np

from trainer.pictures.fit import coverages
from trainer.shots.draw import draw
from trainer.shots.limits import Limits
from trainer.shots.truth import truth_of


def one_shot(seed, **limits):
    """A random shot and its truth."""
    shot = draw(np.random.default_rng(seed), 1, Limits(**limits))[0]
    return shot, truth_of(shot)


def to_light(srgb):
    """Linear light of sRGB bytes (IEC 61966-2-1)."""
    v = np.asarray(srgb, float) / 255
    return np.where(v <= 0.04045, v / 12.92, ((v + 0.055) / 1.055) ** 2.4)


def as_pixels(cells):
    """What the cells show, linear light, (rows * 8, cols * 4, 3); text counts as paper."""
    letters, masks = coverages("quadrants")
    rows, cols = cells.glyphs.shape
    cover = np.zeros((rows, cols, 8, 4))
    for letter, mask in zip(letters, masks, strict=True):
        cover[cells.glyphs == letter] = mask
    ink, paper = to_light(cells.ink), to_light(cells.paper)
    shown = paper[:, :, None, None] + cover[..., None] * (ink - paper)[:, :, None, None]
    return shown.transpose(0, 2, 1, 3, 4).reshape(rows * 8, cols * 4, 3)


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

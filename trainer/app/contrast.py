"""How well text can be read on a ground, and the nearest colour that can.

Source: W3C, Web Content Accessibility Guidelines 2.2, success criterion 1.4.3 and the definitions of
relative luminance and contrast ratio.
"""

from collections.abc import Iterable

from textual.color import Color

from trainer.pictures.colours import linear

LEAST = 4.5  # for text of ordinary size
STEPS = 100
BLACK, WHITE = Color(0, 0, 0), Color(255, 255, 255)


def luminance(colour: Color) -> float:
    """Relative luminance, 0 (black) to 1 (white)."""
    red, green, blue = linear(colour.rgb).tolist()
    return float(0.2126 * red + 0.7152 * green + 0.0722 * blue)


def contrast(one: Color, other: Color) -> float:
    """Contrast ratio of two opaque colours, 1 to 21."""
    darker, lighter = sorted((luminance(one), luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)


def legible(colour: Color, grounds: Iterable[Color], least: float = LEAST) -> Color:
    """The colour nearest to one, on its way to white or to black, that can be read on each of these grounds.

    Where there is none, the better of white and black.
    """
    grounds = list(grounds)

    def worst(tried: Color) -> float:
        return min(contrast(tried, ground) for ground in grounds)

    for step in range(STEPS + 1):
        for end in (WHITE, BLACK):
            tried = colour.blend(end, step / STEPS) if step else colour
            if worst(tried) >= least:
                return tried
    return max((WHITE, BLACK), key=worst)

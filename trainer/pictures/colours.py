"""The palette, once, named by meaning; linear light, and how far colours look apart.

Values are sRGB, 8 bits a channel, and lie on the grid of 64 tones a channel that pictures are
rounded to, so that a picture and the screen around it meet without a seam.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Colour = tuple[int, int, int]
Floats32 = NDArray[np.float32]
Floats = NDArray[np.float64]

ROOM: Colour = (20, 24, 28)  # around the table
RAIL: Colour = (73, 49, 32)
RAIL_EDGE: Colour = (45, 28, 20)  # outer edge of the wood
CUSHION: Colour = (28, 121, 89)
CLOTH: Colour = (16, 93, 65)
CLOTH_DARK: Colour = (12, 69, 49)  # behind the aim inset
CLOTH_LINE: Colour = (150, 186, 166)  # baulk line, D, spots
POCKET: Colour = (4, 4, 8)
POCKET_QUIET: Colour = (36, 36, 32)  # of a pocket that is not to be played
CUE_BALL: Colour = (239, 239, 227)
OBJECT_BALL: Colour = (235, 146, 40)
OTHER_BALL: Colour = (158, 109, 243)  # object balls that are not asked about
CHALK: Colour = (125, 190, 223)  # the call
AMBER: Colour = (255, 215, 121)  # the object ball's true way, and the pocket it is to go in
TRUE_AIM: Colour = (239, 239, 227)  # the true line of aim
MARK: Colour = (239, 239, 227)  # candidates and labels
MARK_QUIET: Colour = (178, 190, 182)  # candidates that are not selected
MARK_DARK: Colour = (45, 28, 20)  # the same on a bright ground
SHADOW: Colour = (0, 0, 0)
HIGHLIGHT: Colour = (255, 255, 255)


@dataclass(frozen=True)
class Scheme:
    """What of a picture goes with the screen around it: the room about the table, charts, some marks.

    ``ink`` is the colour of words in the ``room``, ``words`` of those that need not be read. Of a chart
    ``grid`` are its lines, ``true`` is that of what is seen as it is, ``interval`` the stretch that a bias
    lies in, ``sure`` a bias that is. On the cloth ``chalk`` is the call, ``quiet`` what isn't selected.
    """

    room: Colour = ROOM
    ink: Colour = MARK
    words: Colour = MARK_QUIET
    grid: Colour = (36, 45, 53)
    true: Colour = (109, 121, 117)
    interval: Colour = (45, 57, 65)
    sure: Colour = AMBER
    chalk: Colour = CHALK
    quiet: Colour = MARK_QUIET

    def shown(self, colour: Colour) -> Colour:
        """How a colour of a mark on the cloth looks."""
        return {CHALK: self.chalk, MARK_QUIET: self.quiet}.get(colour, colour)


CLUB = Scheme()
TONES = 64  # a channel: no measurable loss on edges, and longer runs of one colour


def linear(colour: ArrayLike) -> Floats32:
    """Linear light, 0 to 1, of sRGB values, 0 to 255; same shape. Source: IEC 61966-2-1."""
    v = np.asarray(colour, np.float64) / 255.0
    return np.where(v <= 0.04045, v / 12.92, ((v + 0.055) / 1.055) ** 2.4).astype(np.float32)


_BITS = 18  # of a 32-bit number that tell its tone: sign, exponent and nine of the fraction


def _tones(count: int) -> NDArray[np.uint8]:
    """Value in sRGB (on a grid of so many tones) of linear light, by the first bits of its number."""
    found = np.zeros(1 << _BITS, np.uint8)  # of what is negative, too little to be seen, or no number
    least, most, infinite = _first([2.0**-14, 1.0, np.inf]).tolist()
    bits = np.arange(least, most, dtype=np.uint32)
    light = ((bits << (32 - _BITS)) | 1 << (31 - _BITS)).view(np.float32).astype(np.float64)
    srgb = np.where(light <= 0.0031308, light * 12.92, 1.055 * light ** (1 / 2.4) - 0.055)
    tone = np.rint(srgb * (count - 1)) * 255.0 / (count - 1)
    found[least:most], found[most:infinite] = np.rint(tone), 255
    return found


def _first(light: ArrayLike) -> NDArray[np.uint32]:
    """The first bits of the numbers of linear light."""
    return np.asarray(np.ascontiguousarray(light, np.float32).view(np.uint32) >> (32 - _BITS), np.uint32)


_TONES, _ALL_TONES = _tones(TONES), _tones(256)


def encode(light: Floats32, fine: bool = False) -> NDArray[np.uint8]:
    """Bytes in sRGB of linear light (0 to 1, clipped), in ``TONES`` tones, or all if ``fine``; same shape."""
    return np.asarray((_ALL_TONES if fine else _TONES).take(_first(light).astype(np.int32, copy=False)))


# OKLab is a colour space in which equal steps look about equally large. Source of every number here:
# B. Ottosson, "A perceptual color space for image processing", 2020 (the matrices from linear sRGB).
# Linear sRGB to the responses of the three kinds of cone, and those (cube roots) to lightness,
# green to red, blue to yellow. One row an output.
_CONES = np.array(
    [
        [0.4122214708, 0.5363325363, 0.0514459929],
        [0.2119034982, 0.6806995451, 0.1073969566],
        [0.0883024619, 0.2817188376, 0.6299787005],
    ]
)
_LAB = np.array(
    [
        [0.2104542553, 0.7936177850, -0.0040720468],
        [1.9779984951, -2.4285922050, 0.4505937099],
        [0.0259040371, 0.7827717662, -0.8086757660],
    ]
)


def oklab_of_light(light: ArrayLike) -> Floats:
    """OKLab of linear-light sRGB.

    Parameters
    ----------
    light : (..., 3)
        Red, green, blue; 0 to 1, but values beyond (colours that no screen shows) work too.

    Returns
    -------
    (..., 3) float64
        Lightness 0 to 1, green to red, blue to yellow.
    """
    return np.asarray(np.cbrt(np.asarray(light, np.float64) @ _CONES.T) @ _LAB.T)


def oklab_of(srgb: ArrayLike) -> Floats:
    """OKLab of sRGB values, 0 to 255 a channel, shape (..., 3); as :func:`oklab_of_light`."""
    return oklab_of_light(linear(srgb))


def apart(one: ArrayLike, other: ArrayLike) -> Floats:
    """How far colours are apart: 100 times their distance in OKLab; shapes (..., 3) of OKLab values."""
    return np.asarray(100.0 * np.linalg.norm(np.subtract(one, other), axis=-1))

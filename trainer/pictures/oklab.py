"""OKLab, a colour space in which equal steps look about equally large.

Source of every number here: B. Ottosson, "A perceptual color space for image processing", 2020
(the matrices from linear sRGB, as published there).
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trainer.pictures.colours import linear

Floats = NDArray[np.float64]

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


def from_light(light: ArrayLike) -> Floats:
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


def from_srgb(colours: ArrayLike) -> Floats:
    """OKLab of sRGB values, 0 to 255 a channel, shape (..., 3); as :func:`from_light`."""
    return from_light(linear(colours))


def apart(one: ArrayLike, other: ArrayLike) -> Floats:
    """How far colours are apart: 100 times their distance in OKLab; shapes (..., 3) of OKLab values."""
    return np.asarray(100.0 * np.linalg.norm(np.subtract(one, other), axis=-1))

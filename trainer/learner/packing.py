"""Arrays of real numbers as text, to the last bit."""

import base64

import numpy as np

from trainer.geometry.vectors import Floats

Packed = tuple[list[int], str]


def packed(array: Floats) -> Packed:
    """Shape and values of an array of any shape, for JSON."""
    values = np.ascontiguousarray(array, "<f8")
    return list(values.shape), base64.b64encode(values.tobytes()).decode("ascii")


def unpacked(plain: Packed) -> Floats:
    """The array that ``packed`` was given.

    Raises
    ------
    ValueError
        If shape and values don't fit.
    """
    shape, text = plain
    values = np.frombuffer(base64.b64decode(text, validate=True), "<f8")
    return np.array(values.reshape(shape), float)

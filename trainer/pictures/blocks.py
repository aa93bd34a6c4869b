"""The glyphs that divide a cell: which they are, how much each covers, and which is its complement."""

import numpy as np
from numpy.typing import NDArray

_SEXTANTS, _WEDGES, _TRIANGLES, _END = 0x1FB00, 0x1FB3C, 0x1FB68, 0x1FB70
_HALVES, _OTHERS = "▀▌█▘▝▖▗▚▒░", "▄▐ ▟▙▜▛▞▒▓"
_OPPOSITE = dict(zip(_HALVES + _OTHERS, _OTHERS + _HALVES, strict=True))
# What is left above one to seven lower eighths, or right of as many left ones, comes in fewer steps.
_OPPOSITE |= {chr(0x2580 + k): "██▀▀▀▀▔▔"[k] for k in (1, 2, 3, 5, 6, 7)}
_OPPOSITE |= {chr(0x2590 - k): "██▐▐▐▐▕▕"[k] for k in (1, 2, 3, 5, 6, 7)}
_OPPOSITE |= {"▔": "▇", "▕": "▉"}
_QUARTERS = {" ": 0.0} | dict.fromkeys("▘▝▖▗", 0.25) | dict.fromkeys("▚▞", 0.5) | dict.fromkeys("▟▙▜▛", 0.75)


def points(glyphs: NDArray[np.str_]) -> NDArray[np.uint32]:
    """Code points of an array of single characters, same shape."""
    return np.ascontiguousarray(glyphs, "=U1").view(np.uint32)


def blocks(glyphs: NDArray[np.str_]) -> NDArray[np.bool_]:
    """Which glyphs divide their cell: block elements, sextants and wedges."""
    at = points(glyphs)
    return ((at >= 0x2580) & (at <= 0x259F)) | ((at >= _SEXTANTS) & (at < _END))


def opposite(glyph: str) -> str:
    """The block that covers what ``glyph`` leaves free, or comes nearest to that."""
    at = ord(glyph)
    if _SEXTANTS <= at < _WEDGES:
        return chr(_SEXTANTS + _WEDGES - 1 - at)
    if _WEDGES <= at < _END:
        half = (_TRIANGLES - _WEDGES if at < _TRIANGLES else _END - _TRIANGLES) // 2
        first = _WEDGES if at < _TRIANGLES else _TRIANGLES
        return chr(at + half if at - first < half else at - half)
    return _OPPOSITE[glyph]


def share(glyph: str) -> float:
    """How much of its cell a block covers, 0 to 1; of a slanting wedge roughly."""
    at = ord(glyph)
    if _SEXTANTS <= at < _WEDGES:
        pattern = at - _SEXTANTS + 1
        pattern += (pattern >= 0b010101) + (pattern >= 0b101010 - 1)  # these two are half blocks
        return pattern.bit_count() / 6
    if _TRIANGLES <= at < _END:
        return 0.75 if at - _TRIANGLES < 4 else 0.25
    if 0x2581 <= at <= 0x2588:
        return (at - 0x2580) / 8
    if 0x2589 <= at <= 0x258F:
        return (0x2590 - at) / 8
    return _QUARTERS.get(glyph, 0.125 if glyph in "▔▕" else 0.5)

"""How high a terminal's cells are for their width, where the terminal says so."""

import sys

from trainer.settings.settings import CELL_SHAPES as PLAUSIBLE  # anything else is nonsense

USUAL = 2.0


def aspect_of(cells: tuple[int, int], pixels: tuple[int, int]) -> float | None:
    """Height of a cell over its width, from a screen's size in both; None where that can't be."""
    if min(*cells, *pixels) <= 0:
        return None
    aspect = (pixels[1] / cells[1]) / (pixels[0] / cells[0])
    return aspect if PLAUSIBLE[0] <= aspect <= PLAUSIBLE[1] else None


def asked() -> float | None:
    """What the terminal on standard output says when it is asked; None where it doesn't."""
    if sys.__stdout__ is None:
        return None
    try:
        import fcntl
        import struct
        import termios

        said = fcntl.ioctl(sys.__stdout__.fileno(), termios.TIOCGWINSZ, struct.pack("HHHH", 0, 0, 0, 0))
        rows, cols, wide, high = struct.unpack("HHHH", said)
    except (ImportError, OSError, ValueError):
        return None
    return aspect_of((cols, rows), (wide, high))

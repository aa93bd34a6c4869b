"""True pixels by the terminal graphics protocol, with a picture's cells as characters.

Source: the protocol's specification, "Terminal graphics protocol" (kitty's documentation), its parts on
transfer, on animation frames (a part of a picture is brought up to date by editing its only frame) and on
Unicode placeholders. A placeholder is a character that shows one cell of a picture, whatever lies around it:
so dialogs, scrolling and partial updates need nothing of their own.
"""

import base64
import os
import zlib
from collections.abc import Iterator, Sequence
from itertools import count

import numpy as np

from trainer.pictures.pixels import Bytes, PixelPicture, Stretch, texts_that_differ

CHUNK = 4096  # of text in a command, at most: the protocol's limit
LEVEL = 1  # of compression: the next ones take twice the time for a tenth less
ENOUGH = 0.6  # of a picture: where more has changed all of it is sent
PLACEHOLDER = "\U0010eeee"
_numbers = count()


def _marks(ranges: str) -> str:
    """The characters of ranges of hexadecimal numbers."""
    found = []
    for part in ranges.split():
        first, _, last = part.partition("-")
        found += [chr(code) for code in range(int(first, 16), int(last or first, 16) + 1)]
    return "".join(found)


# What says row and column over a placeholder: 0, 1, 2 ... The specification takes the marks above a letter
# (class 230) of Unicode 6.0 that no letter is composed with.
NUMERALS = _marks("""
    0305 030D-030E 0310 0312 033D-033F 0346 034A-034C 0350-0352 0357 035B 0363-036F 0483-0487 0592-0595
    0597-0599 059C-05A1 05A8-05A9 05AB-05AC 05AF 05C4 0610-0617 0657-065B 065D-065E 06D6-06DC 06DF-06E2
    06E4 06E7-06E8 06EB-06EC 0730 0732-0733 0735-0736 073A 073D 073F-0741 0743 0745 0747 0749-074A
    07EB-07F1 07F3 0816-0819 081B-0823 0825-0827 0829-082D 0951 0953-0954 0F82-0F83 0F86-0F87 135D-135F
    17DD 193A 1A17 1A75-1A7C 1B6B 1B6D-1B73 1CD0-1CD2 1CDA-1CDB 1CE0 1DC0-1DC1 1DC3-1DC9 1DCB-1DCC
    1DD1-1DE6 1DFE 20D0-20D1 20D4-20D7 20DB-20DC 20E1 20E7 20E9 20F0 2CEF-2CF1 2DE0-2DFF A66F A67C-A67D
    A6F0-A6F1 A8E0-A8F1 AAB0 AAB2-AAB3 AAB7-AAB8 AABE-AABF AAC1 FE20-FE26 10A0F 10A38 1D185-1D189
    1D1AA-1D1AD 1D242-1D244
""")


class Graphics:
    """One picture's way to the terminal. ``in_tmux``: through tmux, which passes on what is wrapped."""

    scales = True

    def __init__(self, in_tmux: bool = False) -> None:
        # Numbers that programs beside this one are unlikely to use; a colour says them, which has 24 bits.
        self.number = (os.getpid() & 0xFFFF) << 8 | 1 + next(_numbers) % 255
        self._in_tmux, self._there = in_tmux, (0, 0, 0, 0)

    @staticmethod
    def can_show(size: tuple[int, int]) -> bool:
        """Whether a picture of so many columns and rows can be shown."""
        return max(size) <= len(NUMERALS)

    def brought(self, before: PixelPicture | None, after: PixelPicture) -> str:
        """What is sent so that the terminal has a picture, of which it had ``before``."""
        high, wide, _ = after.pixels.shape
        there = wide, high, *after.size
        if before is None or there != self._there:
            self._there = there
            columns, rows = after.size
            keys = f"a=T,U=1,f=24,o=z,s={wide},v={high},i={self.number},c={columns},r={rows},q=2"
            return self._wrapped(_commands("", keys, after.pixels))
        boxes = differing(before.pixels, after.pixels)
        if sum((d.stop - d.start) * (a.stop - a.start) for d, a in boxes) > ENOUGH * high * wide:
            boxes = [(slice(0, high), slice(0, wide))]
        return "".join(self._wrapped(self._changed(after.pixels, box)) for box in boxes)

    def _changed(self, pixels: Bytes, box: tuple[slice, slice]) -> Iterator[str]:
        down, across = box
        part = pixels[box]
        high, wide, _ = part.shape
        keys = f"X=1,f=24,o=z,s={wide},v={high},x={across.start},y={down.start},q=2"
        return _commands(f"a=f,r=1,i={self.number},", keys, part)

    def removed(self) -> str:
        """What takes the picture out of the terminal's memory."""
        self._there = 0, 0, 0, 0
        return self._wrapped([f"\x1b_Ga=d,d=I,i={self.number},q=2\x1b\\"])

    def stretches(self, before: PixelPicture, after: PixelPicture) -> list[Stretch]:
        """The cells that are to be written again: text that has changed. Pixels change under their cells."""
        return texts_that_differ(before, after)

    def run(self, picture: PixelPicture, y: int, start: int, end: int) -> str:
        """What shows the pixels of the cells of row ``y`` from column ``start`` to before ``end``."""
        red, green, blue = self.number >> 16, self.number >> 8 & 255, self.number & 255
        row = PLACEHOLDER + NUMERALS[y]
        cells = "".join(row + NUMERALS[x] for x in range(start, end))
        if self._in_tmux and start < end - 1 == picture.size[0] - 1:
            # In a screen's last column tmux gives the marks to the cell before; without any it goes on.
            cells = cells[:-2]
        return f"\x1b[49;38;2;{red};{green};{blue}m{cells}\x1b[0m"

    def _wrapped(self, commands: Sequence[str] | Iterator[str]) -> str:
        if not self._in_tmux:
            return "".join(commands)
        return "".join("\x1bPtmux;" + each.replace("\x1b", "\x1b\x1b") + "\x1b\\" for each in commands)


def differing(before: Bytes, after: Bytes) -> list[tuple[slice, slice]]:
    """Boxes (rows, columns) that hold all pixels that differ: parts that lie apart in boxes of their own."""
    rows, columns, _ = before.shape
    differs = before.reshape(rows, -1) != after.reshape(rows, -1)
    found = []
    for down in _spans(differs.any(axis=1)):
        here = differs[down].any(axis=0).reshape(columns, 3).any(axis=1)
        for across in _spans(here):
            part = differs[down, 3 * across.start : 3 * across.stop].any(axis=1)
            found += [(rows_of_it, across) for rows_of_it in _spans(part, down.start)]
    return found


GAP = 8  # pixels: what lies nearer to one another is one part


def _spans(flags: Bytes, start: int = 0) -> list[slice]:
    """The stretches of places that are set, from the first to the last of each."""
    places = np.flatnonzero(flags)
    parts = np.split(places, np.flatnonzero(np.diff(places) > GAP) + 1)
    return [slice(start + int(part[0]), start + int(part[-1]) + 1) for part in parts if len(part)]


def _commands(first: str, keys: str, pixels: Bytes) -> Iterator[str]:
    """The commands that send pixels. Each of them begins with ``first``; the rest is said once.

    Each must say which frame it is of: without that kitty 0.41 takes the second for a part of a new one.
    """
    data = base64.standard_b64encode(zlib.compress(np.ascontiguousarray(pixels).tobytes(), LEVEL)).decode()
    for start in range(0, len(data), CHUNK):
        more = int(start + CHUNK < len(data))
        said = f"{first}{keys}," if start == 0 else first
        yield f"\x1b_G{said}m={more};{data[start : start + CHUNK]}\x1b\\"

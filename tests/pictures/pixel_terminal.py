"""A terminal that shows true pixels, as far as the game's pictures need one: cells, images, sixels.

Written from the specifications alone, and shares no code with what is tested: the terminal graphics protocol
(kitty's documentation) with its placeholders, and DEC's "VT330/VT340 Programmer Reference Manual" on sixels.
"""

import base64
import re
import unicodedata
import zlib

import numpy as np

TOKEN = re.compile(
    r"\x1bPtmux;(?P<passed>(?:[^\x1b]|\x1b\x1b)*)\x1b\\"
    r"|\x1b_G(?P<graphics>.*?)\x1b\\|\x1bP(?P<device>.*?)\x1b\\|\x1b\](?P<system>.*?)(?:\x07|\x1b\\)"
    r"|\x1b\[(?P<values>[?<>=]?[\d;]*)(?P<control>[a-zA-Z])|\x1b(?P<cursor>[78])|(?P<line>\n)|(?P<text>[^\x1b\n]+)",
    re.DOTALL,
)
PLACEHOLDER = "\U0010eeee"
# The specification's first numerals of rows and columns, typed in from its table.
FIRST = (0x305, 0x30D, 0x30E, 0x310, 0x312, 0x33D, 0x33E, 0x33F, 0x346, 0x34A, 0x34B, 0x34C, 0x350, 0x351)


class PixelTerminal:
    """Cells of so many pixels; what is on the screen is :meth:`pixels`."""

    def __init__(self, columns: int, rows: int, cell: tuple[int, int], numerals: str) -> None:
        assert tuple(map(ord, numerals[: len(FIRST)])) == FIRST
        self.cell, self._numerals = cell, numerals
        self.images: dict[int, np.ndarray] = {}
        self.placed: dict[int, tuple[int, int]] = {}
        self.registers = 0
        self.resize(columns, rows)
        self._x = self._y = self._ink = 0
        self._kept = (0, 0)
        self._loading: tuple[dict[str, str], str] | None = None

    def resize(self, columns: int, rows: int) -> None:
        """Another number of cells, and nothing on them."""
        self.size = columns, rows
        self.cells = [["" for _ in range(columns)] for _ in range(rows)]
        self.inks = [[0 for _ in range(columns)] for _ in range(rows)]
        self.drawn = np.zeros((rows * self.cell[1], columns * self.cell[0], 3), np.uint8)
        self.has_sixels = np.zeros((rows, columns), bool)

    def feed(self, text: str) -> None:
        """Take what was written."""
        end = 0
        for token in TOKEN.finditer(text):
            assert token.start() == end, f"not understood: {text[end : token.start()]!r}"
            end = token.end()
            if token["passed"] is not None:
                self.feed(token["passed"].replace("\x1b\x1b", "\x1b"))
            elif token["graphics"] is not None:
                self._graphics(token["graphics"])
            elif token["device"] is not None:
                self._sixel(token["device"])
            elif token["control"]:
                self._control(token["control"], token["values"])
            elif token["cursor"]:
                self._cursor(token["cursor"])
            elif token["line"]:
                self._x, self._y = 0, self._y + 1
            elif token["text"]:
                self._write(token["text"])
        assert end == len(text), f"not understood: {text[end:]!r}"

    def _cursor(self, which: str) -> None:
        if which == "7":
            self._kept = self._x, self._y
        else:
            self._x, self._y = self._kept

    def _control(self, control: str, values: str) -> None:
        if values[:1] in ("?", "<", ">", "="):
            return
        numbers = [int(v or 0) for v in values.split(";")]
        if control == "H":
            self._y, self._x = max(numbers[0], 1) - 1, max(numbers[1] if len(numbers) > 1 else 1, 1) - 1
        elif control == "C":
            self._x += max(numbers[0], 1)
        elif control == "X":
            until = self._x + max(numbers[0], 1)
            self.cells[self._y][self._x : until] = [""] * (until - self._x)
            self.has_sixels[self._y, self._x : until] = False
        elif control == "m" and numbers[:1] == [0]:
            self._ink = 0
        elif control == "m":
            for at, number in enumerate(numbers):
                if number == 38 and numbers[at + 1] == 2:
                    red, green, blue = numbers[at + 2 : at + 5]
                    self._ink = red << 16 | green << 8 | blue

    def _write(self, text: str) -> None:
        for character in text:
            if character < " ":
                continue
            if unicodedata.combining(character):
                self.cells[self._y][self._x - 1] += character
            elif self._x < self.size[0] and self._y < self.size[1]:
                self.cells[self._y][self._x], self.inks[self._y][self._x] = character, self._ink
                self.has_sixels[self._y, self._x] = False
                self._x += 1

    def _graphics(self, command: str) -> None:
        head, _, data = command.partition(";")
        keys = dict(pair.split("=", 1) for pair in head.split(",") if pair)
        if self._loading is not None:
            known, before = self._loading
            # A part goes on with the one before; of a frame it says so itself.
            assert set(keys) <= {"m", "q", "a", "r", "i"}
            assert keys.get("a", known["a"]) == known["a"] != "d"
            keys, data = known | {"m": keys["m"]}, before + data
            self._loading = None
        if keys.get("m") == "1":
            self._loading = keys, data
            return
        number = int(keys["i"])
        if keys["a"] == "d":
            self.images.pop(number, None)
            self.placed.pop(number, None)
            return
        assert (keys["f"], keys["o"], keys["q"]) == ("24", "z", "2")
        wide, high = int(keys["s"]), int(keys["v"])
        pixels = np.frombuffer(zlib.decompress(base64.b64decode(data)), np.uint8).reshape(high, wide, 3)
        if keys["a"] == "T":
            assert keys["U"] == "1"
            self.images[number], self.placed[number] = pixels.copy(), (int(keys["c"]), int(keys["r"]))
        else:
            assert (keys["a"], keys["r"], keys["X"]) == ("f", "1", "1")
            x, y = int(keys["x"]), int(keys["y"])
            self.images[number][y : y + high, x : x + wide] = pixels

    def _sixel(self, command: str) -> None:
        head, _, body = command.partition("q")
        assert re.fullmatch(r"[\d;]*", head)
        across, down = self.cell
        left, top, x, y = self._x * across, self._y * down, 0, 0
        colours: dict[int, tuple[int, int, int]] = {}
        colour, high, wide = 0, 0, 0
        for part in re.finditer(r'"([\d;]+)|#([\d;]+)|!(\d+)([?-~])|([?-~])|([$-])', body):
            raster, register, times, repeated, one, move = part.groups()
            if raster:
                wide, high = map(int, raster.split(";")[2:])
            elif register:
                numbers = list(map(int, register.split(";")))
                colour = numbers[0]
                if len(numbers) > 1:
                    assert numbers[1] == 2
                    assert max(numbers[2:]) <= 100
                    colours[colour] = tuple(round(2.55 * n) for n in numbers[2:])  # type: ignore[assignment]
            elif move:
                x, y = 0, y + (6 if move == "-" else 0)
            else:
                bits, count = ord(repeated or one) - 63, int(times or 1)
                for k in range(6):
                    if bits >> k & 1:
                        assert y + k < high
                        assert x + count <= wide
                        self.drawn[top + y + k, left + x : left + x + count] = colours[colour]
                x += count
        assert high == down  # a row of cells
        assert wide % across == 0
        assert not any(self.cells[self._y][self._x : self._x + wide // across])  # nothing below it
        self.registers = max(self.registers, len(colours))
        self.has_sixels[self._y, self._x : self._x + wide // across] = True
        self._x, self._y = 0, self._y + 1  # wherever a terminal leaves it

    def pixels(self, column: int, row: int, columns: int, rows: int) -> tuple[np.ndarray, np.ndarray]:
        """The pixels of a part of the screen, and which of its cells (rows, columns) show pixels at all."""
        across, down = self.cell
        found = np.zeros((rows * down, columns * across, 3), np.uint8)
        shows = np.zeros((rows, columns), bool)
        for y in range(rows):
            of_row = of_column = 0
            for x in range(columns):
                cell, here = self.cells[row + y][column + x], np.s_[y * down : (y + 1) * down]
                there = here, np.s_[x * across : (x + 1) * across]
                if self.has_sixels[row + y, column + x]:
                    top, left = (row + y) * down, (column + x) * across
                    found[there] = self.drawn[top : top + down, left : left + across]
                elif cell.startswith(PLACEHOLDER):
                    number = self.inks[row + y][column + x]
                    if len(cell) > 1:
                        of_row, of_column = (self._numerals.index(mark) for mark in cell[1:])
                    else:  # it goes on from the one before
                        of_column += 1
                    columns_of, rows_of = self.placed[number]
                    assert self.images[number].shape[:2] == (rows_of * down, columns_of * across)
                    top, left = of_row * down, of_column * across
                    found[there] = self.images[number][top : top + down, left : left + across]
                else:
                    continue
                shows[y, x] = True
        return found, shows

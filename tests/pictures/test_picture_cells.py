import re

import numpy as np
import pytest

from trainer.pictures.cells import Cells, write
from trainer.pictures.reduced import ansi, reduced
from trainer.pictures.terminal import Depth

RUN = re.compile(r"\x1b\[([0-9;]*)m([^\x1b]*)")


def random_cells(seed, rows=7, cols=23):
    rng = np.random.default_rng(seed)
    palette = rng.integers(0, 256, (4, 3), dtype=np.uint8)
    glyphs = np.array(list(" ▄▘▊é1"))[rng.integers(0, 6, (rows, cols))]
    ink, paper = (palette[rng.integers(0, 4, (rows, cols))] for _ in range(2))
    return Cells(glyphs, ink, paper)


def read_back(text):
    """What a terminal shows: lists of (glyph, ink, paper) a line."""
    lines = []
    for line in text.split("\n"):
        ink = paper = None
        cells = []
        assert RUN.sub("", line) == ""
        for codes, run in RUN.findall(line):
            numbers = [int(n) for n in codes.split(";")]
            while numbers:
                if numbers[0] == 0:
                    ink = paper = None
                    numbers = numbers[1:]
                else:
                    which, mode, *colour = numbers[:5]
                    assert mode == 2
                    if which == 38:
                        ink = tuple(colour)
                    else:
                        assert which == 48
                        paper = tuple(colour)
                    numbers = numbers[5:]
            cells += [(glyph, ink, paper) for glyph in run]
        assert line.endswith("\x1b[0m")
        lines.append(cells)
    return lines


@pytest.mark.parametrize("seed", range(8))
def test_a_terminal_shows_the_cells_that_were_sent(seed):
    cells = random_cells(seed)
    lines = read_back(ansi(cells))
    assert len(lines) == 7
    for r, line in enumerate(lines):
        assert len(line) == 23
        for c, (glyph, ink, paper) in enumerate(line):
            assert glyph == cells.glyphs[r, c]
            assert paper == tuple(cells.paper[r, c].tolist())
            if glyph != " ":
                assert ink == tuple(cells.ink[r, c].tolist())


def numbered(codes):
    """The colour that each code chooses: (whether ink, its number)."""
    while codes:
        if codes[0] in (38, 48):
            assert codes[1] == 5
            yield codes[0] == 38, codes[2]
            codes = codes[3:]
        else:
            tens, ones = divmod(codes[0], 10)
            yield tens in (3, 9), ones + (8 if tens >= 9 else 0)
            codes = codes[1:]


@pytest.mark.parametrize("depth", [Depth.MANY, Depth.FEW])
@pytest.mark.parametrize("seed", range(4))
def test_a_terminal_of_fewer_colours_shows_the_numbers_that_were_chosen(seed, depth):
    cells = random_cells(seed)
    chosen = reduced(cells, depth)
    for r, line in enumerate(ansi(cells, depth).split("\n")):
        runs = RUN.findall(line)
        assert RUN.sub("", line) == ""
        assert runs[-1] == ("0", "")
        shown, now = [], {}
        for codes, run in runs[:-1]:
            now |= dict(numbered([int(n) for n in codes.split(";")]))
            shown += [(glyph, now[True], now[False]) for glyph in run]
        assert len(shown) == 23
        for c, (glyph, ink, paper) in enumerate(shown):
            assert glyph == chosen.glyphs[r, c]
            assert paper == chosen.paper[r, c]
            assert glyph == " " or ink == chosen.ink[r, c]


def test_without_colours_there_are_glyphs_alone():
    cells = random_cells(5)
    assert ansi(cells, Depth.NONE) == "\n".join(
        "".join(row) for row in reduced(cells, Depth.NONE).glyphs.tolist()
    )


@pytest.mark.parametrize("glyph", "\u2580\u259f\U0001fb00\U0001fb3b\U0001fb3c\U0001fb6f")
def test_text_over_any_block_lies_on_its_mean(glyph):
    cells = Cells(np.array([[glyph]]), np.full((1, 1, 3), 40, np.uint8), np.full((1, 1, 3), 20, np.uint8))
    assert write(cells, 0, 0, "x", (9, 9, 9)).paper.tolist() == [[[30, 30, 30]]]


@pytest.mark.parametrize("glyph", "x\u257f\u25a0\U0001faff\U0001fb70")
def test_text_over_another_glyph_lies_on_its_paper(glyph):
    cells = Cells(np.array([[glyph]]), np.full((1, 1, 3), 40, np.uint8), np.full((1, 1, 3), 20, np.uint8))
    assert write(cells, 0, 0, "x", (9, 9, 9)).paper.tolist() == [[[20, 20, 20]]]


def test_a_line_of_one_colour_is_one_run():
    paper = np.full((1, 40, 3), 30, np.uint8)
    cells = Cells(np.full((1, 40), " "), paper, paper)
    assert ansi(cells) == "\x1b[38;2;30;30;30;48;2;30;30;30m" + " " * 40 + "\x1b[0m"


def test_spaces_do_not_break_the_ink():
    glyphs = np.array([list("▄ ▄")])
    ink = np.array([[[9, 9, 9], [1, 2, 3], [9, 9, 9]]], np.uint8)
    paper = np.zeros((1, 3, 3), np.uint8)
    assert ansi(Cells(glyphs, ink, paper)).count("38;2") == 1


def test_text_lies_on_the_paper_that_is_there():
    cells = random_cells(1)
    written = write(cells, 2, 3, "abc", (1, 2, 3))
    assert "".join(written.glyphs[2, 3:6]) == "abc"
    assert (written.ink[2, 3:6] == (1, 2, 3)).all()
    for c in range(3, 6):
        own = cells.paper[2, c].astype(int)
        two = cells.glyphs[2, c] in "▄▘▊"
        expected = (own + cells.ink[2, c]) // 2 if two else own
        assert (written.paper[2, c] == expected).all()
    untouched = np.ones((7, 23), bool)
    untouched[2, 3:6] = False
    assert (written.glyphs[untouched] == cells.glyphs[untouched]).all()
    assert cells == random_cells(1)


def test_text_is_cut_at_the_edges():
    cells = random_cells(2)
    assert "".join(write(cells, 0, -2, "abcd", (9, 9, 9)).glyphs[0, :2]) == "cd"
    assert "".join(write(cells, 6, 21, "abcd", (9, 9, 9)).glyphs[6, 21:]) == "ab"
    for row, col in ((-1, 0), (7, 0), (0, 23), (0, -4)):
        assert write(cells, row, col, "abcd", (9, 9, 9)) == cells


@pytest.mark.parametrize("text", ["a\x1b", "\n", "\t", "漢", "e\u0301", "\u200b", "\x9b"])
def test_what_is_not_one_cell_wide_is_refused(text):
    with pytest.raises(ValueError, match="one printable cell"):
        write(random_cells(3), 0, 0, text, (0, 0, 0))


def test_cells_differ_where_any_part_differs():
    cells = random_cells(4)
    assert cells == random_cells(4)
    assert cells != random_cells(5)
    assert cells != "cells"
    assert cells.size == (23, 7)
    for name in ("ink", "paper"):
        parts = {"glyphs": cells.glyphs, "ink": cells.ink, "paper": cells.paper}
        parts[name] = parts[name] ^ 1
        assert Cells(**parts) != cells

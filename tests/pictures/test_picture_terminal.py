import numpy as np
import pytest

from trainer.pictures import terminal
from trainer.pictures.cells import GLYPH_SETS, cover, coverages
from trainer.pictures.terminal import glyphs_for

XTERM = {"TERM": "xterm-256color"}


@pytest.mark.parametrize(
    ("environ", "glyphs"),
    [
        ({}, "quadrants"),
        (XTERM, "quadrants"),
        ({"TERM": "rxvt-unicode-256color"}, "quadrants"),
        ({"TERM": "dumb"}, "plain"),
        ({"TERM": "linux"}, "halves"),
        ({"TERM": "xterm-kitty"}, "slanted"),
        ({"TERM": "XTERM-KITTY "}, "slanted"),
        ({"TERM": "xterm-ghostty"}, "slanted"),
        ({"TERM": "foot"}, "slanted"),
        ({"TERM": "alacritty"}, "quadrants"),  # draws sextants of late only, and doesn't say
        (XTERM | {"KITTY_WINDOW_ID": "1"}, "slanted"),
        (XTERM | {"TERM_PROGRAM": "ghostty"}, "slanted"),
        (XTERM | {"TERM_PROGRAM": "WezTerm"}, "sextants"),
        (XTERM | {"TERM_PROGRAM": "Apple_Terminal"}, "halves"),
        (XTERM | {"TERM_PROGRAM": "vscode"}, "quadrants"),  # three rows, but not of equal height
        (XTERM | {"TERM_PROGRAM": "iTerm.app"}, "quadrants"),
        (XTERM | {"VTE_VERSION": "7600"}, "slanted"),
        (XTERM | {"VTE_VERSION": "6000"}, "slanted"),
        (XTERM | {"VTE_VERSION": "5999"}, "quadrants"),
        (XTERM | {"VTE_VERSION": "new"}, "quadrants"),
        (XTERM | {"VTE_VERSION": "²"}, "quadrants"),
        (XTERM | {"WT_SESSION": "a-b"}, "quadrants"),
        ({"WT_SESSION": "a-b"}, "quadrants"),
    ],
)
def test_what_terminals_are_known_to_draw(environ, glyphs):
    assert glyphs_for(environ) == glyphs


@pytest.mark.parametrize(
    ("environ", "glyphs"),
    [
        (XTERM | {"VTE_VERSION": "7600", "KONSOLE_VERSION": "230804"}, "quadrants"),
        (XTERM | {"VTE_VERSION": "7600", "TERM_PROGRAM": "vscode"}, "quadrants"),
        (XTERM | {"KITTY_WINDOW_ID": "1", "XTERM_VERSION": "XTerm(390)"}, "quadrants"),
        ({"TERM": "rxvt-unicode", "VTE_VERSION": "7600"}, "quadrants"),
        ({"TERM": "dumb", "KITTY_WINDOW_ID": "1"}, "plain"),
        ({"TERM": "xterm-kitty", "VTE_VERSION": "5000"}, "slanted"),
    ],
)
def test_marks_left_by_a_terminal_around_count_for_nothing(environ, glyphs):
    assert glyphs_for(environ) == glyphs


@pytest.mark.parametrize("inside", [{"TMUX": "/tmp/t,1,0"}, {"STY": "1.tty"}, {"TERM": "screen-256color"}])
@pytest.mark.parametrize("around", [{"TERM": "xterm-kitty"}, XTERM | {"VTE_VERSION": "7600"}])
def test_inside_a_multiplexer_never_above_quadrants(around, inside):
    assert glyphs_for(around | inside) == "quadrants"


def test_inside_a_multiplexer_a_poor_terminal_stays_poor():
    assert glyphs_for({"TERM": "linux", "TMUX": "/tmp/t,1,0"}) == "halves"


@pytest.mark.parametrize("glyphs", GLYPH_SETS)
def test_the_override_goes_before_all(glyphs):
    for environ in ({"TERM": "dumb"}, {"TERM": "xterm-kitty", "TMUX": "/tmp/t,1,0"}):
        assert glyphs_for(environ | {"TRAINER_GLYPHS": f" {glyphs.upper()} "}) == glyphs


def test_an_empty_override_is_none():
    assert glyphs_for({"TERM": "xterm-kitty", "TRAINER_GLYPHS": ""}) == "slanted"


def test_a_wrong_override_says_what_is_allowed():
    with pytest.raises(ValueError, match="TRAINER_GLYPHS='octants'") as caught:
        glyphs_for({"TRAINER_GLYPHS": "octants"})
    assert all(glyphs in str(caught.value) for glyphs in GLYPH_SETS)
    assert "\n" not in str(caught.value)


def shapes():
    """The shape of each set, as drawn on the page: two rows of ten glyphs, rasterised."""
    lines = terminal.samples()
    for glyphs, top, bottom in zip(GLYPH_SETS, lines[::2], lines[1::2], strict=True):
        assert top.startswith(glyphs)
        rows = [line[11:21].ljust(10) for line in (top, bottom)]
        if glyphs != "plain":
            yield np.block([[cover(letter, 24, 48) for letter in row] for row in rows])


def test_the_page_shows_the_same_shape_in_every_set():
    """Three cells of slope rising one cell, four cells full, and mirrored, up and down."""
    across = (np.arange(240) + 0.5) / 24
    slope = np.minimum(1, np.minimum(across, 10 - across) / 3)
    below = 1 - (np.arange(48) + 0.5) / 48
    upper = (below[:, None] <= slope).astype(float)
    truth = np.concatenate([upper, upper[::-1]])
    wrong = [np.abs(shape - truth).mean() for shape in shapes()]
    halves, quadrants, sextants, slanted = wrong
    assert quadrants < halves + 1e-9
    assert sextants < 0.75 * quadrants
    assert slanted < 0.01  # only the pixels that the edge cuts


def test_the_page_shows_every_glyph():
    lines = terminal.samples()
    assert len(lines) == 2 * len(GLYPH_SETS)
    assert set(coverages("slanted")[0]) <= set("".join(lines))
    assert not any(ord(letter) > 126 for line in lines[:2] for letter in line)
    for glyphs, top, bottom in zip(GLYPH_SETS[1:], lines[2::2], lines[3::2], strict=True):
        allowed = set(coverages(glyphs)[0]) | {" ", "█"}
        for letter in (top + bottom).replace(glyphs, ""):
            # A complement may stand for a glyph of the set.
            masks = [cover(one) for one in allowed]
            mine = cover(letter)
            assert any(np.allclose(mine, m, atol=1e-6) or np.allclose(mine, 1 - m, atol=1e-6) for m in masks)

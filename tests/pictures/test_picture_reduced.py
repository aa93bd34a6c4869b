"""Fewer colours: the right ones, and a picture that still tells its things apart."""

import re
import unicodedata

import numpy as np
import pytest
from looking import as_pixels, draw_plan, one_shot, plan_frame

from trainer.names import VIEWS
from trainer.pictures import colours
from trainer.pictures.cells import Cells, blocks, coverages, opposite, share
from trainer.pictures.inset import Hit, painted_inset
from trainer.pictures.marks import Ball, Role
from trainer.pictures.painted import in_cells
from trainer.pictures.projection import Viewport
from trainer.pictures.projection import draw as draw_marks
from trainer.pictures.reduced import (
    AMBER,
    CUE,
    CUSHION,
    FIXED,
    HATCH,
    LETTER,
    OBJECT,
    RAIL,
    RIM,
    ROOM,
    SIXTEEN,
    ansi,
    palette,
    reduced,
)
from trainer.pictures.reduced import CLOTH as FLAT_CLOTH
from trainer.pictures.reduced import LINE as CLOTH_MARK
from trainer.pictures.terminal import Depth, depth_for, depth_named
from trainer.pictures.views import projection_of

NEAR = {"cue_distance": (300.0, 500.0), "pocket_distance": (200.0, 400.0)}
EVERY = [
    *map(chr, range(0x2580, 0x2591)),
    *map(chr, range(0x2594, 0x25A0)),
    *map(chr, range(0x1FB00, 0x1FB70)),
]

# The sixteen colours as they come, before a theme changes them; from memory: a VGA card, xterm,
# a console of Windows, and two themes.
THEMES = {
    "card": "000000aa000000aa00aa55000000aaaa00aa00aaaaaaaaaa"
    "555555ff555555ff55ffff555555ffff55ff55ffffffffff",
    "xterm": "000000cd000000cd00cdcd000000eecd00cd00cdcde5e5e5"
    "7f7f7fff000000ff00ffff005c5cffff00ff00ffffffffff",
    "console": "0c0c0cc50f1f13a10ec19c000037da8817983a96ddcccccc"
    "767676e7485616c60cf9f1a53b78ffb4009e61d6d6f2f2f2",
    "soft": "2e3436cc00004e9a06c4a0003465a475507b06989ad3d7cf"
    "555753ef29298ae234fce94f729fcfad7fa834e2e2eeeeec",
    "remapped": "073642dc322f859900b58900268bd2d336822aa198eee8d5"
    "002b36cb4b16586e75657b838394966c71c493a1a1fdf6e3",
}  # fmt: skip


def theme(name):
    return np.frombuffer(bytes.fromhex(THEMES[name]), np.uint8).reshape(16, 3)


def plain(colour, glyph=" ", ink=None):
    """One cell."""
    ink = colour if ink is None else ink
    return Cells(np.array([[glyph]]), np.array([[ink]], np.uint8), np.array([[colour]], np.uint8))


def a_plan(seed=2, size=(120, 40), **more):
    shot, truth = one_shot(seed, **NEAR)
    view = plan_frame(shot, truth.target, (size[0] * 4.0, size[1] * 8.0), **more)
    return draw_plan(shot, truth.target, size, **more), shot, view


def around(view, shot, name, reach):
    """The cells within ``reach`` ball radii of a ball, as rows and columns."""
    x, y = view.at(getattr(shot, name))
    radius = reach * 26.25 * view.scale
    ys, xs = np.mgrid[0:40, 0:120]
    return np.hypot(xs * 4 + 2 - x, ys * 8 + 4 - y) < radius


# --- Which depth -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("depth", "environ"),
    [
        (Depth.NONE, {}),
        (Depth.NONE, {"TERM": ""}),
        (Depth.NONE, {"TERM": "dumb", "COLORTERM": "truecolor"}),
        (Depth.NONE, {"TERM": "xterm-256color", "NO_COLOR": "1"}),
        (Depth.NONE, {"TERM": "xterm-kitty", "NO_COLOR": "0"}),
        (Depth.MANY, {"TERM": "xterm-256color", "NO_COLOR": ""}),
        (Depth.FEW, {"TERM": "xterm"}),
        (Depth.FEW, {"TERM": "linux"}),
        (Depth.FEW, {"TERM": "screen"}),
        (Depth.MANY, {"TERM": "screen-256color"}),
        (Depth.MANY, {"TERM": "tmux-256color", "VTE_VERSION": "7600", "WT_SESSION": "x"}),
        (Depth.TRUE, {"TERM": "tmux-256color", "COLORTERM": "truecolor"}),
        (Depth.TRUE, {"TERM": "xterm-256color", "COLORTERM": "24bit"}),
        (Depth.MANY, {"TERM": "xterm-256color", "COLORTERM": "yes"}),
        (Depth.TRUE, {"COLORTERM": "TrueColor"}),
        (Depth.TRUE, {"WT_SESSION": "5c1a"}),
        (Depth.TRUE, {"TERM": "xterm-256color", "VTE_VERSION": "6003"}),
        (Depth.MANY, {"TERM": "xterm-256color", "VTE_VERSION": "3409"}),
        (Depth.MANY, {"TERM": "xterm-256color", "VTE_VERSION": "new"}),
        (Depth.TRUE, {"TERM": "xterm-kitty"}),
        (Depth.TRUE, {"TERM": "foot-extra"}),
        (Depth.TRUE, {"TERM": "alacritty"}),
        (Depth.TRUE, {"TERM": "xterm-direct"}),
        (Depth.TRUE, {"TRAINER_COLOURS": "true", "NO_COLOR": "1"}),
        (Depth.FEW, {"TRAINER_COLOURS": "16", "COLORTERM": "truecolor"}),
        (Depth.NONE, {"TRAINER_COLOURS": "none", "COLORTERM": "truecolor"}),
        (Depth.MANY, {"TRAINER_COLOURS": "", "TERM": "xterm-256color"}),
    ],
)
def test_the_surroundings_tell_the_depth(depth, environ):
    assert depth_for(environ) is depth


def test_a_depth_that_is_none_of_ours_is_said():
    assert [depth_named(n) for n in ("true", "256", "16", "none", "16777216", "0")] == [
        Depth.TRUE, Depth.MANY, Depth.FEW, Depth.NONE, Depth.TRUE, Depth.NONE,
    ]  # fmt: skip
    with pytest.raises(ValueError, match=r"^'8': allowed is true \(16777216\), 256, 16 or none \(0\)$"):
        depth_named("8")
    with pytest.raises(ValueError, match=r"^TRAINER_COLOURS: 'many': allowed"):
        depth_for({"TRAINER_COLOURS": "many"})


# --- Glyphs ----------------------------------------------------------------------------------------


def test_blocks_are_the_glyphs_that_divide_a_cell():
    assert blocks(np.array(EVERY)).all()
    assert not blocks(
        np.array([" ", "a", "│", "┃", "●", "\u257f", "\u25a0", "\U0001faff", "\U0001fb70"])
    ).any()


@pytest.mark.parametrize("letter", list(coverages("quadrants")[0]))
def test_shares_are_those_that_the_fit_counts_with_and_opposites_the_rest(letter):
    letters, masks = coverages("quadrants")
    assert share(letter) == pytest.approx(masks[letters.index(letter)].mean())
    assert share(opposite(letter)) == pytest.approx(1 - share(letter), abs=0.26)


def test_opposites_fill_each_other_up():
    whole = [g for g in EVERY if not ("▁" <= g <= "▏" and g not in "▄█▌") and g not in "▔▕"]
    for glyph in whole:
        assert opposite(opposite(glyph)) == glyph != opposite(glyph)
        assert share(glyph) + share(opposite(glyph)) == pytest.approx(1)


def test_sextants_and_wedges_are_what_their_names_say():
    """The names of the Unicode Character Database say which parts a glyph covers."""
    for sextant in map(chr, range(0x1FB00, 0x1FB3C)):
        parts = unicodedata.name(sextant).removeprefix("BLOCK SEXTANT-")
        rest = unicodedata.name(opposite(sextant)).removeprefix("BLOCK SEXTANT-")
        assert set(parts) | set(rest) == set("123456")
        assert share(sextant) == pytest.approx(len(parts) / 6)
    swap = {"LOWER": "UPPER", "UPPER": "LOWER", "LEFT": "RIGHT", "RIGHT": "LEFT"}
    for wedge in map(chr, range(0x1FB3C, 0x1FB68)):
        down, across, *rest = unicodedata.name(wedge).split(" ")
        assert unicodedata.name(opposite(wedge)).split(" ") == [swap[down], swap[across], *rest]


# --- 256 -------------------------------------------------------------------------------------------


def test_every_colour_goes_nearly_to_the_nearest_of_the_fixed_ones():
    rng = np.random.default_rng(1)
    some = rng.integers(0, 256, (1, 2000, 3), dtype=np.uint8)
    found = reduced(Cells(np.full((1, 2000), " "), some, some), Depth.MANY).paper[0]
    assert found.min() >= FIXED
    away = colours.apart(colours.oklab_of(some[0])[:, None], colours.oklab_of(palette()))
    mine = away[np.arange(2000), found - FIXED]
    # Looked up by 32 steps a channel: an error of half a step, most of it in the darkest colours.
    assert (mine - away.min(axis=1)).max() < 8
    assert (mine - away.min(axis=1)).mean() < 0.2
    assert (mine == away.min(axis=1)).mean() > 0.8


def test_the_fixed_colours_stay_themselves():
    own = palette()[None]
    numbers = reduced(Cells(np.full((1, 240), " "), own, own), Depth.MANY).paper[0]
    assert colours.apart(colours.oklab_of(palette()[numbers - FIXED]), colours.oklab_of(own[0])).max() < 3.5
    assert (numbers == np.arange(16, 256)).mean() > 0.9
    assert len(palette()) == 240
    assert palette()[[0, 5, 215, 216, 239]].tolist() == [[0] * 3, [0, 0, 255], [255] * 3, [8] * 3, [238] * 3]


def test_the_cloth_is_one_flat_colour():
    cells, _, _ = a_plan()
    shown = reduced(cells, Depth.MANY)
    cloth = shown.paper[(cells.paper == colours.CLOTH).all(axis=-1)]
    assert len(np.unique(cloth)) == 1
    inset = in_cells(painted_inset(Hit(1.0), Viewport((60, 20))))
    assert reduced(inset, Depth.MANY).paper[0, 0] == cloth[0]


@pytest.mark.parametrize("depth", Depth)
def test_text_is_never_lost_in_its_paper(depth):
    for paper in (colours.CLOTH, colours.CUE_BALL, colours.ROOM, colours.OBJECT_BALL):
        shown = reduced(plain(paper, "x", paper), depth)
        assert shown.glyphs[0, 0] == "x"
        if depth in (Depth.MANY, Depth.FEW):
            assert shown.ink[0, 0] != shown.paper[0, 0]


# --- 16 --------------------------------------------------------------------------------------------

ASIDE = [  # things that lie side by side, and how far apart they are in every theme
    (25, [(OBJECT, CUE), (CUE, FLAT_CLOTH), (CUE, RAIL), (CUE, RIM), (AMBER, RIM)]),
    (12, [(OBJECT, FLAT_CLOTH), (OBJECT, RIM), (RAIL, FLAT_CLOTH), (CLOTH_MARK, FLAT_CLOTH)]),
    (9, [(AMBER, FLAT_CLOTH), (AMBER, RAIL), (CUSHION, FLAT_CLOTH), (CUSHION, RAIL)]),
    (4, [(RAIL, ROOM)]),
]


@pytest.mark.parametrize("name", THEMES)
@pytest.mark.parametrize(("least", "pairs"), ASIDE)
def test_things_stay_apart_in_every_theme(name, least, pairs):
    lab = colours.oklab_of(theme(name))
    for one, other in pairs:
        assert colours.apart(lab[SIXTEEN[one]], lab[SIXTEEN[other]]) >= least, (one, other)


@pytest.mark.parametrize("name", THEMES)
def test_the_object_ball_is_more_red_than_anything_else_in_every_theme(name):
    red, green, blue = theme(name)[SIXTEEN[OBJECT]]
    assert red > 2 * max(green, blue)


@pytest.mark.parametrize("seed", range(6))
def test_shapes_are_flat_and_where_they_were(seed):
    cells, shot, view = a_plan(seed)
    shown = reduced(cells, Depth.FEW)
    assert set(np.unique([shown.ink, shown.paper])) <= set(SIXTEEN.values())
    for name, thing in (("cue_ball", CUE), ("object_ball", OBJECT)):
        inside = around(view, shot, name, 0.5) & (shown.glyphs == " ")
        assert inside.sum() >= 1
        gleam = {SIXTEEN[CUE]} if thing == OBJECT else set()
        assert set(shown.paper[inside].tolist()) <= {SIXTEEN[thing]} | gleam
    cloth = (cells.paper == colours.CLOTH).all(axis=-1) & (cells.glyphs == " ")
    kept = cloth & ~around(view, shot, "cue_ball", 1.8) & ~around(view, shot, "object_ball", 1.8)
    assert set(shown.paper[kept].tolist()) == {SIXTEEN[FLAT_CLOTH]}


@pytest.mark.parametrize("seed", range(6))
def test_a_ball_has_a_dark_rim_whatever_the_theme(seed):
    """Nowhere does a ball's colour touch the cloth's inside a cell, nor along a whole side of two."""
    cells, shot, view = a_plan(seed)
    shown = reduced(cells, Depth.FEW)
    cloth = SIXTEEN[FLAT_CLOTH]
    for name, thing in (("cue_ball", CUE), ("object_ball", OBJECT)):
        ball = SIXTEEN[thing]
        here = around(view, shot, name, 1.5)
        pair = np.sort(np.stack([shown.ink, shown.paper]), axis=0)[:, here & (shown.glyphs != " ")]
        assert not ((pair[0] == min(ball, cloth)) & (pair[1] == max(ball, cloth))).any()
        assert ((pair[0] == RIM) & (pair[1] == ball)).sum() >= 3
        full = here & (shown.glyphs == " ") & (shown.paper == ball)
        bare = (shown.glyphs == " ") & (shown.paper == cloth)
        for axis in (0, 1):
            for way in (-1, 1):
                assert not (full & np.roll(bare, way, axis)).any()


def test_a_white_line_has_no_rim():
    glyphs = np.array([list("▂▂▂▂▂")])
    ink, paper = np.full((1, 5, 3), colours.TRUE_AIM, np.uint8), np.full((1, 5, 3), colours.CLOTH, np.uint8)
    shown = reduced(Cells(glyphs, ink, paper), Depth.FEW)
    assert (shown.paper == SIXTEEN[FLAT_CLOTH]).all()
    assert (shown.ink == SIXTEEN[CUE]).all()


# --- None ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(6))
def test_without_colours_the_object_ball_is_hatched_and_the_cue_ball_is_not(seed):
    cells, shot, view = a_plan(seed)
    shown = reduced(cells, Depth.NONE).glyphs
    assert not reduced(cells, Depth.NONE).ink.any()
    assert (shown[around(view, shot, "object_ball", 0.9)] == HATCH).sum() >= 2
    cue = shown[around(view, shot, "cue_ball", 1.2)]
    assert (cue == "█").sum() >= 2
    far = ~around(view, shot, "object_ball", 1.2)
    assert not np.isin(shown[far], [HATCH]).any()


@pytest.mark.parametrize("view", VIEWS)
def test_without_colours_nothing_of_the_object_ball_looks_like_a_part_of_a_white_one(view):
    for seed in range(8):
        shot, truth = one_shot(seed, cue_distance=(600.0, 900.0))
        projection = projection_of(view, shot, truth.target, Viewport((79, 35)))
        shown = reduced(draw_marks(projection, [Ball(shot.object_ball, Role.OBJECT)]), Depth.NONE).glyphs
        cloth = reduced(draw_marks(projection, []), Depth.NONE).glyphs
        own = (shown != cloth) & (cloth == " ")  # where no line or cushion was
        assert own.any()
        assert set(shown[own].tolist()) <= {HATCH, LETTER}


@pytest.mark.parametrize("seed", range(12))
def test_a_ball_too_small_for_hatching_has_its_letter(seed):
    shot, truth = one_shot(seed, cue_distance=(400.0, 2000.0), pocket_distance=(500.0, 2000.0))
    size = (100, 34)
    shown = reduced(draw_plan(shot, truth.target, size, whole=True), Depth.NONE).glyphs
    view = plan_frame(shot, truth.target, (400.0, 272.0), whole=True)
    x, y = view.at(shot.object_ball)
    rows, columns = np.nonzero((shown == LETTER) | (shown == HATCH))
    away = np.hypot(columns * 4 + 2 - x, rows * 8 + 4 - y)
    assert away.min() < 6
    x, y = view.at(shot.cue_ball)
    assert np.hypot(columns * 4 + 2 - x, rows * 8 + 4 - y).min() > 6


@pytest.mark.parametrize("seed", range(6))
def test_without_colours_the_masks_keep_the_cue_ball_s_place(seed):
    cells, shot, view = a_plan(seed)
    shown = reduced(cells, Depth.NONE).glyphs
    here = around(view, shot, "cue_ball", 1.5)
    light, dark = np.full((40, 120, 3), 255, np.uint8), np.zeros((40, 120, 3), np.uint8)
    known = np.where(shown == "▐", "▌", np.where(shown == "▀", "▄", shown))
    swapped = shown != known
    light, dark = np.where(swapped[..., None], dark, light), np.where(swapped[..., None], light, dark)
    dark[shown == "█"] = 255
    pixels = as_pixels(Cells(np.where(shown == "█", " ", known), light, dark))[..., 0]
    pixels = pixels * np.kron(here, np.ones((8, 4)))
    ys, xs = np.indices(pixels.shape)
    x, y = view.at(shot.cue_ball)
    assert (pixels * (xs + 0.5)).sum() / pixels.sum() == pytest.approx(x, abs=1.5)
    assert (pixels * (ys + 0.5)).sum() / pixels.sum() == pytest.approx(y, abs=2.0)


def test_the_inset_shows_both_balls_the_outline_and_the_labels_without_colours():
    labels = tuple("12345")
    cells = in_cells(
        painted_inset(Hit(1.0, (-0.5, -0.25, 0, 0.25, 0.5), labels, selected=1), Viewport((70, 22)))
    )
    shown = reduced(cells, Depth.NONE).glyphs
    assert [g for g in shown[-1].tolist() if g != " "] == list(labels)
    assert (shown == "┃").sum() == 1
    middle = shown[11].tolist()
    assert middle.count(HATCH) > 10
    ring = in_cells(painted_inset(Hit(1.0, called=0.5, true=0.3), Viewport((70, 22))))
    assert (reduced(ring, Depth.NONE).glyphs == "█").sum() > 100
    assert (reduced(ring, Depth.NONE).glyphs == HATCH).sum() > 50


@pytest.mark.parametrize("depth", Depth)
def test_the_cells_themselves_are_left_alone(depth):
    cells, _, _ = a_plan(1)
    before = Cells(cells.glyphs.copy(), cells.ink.copy(), cells.paper.copy())
    shown = reduced(cells, depth)
    assert shown.glyphs.shape == shown.ink.shape == shown.paper.shape == (40, 120)
    assert cells == before
    assert len(re.sub(r"\x1b\[[0-9;]*m", "", ansi(cells, depth))) == 40 * 121 - 1

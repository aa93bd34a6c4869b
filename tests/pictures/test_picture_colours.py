"""OKLab against the published pairs and a second way to it; and the palette, for every kind of eye."""

import numpy as np
import pytest

from trainer.pictures import colours
from trainer.pictures.cells import Cells
from trainer.pictures.colours import apart, oklab_of, oklab_of_light
from trainer.pictures.reduced import FIXED, palette, reduced
from trainer.pictures.terminal import Depth

# Chromaticities of sRGB's red, green, blue and white (IEC 61966-2-1).
PRIMARIES = np.array([[0.64, 0.33], [0.30, 0.60], [0.15, 0.06]])
WHITE = np.array([0.3127, 0.3290])

# The published way from XYZ (B. Ottosson, 2020); the module goes from linear sRGB.
FROM_XYZ = np.array(
    [
        [0.8189330101, 0.3618667424, -0.1288597137],
        [0.0329845436, 0.9293118715, 0.0361456387],
        [0.0482003018, 0.2643662691, 0.6338517070],
    ]
)
TO_LAB = np.array(
    [
        [0.2104542553, 0.7936177850, -0.0040720468],
        [1.9779984951, -2.4285922050, 0.4505937099],
        [0.0259040371, 0.7827717662, -0.8086757660],
    ]
)

# The published check pairs, XYZ and OKLab to three places (the same source).
PAIRS = [
    ((0.950, 1.000, 1.089), (1.000, 0.000, 0.000)),
    ((1.000, 0.000, 0.000), (0.450, 1.236, -0.019)),
    ((0.000, 1.000, 0.000), (0.922, -0.671, 0.263)),
    ((0.000, 0.000, 1.000), (0.153, -1.415, -0.449)),
]


def xyz_of_light():
    """Linear sRGB to XYZ, worked out from the chromaticities."""
    columns = np.array([[x / y, 1.0, (1 - x - y) / y] for x, y in PRIMARIES]).T
    x, y = WHITE
    return columns * np.linalg.solve(columns, [x / y, 1.0, (1 - x - y) / y])


@pytest.mark.parametrize(("xyz", "lab"), PAIRS)
def test_the_published_pairs(xyz, lab):
    # Pure X, Y and Z are no colours of a screen: their light is partly negative.
    light = np.linalg.solve(xyz_of_light(), xyz)
    assert oklab_of_light(light) == pytest.approx(lab, abs=1.5e-3)


def test_the_way_through_xyz_gives_the_same():
    light = np.random.default_rng(1).uniform(0, 1, (500, 3))
    lab = np.cbrt(light @ xyz_of_light().T @ FROM_XYZ.T) @ TO_LAB.T
    assert oklab_of_light(light) == pytest.approx(lab, abs=5e-4)


def test_greys_have_no_hue_and_white_is_one():
    greys = oklab_of([(v, v, v) for v in range(0, 256, 5)])
    assert abs(greys[:, 1:]).max() < 1e-6
    assert greys[0] == pytest.approx([0, 0, 0])
    assert greys[-1, 0] == pytest.approx(1.0, abs=1e-6)
    assert (np.diff(greys[:, 0]) > 0).all()
    assert apart(greys[0], greys[-1]) == pytest.approx(100, abs=1e-4)
    assert apart(greys[:4], greys[:4]).shape == (4,)


# --- For every kind of eye -------------------------------------------------------------------------

# What a colour looks like to somebody who lacks one kind of cone, in linear light: G. Machado,
# M. Oliveira, L. Fernandes, "A physiologically-based model for simulation of color vision
# deficiency", IEEE Trans. Visualization and Computer Graphics 15 (6), 2009; severity 1.0.
EYES = {
    "all three": np.eye(3),
    "no long": [
        [0.152286, 1.052583, -0.204868],
        [0.114503, 0.786281, 0.099216],
        [-0.003882, -0.048116, 1.051998],
    ],
    "no middle": [
        [0.367322, 0.860646, -0.227968],
        [0.280085, 0.672501, 0.047413],
        [-0.011820, 0.042940, 0.968881],
    ],
    "no short": [
        [1.255528, -0.076749, -0.178779],
        [-0.078411, 0.930809, 0.147602],
        [0.004733, 0.691367, 0.303900],
    ],
}

BALLS = ("CUE_BALL", "OBJECT_BALL")
CLOTHS = ("CLOTH", "CLOTH_DARK")
BALLS_APART = [BALLS, *((ball, cloth) for ball in BALLS for cloth in CLOTHS)]
# Other things that lie side by side, and how far apart they are at least; 2 is what an eye can just
# tell from its neighbour (common practice), and these are large flat shapes or lines on them.
OTHERS_APART = [
    (25, [("AMBER", ground) for ground in (*CLOTHS, "CUSHION", "RAIL", "POCKET", "ROOM")]),
    (25, [("CHALK", ground) for ground in CLOTHS]),
    (25, [(line, ground) for line in ("CLOTH_LINE", "TRUE_AIM", "MARK", "MARK_QUIET") for ground in CLOTHS]),
    (25, [("MARK_DARK", ball) for ball in BALLS]),
    (15, [("CHALK", other) for other in ("AMBER", "TRUE_AIM", *BALLS)]),
    (15, [("AMBER", "OBJECT_BALL"), ("MARK", "MARK_QUIET"), ("CUSHION", "RAIL")]),
    (12, [("OBJECT_BALL", "CUSHION")]),
    (20, [("OTHER_BALL", cloth) for cloth in CLOTHS]),
    (15, [("OTHER_BALL", ball) for ball in BALLS]),
    (12, [("OTHER_BALL", other) for other in ("CUSHION", "RAIL", "CHALK", "AMBER")]),
    (25, [("POCKET", "CUSHION"), ("CUE_BALL", "CUSHION"), *((b, "RAIL") for b in BALLS)]),
    (20, [("POCKET", "CLOTH"), ("POCKET", "RAIL")]),
    (12, [("POCKET_QUIET", ground) for ground in ("POCKET", "CLOTH")]),
    (6, [("POCKET_QUIET", "RAIL")]),
    (8, [("CUSHION", "CLOTH"), ("RAIL", "ROOM"), ("AMBER", "TRUE_AIM")]),
]
EVERY = [(20, pair) for pair in BALLS_APART] + [
    (least, pair) for least, pairs in OTHERS_APART for pair in pairs
]


def shown(name, depth):
    """The colour that a thing has on such a terminal."""
    colour = np.array([[getattr(colours, name)]], np.uint8)
    if depth is Depth.TRUE:
        return colour[0, 0]
    return palette()[reduced(Cells(np.array([[" "]]), colour, colour), depth).paper[0, 0] - FIXED]


def seen(colour, eye):
    """OKLab of what an eye makes of it."""
    return oklab_of_light(np.clip(np.asarray(EYES[eye]) @ colours.linear(colour), 0, 1))


@pytest.mark.parametrize("eye", EYES)
@pytest.mark.parametrize("depth", [Depth.TRUE, Depth.MANY])
@pytest.mark.parametrize(
    ("least", "pair"), EVERY, ids=lambda v: " ".join(v) if isinstance(v, tuple) else str(v)
)
def test_things_can_be_told_apart(least, pair, depth, eye):
    one, other = (seen(shown(name, depth), eye) for name in pair)
    assert apart(one, other) >= least


def test_every_colour_is_in_the_test_of_colours():
    named = {n for n in vars(colours) if n.isupper() and isinstance(getattr(colours, n), tuple)}
    assert {n for _, pair in EVERY for n in pair} == named - {"RAIL_EDGE", "SHADOW", "HIGHLIGHT"}


def test_the_palette_lies_on_the_grid_of_tones():
    grid = {round(k * 255 / (colours.TONES - 1)) for k in range(colours.TONES)}
    for name in (n for n in vars(colours) if n.isupper() and isinstance(getattr(colours, n), tuple)):
        assert set(getattr(colours, name)) <= grid, name


@pytest.mark.parametrize(
    ("eye", "one", "other"),
    [
        ("no long", (196, 30, 34), (22, 118, 72)),
        ("no middle", (196, 30, 34), (22, 118, 72)),
        ("no short", (0, 120, 140), (0, 120, 100)),
    ],
)
def test_an_eye_that_lacks_a_cone_leaves_greys_and_confuses_its_own_colours(eye, one, other):
    assert np.asarray(EYES[eye]).sum(axis=1) == pytest.approx([1, 1, 1], abs=2e-6)
    assert apart(seen(one, eye), seen(other, eye)) < 0.55 * apart(oklab_of(one), oklab_of(other))

import numpy as np
import pytest
from looking import as_pixels, to_light

from trainer.pictures import colours
from trainer.pictures.cells import ACROSS, GLYPH_SETS, cover, coverages
from trainer.pictures.colours import encode, linear
from trainer.pictures.fit import fit, search
from trainer.pictures.projection import Viewport

FINE = 24  # scan lines a width of a cell
NEW_IN_QUADRANTS = "▘▝▖▗▚▁▂▃▅▆▇▎▍▌▋▊"


def choose(light, glyphs):
    """The best glyph of the whole set for each cell (cells, pixels, 3), edge or not."""
    return search(np.sqrt(np.asarray(light, np.float32)).transpose(0, 2, 1), glyphs)


def as_picture(cell):
    return np.asarray(cell, np.float32).reshape(8, 4, 3)


def brute_force(cell, glyphs):
    """Residual of the best two colours under each glyph, by a general least-squares solver."""
    root = np.sqrt(np.asarray(cell, float))
    found = []
    for mask in coverages(glyphs)[1].reshape(-1, 32):
        design = np.stack([mask, 1 - mask], axis=1).astype(float)
        best = np.linalg.lstsq(design, root, rcond=None)[0]
        found.append(((design @ best - root) ** 2).sum())
    return np.array(found)


@pytest.mark.parametrize("glyphs", GLYPH_SETS[1:])
@pytest.mark.parametrize("count", [60, pytest.param(300, marks=pytest.mark.long)])
def test_the_choice_is_the_least_of_all_squares(glyphs, count):
    light = np.random.default_rng(5).random((count, 32, 3)).astype(np.float32)
    for cell, best in zip(light, choose(light, glyphs), strict=True):
        residuals = brute_force(cell, glyphs)
        assert residuals[best] == pytest.approx(residuals.min(), rel=1e-5)


def test_colours_are_the_least_squares_in_linear_light():
    light = np.random.default_rng(6).random((100, 32, 3)).astype(np.float32)
    letters, masks = coverages("quadrants")
    for cell in light:
        cells = fit(as_picture(cell))
        mask = masks[letters.index(str(cells.glyphs[0, 0]))].ravel().astype(float)
        design = np.stack([mask, 1 - mask], axis=1)
        ink, paper = np.linalg.lstsq(design, cell.astype(float), rcond=None)[0]
        for shown, wanted in ((cells.ink[0, 0], ink), (cells.paper[0, 0], paper)):
            nearest = encode(np.clip(wanted, 0, 1).astype(np.float32))
            assert np.abs(shown.astype(int) - nearest).max() <= 5  # one tone of 64


@pytest.mark.parametrize("glyphs", GLYPH_SETS[1:])
def test_every_glyph_is_known_again(glyphs):
    letters, masks = coverages(glyphs)
    dark, bright = linear(colours.CLOTH), linear(colours.CUE_BALL)
    for letter, mask in zip(letters, masks, strict=True):
        cells = fit((dark + mask[..., None] * (bright - dark)).astype(np.float32), glyphs)
        assert cells.glyphs[0, 0] == letter
        assert tuple(cells.ink[0, 0]) == colours.CUE_BALL
        assert tuple(cells.paper[0, 0]) == colours.CLOTH


def test_glyphs_cover_what_their_names_say():
    letters, masks = coverages("quadrants")
    assert set(letters) == set(NEW_IN_QUADRANTS + "▄")
    assert coverages("halves")[0] == "▄"
    cover = dict(zip(letters, masks, strict=True))
    for k, letter in enumerate("▁▂▃▄▅▆▇", 1):
        assert cover[letter].mean() == pytest.approx(k / 8)
        assert cover[letter][-1].all()
    for k, letter in enumerate("▎▍▌▋▊", 2):
        assert cover[letter].mean() == pytest.approx(k / 8)
        assert (cover[letter][:, 0] == cover[letter][0, 0]).all()
        assert cover[letter][0, 0] >= cover[letter][0, -1]
    assert cover["▘"][:4, :2].all()
    assert cover["▘"].sum() == 8
    assert cover["▗"][4:, 2:].all()
    assert cover["▝"][:4, 2:].all()
    assert cover["▖"][4:, :2].all()
    assert (cover["▚"] == np.maximum(cover["▘"], cover["▗"])).all()


def test_every_named_colour_stays_itself():
    named = [c for name, c in vars(colours).items() if name.isupper() and isinstance(c, tuple)]
    assert len(named) > 10
    for colour in named:
        cells = fit(np.broadcast_to(linear(colour), (8, 4, 3)).astype(np.float32))
        assert cells.glyphs[0, 0] == " "
        assert tuple(cells.paper[0, 0]) == colour


def test_bytes_are_the_nearest_of_64_tones():
    srgb = np.arange(256)
    shown = encode(to_light(srgb).astype(np.float32)).astype(int)
    assert len(np.unique(shown)) == 64
    assert np.abs(shown - srgb).max() <= 3


def test_what_a_line_just_touches_stays_flat():
    picture = np.broadcast_to(linear(colours.CLOTH), (8, 4, 3)).astype(np.float32)
    picture[0, 0] = linear(colours.CUE_BALL)
    cells = fit(picture)
    assert cells.glyphs[0, 0] == " "
    assert tuple(cells.paper[0, 0]) == colours.CLOTH
    picture[0] = linear(colours.CUE_BALL)  # a thin line right across does show
    assert fit(picture).glyphs[0, 0] != " "


def test_cells_keep_their_places():
    rng = np.random.default_rng(9)
    blocks = rng.random((6, 10, 3)).astype(np.float32)
    cells = fit(blocks.repeat(8, axis=0).repeat(4, axis=1))
    assert (cells.glyphs == " ").all()
    assert np.abs(as_pixels(cells)[::8, ::4] - blocks).max() < 0.03


@pytest.mark.parametrize("glyphs", ["sextants", "slanted"])
def test_richer_glyphs_keep_to_edges(glyphs):
    """On the even shade inside a ball there are none, where a free choice would take many."""
    picture = Viewport((40, 20)).canvas(colours.CLOTH)
    picture.ball(80.0, 80.0, 70.0, colours.CUE_BALL)
    cells = fit(picture.pixels, glyphs)
    rows, cols = np.indices(cells.glyphs.shape)
    away = np.hypot(4 * cols + 2 - 80.0, 8 * rows + 4 - 80.0)
    added = set(coverages(glyphs)[0]) - set(coverages("quadrants")[0])
    richer = np.isin(cells.glyphs, list(added))
    inside = away < 70.0 - 6.0
    assert (cells.glyphs[inside] != " ").mean() > 0.7
    assert not richer[inside].any()
    blocks = picture.pixels.reshape(20, 8, 40, 4, 3).transpose(0, 2, 1, 3, 4).reshape(20, 40, 32, 3)
    free = np.array(list(coverages(glyphs)[0]))[choose(blocks[inside], glyphs)]
    assert np.isin(free, list(added)).mean() > 0.2
    rim = np.abs(away - 70.0) < 2.0
    assert richer[rim].mean() > 0.5


@pytest.mark.parametrize("glyphs", ["sextants", "slanted"])
def test_richer_glyphs_show_no_colour_beyond_those_in_the_cell(glyphs):
    light = np.random.default_rng(12).random((200, 32, 3)).astype(np.float32)
    low, high = encode(light.min(axis=1)), encode(light.max(axis=1))
    for cell, least, most in zip(light, low, high, strict=True):
        cells = fit(as_picture(cell), glyphs)
        for shown in (cells.ink[0, 0], cells.paper[0, 0]):
            assert ((least <= shown) & (shown <= most)).all()


def test_plain_cells_are_their_mean_colour():
    light = np.random.default_rng(11).random((50, 32, 3)).astype(np.float32)
    for cell in light:
        cells = fit(as_picture(cell), "plain")
        assert cells.glyphs[0, 0] == " "
        nearest = encode(cell.mean(axis=0))
        assert np.abs(cells.paper[0, 0].astype(int) - nearest).max() <= 5  # one tone of 64
    assert (choose(light, "plain") == 0).all()


def test_a_picture_may_be_a_part_of_another():
    whole = np.random.default_rng(10).random((32, 40, 3)).astype(np.float32)
    part = whole[8:24, 8:32]
    assert fit(part) == fit(part.copy())
    assert fit(part.astype(float)) == fit(part)


def as_light(cells, across, down):
    """What the cells show on any grid, linear light, (rows * down, cols * across, 3)."""
    light = to_light(np.arange(256)).astype(np.float32)
    rows, cols = cells.glyphs.shape
    masks = np.zeros((rows, cols, down, across, 1), np.float32)
    for letter in set(cells.glyphs.ravel().tolist()):
        masks[cells.glyphs == letter] = cover(letter, across, down)[..., None]
    ink, paper = (light[colour][:, :, None, None] for colour in (cells.ink, cells.paper))
    return (paper + masks * (ink - paper)).transpose(0, 2, 1, 3, 4).reshape(rows * down, cols * across, 3)


def crossings(picture, pixels, x, y, radius):
    """Where rows of ``picture`` pass from cloth to ball by half: (true, shown, row), widths of a cell.

    Only where the ball's edge is steeper than 45 degrees; ``pixels`` are those that were painted, and
    say how bright the ball is half a cell inside.
    """
    cloth = linear(colours.CLOTH)
    found = []
    for number, shown in enumerate(picture):
        row = (number + 0.5) / FINE
        if abs(row - y) >= radius * np.sqrt(0.5):
            continue
        half = np.sqrt(radius**2 - (row - y) ** 2)
        for side in (-1, 1):
            true = x + side * half
            ball = pixels[int(row * ACROSS), int((true - side * 0.5) * ACROSS)] - cloth
            over = np.flatnonzero((shown - cloth) @ ball >= 0.5 * ball @ ball)
            found.append((true, (over[0] if side < 0 else over[-1] + 1) / FINE, row))
    return np.array(found)


def silhouette(glyphs, colour, width=8.0, trials=40):
    """RMS errors of a ball's edge a scan line and of its middle from the whole contour, in cells' widths."""
    rng = np.random.default_rng(8)
    edges, middles = [], []
    for x, y in rng.random((trials, 2)) * (1, 2) + width / 2 + (1, 2):
        canvas = Viewport((int(width) + 3, int(width / 2) + 3)).canvas(colours.CLOTH)
        canvas.ball(x * ACROSS, y * ACROSS, width / 2 * ACROSS, colour)
        picture = as_light(fit(canvas.pixels, glyphs), FINE, 2 * FINE)
        across = crossings(picture, canvas.pixels, x, y, width / 2)
        down = crossings(picture.transpose(1, 0, 2), canvas.pixels.transpose(1, 0, 2), y, x, width / 2)
        edges.append(across[:, 1] - across[:, 0])
        around = np.concatenate([across[:, [1, 2]], down[:, [2, 1]]])
        # The circle through all: x^2 + y^2 = 2 a x + 2 b y + c.
        design = np.column_stack([2 * around, np.ones(len(around))])
        a, b, _ = np.linalg.lstsq(design, (around**2).sum(axis=1), rcond=None)[0]
        middles += [a - x, b - y]
    return tuple(float(np.sqrt(np.mean(np.square(e)))) for e in (np.concatenate(edges), middles))


@pytest.mark.parametrize(
    "colour", [colours.CUE_BALL, pytest.param(colours.OBJECT_BALL, marks=pytest.mark.slow)]
)
@pytest.mark.parametrize(
    ("glyphs", "width", "most"),
    [
        ("quadrants", 8.0, 0.20),
        pytest.param("quadrants", 12.0, 0.20, marks=pytest.mark.slow),
        ("slanted", 8.0, 0.12),
        pytest.param("slanted", 12.0, 0.12, marks=pytest.mark.slow),
    ],
)
def test_a_ball_is_where_it_looks_to_be(glyphs, width, most, colour):
    edge, middle = silhouette(glyphs, colour, width)
    assert edge <= most
    assert middle <= 0.03

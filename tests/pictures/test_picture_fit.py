import numpy as np
import pytest
from looking import as_pixels, to_light

from trainer.pictures import colours
from trainer.pictures.colours import encode, linear
from trainer.pictures.fit import choose, coverages, fit

NEW_IN_QUADRANTS = "▘▝▖▗▚▁▂▃▅▆▇▎▍▌▋▊"


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


@pytest.mark.parametrize("glyphs", ["quadrants", "halves"])
def test_the_choice_is_the_least_of_all_squares(glyphs):
    light = np.random.default_rng(5).random((300, 32, 3)).astype(np.float32)
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


@pytest.mark.parametrize("glyphs", ["quadrants", "halves"])
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
    picture[0, :2] = linear(colours.CUE_BALL)
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

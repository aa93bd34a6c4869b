import numpy as np
import pytest
from looking import as_pixels

from trainer.pictures import colours
from trainer.pictures.charts import painted_bias_chart
from trainer.pictures.colours import CLUB, encode
from trainer.pictures.painted import in_cells
from trainer.pictures.projection import Viewport
from trainer.shots.style import USUAL, Style

OFFSETS = np.linspace(-0.98, 0.98, 99)


def chart(size, mean, told=False, wide=0.02, style=USUAL):
    mean = np.broadcast_to(np.asarray(mean, float), OFFSETS.shape)
    return in_cells(
        painted_bias_chart(
            Viewport(size),
            offsets=OFFSETS,
            mean=mean,
            low=mean - wide,
            high=mean + wide,
            sure=np.broadcast_to(told, OFFSETS.shape),
            style=style,
        )
    )


def amber(cells):
    """Which pixels have the colour of what is sure."""
    pixels = as_pixels(cells)
    return (pixels[..., 0] > 0.4) & (pixels[..., 2] < 0.35)


@pytest.mark.parametrize("size", [(78, 9), (118, 16), (198, 24)])
@pytest.mark.parametrize("bias", [-0.06, -0.03, 0.03, 0.06])
def test_the_curve_lies_where_the_bias_is_thick_above_thin_below(size, bias):
    rows, _ = np.nonzero(amber(chart(size, bias, True)))
    height = (size[1] - 1) * 8
    assert rows.mean() + 0.5 == pytest.approx(height * (1 - bias / 0.125) / 2, abs=2.0)


def test_left_is_left_and_only_what_is_sure_is_bright():
    left = OFFSETS > 0.4
    cells = chart((118, 16), np.where(left, 0.06, 0.0), left)
    _, columns = np.nonzero(amber(cells))
    assert columns.max() < 118 * 4 * 0.4
    assert len(columns) > 50
    assert not amber(chart((118, 16), 0.06)).any()


@pytest.mark.parametrize("size", [(1, 1), (3, 2), (20, 4), (30, 6), (78, 8), (198, 30)])
def test_any_size_is_drawn_and_words_are_not_cut(size):
    cells = chart(size, 0.3, True)
    assert cells.size == size
    rows = ["".join(row) for row in cells.glyphs.tolist()]
    if size[1] >= 4:
        assert "full" in rows[-1]
    if size[0] >= 78:
        assert rows[0].lstrip().startswith("1/2 thick")
        assert rows[-2].lstrip().startswith("1/2 thin")
        assert rows[-1].rstrip().endswith("right")
        assert {"1/4 left", "1/2", "3/4"} <= {text.strip() for text in rows[-1].split("  ") if text.strip()}
    assert tuple(cells.paper[0, 0]) == colours.ROOM or size[0] < 44


@pytest.mark.parametrize(
    ("bias", "edge"), [(0.0, "1/8"), (-0.12, "1/8"), (0.2, "1/4"), (-0.3, "1/2"), (0.6, "1"), (1.5, "1")]
)
def test_the_scale_holds_all_of_the_curve(bias, edge):
    rows = ["".join(row).split() for row in chart((118, 16), bias).glyphs.tolist()]
    assert rows[0][:2] == [edge, "thick"]


def test_the_scale_is_said_in_the_player_s_numbers():
    cells = chart((118, 16), 0.0, style=Style(numbers="hundredths"))
    rows = ["".join(row).strip() for row in cells.glyphs.tolist()]
    assert rows[0].startswith("0.12 thick")
    assert any(row.startswith("0.06") for row in rows[2:7])
    assert any(row.startswith("true") for row in rows[6:9])


def test_the_interval_has_no_stripes():
    offsets = np.linspace(-0.99, 0.99, 129)
    flat = np.zeros(129)
    painted = painted_bias_chart(
        Viewport((118, 15), 17 / 8, (8, 17)),
        offsets=offsets,
        mean=flat,
        low=flat - 0.05,
        high=flat + 0.05,
        sure=flat > 0,
    )
    row = encode(painted.canvas.pixels)[int(painted.canvas.pixels.shape[0] * 0.38)]
    inside = row[-800:-10]
    assert ((inside == CLUB.interval).all(axis=1) | (inside > CLUB.room).all(axis=1)).all()
    assert (inside == CLUB.interval).all(axis=1).mean() > 0.95  # but for the grid

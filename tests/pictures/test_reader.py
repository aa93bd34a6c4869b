"""The pictures that readers get, and how their readings are scored."""

import json
import math
import struct
import zlib
from pathlib import Path

import numpy as np
import pytest
from reader import CELL, EXAMPLES, PIXELS, SIZES, main, read, score, write_pictures


@pytest.mark.parametrize("how", ["quadrants", "pixels"])
def test_pictures_are_whole_and_the_truth_isn_t_among_them(tmp_path: Path, how: str) -> None:
    folder = tmp_path / "down"
    truths = write_pictures(folder, "down", SIZES["80x24"], how, shots=3)
    across, down = PIXELS if how == "pixels" else CELL
    assert sorted(truths) == ["01", "02", "03"]
    for name in truths:
        data = (folder / f"{name}.png").read_bytes()
        wide, high = struct.unpack(">II", data[16:24])
        assert (wide, high) == (52 * across, 19 * down)
        start = data.index(b"IDAT") + 4
        size = struct.unpack(">I", data[start - 8 : start - 4])[0]
        lines = np.frombuffer(zlib.decompress(data[start : start + size]), np.uint8).reshape(high, -1)
        assert not lines[:, 0].any()  # rows without a filter
        pixels = lines[:, 1:].reshape(high, wide, 3)
        assert (pixels.min(axis=2) > 180).sum() > 100  # a white ball
    assert not list(folder.glob("*.json"))


def test_what_is_drawn_can_be_scored(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = tmp_path / "standing"
    monkeypatch.setattr("sys.argv", ["reader.py", "draw", str(folder), "--view", "standing", "--shots", "2"])
    main()
    truths = json.loads(folder.with_suffix(".json").read_text())
    assert len(read(folder / "examples.txt")) == len(list((folder / "examples").iterdir())) == EXAMPLES
    exact = {name: (side, fullness) for name, (side, fullness) in truths.items()}
    assert score(truths, exact).startswith("2 read, side wrong in 0; fullness off by 0.000 ball")


def test_readings_are_scored_in_balls_and_degrees(tmp_path: Path) -> None:
    truths = {"01": ["left", 0.5], "02": ["right", 0.8], "03": ["left", 0.2]}
    file = tmp_path / "readings"
    file.write_text("1 left 0.56\n02 right 0.72\n\n3 right 0.2\n")
    off = math.sqrt((0.06**2 + 0.08**2) / 2)
    turned = [math.degrees(math.asin(1 - a) - math.asin(1 - b)) for a, b in ((0.56, 0.5), (0.72, 0.8))]
    degrees = math.sqrt(sum(each**2 for each in turned) / 2)
    assert score(truths, read(file)) == (
        f"3 read, side wrong in 1; fullness off by {off:.3f} ball (mean -0.010), "
        f"cut by {degrees:.1f} degrees (mean {sum(turned) / 2:+.1f})"
    )
    assert off == pytest.approx(0.0707, abs=1e-4)

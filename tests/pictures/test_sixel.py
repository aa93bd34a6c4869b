"""Sixels: what an image says is what it was, in as many colours as there are, and in the right form."""

import re

import numpy as np
import pytest

from tests.pictures.pixel_terminal import PixelTerminal
from trainer.pictures.graphics import NUMERALS, differing
from trainer.pictures.sixel import image


def shown(pixels: np.ndarray, registers: int = 256) -> np.ndarray:
    rows, columns, _ = pixels.shape
    terminal = PixelTerminal(1, 1, (columns, rows), NUMERALS)
    terminal.feed(image(pixels, registers))
    assert terminal.registers <= registers
    return terminal.pixels(0, 0, 1, 1)[0]


def test_an_image_of_the_manual_s_form() -> None:
    """DEC's manual: one band of six rows, colours by percent of red, green and blue, runs by ``!``."""
    pixels = np.zeros((6, 12, 3), np.uint8)
    pixels[:, 5:] = 255
    pixels[0, 0] = 255
    assert image(pixels) == (
        '\x1bP9;1q"1;1;12;6#0;2;0;0;0#1;2;100;100;100#0}!4~#1'.replace("#0}!4~#1", "#0}!4~$#1@!4?!7~")
        + "\x1b\\"
    )


@pytest.mark.parametrize("size", [(1, 1), (5, 3), (17, 8), (20, 120), (13, 61)])
def test_few_colours_come_out_as_they_are(size: tuple[int, int]) -> None:
    rng = np.random.default_rng(3)
    palette = rng.integers(0, 256, (40, 3)).astype(np.uint8)
    pixels = palette[rng.integers(0, 40, size)]
    assert (
        np.abs(shown(pixels).astype(int) - pixels).max() <= 4
    )  # six bits tell colours apart, percent give them


@pytest.mark.parametrize(("registers", "mean"), [(256, 9.0), (64, 14.0), (16, 28.0)])
def test_many_colours_become_as_many_as_there_are(registers: int, mean: float) -> None:
    """A worst case: every colour there is. The bound is about a step of a cube of so many colours."""
    across, down = np.meshgrid(np.arange(64), np.arange(64))
    pixels = np.stack([4 * across, 4 * down, 2 * (across + down)], axis=2).astype(np.uint8)
    assert np.abs(shown(pixels, registers).astype(int) - pixels).mean() < mean


def test_only_printable_characters_are_in_an_image() -> None:
    rng = np.random.default_rng(4)
    text = image(rng.integers(0, 256, (17, 33, 3)).astype(np.uint8))
    assert re.fullmatch(r'\x1bP9;1q"1;1;33;17(#\d+;2;\d+;\d+;\d+)+[#$!\-?-~0-9]+\x1b\\', text)


def test_boxes_hold_all_that_differs_and_little_else() -> None:
    before = np.zeros((200, 300, 3), np.uint8)
    after = before.copy()
    after[10:20, 30:50, 1] = 9
    after[12:40, 200:210, 2] = 1
    after[150, 7, 0] = 255
    boxes = differing(before, after)
    assert sorted((d.start, d.stop, a.start, a.stop) for d, a in boxes) == [
        (10, 20, 30, 50),
        (12, 40, 200, 210),
        (150, 151, 7, 8),
    ]
    assert differing(before, before) == []

"""Who says what pictures are drawn with: a variable, then the player, then what is known, then the usual."""

import pytest

from trainer.pictures.terminal import Chosen, Depth, Source, chosen_colours, chosen_glyphs, chosen_shape

KITTY = {"TERM": "xterm-kitty"}


@pytest.mark.parametrize(
    ("environ", "own", "chosen"),
    [
        (KITTY | {"TRAINER_GLYPHS": "Plain"}, "halves", Chosen("plain", Source.VARIABLE)),
        (KITTY | {"TRAINER_GLYPHS": " "}, "halves", Chosen("halves", Source.OWN)),
        (KITTY, "quadrants", Chosen("quadrants", Source.OWN)),
        (KITTY, None, Chosen("slanted", Source.KNOWN)),
        ({"TERM": "linux"}, None, Chosen("halves", Source.KNOWN)),
        ({}, None, Chosen("quadrants", Source.USUAL)),
    ],
)
def test_glyphs(environ, own, chosen):
    assert chosen_glyphs(environ, own) == chosen


@pytest.mark.parametrize(
    ("environ", "own", "chosen"),
    [
        ({"TRAINER_COLOURS": "16", "COLORTERM": "truecolor"}, "256", Chosen(Depth.FEW, Source.VARIABLE)),
        ({"TRAINER_COLOURS": "", "COLORTERM": "truecolor"}, "256", Chosen(Depth.MANY, Source.OWN)),
        ({"NO_COLOR": "1", "TERM": "xterm"}, "true", Chosen(Depth.TRUE, Source.OWN)),
        ({"NO_COLOR": "1", "TERM": "xterm"}, None, Chosen(Depth.NONE, Source.KNOWN)),
        ({"TERM": "dumb"}, None, Chosen(Depth.NONE, Source.KNOWN)),
        (KITTY, None, Chosen(Depth.TRUE, Source.KNOWN)),
        ({"TERM": "xterm-256color"}, None, Chosen(Depth.MANY, Source.KNOWN)),
        ({"TERM": "xterm"}, None, Chosen(Depth.FEW, Source.USUAL)),
        ({}, None, Chosen(Depth.NONE, Source.USUAL)),
    ],
)
def test_colours(environ, own, chosen):
    assert chosen_colours(environ, own) == chosen


@pytest.mark.parametrize(
    ("own", "said", "chosen"),
    [
        (1.6, 2.5, Chosen(1.6, Source.OWN)),
        (None, 2.5, Chosen(2.5, Source.KNOWN)),
        (None, None, Chosen(2.0, Source.USUAL)),
        (2.0, None, Chosen(2.0, Source.OWN)),
    ],
)
def test_the_shape_of_a_cell(own, said, chosen):
    assert chosen_shape(own, said) == chosen


def test_a_name_of_nothing_is_one_line():
    for choose, environ, own in (
        (chosen_glyphs, {"TRAINER_GLYPHS": "x"}, "halves"),
        (chosen_glyphs, {}, "x"),
        (chosen_colours, {"TRAINER_COLOURS": "x"}, "16"),
        (chosen_colours, {}, "x"),
    ):
        with pytest.raises(ValueError, match="allowed") as caught:
            choose(environ, own)
        assert "\n" not in str(caught.value)

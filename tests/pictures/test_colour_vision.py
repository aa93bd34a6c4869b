"""One palette for every eye: what means different things looks different, whoever looks.

Colours as they are seen without red, green or blue cones: Machado, Oliveira and Fernandes (2009), "A
physiologically-based model for simulation of color vision deficiency"; the distance of two colours as they
are seen, CAM02-UCS: Luo, Cui and Li (2006). Both by the library colorspacious.
"""

import numpy as np
import pytest
from colorspacious import cspace_convert, deltaE

from trainer.pictures import colours
from trainer.pictures.colours import Colour

# Balls on what they lie on, lines on what they are drawn on, and what stands beside one another.
PAIRS = (
    *(
        (ball, ground)
        for ball in ("CUE_BALL", "OBJECT_BALL", "OTHER_BALL")
        for ground in ("CLOTH", "CUSHION")
    ),
    *((ball, "CLOTH_DARK") for ball in ("CUE_BALL", "OBJECT_BALL")),
    *((line, "CLOTH") for line in ("CHALK", "AMBER", "TRUE_AIM", "MARK", "CLOTH_LINE")),
    *((line, "OBJECT_BALL") for line in ("CHALK", "TRUE_AIM", "MARK_DARK")),
    *(("CUE_BALL", "OBJECT_BALL"), ("OBJECT_BALL", "OTHER_BALL"), ("CUE_BALL", "OTHER_BALL")),
    *(("CHALK", "AMBER"), ("CHALK", "TRUE_AIM"), ("AMBER", "TRUE_AIM"), ("OBJECT_BALL", "AMBER")),
    *(("POCKET", "CLOTH"), ("POCKET", "RAIL"), ("OBJECT_BALL", "RAIL")),
)
FAR = 14.0  # where it is that one is seen at once: ten times what is just seen side by side


def seen(colour: Colour, missing: str | None) -> np.ndarray:
    values = np.array(colour) / 255
    if missing is None:
        return values
    space = {"name": "sRGB1+CVD", "cvd_type": missing, "severity": 100}
    return np.clip(cspace_convert(values, space, "sRGB1"), 0, 1)


@pytest.mark.parametrize("missing", [None, "protanomaly", "deuteranomaly", "tritanomaly"])
@pytest.mark.parametrize(("one", "other"), PAIRS)
def test_what_differs_looks_different(one: str, other: str, missing: str | None) -> None:
    both = (seen(getattr(colours, name), missing) for name in (one, other))
    assert deltaE(*both, input_space="sRGB1") > FAR


def test_a_palette_that_does_not_would_be_found() -> None:
    red, green = (seen(colour, "deuteranomaly") for colour in ((200, 80, 40), (130, 120, 30)))
    assert deltaE(np.array((200, 80, 40)) / 255, np.array((130, 120, 30)) / 255, input_space="sRGB1") > FAR
    assert deltaE(red, green, input_space="sRGB1") < FAR

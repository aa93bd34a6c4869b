"""Lengths and parts of a ball in the player's units and numbers."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trainer.levels.shelf import open_shelf
from trainer.settings.settings import NUMBERS, SETTINGS, UNITS
from trainer.shots.describe import place
from trainer.shots.style import HAIR, HUNDREDTHS, IMPERIAL, USUAL, Style, hundredths

INCHES, DECIMAL = Style(units=IMPERIAL), Style(numbers=HUNDREDTHS)


def test_the_settings_have_the_units_and_numbers() -> None:
    named = {setting.key: setting.field for setting in SETTINGS}
    assert named["units"].words == UNITS  # type: ignore[attr-defined]
    assert named["numbers"].words == NUMBERS  # type: ignore[attr-defined]


@pytest.mark.parametrize(
    ("mm", "metric", "imperial"),
    [
        (41.0, "41 mm", "1.6 in"),
        (0.0, "0 mm", "0.0 in"),
        (994.0, "994 mm", "39.1 in"),
        (1219.2, "1.2 m", "4.0 ft"),
        (3048.0, "3.0 m", "10.0 ft"),
    ],
)
def test_lengths(mm: float, metric: str, imperial: str) -> None:
    assert USUAL.distance(mm) == metric
    assert INCHES.distance(mm) == imperial


def test_lengths_to_a_tenth_and_places() -> None:
    table = open_shelf().tables["snooker"]
    assert USUAL.length(52.5, 1) == "52.5 mm"
    said = place(table, (900.0, 500.0), USUAL)
    assert said == "900 mm up from the baulk cushion, 500 mm from the right-hand one"
    assert INCHES.length(52.5, 1) == "2.07 in"
    said = place(table, (900.0, 500.0), INCHES)
    assert said == "35.4 in up from the baulk cushion, 19.7 in from the right-hand one"


@given(st.floats(HAIR, 3))
def test_hundredths_of_a_ball_are_near_the_part(part: float) -> None:
    number, word = DECIMAL.ball_part(-part).split()
    assert abs(float(number) - part) <= 0.0051
    assert word == ("ball" if float(number) <= 1 else "balls")
    assert DECIMAL.one_over(part) == number


def test_very_small_parts_are_not_nothing() -> None:
    assert hundredths(1 / 512) == "0.002"
    assert hundredths(-0.0625) == "0.06"
    assert DECIMAL.ball_part(0.001) == "a hair"
    assert DECIMAL.one_over(1 / 64) == "0.02"

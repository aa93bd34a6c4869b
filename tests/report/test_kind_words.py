"""What a report says of one kind of shot: what is seen first, and only then how many calls it takes."""

from dataclasses import replace

import pytest

from trainer.learner.verdicts import NOT_YET, THICK, TRUE, KindVerdict
from trainer.report.wording import kind_words
from trainer.shots.style import HUNDREDTHS, USUAL, Style

OPEN = KindVerdict(
    band="1/2",
    side="left",
    bias=0.03,
    low=-0.04,
    high=0.13,
    noise=0.06,
    attempts=8,
    verdict=NOT_YET,
    settled=False,
    to_go=206,
    pots=0.4,
)
SEEN = "so far 1/32 thick, likely between 1/24 thin and 1/8 thick"


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({}, f"{SEEN}; about 206 more calls to say"),
        ({"to_go": 1}, f"{SEEN}; about 1 more call to say"),
        ({"to_go": None}, f"{SEEN}; not enough yet"),
        (
            {"bias": -0.2, "low": -0.3, "high": -0.01},
            "so far 3/16 thin, likely between 5/16 thin and under 1/64 thin; about 206 more calls to say",
        ),
        (
            {"bias": 0.01, "low": -0.05, "high": 0.06},
            "so far true, likely between 1/24 thin and 1/16 thick; about 206 more calls to say",
        ),
        ({"verdict": THICK, "to_go": 0}, "1/32 thick, sure within 1/12"),
        (
            {"verdict": TRUE, "bias": 0.0, "low": -0.04, "high": 0.02, "to_go": 0},
            "true, within 1/24; it scatters, 4 of 10 would pot",
        ),
    ],
)
def test_what_is_seen_comes_before_the_calls_that_it_takes(changes: dict[str, object], words: str) -> None:
    assert kind_words(replace(OPEN, **changes), USUAL) == words  # type: ignore[arg-type]


@pytest.mark.parametrize("style", [USUAL, Style(numbers=HUNDREDTHS)])
@pytest.mark.parametrize("to_go", [None, 1, 206, 500])
@pytest.mark.parametrize("bias", [0.0, -0.004, 0.03, -0.19])
def test_beside_a_bar_it_has_its_room_at_80_columns(style: Style, to_go: int | None, bias: float) -> None:
    said = kind_words(replace(OPEN, bias=bias, to_go=to_go), style, short=True)
    assert said.startswith("so far ")
    assert len(said) <= 33
    assert (str(to_go) in said) == (to_go is not None)

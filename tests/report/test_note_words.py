"""Notes and ticks as one writes them after a frame."""

import pytest

from trainer.report.note_words import NoteError, NoteSaid, TicksSaid, read_notes, read_ticks

P, T, N = "potted", "thick", "thin"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("half left thick", NoteSaid(0.5, "1/2", "left", T)),
        ("thick-ish r p far", NoteSaid(0.75, "thick-ish", "right", P, "far")),
        ("Thickish right n slow", NoteSaid(0.75, "3/4", "right", N, "", "slow")),
        ("full left potted near fast", NoteSaid(1.0, "full", "left", P, "near", "fast")),
        ("thin l t medium m", NoteSaid(0.25, "thin", "left", T, "middle", "medium")),
        ("very thin l n s f", NoteSaid(0.125, "very thin", "left", N, "far", "slow")),
        ("3/8 right thin", NoteSaid(0.375, "3/8", "right", N)),
        ("0.4 right thin", NoteSaid(0.4, "0.4", "right", N)),
    ],
)
def test_a_note_in_words(text: str, said: NoteSaid) -> None:
    assert read_notes(text.split()) == [said]
    assert read_notes([text]) == [said]


def test_a_whole_frame_in_one_line() -> None:
    found = read_notes(
        ["half", "left", "thick", "far,", "very", "thin", "right", "thin;", "3/4", "l", "p", "slow,"]
    )
    assert [(one.called, one.side, one.result) for one in found] == [
        ("1/2", "left", T),
        ("very thin", "right", N),
        ("3/4", "left", P),
    ]
    assert read_notes([]) == read_notes([" , ;"]) == []


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("very", "1 word; allowed: fullness, side, result"),
        ("very half left thick", "'very half' is no fullness; allowed: full, 7/8, "),
        ("half left", "2 words; allowed: "),
        ("half left thick thin", "'thin' is neither distance nor pace; allowed: near, middle, far; slow, "),
        ("half left thick slow fast", "the pace is said twice"),
        ("half left thick, half up thin", "note 2: side 'up'; allowed: left, right"),
    ],
)
def test_what_is_no_note(text: str, said: str) -> None:
    with pytest.raises(NoteError, match=said):
        read_notes(text.split())


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("12: p t t n p", TicksSaid(12, None, ((P, T, T, N, P),))),
        ("12:pttnp", TicksSaid(12, None, ((P, T, T, N, P),))),
        ("12 : potted, thick , thin", TicksSaid(12, None, ((P, T, N),))),
        ("12 P T", TicksSaid(12, None, ((P, T),))),
        ("12.3: p / n t/pp", TicksSaid(12, 3, ((P,), (N, T), (P, P)))),
        ("12: / p", TicksSaid(12, None, ((), (P,)))),
        ("7", TicksSaid(7, None, ())),
        ("7:", TicksSaid(7, None, ())),
    ],
)
def test_ticks(text: str, said: TicksSaid) -> None:
    assert read_ticks(text.split()) == said
    assert read_ticks([text]) == said


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "'' is no card; allowed: its number, or 12.2 for its second layout"),
        ("twelve: p", "'twelve:' is no card"),
        ("-1: p", "'-1:' is no card"),
        ("12: p x", "'x' is no tick; allowed: p "),
        ("12: ptx", "'ptx' is no tick"),
        ("12: p : t", "':' is no tick"),
    ],
)
def test_what_is_no_tick(text: str, said: str) -> None:
    with pytest.raises(NoteError, match=said):
        read_ticks(text.split())

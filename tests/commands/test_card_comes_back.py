"""Cards are kept under a number, and their ticks come back as notes that know their layout."""

import json
from collections.abc import Callable
from pathlib import Path

import pytest

Run = Callable[..., tuple[int, str, str]]
MAKE = ("card", "--kinds", "3/8 left", "1/2 right", "--seed", "4")


def made(run: Run, *more: str) -> dict:
    return json.loads(run(*MAKE, "--json", *more)[1])


def noted(run: Run) -> list[dict]:
    return json.loads(run("notebook", "--json")[1])["notes"]


def test_a_card_has_the_next_number_and_the_same_one_its_own(run: Run) -> None:
    assert [made(run)["number"], made(run)["number"]] == [1, 1]
    assert [made(run, "--seed", "5")["number"], made(run, "--inches")["number"], made(run)["number"]] == [
        2,
        3,
        1,
    ]
    assert run(*MAKE)[1].startswith("Practice card 1: ")
    assert "trainer notebook card 1: p t n p p" in " ".join(run(*MAKE)[1].split())


def test_the_page_bears_the_number_too(run: Run, tmp_path: Path) -> None:
    made(run, "--seed", "5")
    assert run(*MAKE, "--svg", str(tmp_path / "card.svg"))[1].startswith("card 2, 2 layouts written to ")
    page = (tmp_path / "card.svg").read_text()
    assert ">Practice card 2<" in page
    assert "trainer notebook card 2: " in page


def test_a_tick_knows_its_layout(run: Run) -> None:
    card = made(run)
    code, out, err = run("notebook", "card", "1:", *"pttnp")
    assert (code, out, err) == (
        0,
        "card 1, layout 1 (3/8 left): potted, thick, thick, thin, potted\n",
        "",
    )
    notes, shot = noted(run), card["layouts"][0]["shot"]
    where = [f"{x:.17g},{y:.17g}" for x, y in (shot["cue_ball"], shot["object_ball"])]
    laid = ("--cue-ball", where[0], "--object-ball", where[1], "--pocket", shot["pocket"]["name"])
    by_hand = json.loads(run("notebook", "thick", *laid, "--json")[1])
    assert [note["result"] for note in notes] == ["potted", "thick", "thick", "thin", "potted"]
    assert len({note["layout"] for note in notes}) == 1
    for note in notes:
        assert note["distance"] == pytest.approx(by_hand["distance"], abs=5.0)  # of another aim
        assert note["cue_ball"] == shot["cue_ball"]
        assert note["object_ball"] == shot["object_ball"]
        assert note["pocket"] == shot["pocket"]["name"]
        assert (note["side"], note["called"]) == ("left", "3/8")
        assert note["fullness"] == pytest.approx(0.375, abs=0.011)


def test_ticks_go_on_at_the_next_layout_and_may_be_given_to_one(run: Run) -> None:
    made(run)
    assert run("notebook", "card", "1:", "pp")[1] == "card 1, layout 1 (3/8 left): potted, potted\n"
    assert run("notebook", "card 1: n")[1] == "card 1, layout 2 (1/2 right): thin\n"
    assert "every layout of card 1 has ticks of today" in run("notebook", "card", "1:", "p")[2]
    assert run("notebook", "card", "1.1:", "t / n n")[1].splitlines() == [
        "card 1, layout 1 (3/8 left): thick",
        "card 1, layout 2 (1/2 right): thin, thin",
    ]
    assert [line.split(": ")[1] for line in run("notebook", "card", "1")[1].splitlines()] == [
        "2 potted, 1 thick",
        "3 thin",
    ]
    tomorrow = ("--now", "2026-03-02T12:00:00+00:00")
    assert run("notebook", "card", "1:", "p", *tomorrow)[1] == "card 1, layout 1 (3/8 left): potted\n"


def test_ten_ticks_fill_two_layouts_and_undo_takes_the_last(run: Run) -> None:
    made(run)
    assert len(run("notebook", "card", "1:", "pppppnnnnn")[1].splitlines()) == 2
    assert "taken back: 1/2 to the right, missed thin" in run("notebook", "--undo")[1]
    assert [note["result"] for note in noted(run)] == ["potted"] * 5 + ["thin"] * 4


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("2:", "p"), "no card has the number 2; allowed: 1 to 1"),
        (("1.3:", "p"), "card 1 has no layout 3; allowed: 1.1 to 1.2"),
        (("1.0:", "p"), "card 1 has no layout 0"),
        (
            ("1:", "ppppppppppp"),
            "more ticks than card 1 has boxes from layout 1 on; allowed: 5 a layout, 10 in all",
        ),
        (("1:", "pppppp / p"), "6 ticks of layout 1.1; allowed: 5 at most"),
        (("1:", "p", "--table", "snooker"), "a card knows its table and its places"),
    ],
)
def test_what_cannot_be_entered_is_said_and_nothing_is(run: Run, words: tuple[str, ...], said: str) -> None:
    made(run)
    code, out, err = run("notebook", "card", *words)
    assert (code != 0, out) == (True, "")
    assert said in err
    assert noted(run) == []


def test_without_a_card_it_is_said_how_one_is_made(run: Run) -> None:
    assert "none is kept yet; trainer card makes one" in run("notebook", "card", "1:", "p")[2]


def test_cards_go_out_and_come_in(run: Run, tmp_path: Path) -> None:
    made(run)
    run("notebook", "card", "1:", "pt")
    cards, notes = str(tmp_path / "cards.csv"), str(tmp_path / "notes.json")
    assert run("export", "--cards", cards)[1] == f"2 layouts written to {cards}\n"
    run("export", "--notes", notes)
    other = ("--data", str(tmp_path / "other"))
    assert run("import", "--cards", cards, *other)[1] == "2 layouts added, 0 were there already\n"
    assert run("import", "--cards", cards, *other)[1] == "0 layouts added, 2 were there already\n"
    run("import", "--notes", notes, *other)
    assert run("notebook", "card", "1", *other) == run("notebook", "card", "1")
    code, _, err = run("import", "--notes", cards, *other)
    assert code == 1
    assert "these are layouts; import them with --cards" in err
    assert "these are layouts; import them with --cards" in run("import", cards, *other)[2]

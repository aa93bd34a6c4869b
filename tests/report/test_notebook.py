"""The table notebook: notes kept and taken back, kinds worked out from places, margins, words, the report."""

import math
from dataclasses import replace

import numpy as np
import pytest

from trainer.drills import DRILLS
from trainer.geometry.tables import TABLES
from trainer.history import TrainerError
from trainer.history.note import DISTANCES, UNDONE
from trainer.learner.table_cause import LINE, TableCause
from trainer.learner.table_verdict import ALL, MADE_UP, SEEING, STROKE, TableVerdict
from trainer.learner.verdicts import NOT_YET, THICK, THIN, TRUE
from trainer.play.game import Game
from trainer.report.note_words import NAMED, NoteError, read_fullness
from trainer.report.notebook import (
    Notebook,
    Played,
    Said,
    lay,
    note_sentence,
    note_words,
)
from trainer.report.report import report, table_lines
from trainer.report.wording import open_words, table_cause_words, table_words
from trainer.shots.check import ShotError
from trainer.shots.style import USUAL
from trainer.shots.tolerance import forgives
from trainer.shots.truth import truth_of

SNOOKER = TABLES["snooker"]
HALF = Said(0.5, "1/2", "left", "far")


@pytest.fixture
def book(game: Game) -> Notebook:
    return Notebook(game)


def test_a_note_is_on_disk_when_it_is_added(book: Notebook) -> None:
    note = book.add(HALF, "thick")
    assert (note.table, note.fullness, note.called, note.side) == ("snooker", 0.5, "1/2", "left")
    assert (note.result, note.distance, note.local_day, note.pocket) == ("thick", "far", "2026-03-01", "")
    assert book.game.history.notes() == [note] == Notebook(book.game).notes
    assert note_words(note, USUAL) == "1/2 left, thick, far"
    assert note_sentence(note, USUAL) == "1/2 to the left, missed thick, far"


def test_distance_and_table_stay_as_the_last_time(book: Notebook) -> None:
    assert (book.distance, book.table.name) == ("middle", "snooker")
    book.add(HALF, "potted", TABLES["pool-9"])
    laid = lay(TABLES["pool-9"], (900.0, 500.0), (1600.0, 420.0), USUAL)
    book.add(laid.said, "thin")
    assert (book.distance, book.table.name) == ("far", "pool-9")
    again = Notebook(book.game)
    assert (again.distance, again.table.name) == ("far", "pool-9")


def test_notes_are_taken_back_from_the_last_on_and_nothing_is_deleted(book: Notebook) -> None:
    first, second = book.add(HALF, "thick"), book.add(HALF, "thin")
    assert book.undo() == second
    assert book.notes == [first]
    third = book.add(HALF, "potted")
    assert [book.undo(), book.undo(), book.undo()] == [third, first, None]
    lines = book.game.history.notes()
    assert [line.result for line in lines] == ["thick", "thin", UNDONE, "potted", UNDONE, UNDONE]
    assert [line.undoes for line in lines if line.undoes] == [second.id, third.id, first.id]
    assert Notebook(book.game).notes == book.notes == []


def test_a_note_that_is_not_allowed_is_not_kept(book: Notebook) -> None:
    with pytest.raises(TrainerError, match="note, result: 'missed' is not allowed"):
        book.add(HALF, "missed")
    assert book.notes == []


@pytest.mark.parametrize("text", [*NAMED, "0.3", "0", "1e-1"])
def test_fullness_by_name_or_number(text: str) -> None:
    value, called = read_fullness(text)
    assert called == text
    assert 0 <= value <= 1
    if text in NAMED and "/" in text:
        above, below = text.split("/")
        assert value == int(above) / int(below)


@pytest.mark.parametrize(
    ("text", "called", "value"),
    [
        ("0.5", "1/2", 0.5),
        ("4/8", "1/2", 0.5),
        ("half", "1/2", 0.5),
        ("Quarter", "1/4", 0.25),
        ("FULL", "full", 1.0),
        ("1", "full", 1.0),
        ("1/3", "1/3", 1 / 3),
    ],
)
def test_what_has_a_name_is_called_by_it(text: str, called: str, value: float) -> None:
    assert read_fullness(text) == (value, called)


@pytest.mark.parametrize("text", ["", "most", "2", "-0.1", "nan", "inf", "9/8", "1/0", "1/", "/", "x" * 90])
def test_anything_else_is_no_fullness(text: str) -> None:
    with pytest.raises(NoteError, match=r"is no fullness; allowed: full, 7/8, .*, thinner, the words"):
        read_fullness(text)


def test_the_kind_is_worked_out_from_the_places() -> None:
    # The object ball a metre straight in front of the top-left pocket, the cue ball laid for a half ball.
    laid = lay(SNOOKER, (2000.0, 900.0), (2900.0, 1200.0), USUAL, "top-left")
    pocket = (laid.truth.target[0] - 2900.0, laid.truth.target[1] - 1200.0)
    far = math.hypot(*pocket)
    touching = (2900.0 - pocket[0] / far * SNOOKER.contact, 1200.0 - pocket[1] / far * SNOOKER.contact)
    aim = math.atan2(touching[1] - 900.0, touching[0] - 2000.0)
    cut = math.atan2(pocket[1], pocket[0]) - aim
    assert laid.said.fullness == pytest.approx(1 - math.sin(abs(cut)), abs=1e-9)
    assert laid.said.side == ("left" if cut > 0 else "right")
    assert laid.said.distance == pytest.approx(far, abs=0.06)
    assert laid.said.position == laid.shot
    # Without a pocket it is the fullest hit.
    assert lay(SNOOKER, (2000.0, 1500.0), (2900.0, 1600.0), USUAL).shot.pocket == "top-left"
    assert lay(SNOOKER, (2900.0, 1600.0), (2000.0, 1500.0), USUAL).shot.pocket != "top-left"


@pytest.mark.parametrize(
    ("cue_ball", "object_ball", "pocket", "said"),
    [
        ((-5.0, 900.0), (2900.0, 1200.0), None, "the cue ball at -5,900 is not on the table; allowed: x"),
        ((2900.0, 1200.0), (2910.0, 1200.0), None, "the balls overlap or touch"),
        ((2900.0, 1200.0), (2000.0, 1200.0), "top-left", "top-left pocket would need a cut of"),
        ((2000.0, 900.0), (2900.0, 1200.0), "corner", "no pocket is called 'corner'; pockets: baulk-left"),
    ],
)
def test_a_position_that_is_no_shot_is_told(
    cue_ball: tuple[float, float], object_ball: tuple[float, float], pocket: str | None, said: str
) -> None:
    with pytest.raises(ShotError) as caught:
        lay(SNOOKER, cue_ball, object_ball, USUAL, pocket)
    assert said in str(caught.value)


@pytest.mark.parametrize("name", list(TABLES))
def test_what_a_pot_forgives_shrinks_with_distance_and_cut(name: str) -> None:
    table = TABLES[name]
    near, middle, far = (forgives(table, 0.5, part * table.width) for part in (0.25, 0.5, 1.0))
    assert near > middle > far > 0
    assert near / far == pytest.approx(4, rel=0.1)  # an opening seen from so far
    thick, thin = forgives(table, 1.0, 500.0), forgives(table, 1 / 16, 500.0)
    # An error of fullness turns the ball by that over the cosine of the cut.
    assert thin / thick == pytest.approx(math.sqrt(1 - (15 / 16) ** 2), rel=0.12)
    # The centre may be off by the room beside the ball at least, and never by as much as the mouth is wide.
    room = table.corner / 2 - table.balls.object_radius
    assert 0.95 * room / 800.0 < forgives(table, 1.0, 800.0) < table.corner / 2 / 800.0
    for odd in (0.0, 1e9):
        assert 0 < forgives(table, 0.0, odd) < 2


def many(book: Notebook, thick: int, thin: int) -> None:
    for i in range(thick + thin):
        book.add(HALF, "thick" if i < thick else "thin")
    book.add(replace(HALF, side="right"), "potted")


def test_the_report_has_the_tables_verdicts(book: Notebook) -> None:
    assert report(book.game)["table"] == []
    many(book, 30, 1)
    left, right = report(book.game)["table"]
    assert (left["kind"], left["side"], left["thick"], left["thin"], left["potted"]) == (
        *("1/2 and 3/8", "left"),
        *(30, 1, 0),
    )
    assert (left["table"], left["eye"], left["verdict"]) == (THICK, NOT_YET, NOT_YET)
    assert (right["side"], right["potted"], right["expected"]) == ("right", 1, None)
    assert table_lines(book)[0] == "  1/2 and 3/8 left: 30 thick, 1 thin, 0 potted"
    assert "you miss these thick at the table; how you see them takes about" in (table_lines(book)[1])
    for _ in range(30):
        book.undo()
    (left,) = report(book.game)["table"]  # the last, potted, is gone too
    assert (left["thick"], left["table"]) == (2, NOT_YET)


def test_full_balls_have_a_side_too(book: Notebook) -> None:
    book.add(Said(1.0, "full", "right", "near"), "thick")
    assert [(row.kind, row.side) for row in book.verdicts()] == [("full to 7/8", "right")]


def test_notes_on_a_table_that_is_gone_still_count(book: Notebook) -> None:
    book.add(HALF, "thin", replace(SNOOKER, name="the club's"))
    assert book.table.name == "snooker"
    assert [row.thin for row in book.verdicts()] == [1]


SEEM_TRUE = "you miss these thick at the table and seem to see them true"


def row(**changes: object) -> TableVerdict:
    made = TableVerdict(
        *("1/2 and 3/8", "left", 3, 20, 2, THICK, TRUE, 0.06, 0.04, 0.08, NOT_YET, 0.5, NOT_YET),
        *(None, 0),
    )
    return replace(made, **changes)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"verdict": STROKE}, "you miss these thick at the table and see them true: look at your stroke"),
        (
            {"verdict": STROKE, "eye": NOT_YET},
            "you miss these thick at the table, more than seeing explains: look at your stroke",
        ),
        (
            {"verdict": STROKE, "eye": THIN, "bias": -0.06},
            "you see these 1/16 thin, yet miss them thick at the table: look at your stroke",
        ),
        (
            {"verdict": SEEING, "eye": THICK},
            "you see these 1/16 thick and miss them thick at the table: it is the seeing",
        ),
        (
            {"verdict": ALL, "eye": THICK},
            "you see these 1/16 thick and miss them thick at the table by more than that explains: both "
            "seeing and stroke",
        ),
        (
            {"verdict": MADE_UP, "eye": THICK, "table": NOT_YET},
            "you see these 1/16 thick, but don't miss them that way at the table: something makes up for it "
            "there",
        ),
        ({"to_go": 9}, f"{SEEM_TRUE}: about 9 more misses to be sure"),
        ({"to_go": 1}, f"{SEEM_TRUE}: about 1 more miss to be sure"),
        ({}, f"{SEEM_TRUE}: more calls here can make it sure"),
        (
            {"eye": THIN, "to_go": 5},
            "you miss these thick at the table, though you see them 1/16 thin: about 5 more misses to be "
            "sure",
        ),
        (
            {"eye": NOT_YET, "calls_to_go": 12},
            "you miss these thick at the table; how you see them takes about 12 more calls here",
        ),
        (
            {"eye": NOT_YET, "calls_to_go": None},
            "you miss these thick at the table; how you see them takes many more calls here",
        ),
        ({"table": NOT_YET, "to_go": 14}, "too few yet: about 14 more misses to say"),
        ({"table": NOT_YET}, "about as often thick as thin so far"),
        (
            {"table": NOT_YET, "eye": THICK},
            "about as often thick as thin so far, though you see these 1/16 thick",
        ),
    ],
)
def test_the_words(changes: dict[str, object], words: str) -> None:
    assert table_words(row(**changes), USUAL) == words


def test_every_distance_has_a_margin(book: Notebook) -> None:
    for distance in (*DISTANCES, 812.5, 1.0, 99_999.0):
        book.add(replace(HALF, distance=distance), "thin")
    assert [found.thin for found in book.verdicts()] == [6]


@pytest.mark.parametrize(
    ("cause", "eye", "stroke", "said", "words"),
    [
        (
            *(LINE, TRUE, "right", STROKE),
            "Your stroke goes across to the right at every shot: 17 of 20 misses went that way, "
            "by your eye alone it would be 9.",
        ),
        (
            *(LINE, "left", NOT_YET, SEEING),
            "You see the line of aim too far to the left, and miss so at the table: "
            "17 of 20 misses went that way. It is the seeing.",
        ),
        (
            *("overall", "thin", "thin", ALL),
            "You judge everything too thin, and your stroke sends everything thin besides: "
            "17 of 20 misses went that way. It is both.",
        ),
        (
            *("overall", "thick", "thin", MADE_UP),
            "You judge everything too thick, but don't miss that way at the table: "
            "your stroke sends everything thin and makes up for it.",
        ),
    ],
)
def test_what_runs_through_all_cuts_is_said_in_a_sentence(
    cause: str, eye: str, stroke: str, said: str, words: str
) -> None:
    way = stroke if stroke != NOT_YET else eye
    found = TableCause(cause, way, 17, 20, way, eye, stroke, 0.45, said, 0)
    assert table_cause_words(found) == words


def test_a_stroke_across_is_the_first_thing_that_the_notes_say(book: Notebook) -> None:
    rng, played = np.random.default_rng(1), book.game.begin(book.game.level(None, "slide"), shots=160, seed=1)
    while not played.done:
        question = played.question()
        played.call(DRILLS["slide"].answer(question, 0.05 * rng.standard_normal()))
    for _ in range(24):
        for side, result in (("left", "thin"), ("right", "thick")):
            book.add(Said(0.5, "1/2", side, "near"), result)
    found = report(book.game)["table_causes"][0]
    assert (found["cause"], found["stroke"], found["verdict"], found["mine"]) == (LINE, "right", STROKE, 48)
    assert table_lines(book)[0].startswith("  Your stroke goes across to the right at every shot: 48 of 48")


@pytest.mark.parametrize(
    ("rows", "more", "said"),
    [
        ([], None, ""),
        ([("left", 0, 0)], None, "0 thick and 0 thin over all shots: misses to either side can tell"),
        ([("left", 2, 1)], None, "2 thick and 1 thin over all shots: misses to the right can tell your eye"),
        (
            [("left", 2, 1), ("right", 0, 1)],
            9,
            "2 thick and 2 thin over all shots: about 9 more misses to tell",
        ),
        ([("left", 2, 1), ("right", 0, 1)], 1, "about 1 more miss to tell your eye from your stroke."),
        ([("left", 2, 2), ("right", 2, 2)], None, "nothing runs through them so far."),
    ],
)
def test_what_is_missing_is_said_of_all_shots_together(
    rows: list[tuple[str, int, int]], more: int | None, said: str
) -> None:
    known = [
        row(side=side, thick=thick, thin=thin, table=NOT_YET, verdict=NOT_YET) for side, thick, thin in rows
    ]
    assert said in open_words(known, more)
    assert bool(open_words(known, more)) == bool(rows)
    if rows:  # a kind that is told needs no more
        assert open_words([*known, replace(known[0], verdict=STROKE)], more) == ""


def test_a_cards_try_is_held_against_its_own_layout(book: Notebook) -> None:
    """The card's try forgives what its layout does, and its pots count; a note's are left out."""
    said = lay(book.table, (1270.0, 1418.0), (737.0, 470.0), USUAL, "baulk-right").said
    book.add(Said(said.fullness, said.called, said.side, said.distance), "potted")
    book.add_all([Played(said, "potted", layout="01900000-0000-7000-8000-000000000001")])
    memory, tried = book.played()
    assert (memory.ticked, tried.ticked) == (False, True)
    low, high = truth_of(said.position).margin
    assert tried.margin == pytest.approx((high - low) / 2)
    assert memory.margin != tried.margin

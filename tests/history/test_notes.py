"""Notes from the table: kept as they are, taken back by an added line, exported, imported and merged."""

import csv
import json
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from trainer.geometry.tables import POCKETS
from trainer.history import TrainerError
from trainer.history.clock import Moment, local_day
from trainer.history.exchange import export, import_
from trainer.history.fields import FORBIDDEN, LONGEST
from trainer.history.ids import Ids
from trainer.history.merge import Merged
from trainer.history.note import DISTANCES, NOTES, PACES, RESULTS, UNDONE, Note, standing
from trainer.history.record import MM
from trainer.history.store import History

from .older import older
from .strategies import IN_2000, IN_2100, NOON, open_history

IDS = Ids()
PLAIN = Note(
    id=IDS.new(NOON.epoch_ms),
    epoch_ms=NOON.epoch_ms,
    offset_s=NOON.offset_s,
    zone=NOON.zone,
    local_day="2026-03-01",
    table="snooker",
    fullness=0.5,
    called="1/2",
    side="left",
    result="thick",
    distance="far",
)
LAID: dict[str, Any] = {
    "distance": 812.5,
    "cue_ball": (1000.25, 800.0),
    "object_ball": (2000.0, 900.7),
    "pocket": "top-left",
}
BOTH = pytest.mark.parametrize("ending", ["csv", "json"])


def plain(**changes: Any) -> Note:
    """The plain note with an id of its own."""
    return replace(PLAIN, **{"id": IDS.new(NOON.epoch_ms)} | changes)


def undoing(note: Note) -> Note:
    """The line that takes a note back."""
    return replace(note, id=IDS.new(NOON.epoch_ms), result=UNDONE, undoes=note.id)


def _text(least: int) -> st.SearchStrategy[str]:
    found = st.text(st.characters(exclude_categories=["Cs"]), min_size=least, max_size=12)
    return found.filter(lambda text: not FORBIDDEN.search(text))


PLACE = st.tuples(st.floats(30, 1900), st.floats(30, 900))  # on every table that has a name
PLACES = st.one_of(st.just((None, None, "")), st.tuples(PLACE, PLACE, st.sampled_from(POCKETS)))


@st.composite
def notes(draw: st.DrawFn) -> Note:
    """Any note that is allowed, undoing lines among them."""
    cue_ball, object_ball, pocket = draw(PLACES)
    undone = draw(st.booleans())
    ms, offset_s = draw(st.integers(IN_2000, IN_2100)), draw(st.integers(-50_000, 50_000))
    day = date.fromisoformat(local_day(Moment(ms, offset_s), 0)) + timedelta(draw(st.integers(-1, 1)))
    return Note(
        id=Ids().new(ms),
        epoch_ms=ms,
        offset_s=offset_s,
        zone=draw(_text(0)),
        local_day=day.isoformat(),
        table=draw(_text(1)),
        fullness=draw(st.floats(0, 1) | st.just(-0.0)),
        called=draw(_text(1)),
        side=draw(st.sampled_from(["left", "right"])),
        result=UNDONE if undone else draw(st.sampled_from(RESULTS)),
        distance=draw(st.sampled_from(DISTANCES) | st.floats(1, MM)),
        cue_ball=cue_ball,
        object_ball=object_ball,
        pocket=pocket,
        undoes=IDS.new(NOON.epoch_ms) if undone else "",
        pace=draw(st.sampled_from(["", *PACES])),
        layout=draw(st.sampled_from(["", IDS.new(NOON.epoch_ms)])),
    )


@pytest.fixture
def history(tmp_path: Path) -> Iterator[History]:
    with open_history(tmp_path / "data") as history:
        yield history


@settings(max_examples=15, deadline=None, derandomize=True)
@given(st.lists(notes(), max_size=4))
def test_any_notes_come_back_equal_and_exports_are_the_same_bytes(made: list[Note]) -> None:
    made.sort(key=lambda note: note.id)
    with TemporaryDirectory() as name:
        folder = Path(name)
        with open_history(folder / "first") as first:
            for note in made:
                first.append_note(note)
            assert repr(first.notes()) == repr(made)  # repr tells -0.0 from 0.0
            for ending in ("csv", "json"):
                assert export(first, folder / f"1.{ending}", NOTES) == len(made)
        for ending in ("csv", "json"):
            with open_history(folder / ending) as second:
                assert import_(second, folder / f"1.{ending}", NOTES).added == len(made)
                assert repr(second.notes()) == repr(made)
                for again in ("csv", "json"):
                    export(second, folder / f"2.{again}", NOTES)
                    assert (folder / f"1.{again}").read_bytes() == (folder / f"2.{again}").read_bytes()


def test_the_columns_of_a_file(history: History, tmp_path: Path) -> None:
    history.append_note(plain())
    history.append_note(plain(**LAID))
    export(history, tmp_path / "a.csv", NOTES)
    export(history, tmp_path / "a.json", NOTES)
    with (tmp_path / "a.csv").open(encoding="utf-8", newline="") as file:
        first, second = csv.DictReader(file)
    told, laid = json.loads((tmp_path / "a.json").read_text("utf-8"))
    assert list(first) == list(told) == list(NOTES.names)
    assert first["time"] == told["time"] == "2026-03-01T12:00:00.000+01:00"
    assert (first["fullness"], told["fullness"], first["called"]) == ("0.5", 0.5, "1/2")
    assert (first["distance"], told["distance"]) == ("far", "far")
    assert (second["distance"], laid["distance"]) == ("812.5", 812.5)
    assert (first["cue_ball_x"], told["cue_ball_x"]) == ("", None)
    assert (second["object_ball_y"], laid["pocket"]) == ("900.7", "top-left")


def test_a_note_is_taken_back_by_a_line_more(history: History) -> None:
    first, second = plain(), plain(result="thin")
    lines = [first, second, undoing(second)]
    for line in lines:
        history.append_note(line)
    assert history.notes() == lines  # nothing has gone
    assert standing(history.notes()) == [first]
    assert standing([undoing(first), undoing(first), first]) == []  # in any order, and twice


@BOTH
def test_two_histories_that_grew_apart_merge_to_the_same_in_either_order(tmp_path: Path, ending: str) -> None:
    shared = [plain(), plain(result="potted")]
    own = [[plain(**LAID), undoing(shared[0])], [undoing(shared[0]), plain(side="right")]]
    files = []
    for i, more in enumerate(own):
        with open_history(tmp_path / f"{i}") as history:
            for note in (*shared, *more):
                history.append_note(note)
            files.append(tmp_path / f"{i}.{ending}")
            export(history, files[i], NOTES)
    outs = []
    for order in (files, files[::-1]):
        with open_history(tmp_path / f"both{len(outs)}") as history:
            assert import_(history, order[0], NOTES) == Merged(4, 0)
            assert import_(history, order[1], NOTES) == Merged(2, 2)
            outs.append(history.notes())
    assert outs[0] == outs[1] == sorted([*shared, *own[0], *own[1]], key=lambda note: note.id)
    assert standing(outs[0]) == [shared[1], own[0][0], own[1][1]]


def test_ids_go_on_after_those_of_notes(tmp_path: Path) -> None:
    later = Ids().new(NOON.epoch_ms + 60_000)
    with open_history(tmp_path) as history:
        history.append_note(plain(id=later))
    with open_history(tmp_path) as history:
        assert history.new_id(history.clock.now()) > later


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"fullness": 1.01}, "note, fullness: 1.01 is not allowed; allowed: a number from 0 to 1"),
        ({"fullness": "1/2"}, "note, fullness: '1/2' is not allowed"),
        ({"side": "up"}, "note, side: 'up' is not allowed; allowed: left, right"),
        ({"result": "missed"}, "note, result: 'missed' is not allowed; allowed: potted, thick, thin, undone"),
        ({"distance": "away"}, "note, distance: 'away' is not allowed; allowed: near, middle, far, or mm"),
        ({"distance": 0.0}, "note, distance: 0.0 is not allowed"),
        ({"distance": float("nan")}, "note, distance: nan is not allowed"),
        ({"distance": True}, "note, distance: True is not allowed"),
        ({"called": "a\nb"}, "note, called: 'a\\nb' is not allowed"),
        ({"called": "x" * (LONGEST + 1)}, "note, called: "),
        ({"table": ""}, "note, table: '' is not allowed"),
        ({"pocket": "corner"}, "note, pocket: 'corner' is not allowed; allowed: baulk-left"),
        ({"pocket": "top-left"}, "note, cue_ball_x: is a part of a position; allowed: both balls' places"),
        ({"cue_ball": (1.0, 2.0)}, "note, cue_ball_x: is a part of a position"),
        ({**LAID, "object_ball": None}, "note, cue_ball_x: is a part of a position"),
        ({**LAID, "cue_ball": (1e9, 0.0)}, "note, cue_ball_x: 1000000000.0 is not allowed"),
        ({"result": UNDONE}, "note, undoes: goes with the result undone; allowed: both, or neither of them"),
        ({"undoes": PLAIN.id}, "note, undoes: goes with the result undone"),
        ({"id": PLAIN.id, "undoes": PLAIN.id, "result": UNDONE}, "note, undoes: is the line's own id"),
        ({"undoes": "7", "result": UNDONE}, "note, undoes: '7' is not allowed; allowed: the id of a note"),
        ({"local_day": "1.3.2026"}, "note, local_day: '1.3.2026' is not allowed"),
        ({"id": "1"}, "note, id: '1' is not allowed"),
    ],
)
def test_what_is_not_allowed_is_said_and_not_kept(
    history: History, changes: dict[str, Any], said: str
) -> None:
    with pytest.raises(TrainerError) as caught:
        history.append_note(plain(**changes))
    assert str(caught.value).startswith(said)
    assert history.notes() == []


def test_an_id_is_kept_once(history: History) -> None:
    history.append_note(PLAIN)
    with pytest.raises(TrainerError, match="is in the history already"):
        history.append_note(replace(PLAIN, side="right"))
    assert history.notes() == [PLAIN]


@BOTH
def test_nothing_of_a_file_with_a_fault_comes_in(history: History, tmp_path: Path, ending: str) -> None:
    for note in (plain(), plain(**LAID), plain(result="thin")):
        history.append_note(note)
    file, other = tmp_path / f"a.{ending}", tmp_path / f"b.{ending}"
    export(history, file, NOTES)
    text = file.read_text("utf-8")
    for old, new, column in (
        ("thin", "wide", "result"),
        ("812.5", "-1", "distance"),
        ("top-left", "", "cue_ball_x"),
        ("left", "l", "side"),
        ("0.5", "5", "fullness"),
    ):
        assert old in text
        other.write_text(text.replace(old, new), "utf-8")
        with open_history(tmp_path / "new") as new_history:
            with pytest.raises(TrainerError, match=f"column {column}: "):
                import_(new_history, other, NOTES)
            assert new_history.notes() == []
    changed = text.replace(
        '"thin"' if ending == "json" else ",thin,", '"thick"' if ending == "json" else ",thick,"
    )
    other.write_text(changed, "utf-8")
    with pytest.raises(TrainerError, match="is there already with other values"):
        import_(history, other, NOTES)


def test_attempts_and_notes_are_told_apart(history: History, tmp_path: Path) -> None:
    history.append_note(plain())
    export(history, tmp_path / "notes.csv", NOTES)
    with pytest.raises(TrainerError, match="line 1: these are notes; import them with --notes"):
        import_(history, tmp_path / "notes.csv")
    export(history, tmp_path / "attempts.csv")
    with pytest.raises(TrainerError, match="line 1: these are attempts; import them without --notes"):
        import_(history, tmp_path / "attempts.csv", NOTES)


def test_a_history_from_before_there_were_notes_gains_them(tmp_path: Path) -> None:
    with older(tmp_path, 3):
        pass
    with open_history(tmp_path) as history:
        history.append_note(PLAIN)
        assert history.notes() == [PLAIN]

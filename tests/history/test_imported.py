"""An import takes in only what the trainer could have written, and gives a spreadsheet nothing to run."""

import csv
import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trainer.history import TrainerError
from trainer.history.attempt import ATTEMPTS
from trainer.history.exchange import export, import_
from trainer.history.ids import Ids
from trainer.history.note import NOTES
from trainer.history.spreadsheet import held, let_go

from .strategies import IN_2000, NOON, PLAIN, open_history, plain
from .test_notes import plain as plain_note

DAY_MS = 86_400_000
EARLIER, LATER = (Ids().new(NOON.epoch_ms + ms) for ms in (-1, 150 * 365 * DAY_MS))
CALLS = [
    ({"epoch_ms": IN_2000 - 10 * DAY_MS}, "time", "2000-01-01 to 2100-12-31"),
    ({"epoch_ms": NOON.epoch_ms + 150 * 365 * DAY_MS}, "time", "2000-01-01 to 2100-12-31"),
    ({"local_day": "0007-03-01"}, "local_day", "allowed: 2000-01-01 to 2100-12-31"),
    ({"local_day": "2026-03-03"}, "local_day", "over a day from its time; allowed: 2026-03-01"),
    ({"local_day": "2026-02-27"}, "local_day", "over a day from its time"),
    ({"drill": "guess"}, "drill", "'guess' is no drill; allowed: band, aim"),
    ({"call": "5/8"}, "call", "'5/8' is none of the choices"),
    ({"key": "7"}, "call", "is none of the choices"),
    ({"value": 0.25}, "call", "is none of the choices"),
    ({"drill": "straight"}, "call", "'1/2' is no answer of the drill straight"),
    ({"cue_ball": (-300.0, 800.0)}, "cue_ball_x", "off the table"),
    ({"cue_ball": (1000.0, 10.0)}, "cue_ball_y", "off the table"),
    ({"object_ball": (3569.0, 900.0)}, "object_ball_x", "off the table"),
    ({"object_ball": (2000.0, 1e5)}, "object_ball_y", "a place on the table 'snooker', mm"),
    ({"table": "a table of somebody", "object_ball": (2000.0, 1e5)}, "object_ball_y", "off the table"),
    ({"others": ((100.0, 100.0), (100.0, 5000.0))}, "others", "off the table"),
    ({"id": EARLIER}, "id", "is none that the trainer gave out at that time"),
    ({"id": LATER}, "id", "is none that the trainer gave out"),
]


@pytest.mark.parametrize("ending", ["csv", "json"])
@pytest.mark.parametrize(("changes", "column", "said"), CALLS)
def test_what_no_call_is_is_told_and_nothing_taken(
    tmp_path: Path, changes: dict[str, Any], column: str, said: str, ending: str
) -> None:
    file = tmp_path / f"a.{ending}"
    with open_history(tmp_path / "one") as one:
        one.append(replace(PLAIN, id=Ids().new(NOON.epoch_ms)))
        one.append(plain(one, **changes))
        export(one, file)
        order = [attempt.id for attempt in one.attempts()]
        bad = order.index(one.attempts()[-1].id if changes.get("id") != EARLIER else EARLIER) + 1
    with open_history(tmp_path / "two") as two:
        with pytest.raises(TrainerError) as caught:
            import_(two, file)
        assert two.ever() == 0
    place = f"line {bad + 1}" if ending == "csv" else f"record {bad}"
    assert any(f"{place}, column {column}: " in one and said in one for one in caught.value.problems)


def test_a_note_is_checked_as_well(tmp_path: Path) -> None:
    file = tmp_path / "a.csv"
    with open_history(tmp_path / "one") as one:
        note = plain_note()
        one.append_note(replace(note, local_day="2031-01-01"))
        export(one, file, NOTES)
    with open_history(tmp_path / "two") as two, pytest.raises(TrainerError, match="column local_day"):
        import_(two, file, NOTES)


def test_a_table_of_ones_own_has_its_own_size(tmp_path: Path) -> None:
    file, far = tmp_path / "a.csv", {"object_ball": (3700.0, 900.0)}
    with open_history(tmp_path / "one") as one:
        one.append(plain(one, **far))
        export(one, file)
        with pytest.raises(TrainerError, match="off the table"):
            import_(one, file)
        (tmp_path / "one" / "tables").mkdir()
        (tmp_path / "one" / "tables" / "snooker.toml").write_text("")
        assert import_(one, file).already_there == 1


LIVE = ["=1+1", "+SUM(A1)", "-1+1", "@x", "'=1", "''-x"]


@pytest.mark.parametrize("text", LIVE)
def test_a_spreadsheet_runs_nothing_of_an_export(tmp_path: Path, text: str) -> None:
    with open_history(tmp_path / "one") as one:
        one.append(plain(one, level=text, zone=text, choices=(), call=text))
        export(one, tmp_path / "a.csv")
        export(one, tmp_path / "a.json")
    with (tmp_path / "a.csv").open(encoding="utf-8", newline="") as file:
        (line,) = csv.DictReader(file)
    assert [line[name] for name in ("level", "zone", "call")] == [f"'{text}"] * 3
    assert json.loads((tmp_path / "a.json").read_text("utf-8"))[0]["level"] == text
    with open_history(tmp_path / "two") as two:
        import_(two, tmp_path / "a.csv")
        assert two.attempts()[0].level == text
        export(two, tmp_path / "b.csv")
    assert (tmp_path / "a.csv").read_bytes() == (tmp_path / "b.csv").read_bytes()


@pytest.mark.parametrize("text", ["-0.5", "+1", "1/2", "thick", "it's", "'", "", "0.61 left of centre"])
def test_what_runs_nowhere_is_as_it_was(text: str) -> None:
    assert held(text) == text


@given(st.text("'=+-@a1.") | st.text())
def test_every_text_comes_back(text: str) -> None:
    assert let_go(held(text)) == text
    assert held(text)[:1] not in ("=", "@")


def test_every_drill_gives_what_is_taken_in(tmp_path: Path, every_drill: Callable[[Path], int]) -> None:
    """Some calls of each, with choices and by a number."""
    count = every_drill(tmp_path / "one")
    with open_history(tmp_path / "one") as one, open_history(tmp_path / "two") as two:
        export(one, tmp_path / "a.csv", ATTEMPTS)
        assert import_(two, tmp_path / "a.csv").added == count > 20

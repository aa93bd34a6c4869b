"""Histories to damage, and what is read of one: the report and both exports."""

import json
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import numpy as np

from trainer.history.attempt import ATTEMPTS
from trainer.history.clock import FixedClock, Moment
from trainer.history.errors import Damaged
from trainer.history.exchange import export
from trainer.history.note import NOTES
from trainer.history.store import FILE, History
from trainer.levels.shelf import open_shelf
from trainer.play.game import Game
from trainer.report import report

from .strategies import NOON, SetClock, open_history, plain
from .test_notes import plain as plain_note

DAY_MS = 86_400_000
SHELF = open_shelf()
NOW = Moment(NOON.epoch_ms + 40 * DAY_MS, NOON.offset_s, NOON.zone)
DRILLS = ("band", "aim")
LATER = FixedClock("2026-04-22T12:00:00+00:00")


def fill(folder: Path, many: int, *, a_day: int = 5, digest: bool = True) -> None:
    """A history of so many attempts: some taken back, two notes, a set, a setting, and what follows."""
    rng, clock = np.random.default_rng(many), SetClock()
    with open_history(folder, clock) as history:
        history.put_setting("minutes", "20")
        kept = history.start_set("quarters", "band", 5, 12)
        rows = []
        for k in range(many):
            day = k // a_day
            clock.moment = Moment(NOON.epoch_ms + day * DAY_MS + k, NOON.offset_s, NOON.zone)
            cut, error = float(rng.uniform(-60, 60)), float(rng.normal(0.03, 0.08))
            attempt = plain(
                history,
                **{
                    "epoch_ms": clock.moment.epoch_ms,
                    "local_day": history.today,
                    "set_id": kept.id if k < 8 else f"{k // 12}",
                },
                **{"number": k % 12 + 1, "drill": DRILLS[k % 2], "cut_deg": cut, "error": error},
                **{"offset": float(np.sin(np.radians(cut))), "called_offset": float(rng.uniform(-1, 1))},
                **{"fullness": 1 - abs(float(np.sin(np.radians(cut)))), "seconds": float(rng.uniform(1, 9))},
                right=bool(rng.random() < 0.5),
                potted=bool(rng.random() < 0.5),
            )
            rows.append(ATTEMPTS.row_of(ATTEMPTS.values_of(attempt)))
        with history._writing(copied=False) as db:
            db.executemany(ATTEMPTS.insert, rows)
        for row in rows[3 :: max(many // 4, 1)]:
            history.undo(row[0])
        for _ in range(2):
            history.append_note(plain_note())
    if digest:
        with open_history(folder) as history:
            Game(history, SHELF)._kept.keep(0)
    for _ in range(2):
        content(folder, folder.parent / "out.json")
    shutil.rmtree(folder / "backups")
    assert not (folder / f"{FILE}-wal").exists()  # all is in the one file


def content(folder: Path, out: Path) -> list[str]:
    """All that a player could get at: the report, and the exports."""
    with History.open(folder, SetClock(NOW)) as history:
        found = [json.dumps(report.report(Game(history, SHELF)))]
        for kind in (ATTEMPTS, NOTES):
            export(history, out, kind)
            found.append(out.read_text())
        return found


def spoilt(folder: Path, *statements: str) -> None:
    with closing(sqlite3.connect(folder / FILE, isolation_level=None)) as db:
        for statement in statements:
            db.execute(statement)


def rows_of(folder: Path) -> set[tuple[object, ...]]:
    with open_history(folder) as history:
        history.check()
        return {row for kind in (ATTEMPTS, NOTES) for rows in history.rows(kind=kind) for row in rows}


def damage_of(folder: Path) -> Damaged | None:
    """What is found wrong; not where, which would hold the file."""
    try:
        rows_of(folder)
    except Damaged as error:
        return Damaged(str(error), error.file, error.why)
    return None

"""Putting the newest sound copy in the place of a damaged history, with the calls made since.

What is done is noted beside the history before anything of it is replaced. A note that is still there was
left by a sudden end: whoever opens the history next begins the repair again. All of it may be done twice.
"""

import gc
import json
import shutil
import sqlite3
from contextlib import closing, suppress
from dataclasses import asdict, dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from trainer.history import backup as backups
from trainer.history.attempt import ATTEMPTS, UNDONE
from trainer.history.clock import ROLLOVER_HOUR, Clock, Moment, iso, local_day
from trainer.history.errors import Damaged, shown
from trainer.history.fields import BadValue
from trainer.history.files import keep_text
from trainer.history.layout import LAYOUTS
from trainer.history.merge import Clash
from trainer.history.note import NOTES
from trainer.history.record import Record, Row
from trainer.history.restore import Restoring, alone
from trainer.history.schema import connection_to
from trainer.history.store import History
from trainer.history.upkeep import REPAIR


@dataclass(frozen=True)
class Repair:
    """A repair that was begun: what was wrong, the copy that is put in place, and what was set aside.

    Copy and what was set aside are names in the folder of copies; of several ends each set one aside.
    """

    why: str
    copy: str
    asides: tuple[str, ...]


def recover(error: Damaged, clock: Clock, rollover_hour: int = ROLLOVER_HOUR) -> str | None:
    """Put the newest sound copy in the place of the history that is damaged, and add to it what can be read.

    Parameters
    ----------
    error : Damaged
        What was found.
    clock, rollover_hour
        What time it is, and the hour at which a day begins.

    Returns
    -------
    str or None
        One line that says what was done; '' where another program has done so already. None where there is
        no sound copy: then all is as it was.

    Raises
    ------
    TrainerError
        If another program has the history open, or something can't be written.
    """
    gc.collect()  # a cursor from where it was found would hold the file
    folder, damaged = error.file.parent, _still_damaged(error.file)
    begun = _begun(folder)
    if not damaged:  # another program has repaired it, or was about to bring in the calls made since
        return "" if begun is None else _finished(error.file, begun, True, clock, rollover_hour)
    why, before = (error.why, ()) if begun is None else (begun.why, begun.asides)
    for backup in backups.newest_first(folder):

        def note(aside: backups.Backup, copy: str = backup.name) -> None:
            repair = Repair(why, copy, (*before, aside.name))
            keep_text(folder / REPAIR, json.dumps(asdict(repair)))

        try:
            with backups.sound(backup) as source:
                Restoring(folder, source, None).carry_out(local_day(clock.now(), rollover_hour), note)
        except backups.Unusable:
            continue
        repair = _begun(folder)
        assert repair is not None
        return _finished(error.file, repair, begun is not None, clock, rollover_hour)
    return None


def _begun(folder: Path) -> Repair | None:
    """The repair that was begun and isn't finished."""
    try:
        told = json.loads((folder / REPAIR).read_text("utf-8"))
        return Repair(told["why"], told["copy"], tuple(told["asides"]))
    except FileNotFoundError:
        return None
    except (ValueError, TypeError, LookupError):  # changed by hand
        return Repair("nobody can tell how", "nobody can tell which", ())


def _finished(file: Path, repair: Repair, cut_short: bool, clock: Clock, rollover_hour: int) -> str:
    """Add what can be read of what was set aside to the copy that is in its place, and say so."""
    with History.open(file.parent, clock, rollover_hour, repairing=True) as history:
        saved, had = 0, 0
        for name in repair.asides:
            more, held = _save(history, file.parent / backups.FOLDER / f"{name}{backups.ENDING}")
            saved, had = saved + more, max(had, held)
        (file.parent / REPAIR).unlink(missing_ok=True)
        lost = max(had - history.ever(), 0) if had else None
        return _said(file, repair, history, saved, lost, cut_short=cut_short)


def _still_damaged(file: Path) -> bool:
    """Whether a history is damaged now that nobody else has it open."""
    try:
        alone(file).close()
    except Damaged:
        return True
    return False


def _save(history: History, file: Path) -> tuple[int, int]:
    """Add what a damaged file still gives when it is read from one end to the other.

    Returns
    -------
    saved, held : int
        How many calls were added, and how many it held; 0 where nobody can tell.
    """
    with TemporaryDirectory(dir=history.file.parent) as folder:  # SQLite may do with that what it likes
        copy = Path(folder) / file.name
        for ending in ("", "-wal"):
            with suppress(FileNotFoundError):
                shutil.copyfile(f"{file}{ending}", f"{copy}{ending}")
        with closing(connection_to(copy)) as db:
            had = max(
                (_count(db, way) for way in ("", "NOT INDEXED", "INDEXED BY attempts_by_day")), default=0
            )
            undone = {row[1]: (row[2], row[3]) for row in _readable(db, UNDONE)}
            added = 0
            for kind in (ATTEMPTS, LAYOUTS, NOTES):
                more = undone if kind.undoable else None
                rows = [
                    (*row, *more.get(row[0], (None, None))) if more is not None else row
                    for row in _readable(db, kind)
                ]
                with suppress(Clash):  # then the copy knows better
                    merged = history.merge(enumerate(rows), kind, copied=False)
                    added += merged.added if kind is ATTEMPTS else 0
    return added, had


def _count(db: sqlite3.Connection, way: str) -> int:
    with suppress(sqlite3.Error):
        return int(db.execute(f"SELECT count(*) FROM attempts {way}").fetchone()[0])
    return 0


def _readable(db: sqlite3.Connection, kind: Record[Any]) -> list[Row]:
    """The rows of a kind from either end to where something is broken, those that are allowed."""
    found: dict[str, Row] = {}
    for order in ("ASC", "DESC"):
        with suppress(sqlite3.Error):
            for row in db.execute(f"SELECT {kind.own_columns} FROM {kind.table} ORDER BY id {order}"):
                with suppress(BadValue, ValueError, TypeError, LookupError, RecursionError):
                    if kind.row_of(kind.check(kind.values_of(kind.of_row(row)))) == row:
                        found[row[0]] = row
    return [found[each] for each in sorted(found)]


def _said(
    file: Path, repair: Repair, history: History, saved: int, lost: int | None, *, cut_short: bool
) -> str:
    """What was damaged, what became of it, and what is there now."""
    where = f" and is set aside as {repair.asides[-1]}" if repair.asides else ""
    again = "; its repair was cut short and is done now" if cut_short else ""
    more = f", with {_calls(saved)} made since that could still be read" if saved else ""
    gone = "; how many calls are gone can't be told" if lost is None else ""
    gone = f"; {_calls(lost)} can't be read any more" if lost else gone
    last, until = history.last_call(), ""
    if last is not None:
        moment = Moment(last[0].epoch_ms, last[0].offset_s, last[0].zone)
        until = f" until {iso(moment)[:16].replace('T', ' ')}"
    return (
        f"{shown(file)} was damaged ({repair.why}){where}{again}; the newest good copy, {repair.copy}, "
        f"is in its place{more}: {_calls(history.count())}{until}{gone}"
    )


def _calls(many: int) -> str:
    return f"{many} call{'s' * (many != 1)}"

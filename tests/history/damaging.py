"""Histories to damage, and what is read of one: the report and both exports."""

import json
import shutil
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from trainer.history import TrainerError, transfer
from trainer.history.attempt import row_of, values_of
from trainer.history.clock import Moment
from trainer.history.errors import Damaged
from trainer.history.lines import ATTEMPTS, NOTES
from trainer.history.opened import FILE
from trainer.history.seal import inserting, with_check
from trainer.history.store import History
from trainer.levels.shelf import open_shelf
from trainer.play import known
from trainer.play.digest import BRIEF
from trainer.play.game import Game
from trainer.report import report, weeks

from .strategies import NOON, SetClock, open_history, plain
from .test_notes import plain as plain_note

DAY_MS = 86_400_000
SHELF = open_shelf()
NOW = Moment(NOON.epoch_ms + 40 * DAY_MS, NOON.offset_s, NOON.zone)
DRILLS = ("band", "aim")


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
            rows.append(with_check(row_of(values_of(attempt))))
        with history._writing(copied=False) as db:
            db.executemany(f"INSERT {inserting('attempts')}", rows)
        for row in rows[3 :: max(many // 4, 1)]:
            history.undo(row[0])
        for _ in range(2):
            history.append_note(plain_note())
    if digest:
        with open_history(folder) as history:
            Game(history, SHELF)._known.keep(0)
    for _ in range(2):
        content(folder, folder.parent / "out.json")
    shutil.rmtree(folder / "backups")
    assert not (folder / f"{FILE}-wal").exists()  # all is in the one file


def content(folder: Path, out: Path) -> list[str]:
    """All that a player could get at: the report, and the exports."""
    with History.open(folder, SetClock(NOW)) as history:
        found = [json.dumps(report.report(Game(history, SHELF)))]
        for kind in (ATTEMPTS, NOTES):
            transfer.export(history, out, kind)
            found.append(out.read_text())
        return found


def inputs(folder: Path, _: Path) -> list[object]:
    """All that the game, the report and exports read, without the sums that are made of it: much faster."""
    with History.open(folder, SetClock(NOW)) as history:
        found: list[object] = [list(history.rows(kind=kind)) for kind in (ATTEMPTS, NOTES)]
        brief = [row for rows in history.brief(BRIEF) for row in rows]
        found += [brief, history.notes(), history.get_setting("minutes")]
        found += [history.last_attempts(200), history.last_call()]
        days = [row[1] for row in brief]
        first = sorted(set(days))[-20:][0]
        lately = list(history.attempts_of_days(first, max(days), sum(day >= first for day in days)))
        found += [lately, history.count()]
        found += [history.unfinished_set("quarters", "band"), history.left_sets()]
        for name in (known.NAME, weeks.NAME):  # where that is damaged it is made anew, of what was read
            text = history.get_derived(name)
            assert text is None or json.loads(text)
            found.append("made anew" if text is None else text)
        return found


def same_inputs(found: Sequence[object], want: Sequence[object]) -> bool:
    """Whether they come to the same."""
    return len(found) == len(want) and all(a in (b, "made anew") for a, b in zip(found, want, strict=True))


@dataclass
class Told:
    """What became of so many damaged files: where what was read was the same, where damage was said, and
    where neither, with what was said or read instead.
    """

    same: int = 0
    damaged: int = 0
    other: list[tuple[int, int, str]] | None = None


def flip(
    folder: Path,
    flips: Iterable[tuple[int, int]],
    read: Callable[[Path, Path], Sequence[object]],
) -> Told:
    """Flip bits of a history's file, each time only those of one byte, and read it."""
    told, file, out = Told(other=[]), folder / FILE, folder.parent / "out.json"
    whole, want = file.read_bytes(), read(folder, out)
    assert told.other is not None
    for place, bits in flips:
        spoilt = bytearray(whole)
        spoilt[place] ^= bits
        file.write_bytes(spoilt)
        for ending in ("-wal", "-shm"):
            (folder / f"{FILE}{ending}").unlink(missing_ok=True)
        try:
            same = same_inputs(read(folder, out), want)
        except Damaged:
            told.damaged += 1
        except TrainerError as error:
            told.other.append((place, bits, f"said: {error}"))
        except Exception as error:
            told.other.append((place, bits, repr(error)))
        else:
            told.same += same
            if not same:
                told.other.append((place, bits, "read otherwise"))
    file.write_bytes(whole)
    return told

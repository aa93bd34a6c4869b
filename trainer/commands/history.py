"""What is done with histories: ``undo``, ``export``, ``import``, ``backups`` and ``restore``; ``players``."""

import argparse
import json
import sys
from pathlib import Path
from typing import Any

from trainer.commands.console import CommandError, bar, confirmed
from trainer.commands.opening import (
    clock_of,
    folder_of,
    history_of,
    open_game,
    open_history,
    style_of,
    today_of,
)
from trainer.drills.words import counted
from trainer.history import TrainerError, exchange
from trainer.history import backup as kept
from trainer.history.attempt import ATTEMPTS, Attempt
from trainer.history.clock import Moment, iso
from trainer.history.errors import shown
from trainer.history.files import data_folder
from trainer.history.layout import LAYOUTS
from trainer.history.note import NOTES
from trainer.history.record import Record
from trainer.history.restore import Loss, restoring
from trainer.history.store import FILE
from trainer.names import plain
from trainer.play.player_model import KeptModel, work
from trainer.settings.players import by_letters, player_folder
from trainer.settings.players import players as named
from trainer.shots.style import Style


def undo(args: argparse.Namespace) -> int:
    """Take the last call back."""
    with open_history(args) as history:
        last = history.last_call()
        if last is None:
            raise CommandError("there is no call to take back yet")
        attempt, undone = last
        if not args.json:
            print(_call_words(attempt, style_of(args)))
        if undone:
            return _done(args, attempt, False, "It has been taken back already: only the last call can be.")
        if not confirmed("Take it back, so that it counts for nothing?", args.yes or args.json):
            print("Left as it is.")
            return 1
        history.undo(attempt.id)
    return _done(args, attempt, True, "Taken back: it stays in the history, and counts for nothing.")


def _done(args: argparse.Namespace, attempt: Attempt, done: bool, words: str) -> int:
    print(json.dumps({"id": attempt.id, "undone": True, "before": not done}) if args.json else words)
    return 0


def _call_words(attempt: Attempt, style: Style) -> str:
    """The call, its shot and when it was."""
    moment = Moment(attempt.epoch_ms, attempt.offset_s)
    off = "" if attempt.right else f", {style.thick_or_thin(attempt.error)}"
    day, time = iso(moment)[:16].split("T")
    return (
        f"The last call: {attempt.call} ({attempt.drill}), {'right' if attempt.right else 'wrong'}{off}, "
        f"shot {attempt.number} of {attempt.level or 'a set'}, {day} {time}."
    )


THINGS = {
    ATTEMPTS.table: "call",
    NOTES.table: "note",
    LAYOUTS.table: "layout",
}  # that a file holds, for people


def _kind(args: argparse.Namespace) -> Record[Any]:
    """What is to be written or taken in."""
    return NOTES if args.notes else LAYOUTS if args.cards else ATTEMPTS


def export(args: argparse.Namespace) -> int:
    """Write every call, or every note from the table or layout of a card, to a file."""
    kind = _kind(args)
    with open_history(args, asks=True) as history, bar(max(history.ever(), 1)) as progress:
        count = exchange.export(history, Path(args.file), kind, progress.add)
    print(f"{counted(count, THINGS[kind.table])} written to {shown(Path(args.file))}")
    return 0


def import_(args: argparse.Namespace) -> int:
    """Take in the calls, the notes from the table, or the layouts of cards, of an exported file."""
    kind = _kind(args)
    file = Path(args.file)
    exchange.check_name(file)  # before a history is made
    size = file.stat().st_size
    with open_history(args) as history:
        with bar(max(size, 1)) as progress:
            result = exchange.import_(history, file, kind, progress.add)
        undone = f", {result.undone} taken back" if result.undone else ""
        added = counted(result.added, THINGS[kind.table])
        print(f"{added} added, {result.already_there} were there already{undone}", flush=True)
        if kind is ATTEMPTS and (result.added or result.undone):
            # Whoever imports waits anyway; whoever starts the game or asks for a report doesn't want to.
            with bar(max(work(history.ever()), 1)) as progress:
                KeptModel(history, progress.add)
    return 0


WHY = {
    kept.DAILY: "the first of the day",
    kept.PLAYED: "when a play ended",
    kept.MIGRATION: "before a newer version changed it",
    kept.IMPORT: "before an import",
    kept.RESTORE: "before a restore",
    kept.DAMAGED: "damaged, set aside",
}


def backups(args: argparse.Namespace) -> int:
    """List the copies that are kept of the history."""
    folder = folder_of(args)
    rows, lines = [], []
    for backup in kept.backups(folder):
        row: dict[str, str | int | None] = {
            "name": backup.name,
            "day": backup.day,
            "why": backup.why,
            "file": str(backup.file),
        }
        try:
            held = kept.contents(backup)
        except TrainerError as error:
            rows.append({**row, "calls": None, "last": None, "bytes": None, "problem": str(error)})
            said = "can't be read"
        else:
            last = None if held.last is None else iso(held.last)
            rows.append({**row, "calls": held.calls, "last": last, "bytes": held.size, "problem": None})
            until = "" if held.last is None else f" until {iso(held.last)[:16].replace('T', ' ')}"
            said = f"{counted(held.calls, 'call')}{until}, {_size(held.size)}"
        lines.append((backup.name, f"{said}; {WHY[backup.why]}"))
    if args.json:
        print(json.dumps({"folder": str(folder / kept.FOLDER), "backups": rows}, ensure_ascii=False))
        return 0
    if not lines:
        print("No copy of the history is kept yet: the first comes with the second day of play.")
        return 0
    wide = max(len(name) for name, _ in lines)
    for name, said in lines:
        print(f"{name:<{wide}}  {said}")
    newest = next((backup.name for backup in kept.newest_first(folder)), "NAME")
    print(f"\nKept in {shown(folder / kept.FOLDER)}. To go back to one: trainer restore {newest}")
    return 0


def restore(args: argparse.Namespace) -> int:
    """Put a copy in the history's place."""
    folder, today = folder_of(args), today_of(args)
    with restoring(folder, args.name) as ready:
        print(_loss_words(ready.loss))
        if not confirmed(f"Go back to {args.name}?", args.yes):
            print("Left as it is.")
            return 1
        before = ready.carry_out(today)
    said = f"; what was there is kept as {before.name}" if before else ""
    print(f"Restored{said}.")
    return 0


def _loss_words(loss: Loss | None) -> str:
    """What would be lost, and what would come back."""
    if loss is None:
        return "The history is damaged. What can be read of it isn't known; it would be set aside as it is."
    lost = [f"{counted(loss.calls, 'call')} since {plain(loss.since or '')}" if loss.calls else "no call"]
    more = []
    if loss.undone:
        more.append(f"{counted(loss.undone, 'call')} that you took back would count again")
    back = [counted(loss.gained, "call")] if loss.gained else []
    if loss.notes:
        lost.append(_notes(loss.notes))
    if loss.notes_gained:
        back.append(_notes(loss.notes_gained))
    if back:
        more.append(f"{' and '.join(back)} would come back")
    return "; ".join([f"Of the present history {' and '.join(lost)} would be lost", *more]) + "."


def _notes(count: int) -> str:
    return f"{counted(count, 'line')} of the table notebook"


def _size(count: int) -> str:
    return f"{count / 1e6:.1f} MB" if count >= 1e5 else f"{count / 1e3:.0f} kB"


NAMELESS = "(no name)"


def players(args: argparse.Namespace) -> int:
    """List the players of a data folder."""
    if args.report:
        return _desk(args)
    data = data_folder(args.data)
    rows, problems, there = [], [], by_letters(data)
    for name in (None, *named(data)):
        row: dict[str, str | int | None] = {"name": name, "calls": 0, "last_day": None}
        try:
            row |= _played(args, player_folder(data, name, there))
        except TrainerError as error:
            row["calls"] = None
            problems.append(str(error))
        if name is not None or row["calls"] != 0:
            rows.append(row)
    if args.json:
        print(json.dumps({"players": rows, "problems": problems}, ensure_ascii=False))
        return 0
    if not rows:
        print("Nobody has played yet. trainer --player NAME plays as somebody with a history of their own.")
    wide = max((len(str(row["name"] or NAMELESS)) for row in rows), default=0)
    for row in rows:
        calls, last = row["calls"], row["last_day"]
        said = "can't be read" if calls is None else counted(int(calls), "call")
        print(f"{row['name'] or NAMELESS:<{wide}}  {said}" + (f", last on {last}" if last else ""))
    for problem in problems:
        print(f"trainer: {problem}", file=sys.stderr)
    return 0


def _desk(args: argparse.Namespace) -> int:
    """Say of each player what a coach looks for first; nothing is written."""
    from trainer.report.desk import desk_row

    data, rows, problems = data_folder(args.data), [], []
    there = by_letters(data)
    for name in (None, *named(data)):
        args.player = name
        try:
            if not (player_folder(data, name, there) / FILE).exists():
                continue
            with open_game(args, asks=True) as game:
                rows.append(desk_row(name, game))
        except TrainerError as error:
            problems.append(f"{name or NAMELESS}: {error}")
    if args.json:
        found = {"players": [row.plain() for row in rows], "problems": problems}
        print(json.dumps(found, ensure_ascii=False))
    elif not rows:
        print("Nobody has played yet: a data folder holds the players who have.")
    else:
        said = ["\n".join(row.lines(row.name or NAMELESS)) for row in rows]
        print("\n\n".join([f"{counted(len(rows), 'player')} in {shown(data)}, on this machine.", *said]))
    for problem in problems:
        print(f"trainer: {problem}", file=sys.stderr)
    return 0


def _played(args: argparse.Namespace, folder: Path) -> dict[str, str | int | None]:
    """How many calls count, and the last day with practice."""
    if not (folder / FILE).exists():
        return {}
    with history_of(folder, clock_of(args), asks=True) as history:
        days = history.days()
        return {"calls": history.count(), "last_day": days[-1] if days else None}

"""``trainer table``: notes from real play, and what they say."""

import argparse
import json
from collections.abc import Mapping
from dataclasses import asdict
from types import MappingProxyType
from typing import Any

from trainer.commands.console import UsageError
from trainer.commands.opening import open_game
from trainer.commands.play import show
from trainer.drills.words import counted
from trainer.geometry.fullness import SIDES
from trainer.geometry.tables import Table
from trainer.history.clock import Moment, iso
from trainer.history.note import DISTANCES, RESULTS, THIN, Note
from trainer.report.notebook import Notebook, NoteError, Said, lay, note_sentence, read_fullness
from trainer.report.report import table_lines, table_object
from trainer.shots.check import table_named

LISTED = 20  # notes that are listed in words
KEYS = {THIN: "n"}  # t is thick
PLACED = ("cue_ball", "object_ball", "pocket")


def table(args: argparse.Namespace) -> int:
    """Add a note, take one back, list them, or open the page."""
    noted = bool(args.note) or any(getattr(args, name) is not None for name in PLACED)
    if args.undo and (noted or args.list):
        raise UsageError("--undo takes the last note back; give it alone")
    if args.list and noted:
        raise UsageError("--list and a note: give one of them")
    if args.table is not None and not noted:
        raise UsageError("--table goes with a note")
    if not (noted or args.undo or args.list or args.json):
        return show(args, table=True, instead="trainer table 1/2 left thick far")
    with open_game(args, asks=not (noted or args.undo)) as game:
        book = Notebook(game)
        if noted:
            note = _add(book, args)
            _report(book, args, "noted", note, f" ({counted(len(book.notes), 'note')})")
        elif args.undo:
            gone = book.undo()
            if gone is None:
                raise NoteError("there is no note to take back")
            _report(book, args, "taken back", gone)
        elif args.json:
            notes = [_plain(note) for note in book.notes]
            found = {"table": table_object(book.verdicts()), "table_causes": table_object(book.causes())}
            print(json.dumps({"notes": notes, **found}))
        else:
            _list(book)
    return 0


def _add(book: Notebook, args: argparse.Namespace) -> Note:
    known = book.game.shelf.tables
    on = book.table if args.table is None else table_named(args.table, known)
    if any(getattr(args, name) is not None for name in PLACED):
        return _add_laid(book, args, on)
    words = list(args.note)
    if len(words) not in (3, 4):
        raise UsageError(
            f"{counted(len(words), 'word')}; allowed: fullness, side, result and maybe the distance, as "
            "1/2 left thick far"
        )
    fullness, called = read_fullness(words[0])
    side = _one_of(words[1], "side", SIDES)
    result = _one_of(words[2], "result", RESULTS, KEYS)
    distance = _one_of(words[3], "distance", DISTANCES) if words[3:] else book.distance
    return book.add(Said(fullness, called, side, distance), result, on)


def _add_laid(book: Notebook, args: argparse.Namespace, on: Table) -> Note:
    if args.cue_ball is None or args.object_ball is None:
        raise UsageError("a position needs --cue-ball and --object-ball")
    if len(args.note) != 1:
        raise UsageError("with the balls laid down only the result is to be said: potted, thick or thin")
    result = _one_of(args.note[0], "result", RESULTS, KEYS)
    return book.add(lay(on, args.cue_ball, args.object_ball, book.game.style, args.pocket).said, result)


def _one_of(
    word: str, what: str, allowed: tuple[str, ...], keys: Mapping[str, str] = MappingProxyType({})
) -> str:
    """The word that is meant: itself, the key that says it on the screen, or its first letter."""
    meant = word.lower()
    for each in allowed:
        if meant in (each, keys.get(each, each[0])):
            return each
    raise NoteError(f"{what} {word[:40]!r}; allowed: {', '.join(allowed)}")


def _report(book: Notebook, args: argparse.Namespace, how: str, note: Note, more: str = "") -> None:
    print(
        json.dumps(_plain(note))
        if args.json
        else f"{how}: {note_sentence(note, book.game.style)}, {note.table}{more}"
    )


def _plain(note: Note) -> dict[str, Any]:
    """A note for scripts, the time as it stands in exports."""
    whole = asdict(note)
    time = iso(Moment(whole.pop("epoch_ms"), whole.pop("offset_s")))
    return {"id": whole.pop("id"), "time": time, **whole}


def _list(book: Notebook) -> None:
    notes = book.notes
    if not notes:
        print("no notes yet; add one, as: trainer table 1/2 left thick far")
        return
    for note in notes[-LISTED:]:
        print(f"  {note.local_day}  {note_sentence(note, book.game.style)}")
    more = len(notes) - LISTED
    print(f"{counted(len(notes), 'note')}" + (f", the last {LISTED} of them above" if more > 0 else ""))
    print("\n".join(table_lines(book)))

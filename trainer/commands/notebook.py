"""``trainer notebook``: notes from real play, and what they say."""

import argparse
import json
from collections import Counter
from dataclasses import asdict
from typing import Any

from trainer.commands.console import UsageError
from trainer.commands.opening import open_game
from trainer.commands.play import show
from trainer.drills.words import counted
from trainer.geometry.tables import Table
from trainer.history.clock import Moment, iso
from trainer.history.note import RESULTS, Note
from trainer.report.kept_cards import KeptCards
from trainer.report.note_words import EXAMPLE, KEYS, NoteError, TicksSaid, one_of, read_notes, read_ticks
from trainer.report.notebook import Notebook, Played, Said, lay, note_sentence
from trainer.report.report import table_lines, table_object
from trainer.shots.check import table_named

LISTED = 20  # notes that are listed in words
CARD = "card"  # the word before a card's number
PLACED = ("cue_ball", "object_ball", "pocket")


def notebook(args: argparse.Namespace) -> int:
    """Add notes or a card's ticks, take the last note back, list them, or open the page."""
    noted = bool(args.note) or any(getattr(args, name) is not None for name in PLACED)
    if args.undo and (noted or args.list):
        raise UsageError("--undo takes the last note back; give it alone")
    if args.list and noted:
        raise UsageError("--list and a note: give one of them")
    if args.table is not None and not noted:
        raise UsageError("--table goes with a note")
    if not (noted or args.undo or args.list or args.json):
        return show(args, table=True, instead=f"trainer notebook {EXAMPLE}")
    words = " ".join(args.note).split()
    ticks = read_ticks(words[1:]) if words and words[0].lower() == CARD else None
    if ticks is not None and any(getattr(args, name) is not None for name in ("table", *PLACED)):
        raise UsageError("a card knows its table and its places: give its ticks alone")
    with open_game(args, asks=not (noted or args.undo)) as game:
        book = Notebook(game)
        if ticks is not None:
            _tick(book, ticks, args)
        elif noted:
            many = len(book.notes)
            for note in _add(book, args):
                many += 1
                _report(book, args, "noted", note, f" ({counted(many, 'note')})")
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


def _add(book: Notebook, args: argparse.Namespace) -> list[Note]:
    known = book.game.shelf.tables
    on = book.table if args.table is None else table_named(args.table, known)
    if any(getattr(args, name) is not None for name in PLACED):
        return [_add_laid(book, args, on)]
    said = read_notes(args.note)
    if not said:
        raise NoteError(f"says nothing; allowed: fullness, side and result, as {EXAMPLE}")
    distance, played = book.distance, []
    for one in said:
        distance = one.distance or distance
        kind = Said(one.fullness, one.called, one.side, distance)
        played.append(Played(kind, one.result, on, one.pace))
    return book.add_all(played)


def _add_laid(book: Notebook, args: argparse.Namespace, on: Table) -> Note:
    if args.cue_ball is None or args.object_ball is None:
        raise UsageError("a position needs --cue-ball and --object-ball")
    if len(args.note) != 1:
        raise UsageError("with the balls laid down only the result is to be said: potted, thick or thin")
    result = one_of(args.note[0], "result", RESULTS, KEYS)
    return book.add(lay(on, args.cue_ball, args.object_ball, book.game.style, args.pocket).said, result)


def _tick(book: Notebook, said: TicksSaid, args: argparse.Namespace) -> None:
    """Enter a card's ticks; without any, list the card."""
    cards = KeptCards(book.game)
    entered = cards.enter(said, book)
    if args.json:
        notes = [_plain(note) for one in entered for note in one.notes]
        print(json.dumps({"card": said.card, "notes": notes}))
        return
    for one in entered:
        results = ", ".join(note.result for note in one.notes)
        print(f"card {said.card}, layout {one.layout.nth} ({one.layout.kind}): {results}")
    for each in () if entered else cards.find(said.card):
        went = Counter(note.result for note in book.notes if note.layout == each.id)
        results = ", ".join(f"{went[result]} {result}" for result in RESULTS if went[result])
        made = f"{each.kind}, {each.table}, made {each.local_day}"
        print(f"{said.card}.{each.nth}  {made}: {results or 'no ticks yet'}")


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
        print(f"no notes yet; add one, as: trainer notebook {EXAMPLE}")
        return
    for note in notes[-LISTED:]:
        print(f"  {note.local_day}  {note_sentence(note, book.game.style)}")
    more = len(notes) - LISTED
    print(f"{counted(len(notes), 'note')}" + (f", the last {LISTED} of them above" if more > 0 else ""))
    print("\n".join(table_lines(book)))

"""Export and import of the history, CSV and JSON: its attempts, or its notes from the table.

Exporting, importing into an empty data folder and exporting again gives the same bytes.
"""

import csv
import json
import os
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any, TextIO, TypeVar

from trainer.history.attempt import ATTEMPTS
from trainer.history.errors import TrainerError, quoted, shown
from trainer.history.fields import BadValue
from trainer.history.files import written_whole
from trainer.history.layout import LAYOUTS
from trainer.history.merge import Clash, Merged
from trainer.history.note import NOTES
from trainer.history.record import Record, Row
from trainer.history.spreadsheet import held_row, let_go_column, texts_of
from trainer.history.store import History

T = TypeVar("T")

AT_ONCE = 500  # lines of a file that are checked together
KEPT = 50  # problems of a file that are told one by one
MOST = 10_000  # problems after which the rest of a file isn't read
WINDOW, LONGEST = 2**14, 2**20  # characters of one record of a JSON file: what nearly all have, and the most
SPACE = re.compile(r"[ \t\r\n]*")


Told = Callable[[int], object]  # what is told of work that is done
Kind = Record[Any]


def export(history: History, path: Path, kind: Kind = ATTEMPTS, told: Told = lambda lines: None) -> int:
    """Write every line of a kind to a ``.csv`` or ``.json`` file; the number of lines.

    The file appears whole or not at all: a file of that name is replaced at the very end. ``told`` is called
    with the number of lines that were written, again and again.

    Raises
    ------
    TrainerError
        If the name has another ending, or the file can't be written.
    """
    write = _by_ending(path, {".csv": _write_csv, ".json": _write_json})
    target = Path(os.path.realpath(path))  # a link stays one, what it leads to is replaced
    if target.is_dir():
        raise TrainerError(f"{shown(path)} is a folder; give a file")
    if target.exists() and not target.is_file():
        raise TrainerError(f"{shown(path)} is not a file; give a file")
    if target == Path(os.path.realpath(history.file)):
        raise TrainerError(f"{shown(path)} is the history itself; give another file")
    if not target.parent.is_dir():
        raise TrainerError(f"{shown(path)}: there is no folder {shown(target.parent)}")
    try:
        with written_whole(target) as file:
            count = 0
            for lines in write(history, file, kind):
                count += lines
                told(lines)
    except OSError as error:
        raise TrainerError(f"{shown(path)} can't be written: {error.strerror}") from None
    return count


def import_(history: History, path: Path, kind: Kind = ATTEMPTS, told: Told = lambda size: None) -> Merged:
    """Add the lines of an exported file; those that are there already are left as they are.

    ``told`` is called with the number of bytes, about, that were read, again and again.

    One that was taken back on either side counts for nothing afterwards. Everything is checked first;
    after a problem nothing is written.

    Raises
    ------
    TrainerError
        If the file can't be read or a value isn't allowed. ``problems`` names file, line or record,
        and column of each.
    """
    check_name(path)
    read = _by_ending(path, READERS)
    own_tables = [file.stem for file in (history.file.parent / "tables").glob("*.toml")]
    what = "record" if path.suffix.lower() == ".json" else "line"
    problems = _Problems(path, what, kind, own_tables)
    try:
        return history.merge(read(path, problems, kind, told), kind)
    except Clash as clash:
        for place in clash.places:
            problems.add(place, "id", "is there already with other values; allowed: the same ones")
        raise problems.error() from None
    except OSError as error:
        raise TrainerError(f"{shown(path)} can't be read: {error.strerror}") from None


def check_name(path: Path) -> None:
    """See whether there is a file of this name that could be imported.

    Raises
    ------
    TrainerError
        If there isn't.
    """
    _by_ending(path, READERS)
    try:
        path.stat()
    except OSError as error:
        raise TrainerError(f"{shown(path)} can't be read: {error.strerror}") from None
    if not path.is_file():  # a pipe would be waited for, a device read without end
        raise TrainerError(f"{shown(path)} is not a file; give an exported file")


def _by_ending(path: Path, kinds: Mapping[str, T]) -> T:
    kind = kinds.get(path.suffix.lower())
    if kind is None:
        raise TrainerError(f"{shown(path)} has no known ending; allowed: {', '.join(kinds)}")
    return kind


# Writing


def _write_csv(history: History, file: TextIO, kind: Kind) -> Iterator[int]:
    writer = csv.writer(file, lineterminator="\n")
    writer.writerow(kind.names)
    texts = texts_of(kind)
    for rows in history.rows(kind=kind):
        writer.writerows(_spelt(held_row(kind.exported(row), texts)) for row in rows)
        yield len(rows)


def _spelt(values: list[Any]) -> list[Any]:
    """Values for CSV: true and false as JSON writes them."""
    return [("false", "true")[value] if value.__class__ is bool else value for value in values]


def _write_json(history: History, file: TextIO, kind: Kind) -> Iterator[int]:
    encode = json.JSONEncoder(ensure_ascii=False, allow_nan=False).encode
    before = "[\n"
    for rows in history.rows(kind=kind):
        records = (dict(zip(kind.names, kind.exported(row), strict=True)) for row in rows)
        file.write(before + ",\n".join(map(encode, records)))
        before = ",\n"
        yield len(rows)
    file.write("[\n]\n" if before == "[\n" else "\n]\n")


# Reading


class _Problems:
    """What is wrong with a file, place by place."""

    def __init__(self, path: Path, what: str, kind: Kind, own_tables: Sequence[str]):
        # Here, since an export needs none of it.
        from trainer.history.imported import check_of

        self.name = shown(path)
        self.what = what
        self.found: list[str] = []
        self.count = 0
        self._wrong = check_of(kind, own_tables)

    def finds(self, place: int, values: Sequence[Any]) -> bool:
        """Whether a line, each of its values allowed, is none that the trainer writes; that is noted then."""
        before = self.count
        for column, message in self._wrong(values):
            self.add(place, column, message)
        return self.count > before

    def add(self, place: int, column: str, message: str) -> None:
        self.count += 1
        if self.count <= KEPT:
            at = f", column {column}" if column else ""
            self.found.append(f"{self.name}, {self.what} {place}{at}: {message}")
        if self.count == MOST:
            raise self.error()

    def error(self) -> TrainerError:
        more = self.count - 1
        many = f"at least {more}" if self.count == MOST else more
        tail = f" (and {many} more problem{'s' * (more > 1)})" if more else ""
        return TrainerError(self.found[0] + tail, self.found)


Parsers = Sequence[Callable[[Any], Any]]


def _row(values: Sequence[Any], parsers: Parsers, place: int, problems: _Problems, kind: Kind) -> Row | None:
    """The checked row of one line, or None after noting what is wrong."""
    before = problems.count
    parsed = []
    for name, parse, value in zip(kind.names, parsers, values, strict=True):
        try:
            parsed.append(parse(value))
        except BadValue as error:
            problems.add(place, name, str(error))
    if problems.count > before:
        return None
    try:
        kind.check_rules(parsed)
    except BadValue as error:
        problems.add(place, error.column, str(error))
        return None
    return None if problems.finds(place, parsed) else kind.row_of(parsed)


def _rows(
    lines: Sequence[tuple[int, Sequence[str]]], order: Sequence[int | None], problems: _Problems, kind: Kind
) -> Iterator[tuple[int, Row]]:
    """The checked rows of some lines: all at once, or one by one where something is wrong with one."""
    instead = [kind.defaults.get(name, "") for name in kind.names]
    if not lines:
        return
    cells = list(zip(*(cells for _, cells in lines), strict=True))
    columns: list[Sequence[str]] = [
        [alt] * len(lines) if i is None else cells[i] for i, alt in zip(order, instead, strict=True)
    ]
    for i in texts_of(kind):
        columns[i] = let_go_column(columns[i])
    try:
        parsed = [field.column(texts) for field, texts in zip(kind.fields, columns, strict=True)]
        rows = [list(values) for values in zip(*parsed, strict=True)]
        for values in rows:
            kind.check_rules(values)
    except BadValue:
        parsers = [field.from_text for field in kind.fields]
        for (place, _), texts in zip(lines, zip(*columns, strict=True), strict=True):
            row = _row(texts, parsers, place, problems, kind)
            if row is not None:
                yield place, row
        return
    for (place, _), values in zip(lines, rows, strict=True):
        if not problems.finds(place, values):
            yield place, kind.row_of(values)


def _name_problem(names: Sequence[str], kind: Kind) -> str:
    """What is wrong with the columns of a file, '' if nothing is."""
    missing = [name for name in kind.names if name not in names and name not in kind.defaults]
    for other, how in (
        (NOTES, "with --notes"),
        (LAYOUTS, "with --cards"),
        (ATTEMPTS, "without --notes"),
    ):
        if kind is not other and set(names) >= set(other.names) - set(other.defaults):
            return f"these are {other.table}; import them {how}"
    unknown = [quoted(name) for name in names if name not in kind.names]
    if missing:
        return f"no column {', '.join(missing)}; needed are {', '.join(kind.names)}"
    if unknown:
        return f"unknown column {', '.join(unknown[:5])}; allowed: {', '.join(kind.names)}"
    if len(set(names)) < len(names):
        doubled = [name for name in kind.names if names.count(name) > 1]
        return f"column {', '.join(doubled)} stands there more than once"
    return ""


def _read_csv(path: Path, problems: _Problems, kind: Kind, told: Told) -> Iterator[tuple[int, Row]]:
    waiting: list[tuple[int, list[str]]] = []  # lines that are not checked yet
    order: list[int | None] = []
    read = 0  # bytes
    with path.open(encoding="utf-8-sig", newline="") as file:  # spreadsheets write a mark first
        reader = csv.reader(file, strict=True)
        try:
            names = next(reader, [])
            if wrong := _name_problem(names, kind):
                problems.add(1, "", wrong)
                raise problems.error()
            order = [names.index(name) if name in names else None for name in kind.names]
            for cells in reader:
                if len(cells) == len(names):
                    waiting.append((reader.line_num, cells))
                if len(waiting) == AT_ONCE or len(cells) not in (0, len(names)):
                    yield from _rows(waiting, order, problems, kind)
                    waiting.clear()
                    before, read = read, os.lseek(file.fileno(), 0, os.SEEK_CUR)
                    told(read - before)
                if len(cells) not in (0, len(names)):  # an empty line is none
                    problems.add(reader.line_num, "", f"{len(cells)} values; allowed: {len(names)}")
            yield from _rows(waiting, order, problems, kind)
        except UnicodeDecodeError:
            raise TrainerError(f"{shown(path)} is not UTF-8 text") from None
        except csv.Error as error:
            yield from _rows(waiting, order, problems, kind)
            problems.add(reader.line_num, "", f"not CSV: {error}")
    if problems.count:
        raise problems.error()


def _read_json(path: Path, problems: _Problems, kind: Kind, told: Told) -> Iterator[tuple[int, Row]]:
    parsers = [field.from_json for field in kind.fields]
    read = 0
    for place, (record, end) in enumerate(_load(path, kind), 1):
        if place % AT_ONCE == 0:
            told(end - read)
            read = end
        if not isinstance(record, dict):
            problems.add(place, "", f"{quoted(record)} is not an object with names and values")
        elif wrong := _name_problem(tuple(record), kind):
            problems.add(place, "", wrong)
        else:
            whole = {**kind.defaults, **record}
            row = _row([whole[name] for name in kind.names], parsers, place, problems, kind)
            if row is not None:
                yield place, row
    if problems.count:
        raise problems.error()


def _load(path: Path, kind: Kind) -> Iterator[tuple[Any, int]]:
    """The records of a JSON file one by one, and where each ends.

    As objects all of them would take twenty times the file.
    """
    try:
        text = path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError:
        raise TrainerError(f"{shown(path)} is not UTF-8 text") from None
    try:
        yield from _history(text, f"{shown(path)} holds no list; allowed: a list of objects, each {kind.one}")
    except ValueError as error:
        raise TrainerError(f"{shown(path)} is not JSON: {error}") from None
    except RecursionError:
        raise TrainerError(f"{shown(path)} is nested too deeply; allowed: a list of objects") from None


def _history(text: str, no_list: str) -> Iterator[tuple[Any, int]]:
    decoder = json.JSONDecoder(object_pairs_hook=_without_doubles)
    at = _after_space(text, 0)
    if text[at : at + 1] != "[":
        _record(decoder, text, at)  # what isn't JSON at all is told as that
        raise TrainerError(no_list)
    at = _after_space(text, at + 1)
    if text[at : at + 1] != "]":
        while True:
            record, at = _record(decoder, text, at)
            yield record, at
            at = _after_space(text, at)
            if text[at : at + 1] != ",":
                break
            at = _after_space(text, at + 1)
    if text[at : at + 1] != "]":
        raise json.JSONDecodeError("Expecting ',' delimiter", text, at)
    at = _after_space(text, at + 1)
    if at < len(text):
        raise json.JSONDecodeError("Extra data", text, at)


def _record(decoder: json.JSONDecoder, text: str, at: int) -> tuple[Any, int]:
    """The record that begins at a place, and where it ends."""
    window = WINDOW
    while True:
        try:
            record, length = decoder.raw_decode(text[at : at + window])
            if length < window or at + window >= len(text):  # else a number may go on
                return record, at + length
        except json.JSONDecodeError as error:
            if at + window >= len(text):
                raise json.JSONDecodeError(error.msg, text, at + error.pos) from None
        if window >= LONGEST:
            raise json.JSONDecodeError(f"More than {LONGEST} characters in one record", text, at)
        window *= 8


def _after_space(text: str, at: int) -> int:
    found = SPACE.match(text, at)
    return found.end() if found else at


def _without_doubles(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    record = dict(pairs)
    if len(record) < len(pairs):
        names = [name for name, _ in pairs]
        doubled = next(name for name in names if names.count(name) > 1)
        raise ValueError(f"{quoted(doubled)} stands twice in one object")
    return record


READERS = {".csv": _read_csv, ".json": _read_json}

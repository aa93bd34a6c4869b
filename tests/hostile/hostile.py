"""Hostile input, made from a seed: texts, numbers, files and histories that nobody sound would write.

What tests of it share: how it is made, and what no answer to it may hold.
"""

import io
import json
import random
import re
import sqlite3
import sys
from contextlib import closing, redirect_stderr, redirect_stdout
from pathlib import Path
from typing import Any

from trainer.cli import main

NOW = ("--now", "2026-03-01T12:00:00+00:00")

# What no terminal may be sent from outside: C0 but the newline, C1, marks that turn the direction of text.
CONTROL = re.compile(
    "[\x00-\x09\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ufeff\ud800-\udfff]"
)

TEXTS = (
    "",
    " ",
    "\x1b[2J\x1b[1;1Hgone",
    "\x1b]0;a title\x07",
    "\x9b31mred",
    "[red]red[/red]",
    "[@click=app.quit]here[/]",
    "[/]",
    "[bold",
    "$key [on $panel]",
    "\u202eedir",
    "a\u2066b\u2069",
    "\u200fx",
    "line\nbreak",
    "\r\rover",
    "a\tb",
    "\x00",
    "a\x00b",
    "../../x",
    "/etc/passwd",
    "..\\x",
    "CON",
    "nul.txt",
    "~root",
    "nan",
    "NaN",
    "-inf",
    "1e999",
    "9" * 5000,
    "[" * 5000,
    "{}",
    "[]",
    "null",
    "[NaN]",
    '[["a","b",1e999]]',
    "[[1,2,3]]",
    '{"version":1}',
    "2026-02-31",
    "0000-00-00",
    "9999-12-31",
    "\u0663",
    "é" * 300,
    "\U0001f3b1\ufe0f\u200d",
    "e" + "\u0301" * 50,
    "\ufeffbom",
    "％s %s {0} {x}",
    "left",
    "true",
    "a-b_c",
)
NUMBERS: tuple[Any, ...] = (
    *(0, -1, 1, 2, 7, 1e-300, -0.0, 0.5, 1.5, -1.5, 91.0, 1000.5),
    *(2**31, 2**53 + 1, 2**63 - 1, -(2**63), 1e18, 1e300, -1e300, 1.7e308),
    *(float("inf"), float("-inf"), float("nan")),
)
# Values for a column of SQLite: also bytes, and texts that aren't UTF-8.
STORED: tuple[Any, ...] = (None, *TEXTS, *NUMBERS, b"", b"\xff\xfe", b"\x00" * 20)
COMMANDS: tuple[tuple[str, ...], ...] = (
    ("report",),
    ("report", "--json"),
    ("report", "--page", "page.html"),
    ("today",),
    ("today", "--json"),
    ("levels",),
    ("levels", "--json"),
    ("tables",),
    ("play", "--lines", "--shots", "2"),
    ("play", "eighths", "--lines"),
    ("warmup", "--lines", "--shots", "2"),
    ("notebook", "--list"),
    ("notebook", "--list", "--json"),
    ("notebook", "1/2", "left", "thick"),
    ("notebook", "--undo"),
    ("export", "out.csv"),
    ("export", "out.json"),
    ("export", "notes.csv", "--notes"),
    ("export", "notes.json", "--notes"),
    ("card", "--json"),
    ("undo", "--json"),
    ("backups",),
    ("backups", "--json"),
    ("restore", "2026-03-01-1-daily", "--yes"),
    ("players",),
    ("players", "--json"),
    ("shot", "--json", "--seed", "1"),
)


def make_history(folder: Path) -> None:
    """A history with something of each kind: calls, one taken back, sets, notes, settings, a copy."""
    data = ("--data", str(folder), *NOW)
    for words in (
        ("simulate", "--into", str(folder), "--days", "2", "--shots", "12", "--seed", "3", *NOW),
        ("notebook", "1/2", "left", "thick", *data),
        ("notebook", "3/4", "right", "thin", "far", *data),
        ("notebook", "1/4", "left", "potted", *data),
        ("notebook", "--undo", *data),
        ("undo", "--yes", *data),
        ("today", "--minutes", "10", *data),
    ):
        assert main(words) == 0, words


def change_history(file: Path, chance: random.Random) -> str:
    """Change some values of a history by hand, also to what its tables don't allow; says what was done."""
    done = []
    with closing(sqlite3.connect(file, isolation_level=None)) as db:
        db.execute("PRAGMA ignore_check_constraints = ON")
        tables = [name for (name,) in db.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
        while not done:
            table = chance.choice(tables)
            info = db.execute(f"PRAGMA table_info({table})").fetchall()
            column, key = chance.choice(info)[1], info[0][1]
            value = chance.choice(STORED)
            stored = "CAST(x'61ff62' AS TEXT)" if value == b"\xff\xfe" and chance.random() < 0.5 else "?"
            which = chance.choice(("true", f"{key} = (SELECT max({key}) FROM {table})", "random() % 5 = 0"))
            try:
                count = db.execute(
                    f'UPDATE {table} SET "{column}" = {stored} WHERE {which}', (value,) * (stored == "?")
                ).rowcount
            except (sqlite3.IntegrityError, OverflowError):
                continue
            if count:
                done.append(f"{table}.{column} = {str(value)[:30]!r} ({stored}, {count} rows)")
        if chance.random() < 0.5:
            db.execute("DELETE FROM snapshots")  # what follows from the attempts is worked out again
    return "; ".join(done)


KINDS = ("level", "table", "settings", "attempts.csv", "attempts.json", "notes.csv", "notes.json")
LEVELS = Path(__file__).parents[2] / "levels"
TABLE = """\
title = "The club's long table"
like = "snooker"
[size]
length_mm = 3500
width_in = 70
[balls]
object_mm = 52.4
cue_g = 140
[marks]
baulk_mm = 700
spots_mm = [[100, 200], [300, 400]]
[corner]
mouth_mm = 88
facing = 140
[pockets]
jaw_help = "near"
[stroke]
throw = true
speed = 1.5
spin = "stun"
"""
PLACED = ("--cue-ball", "700,500", "--object-ball", "300,500", "--pocket", "baulk-left")
SETTINGS = 'glyphs = "halves"\ncolours = 256\ncell_shape = 2.1\nrollover_hour = 5\n'


def hostile_file(kind: str, folder: Path, good: Path, chance: random.Random) -> list[tuple[str, ...]]:
    """Write a hostile file of a kind into a new data folder; the commands that will read it.

    ``good`` holds sound exports, as :func:`make_exports` writes them.
    """
    what, _, ending = kind.partition(".")
    if ending:
        raw = (good / kind).read_bytes()
        file = folder / f"in.{ending}"
        words = ("import", str(file), *(("--notes",) if what == "notes" else ()))
        commands: list[tuple[str, ...]] = [words]
        if chance.random() < 0.2:
            commands += [("report",), ("notebook", "--list")]
    elif kind == "settings":
        raw, file, commands = SETTINGS.encode(), folder / "settings.toml", [("today",)]
    else:
        source = chance.choice(sorted(LEVELS.glob("*.toml")))
        raw = source.read_bytes() if kind == "level" else TABLE.encode()
        name = chance.choice(("mine", "mine", "mine", "two words", "x\x1b[2J", "[red]x", "nul", "\u202ex"))
        file = folder / f"{kind}s" / f"{name}.toml"
        commands = [(f"{kind}s", "--check", str(file))]
        if kind == "table":
            commands += [("tables",), ("tables", "--json"), ("shot", *PLACED, "--table", "mine")]
        elif chance.random() < 0.3:
            commands += [("shot", "--level", "mine", "--seed", "2"), ("play", "mine", "--lines"), ("today",)]
            commands += [("levels", "--add", str(file), "--yes")]
        commands = commands[: chance.choice((1, 1, 4))]
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_bytes(mutated(raw, chance))
    return commands


def mutated(raw: bytes, chance: random.Random) -> bytes:
    """Bytes of a good file with something done to them that a hand, a program or an attacker may do."""
    how = chance.randrange(10)
    if how <= 4:  # a value or a key replaced: mostly still well formed
        for _ in range(chance.choice((1, 1, 2, 5))):
            raw = _with_other_value(raw, chance)
        return raw
    if how == 5:  # bytes changed, put in and left out
        some = bytearray(raw)
        for _ in range(chance.choice((1, 3, 20))):
            at = chance.randrange(len(some) + 1)
            some[at : at + chance.choice((0, 1, 1, 50))] = chance.randbytes(chance.choice((0, 1, 1, 8)))
        return bytes(some)
    if how == 6:  # another encoding
        text = raw.decode()
        name = chance.choice(("utf-16", "utf-16-be", "utf-32", "utf-8-sig", "cp500", "latin-1"))
        return (text + "é" * (name == "latin-1")).encode(name, errors="replace")
    if how == 7:  # cut short, doubled, or lines out of order
        lines = raw.splitlines(keepends=True)
        return chance.choice(
            (raw[: chance.randrange(len(raw) + 1)], raw + raw, b"".join(chance.sample(lines, len(lines))))
        )
    if how == 8:  # nested deeply, or very long
        deep = chance.choice((10, 1000, 100_000))
        opened, closed = chance.choice(((b"[", b"]"), (b'{"a":', b"}"), (b"x = [", b""), (b"[[a.", b"]]")))
        return chance.choice((b"", b"title = ", b"a,b\n")) + opened * deep + b"1" + closed * deep
    return chance.choice((b"", b"\n", b"\x00" * 999, b"\xff" * 999, b"\r", b'"', b"[]", b"{}", b"null", b"#"))


WORD = re.compile(rb'"[^"\n]*"|-?[0-9][0-9.e+-]*|[A-Za-z_-]+')


def _with_other_value(raw: bytes, chance: random.Random) -> bytes:
    found = list(WORD.finditer(raw))
    if not found:
        return raw
    one = chance.choice(found)
    value = chance.choice((*TEXTS, *NUMBERS, [], {}, [[1, 2]], True, None, [1e308, "x"]))
    said = str(value) if chance.random() < 0.5 else json.dumps(value, ensure_ascii=chance.random() < 0.5)
    return raw[: one.start()] + said.encode(errors="replace") + raw[one.end() :]


def make_exports(folder: Path) -> None:
    """Sound exports of a history, to be spoilt."""
    data = ("--data", str(folder / "history"), *NOW)
    make_history(folder / "history")
    for ending in ("csv", "json"):
        assert main(("export", str(folder / f"attempts.{ending}"), *data)) == 0
        assert main(("export", str(folder / f"notes.{ending}"), "--notes", *data)) == 0


def problem_with(words: tuple[str, ...], code: int, out: str, err: str, *, many: bool = False) -> str:
    """What is wrong with the answer of a command to hostile input; '' if nothing is.

    ``many`` allows for a line each where there are several problems.
    """
    if code not in (0, 1):
        return f"exit code {code}"
    if found := CONTROL.search(out + err):
        return f"sends {found[0]!r} to the terminal"
    if "Traceback" in out + err or "fault of the trainer" in err:
        return "a fault of its own"
    if code == 1 and not err:
        return "doesn't say what is wrong"
    said = [
        line for line in err.splitlines() if "is set aside as" not in line
    ]  # first what was done about damage
    if code == 1 and not many and not ("--lines" in words and out) and len(said) != 1:
        return f"says {len(said)} lines of what is wrong"
    if code == 0 and ({"--json", "--lines"} & set(words)):
        for line in out.splitlines():
            try:
                json.loads(line, parse_constant=_not_json)
            except ValueError as error:
                return f"prints what isn't JSON: {error}"
    return ""


def answered(words: tuple[str, ...], *, many: bool = False, usage: bool = False) -> str:
    """Run a command and say what is wrong with its answer, see :func:`problem_with`.

    A fault of the program is raised. ``usage`` allows for a usage error.
    """
    out, err = io.StringIO(), io.StringIO()
    stdin, sys.stdin = sys.stdin, io.StringIO("1\n1\n")
    try:
        with redirect_stdout(out), redirect_stderr(err):
            code = main(words)
    finally:
        sys.stdin = stdin
    return problem_with(words, 1 if usage and code == 2 else code, out.getvalue(), err.getvalue(), many=many)


def _not_json(name: str) -> None:
    raise ValueError(name)

"""Histories of versions before this one, made with the statements that made them then."""

import sqlite3
import struct
import zlib
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

from trainer.history.attempt import ATTEMPTS
from trainer.history.note import NOTES
from trainer.history.store import FILE

APPLICATION_ID = 0x506F7441
LINE = ("id", "epoch_ms", "offset_s", "zone", "local_day")
SEALED = {
    "attempts": ATTEMPTS.columns,
    "undone": ("id", "attempt_id", *LINE[1:]),
    "notes": NOTES.columns[:-2],  # without pace and layout
    "sets": ("id", "epoch_ms", "offset_s", "zone", "level", "drill", "seed", "shots", "finished"),
    "settings": ("key", "value"),
    "derived": ("name", "last_id", "attempts", "undone", "text"),
}
COUNTED = ("attempts", "undone", "notes", "sets")


def line_check(*values: Any) -> int:
    """What the versions from 6 on kept of every line."""
    told = ascii([value for value in values if not isinstance(value, float)]).encode()
    reals = [value for value in values if isinstance(value, float)]
    return zlib.crc32(struct.pack(f"<{len(reals)}d", *reals), zlib.crc32(told))


def check_of(table: str) -> str:
    return "line_check({})".format(", ".join(f'"{column}"' for column in SEALED[table]))


STEPS: tuple[tuple[str, ...], ...] = (
    (
        f"PRAGMA application_id = {APPLICATION_ID}",
        """
        CREATE TABLE attempts (
            id TEXT NOT NULL PRIMARY KEY,
            epoch_ms INTEGER NOT NULL,
            offset_s INTEGER NOT NULL,
            zone TEXT NOT NULL,
            local_day TEXT NOT NULL,
            set_id TEXT NOT NULL,
            number INTEGER NOT NULL,
            "of" INTEGER NOT NULL,
            level TEXT NOT NULL,
            drill TEXT NOT NULL,
            view TEXT NOT NULL,
            "table" TEXT NOT NULL,
            cue_ball_x NOT NULL,
            cue_ball_y NOT NULL,
            object_ball_x NOT NULL,
            object_ball_y NOT NULL,
            pocket TEXT NOT NULL,
            speed,
            roll,
            side_spin,
            cut_deg NOT NULL,
            "offset" NOT NULL,
            fullness NOT NULL,
            throw_deg NOT NULL,
            margin_low NOT NULL,
            margin_high NOT NULL,
            target_x NOT NULL,
            target_y NOT NULL,
            touching_x NOT NULL,
            touching_y NOT NULL,
            choices TEXT NOT NULL,
            answer_width NOT NULL,
            "key" TEXT NOT NULL,
            call TEXT NOT NULL,
            value NOT NULL,
            called_offset NOT NULL,
            error NOT NULL,
            potted INTEGER NOT NULL CHECK (potted IN (0, 1)),
            "right" INTEGER NOT NULL CHECK ("right" IN (0, 1)),
            miss_mm NOT NULL,
            seconds
        ) WITHOUT ROWID
        """,
        "CREATE INDEX attempts_by_set ON attempts (set_id)",
        "CREATE INDEX attempts_by_day ON attempts (local_day)",
        """
        CREATE TABLE sets (
            id TEXT NOT NULL PRIMARY KEY,
            epoch_ms INTEGER NOT NULL,
            offset_s INTEGER NOT NULL,
            zone TEXT NOT NULL,
            level TEXT NOT NULL,
            drill TEXT NOT NULL,
            seed INTEGER NOT NULL,
            shots INTEGER NOT NULL,
            finished INTEGER NOT NULL DEFAULT 0 CHECK (finished IN (0, 1))
        ) WITHOUT ROWID
        """,
        "CREATE INDEX sets_by_level ON sets (level, drill, id)",
        """
        CREATE TABLE settings (
            "key" TEXT NOT NULL PRIMARY KEY,
            value TEXT NOT NULL
        ) WITHOUT ROWID
        """,
    ),
    ("ALTER TABLE attempts ADD COLUMN others TEXT NOT NULL DEFAULT '[]'",),
    # Calls that were taken back. One may have several lines, from several machines: the earliest says when.
    (
        """
        CREATE TABLE undone (
            id TEXT NOT NULL PRIMARY KEY,
            attempt_id TEXT NOT NULL REFERENCES attempts (id),
            epoch_ms INTEGER NOT NULL,
            offset_s INTEGER NOT NULL,
            zone TEXT NOT NULL,
            local_day TEXT NOT NULL
        ) WITHOUT ROWID
        """,
        "CREATE INDEX undone_by_attempt ON undone (attempt_id, epoch_ms, offset_s)",
    ),
    (
        """
        CREATE TABLE notes (
            id TEXT NOT NULL PRIMARY KEY,
            epoch_ms INTEGER NOT NULL,
            offset_s INTEGER NOT NULL,
            zone TEXT NOT NULL,
            local_day TEXT NOT NULL,
            "table" TEXT NOT NULL,
            fullness NOT NULL,
            called TEXT NOT NULL,
            side TEXT NOT NULL,
            result TEXT NOT NULL,
            distance NOT NULL,
            cue_ball_x,
            cue_ball_y,
            object_ball_x,
            object_ball_y,
            pocket TEXT NOT NULL,
            undoes TEXT NOT NULL
        ) WITHOUT ROWID
        """,
    ),
    # How many attempts there are, so that nobody counts them; and what follows from them, to be had at once.
    (
        "CREATE TABLE totals (name TEXT NOT NULL PRIMARY KEY, n INTEGER NOT NULL) WITHOUT ROWID",
        "INSERT INTO totals SELECT 'attempts', count(*) FROM attempts",
        """
        CREATE TRIGGER attempt_added AFTER INSERT ON attempts BEGIN
            UPDATE totals SET n = n + 1 WHERE name = 'attempts';
        END
        """,
        """
        CREATE TABLE derived (
            name TEXT NOT NULL PRIMARY KEY,
            last_id TEXT NOT NULL,
            attempts INTEGER NOT NULL,
            undone INTEGER NOT NULL,
            "check" INTEGER NOT NULL,
            text TEXT NOT NULL
        ) WITHOUT ROWID
        """,
    ),
    # Every line has a check value, and every number stands there a second time, its bits the other way round.
    (
        *(f'ALTER TABLE {table} ADD COLUMN "check" INTEGER' for table in SEALED if table != "derived"),
        *(f'UPDATE {table} SET "check" = {check_of(table)}' for table in SEALED),
        "DROP TRIGGER attempt_added",
        'ALTER TABLE totals ADD COLUMN "check" INTEGER',
        "UPDATE totals SET n = (SELECT count(*) FROM attempts NOT INDEXED) WHERE name = 'attempts'",
        *(
            f"INSERT INTO totals (name, n) SELECT '{table}', count(*) FROM {table} NOT INDEXED"
            for table in COUNTED
            if table != "attempts"
        ),
        'UPDATE totals SET "check" = ~n',
        *(
            f"CREATE TRIGGER added_to_{table} AFTER INSERT ON {table} BEGIN "
            f'UPDATE totals SET n = n + 1, "check" = "check" - 1 WHERE name = \'{table}\'; END'
            for table in COUNTED
        ),
    ),
    # What each value may be is checked by SQLite itself.
    (
        *(f"DROP TABLE {name}" for name in ("undone", "attempts", "notes", "sets", "settings", "derived")),
        "DROP TABLE totals",
        """
        CREATE TABLE attempts ("id" TEXT NOT NULL CHECK ("id" GLOB
        '????????-????-7???-????-????????????') PRIMARY KEY, epoch_ms INTEGER NOT NULL CHECK
        (epoch_ms BETWEEN 0 AND 253370764799999), offset_s INTEGER NOT NULL CHECK (abs(offset_s) <
        86400), "zone" TEXT NOT NULL CHECK (length("zone") BETWEEN 0 AND 200), "local_day" TEXT
        NOT NULL CHECK (date("local_day", '+0 days') IS "local_day" AND "local_day" > '0001'),
        "set_id" TEXT NOT NULL CHECK (length("set_id") BETWEEN 1 AND 200), "number" INTEGER NOT
        NULL CHECK ("number" BETWEEN 1 AND 1000000), "of" INTEGER NOT NULL CHECK ("of" BETWEEN 0
        AND 1000000), "level" TEXT NOT NULL CHECK (length("level") BETWEEN 0 AND 200), "drill"
        TEXT NOT NULL CHECK (length("drill") BETWEEN 1 AND 200), "view" TEXT NOT NULL CHECK
        (length("view") BETWEEN 1 AND 200), "table" TEXT NOT NULL CHECK (length("table") BETWEEN 1
        AND 200), "cue_ball_x" ANY NOT NULL CHECK (typeof("cue_ball_x") = 'real' AND "cue_ball_x"
        BETWEEN -100000.0 AND 100000.0), "cue_ball_y" ANY NOT NULL CHECK (typeof("cue_ball_y") =
        'real' AND "cue_ball_y" BETWEEN -100000.0 AND 100000.0), "object_ball_x" ANY NOT NULL
        CHECK (typeof("object_ball_x") = 'real' AND "object_ball_x" BETWEEN -100000.0 AND
        100000.0), "object_ball_y" ANY NOT NULL CHECK (typeof("object_ball_y") = 'real' AND
        "object_ball_y" BETWEEN -100000.0 AND 100000.0), "pocket" TEXT NOT NULL CHECK ("pocket" IN
        ('baulk-left', 'baulk-right', 'middle-left', 'middle-right', 'top-left', 'top-right')),
        "speed" ANY CHECK ("speed" IS NULL OR typeof("speed") = 'real' AND "speed" BETWEEN 0 AND
        100), "roll" ANY CHECK ("roll" IS NULL OR typeof("roll") = 'real' AND "roll" BETWEEN -10
        AND 10), "side_spin" ANY CHECK ("side_spin" IS NULL OR typeof("side_spin") = 'real' AND
        "side_spin" BETWEEN -10 AND 10), "cut_deg" ANY NOT NULL CHECK (typeof("cut_deg") = 'real'
        AND "cut_deg" BETWEEN -90 AND 90), "offset" ANY NOT NULL CHECK (typeof("offset") = 'real'
        AND "offset" BETWEEN -100.0 AND 100.0), "fullness" ANY NOT NULL CHECK (typeof("fullness")
        = 'real' AND "fullness" BETWEEN 0 AND 1), "throw_deg" ANY NOT NULL CHECK
        (typeof("throw_deg") = 'real' AND "throw_deg" BETWEEN -90 AND 90), "margin_low" ANY NOT
        NULL CHECK (typeof("margin_low") = 'real' AND "margin_low" BETWEEN -100.0 AND 100.0),
        "margin_high" ANY NOT NULL CHECK (typeof("margin_high") = 'real' AND "margin_high" BETWEEN
        -100.0 AND 100.0), "target_x" ANY NOT NULL CHECK (typeof("target_x") = 'real' AND
        "target_x" BETWEEN -100000.0 AND 100000.0), "target_y" ANY NOT NULL CHECK
        (typeof("target_y") = 'real' AND "target_y" BETWEEN -100000.0 AND 100000.0), "touching_x"
        ANY NOT NULL CHECK (typeof("touching_x") = 'real' AND "touching_x" BETWEEN -100000.0 AND
        100000.0), "touching_y" ANY NOT NULL CHECK (typeof("touching_y") = 'real' AND "touching_y"
        BETWEEN -100000.0 AND 100000.0), "choices" TEXT NOT NULL CHECK (json_valid("choices") AND
        json_type("choices") = 'array'), "answer_width" ANY NOT NULL CHECK (typeof("answer_width")
        = 'real' AND "answer_width" BETWEEN 0 AND 100.0), "key" TEXT NOT NULL CHECK (length("key")
        BETWEEN 0 AND 200), "call" TEXT NOT NULL CHECK (length("call") BETWEEN 1 AND 200), "value"
        ANY NOT NULL CHECK (typeof("value") = 'real' AND "value" BETWEEN -1000000000.0 AND
        1000000000.0), "called_offset" ANY NOT NULL CHECK (typeof("called_offset") = 'real' AND
        "called_offset" BETWEEN -100.0 AND 100.0), "error" ANY NOT NULL CHECK (typeof("error") =
        'real' AND "error" BETWEEN -1000000000.0 AND 1000000000.0), "potted" INTEGER NOT NULL
        CHECK ("potted" IN (0, 1)), "right" INTEGER NOT NULL CHECK ("right" IN (0, 1)), "miss_mm"
        ANY NOT NULL CHECK (typeof("miss_mm") = 'real' AND "miss_mm" BETWEEN 0 AND 1000000000.0),
        "seconds" ANY CHECK ("seconds" IS NULL OR typeof("seconds") = 'real' AND "seconds" BETWEEN
        0 AND 1000000000.0), "others" TEXT NOT NULL CHECK (json_valid("others") AND
        json_type("others") = 'array'), CHECK ((coalesce(speed, '') <> '') + (coalesce(roll, '')
        <> '') + (coalesce(side_spin, '') <> '') IN (0, 3))) STRICT, WITHOUT ROWID
        """,
        """
        CREATE TABLE undone ("id" TEXT NOT NULL CHECK ("id" GLOB
        '????????-????-7???-????-????????????') PRIMARY KEY, "attempt_id" TEXT NOT NULL CHECK
        ("attempt_id" GLOB '????????-????-7???-????-????????????'), epoch_ms INTEGER NOT NULL
        CHECK (epoch_ms BETWEEN 0 AND 253370764799999), offset_s INTEGER NOT NULL CHECK
        (abs(offset_s) < 86400), "zone" TEXT NOT NULL CHECK (length("zone") BETWEEN 0 AND 200),
        "local_day" TEXT NOT NULL CHECK (date("local_day", '+0 days') IS "local_day" AND
        "local_day" > '0001'), FOREIGN KEY (attempt_id) REFERENCES attempts (id)) STRICT, WITHOUT
        ROWID
        """,
        """
        CREATE TABLE notes ("id" TEXT NOT NULL CHECK ("id" GLOB
        '????????-????-7???-????-????????????') PRIMARY KEY, epoch_ms INTEGER NOT NULL CHECK
        (epoch_ms BETWEEN 0 AND 253370764799999), offset_s INTEGER NOT NULL CHECK (abs(offset_s) <
        86400), "zone" TEXT NOT NULL CHECK (length("zone") BETWEEN 0 AND 200), "local_day" TEXT
        NOT NULL CHECK (date("local_day", '+0 days') IS "local_day" AND "local_day" > '0001'),
        "table" TEXT NOT NULL CHECK (length("table") BETWEEN 1 AND 200), "fullness" ANY NOT NULL
        CHECK (typeof("fullness") = 'real' AND "fullness" BETWEEN 0 AND 1), "called" TEXT NOT NULL
        CHECK (length("called") BETWEEN 1 AND 200), "side" TEXT NOT NULL CHECK ("side" IN ('left',
        'right')), "result" TEXT NOT NULL CHECK ("result" IN ('potted', 'thick', 'thin',
        'undone')), "distance" ANY NOT NULL CHECK ("distance" IN ('near', 'middle', 'far') OR
        (typeof("distance") = 'real' AND "distance" BETWEEN 1 AND 100000.0)), "cue_ball_x" ANY
        CHECK ("cue_ball_x" IS NULL OR typeof("cue_ball_x") = 'real' AND "cue_ball_x" BETWEEN
        -100000.0 AND 100000.0), "cue_ball_y" ANY CHECK ("cue_ball_y" IS NULL OR
        typeof("cue_ball_y") = 'real' AND "cue_ball_y" BETWEEN -100000.0 AND 100000.0),
        "object_ball_x" ANY CHECK ("object_ball_x" IS NULL OR typeof("object_ball_x") = 'real' AND
        "object_ball_x" BETWEEN -100000.0 AND 100000.0), "object_ball_y" ANY CHECK
        ("object_ball_y" IS NULL OR typeof("object_ball_y") = 'real' AND "object_ball_y" BETWEEN
        -100000.0 AND 100000.0), "pocket" TEXT NOT NULL CHECK (length("pocket") <= 200), "undoes"
        TEXT NOT NULL CHECK (length("undoes") <= 200), CHECK ((coalesce(cue_ball_x, '') <> '') +
        (coalesce(cue_ball_y, '') <> '') + (coalesce(object_ball_x, '') <> '') +
        (coalesce(object_ball_y, '') <> '') + (coalesce(pocket, '') <> '') IN (0, 5)), CHECK
        ((result = 'undone') = (undoes <> '')), CHECK (undoes <> id)) STRICT, WITHOUT ROWID
        """,
        """
        CREATE TABLE sets ( id TEXT NOT NULL PRIMARY KEY, epoch_ms INTEGER NOT NULL, offset_s
        INTEGER NOT NULL, zone TEXT NOT NULL, level TEXT NOT NULL, drill TEXT NOT NULL, seed
        INTEGER NOT NULL, shots INTEGER NOT NULL CHECK (shots BETWEEN 0 AND 1000000), finished
        INTEGER NOT NULL DEFAULT 0 CHECK (finished IN (0, 1)) ) STRICT, WITHOUT ROWID
        """,
        """
        CREATE TABLE settings ("key" TEXT NOT NULL PRIMARY KEY, value TEXT NOT NULL) STRICT,
        WITHOUT ROWID
        """,
        """
        CREATE TABLE snapshots (name TEXT NOT NULL PRIMARY KEY, last_id TEXT NOT NULL, text TEXT
        NOT NULL) STRICT, WITHOUT ROWID
        """,
    ),
)


@contextmanager
def older(folder: Path, version: int) -> Iterator[sqlite3.Connection]:
    """A new history of an older version, to be filled."""
    folder.mkdir(exist_ok=True)
    with closing(sqlite3.connect(folder / FILE, isolation_level=None)) as db:
        make(db, version)
        yield db


def make(db: sqlite3.Connection, version: int) -> None:
    """The tables of a version."""
    db.create_function("line_check", -1, line_check, deterministic=True)
    db.execute("PRAGMA journal_mode = WAL").fetchone()
    for step in STEPS[:version]:
        for statement in step:
            db.execute(statement)
    db.execute(f"PRAGMA user_version = {version}")


def make_older(folder: Path, version: int = 6) -> None:
    """Make a history one of an older version: what it holds goes into that one's tables."""
    file = folder / FILE
    file.rename(folder / "newer")
    with older(folder, version) as db:
        db.execute("ATTACH ? AS newer", (str(folder / "newer"),))
        db.execute("BEGIN")
        there = [name for (name,) in db.execute("SELECT name FROM main.sqlite_master WHERE type = 'table'")]
        for table in ("attempts", "undone", "notes", "sets", "settings"):
            if table in there:
                columns = [row[1] for row in db.execute(f"PRAGMA main.table_info({table})")]
                mine = ", ".join(f'"{column}"' for column in columns if column != "check")
                db.execute(f"INSERT INTO main.{table} ({mine}) SELECT {mine} FROM newer.{table}")
                if "check" in columns:
                    db.execute(f'UPDATE main.{table} SET "check" = {check_of(table)}')
        db.execute("COMMIT")
        db.execute("DETACH newer")
    (folder / "newer").unlink()

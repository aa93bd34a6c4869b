"""The tables of the history, as the steps that made them."""

from trainer.history import seal

APPLICATION_ID = 0x506F7441  # "PotA"

# The columns that lines had when they were sealed first.
SEALED = {
    "attempts": seal.SEALED["attempts"][:42],
    "undone": ("id", "attempt_id", "epoch_ms", "offset_s", "zone", "local_day"),
    "notes": seal.SEALED["notes"][:17],
    "sets": ("id", "epoch_ms", "offset_s", "zone", "level", "drill", "seed", "shots", "finished"),
    "settings": ("key", "value"),
    "derived": ("name", "last_id", "attempts", "undone", "text"),
}

# One tuple of statements a version. Append only: a step that was released is never changed.
# Real numbers have no declared type: SQLite would store -0.0 in a REAL column as 0.
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
        *(
            f'UPDATE {table} SET "check" = {seal.check_of(table, columns)}'
            for table, columns in SEALED.items()
        ),
        "DROP TRIGGER attempt_added",
        'ALTER TABLE totals ADD COLUMN "check" INTEGER',
        "UPDATE totals SET n = (SELECT count(*) FROM attempts NOT INDEXED) WHERE name = 'attempts'",
        *(
            f"INSERT INTO totals (name, n) SELECT '{table}', count(*) FROM {table} NOT INDEXED"
            for table in seal.COUNTED
            if table != "attempts"
        ),
        'UPDATE totals SET "check" = ~n',
        *(
            f"CREATE TRIGGER added_to_{table} AFTER INSERT ON {table} BEGIN "
            f'UPDATE totals SET n = n + 1, "check" = "check" - 1 WHERE name = \'{table}\'; END'
            for table in seal.COUNTED
        ),
    ),
)

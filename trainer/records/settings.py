"""The player's settings: ``settings.toml`` in the data folder, read strictly and changed with care.

``SETTINGS`` says what there is: a new setting is an entry there and a field of :class:`Settings`.
Whatever is wrong with the file is named, and nothing of it that can't be used stops anything.
"""

import json
import os
import re
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from trainer.records.clock import ROLLOVER_HOUR
from trainer.records.errors import RecordsError, shown
from trainer.records.fields import BadValue, Field, Number, OneOf, Whole
from trainer.records.folder import make_folder
from trainer.records.whole import written_whole
from trainer.shots.toml_reader import FileError, Reader, parse, read_text

FILE = "settings.toml"
# What pictures know by these names; their layer can't be seen from here, and a test holds them equal.
GLYPHS = ("plain", "halves", "quadrants", "sextants", "slanted")
COLOURS = ("true", "256", "16", "none")
CELL_SHAPES = (1.3, 3.2)  # no terminal's cells are flatter or slimmer


@dataclass(frozen=True)
class Settings:
    """What the player has chosen; None leaves it to what is known of the terminal, or usual."""

    glyphs: str | None = None
    colours: str | None = None
    cell_shape: float | None = None
    rollover_hour: int | None = None

    @property
    def day_begins(self) -> int:
        """The hour that a day begins at, from now on; days past are as they were kept."""
        return ROLLOVER_HOUR if self.rollover_hour is None else self.rollover_hour


@dataclass(frozen=True)
class _Word(OneOf):
    """One of a few words; TOML takes some for numbers, or for true, where they stand without quotes."""

    def check(self, value: Any) -> str:
        return super().check(str(value).lower() if isinstance(value, int) else value)


@dataclass(frozen=True)
class Setting:
    """A line of the file: what it may hold, an example while it holds nothing, and what it is."""

    field: Field
    example: str | float
    about: str

    @property
    def key(self) -> str:
        """Its name in the file and in :class:`Settings`."""
        return self.field.name

    def line(self, value: Any) -> str:
        """How the file says it, or, without a value, leaves it out."""
        shown = json.dumps(self.example if value is None else value)
        return f"{'# ' if value is None else ''}{self.key} = {shown}"


SETTINGS = (
    Setting(OneOf("glyphs", GLYPHS), "quadrants", f"What pictures are drawn with: {', '.join(GLYPHS)}."),
    Setting(_Word("colours", COLOURS), "256", f"How many colours pictures have: {', '.join(COLOURS)}."),
    Setting(
        Number("cell_shape", *CELL_SHAPES),
        2.0,
        f"How high a cell is for its width, {CELL_SHAPES[0]} to {CELL_SHAPES[1]}: balls are round by it.",
    ),
    Setting(
        Whole("rollover_hour", 0, 23),
        ROLLOVER_HOUR,
        "At which hour a day begins, 0 to 23, for the calls to come; days past stay as they are.",
    ),
)
_KEYS = {"": tuple(setting.key for setting in SETTINGS)}
_HEAD = """\
# Settings of the trainer. What is left out, or begins with #, is as your terminal is known to be, or usual.
# The page "Your terminal" (t at home) changes these lines, and leaves your own comments alone.
"""


def read_settings(folder: Path) -> tuple[Settings, tuple[str, ...]]:
    """The settings in a data folder, and every problem of the file, one line each.

    A file that isn't there has no problems. What can't be used, for whatever reason, is left out.
    """
    settings, problems, _ = _read(folder / FILE)
    return settings, problems


def save_settings(folder: Path, settings: Settings) -> Path | None:
    """Write the settings into a data folder; they are on disk when this returns.

    A sound file keeps its comments and what else is in it. One with problems is not lost either: it is
    set aside under another name, and a new one takes its place.

    Returns
    -------
    Path or None
        The other name, where a file was set aside.

    Raises
    ------
    RecordsError
        If a value isn't allowed, or the file can't be written; then the old one is as it was.
    """
    for setting in SETTINGS:
        value = getattr(settings, setting.key)
        try:
            setting.field.check(setting.example if value is None else value)
        except BadValue as error:
            raise RecordsError(f"setting {setting.key}: {error}") from None
    make_folder(folder)
    file = folder / FILE
    if os.path.islink(file):  # what it leads to is outside, and nothing is written there
        raise RecordsError(f"{shown(file)} is a link, and not written to; change the file it leads to")
    old, problems, text = _read(file)
    new = "" if problems else _changed(text, old, settings)
    aside = None
    if not new or _parsed(new, str(file)) != (settings, ()):
        aside = _free_name(file) if os.path.lexists(file) else None
        new = _fresh(settings)
    try:
        with written_whole(file) as out:
            out.write(new)
            if aside is not None:
                file.rename(aside)
    except OSError as error:
        if aside is not None and not os.path.lexists(file):
            with suppress(OSError):
                aside.rename(file)
        raise RecordsError(f"{shown(file)} can't be written: {error.strerror}") from None
    return aside


def _read(file: Path) -> tuple[Settings, tuple[str, ...], str]:
    """Settings, problems and text of a file."""
    if not os.path.lexists(file):
        return Settings(), (), ""
    try:
        _, where, text = read_text(file, "settings file", FileError)
    except FileError as error:
        return Settings(), tuple(error.problems), ""
    return *_parsed(text, where), text


def _parsed(text: str, where: str) -> tuple[Settings, tuple[str, ...]]:
    """What a text says, and every problem it has."""
    try:
        reader = Reader(parse(text, where, FileError), where, _KEYS)
    except FileError as error:
        return Settings(), tuple(error.problems)
    found = {}
    for setting in SETTINGS:
        if reader.has(setting.key):
            try:
                found[setting.key] = setting.field.check(reader.data[setting.key])
            except BadValue as error:
                reader.problems.append(f"{where}: {setting.key}: {error}")
    return Settings(**found), tuple(reader.problems)


def _fresh(settings: Settings) -> str:
    """A file of our own."""
    parts = [f"# {setting.about}\n{setting.line(getattr(settings, setting.key))}\n" for setting in SETTINGS]
    return "\n".join([_HEAD, *parts])


def _changed(text: str, old: Settings, settings: Settings) -> str:
    """The player's text with other values in the lines that must change; '' where there is no text."""
    for setting in SETTINGS:
        value = getattr(settings, setting.key)
        if not text.strip() or value == getattr(old, setting.key):
            continue
        line = setting.line(value)
        for start in ("[ \\t]*", "# "):  # a line that says it, else one that leaves it out
            # Up to a comment at the line's end.
            pattern = rf"(?m)^{start}{setting.key}[ \t]*=[^\r\n#]*?(?=[ \t]*(?:[\r\n#]|\Z))"
            changed = re.sub(pattern, line, text, count=1)
            if changed != text:
                text = changed
                break
        else:
            text = f"{text.rstrip()}\n\n# {setting.about}\n{line}\n"
    return text


def _free_name(file: Path) -> Path:
    """The first name beside a file that nothing has yet."""
    number = 1
    while os.path.lexists(aside := file.with_name(f"{file.name}.old-{number}")):
        number += 1
    return aside

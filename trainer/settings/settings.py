"""The player's settings: ``settings.toml`` in the data folder, read strictly and changed with care.

``SETTINGS`` says what there is: a new setting is an entry there and a field of :class:`Settings`.
Whatever is wrong with the file is named, and nothing of it that can't be used stops anything.
"""

import json
import os
import re
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from trainer.history.clock import ROLLOVER_HOUR
from trainer.history.errors import TrainerError, shown
from trainer.history.fields import BadValue, Field, Number, OneOf, Whole
from trainer.history.files import make_folder, written_whole
from trainer.levels.toml_reader import FileError, Reader, parse, read_text
from trainer.names import GLYPHS, VIEWS
from trainer.settings.keys import HANDS, clashes, keys_of, listed, read_keys
from trainer.shots.style import FRACTIONS, METRIC, NUMBERS, UNITS, Style

FILE = "settings.toml"
# The names that pictures use; their layer can't be imported here, and a test holds them equal.
COLOURS = ("true", "256", "16", "none")
MOTION = ("full", "reduced")
PICTURES = ("pixels", "cells")
BELL = PACE = ROUTINE = ("on", "off")
THEMES = ("club-room", "daylight", "high-contrast")  # as the app names them; a test holds them equal
STEP = 0.02  # of a number that has a fraction
USUAL = "as usual"
KNOWN = "automatic"
CELL_SHAPES = (1.3, 3.2)  # no terminal's cells are flatter or slimmer


@dataclass(frozen=True)
class Settings:
    """The player's choices; None means what is known of the terminal, or the usual."""

    glyphs: str | None = None
    colours: str | None = None
    cell_shape: float | None = None
    rollover_hour: int | None = None
    hand: str | None = None
    units: str | None = None
    numbers: str | None = None
    motion: str | None = None
    bell: str | None = None
    view: str | None = None
    pace: str | None = None
    routine: str | None = None
    theme: str | None = None
    pictures: str | None = None
    keys: Mapping[str, tuple[str, ...]] = field(default_factory=dict)  # only those the player has changed

    @property
    def day_begins(self) -> int:
        """The hour that a day begins at, from now on; days past are as they were kept."""
        return ROLLOVER_HOUR if self.rollover_hour is None else self.rollover_hour

    @property
    def style(self) -> Style:
        """How lengths and parts of a ball are written."""
        return Style(self.units or METRIC, self.numbers or FRACTIONS)

    @property
    def all_keys(self) -> dict[str, tuple[str, ...]]:
        """The keys of every action."""
        return keys_of(self.hand, self.keys)


@dataclass(frozen=True)
class _Word(OneOf):
    """One of a few words; without quotes TOML takes some for numbers, or for true."""

    def check(self, value: Any) -> str:
        return super().check(str(value).lower() if isinstance(value, int) else value)


@dataclass(frozen=True)
class _OrKnown(OneOf):
    """One of a few words, or what is known of the terminal, which has a word, too."""

    def check(self, value: Any) -> str | None:  # type: ignore[override]
        return None if value == KNOWN else super().check(value)


@dataclass(frozen=True)
class _Switch(OneOf):
    """On or off, which TOML may say by true and false."""

    def check(self, value: Any) -> str:
        return super().check(("off", "on")[value] if isinstance(value, bool) else value)


@dataclass(frozen=True)
class Setting:
    """A line of the file: what it may hold, an example while it holds nothing, what it is, its short name."""

    field: Field
    example: str | float
    about: str
    title: str
    usual: str = USUAL  # what it is while it holds nothing, in words

    @property
    def key(self) -> str:
        """Its name in the file and in :class:`Settings`."""
        return self.field.name

    def stepped(self, value: Any, steps: int) -> Any:
        """The value so many steps further on, or back (-), as far as it goes; None comes before all words."""
        if isinstance(self.field, OneOf):
            words = (None, *self.field.words)
            return words[min(max(words.index(value) + steps, 0), len(words) - 1)]
        assert isinstance(self.field, (Number, Whole))
        step = STEP if isinstance(self.field, Number) else 1
        further = float(self.example if value is None else value + steps * step)
        if isinstance(self.field, Whole):
            return min(max(int(further), self.field.low), self.field.high)
        return self.field.check(min(max(round(further, 2), self.field.low), self.field.high))

    def line(self, value: Any) -> str:
        """How the file says it, or, without a value, leaves it out."""
        shown = json.dumps(self.example if value is None else value)
        return f"{'# ' if value is None else ''}{self.key} = {shown}"


SETTINGS = (
    Setting(
        OneOf(GLYPHS, name="glyphs"),
        "quadrants",
        f"What pictures are drawn with: {', '.join(GLYPHS)}.",
        "Shapes in pictures",
        KNOWN,
    ),
    Setting(
        _Word(COLOURS, name="colours"),
        "256",
        f"How many colours pictures have: {', '.join(COLOURS)}.",
        "Colours in pictures",
        KNOWN,
    ),
    Setting(
        Number(*CELL_SHAPES, name="cell_shape"),
        2.0,
        f"How many times as high as wide a character is, {CELL_SHAPES[0]} to {CELL_SHAPES[1]}: "
        "balls are round by it.",
        "Height of a character",
        KNOWN,
    ),
    Setting(
        Whole(0, 23, name="rollover_hour"),
        ROLLOVER_HOUR,
        "At which hour a day begins, 0 to 23, for the calls to come; days past stay as they are.",
        "A day begins at",
        f"as usual: {ROLLOVER_HOUR} in the morning",
    ),
    Setting(
        OneOf(HANDS, name="hand"),
        "both",
        f"With which hand the keys are pressed: {', '.join(HANDS)}.",
        "Hand on the keys",
        "as usual: both",
    ),
    Setting(
        OneOf(UNITS, name="units"),
        "metric",
        "In which units distances are said: metric (mm, m) or imperial (in, ft).",
        "Distances",
        "as usual: metric",
    ),
    Setting(
        OneOf(NUMBERS, name="numbers"),
        "fractions",
        "How parts of a ball are said: fractions (1/16 ball) or hundredths (0.06 ball).",
        "Parts of a ball",
        "as usual: fractions",
    ),
    Setting(
        OneOf(MOTION, name="motion"),
        "full",
        "What moves: full (balls roll, looks glide) or reduced (nothing moves by itself).",
        "Motion",
        "as usual: full",
    ),
    Setting(
        _Switch(BELL, name="bell"),
        "off",
        "Whether the terminal's bell rings at the end of a set: on or off.",
        "Bell",
        "as usual: off",
    ),
    Setting(
        OneOf(VIEWS, name="view"),
        "standing",
        f"The view that shots are first shown in, where a level has it: {', '.join(VIEWS)}.",
        "View of a shot",
        "as the level shows it",
    ),
    Setting(
        _Switch(PACE, name="pace"),
        "off",
        "Whether each shot has a speed and a spin, so that throw counts in all of them: on or off.",
        "Pace and spin",
        "as usual: off",
    ),
    Setting(
        _Switch(ROUTINE, name="routine"),
        "off",
        "Whether each shot is called standing, then again down on it, where a set has both views: on or off.",
        "Standing, then down",
        "as usual: off",
    ),
    Setting(
        OneOf(THEMES, name="theme"),
        "club-room",
        f"The colours of the screen around the pictures: {', '.join(THEMES)}.",
        "Colours of the screen",
        "as usual: club-room",
    ),
    Setting(
        _OrKnown(PICTURES, name="pictures"),
        "pixels",
        f"What pictures are shown in: automatic, {', '.join(PICTURES)}.",
        "Pictures in",
        KNOWN,
    ),
)
_TABLE = "keys"
_ALLOWED = {"": (*(setting.key for setting in SETTINGS), _TABLE)}
_TABLES = re.compile(r"(?m)^[ \t]*\[")  # where the first table begins, and our lines end
_HEAD = """\
# Settings of the trainer. What is left out, or begins with #, is automatic, or as usual.
# The pages "Your terminal" (t at home) and "Settings" change these lines, and leave your own comments alone.
"""
_KEYS_HEAD = """\
# The keys of every action; more than one stand apart by blanks, as "v tab". A line without # is your own.
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
    TrainerError
        If a value isn't allowed, or the file can't be written; then the old one is as it was.
    """
    for setting in SETTINGS:
        value = getattr(settings, setting.key)
        try:
            setting.field.check(setting.example if value is None else value)
        except BadValue as error:
            raise TrainerError(f"setting {setting.key}: {error}") from None
    if problems := clashes(settings.hand, settings.keys):
        raise TrainerError(problems[0], problems)
    make_folder(folder)
    file = folder / FILE
    if os.path.islink(file):  # what it leads to is outside, and nothing is written there
        raise TrainerError(f"{shown(file)} is a link, and not written to; change the file it leads to")
    old, faults, text = _read(file)
    new = "" if faults else _changed(text, old, settings)
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
        raise TrainerError(f"{shown(file)} can't be written: {error.strerror}") from None
    return aside


def _read(file: Path) -> tuple[Settings, tuple[str, ...], str]:
    """Settings, problems and text of a file."""
    if not os.path.lexists(file):
        return Settings(), (), ""
    try:
        _, where, text = read_text(file, "settings file")
    except FileError as error:
        return Settings(), tuple(error.problems), ""
    return *_parsed(text, where), text


def _parsed(text: str, where: str) -> tuple[Settings, tuple[str, ...]]:
    """What a text says, and every problem it has."""
    try:
        reader = Reader(parse(text, where), where, _ALLOWED)
    except FileError as error:
        return Settings(), tuple(error.problems)
    found = {}
    for setting in SETTINGS:
        if reader.has(setting.key):
            try:
                found[setting.key] = setting.field.check(reader.data[setting.key])
            except BadValue as error:
                reader.problems.append(f"{where}: {setting.key}: {error}")
    own, problems = read_keys(reader.data.get(_TABLE, {}), found.get("hand"))
    return Settings(**found, keys=own), (*reader.problems, *(f"{where}: {problem}" for problem in problems))


def _fresh(settings: Settings) -> str:
    """A file of our own."""
    parts = [f"# {setting.about}\n{setting.line(getattr(settings, setting.key))}\n" for setting in SETTINGS]
    return "\n".join([_HEAD, *parts, _KEYS_HEAD + listed(settings.hand, settings.keys)])


def _changed(text: str, old: Settings, settings: Settings) -> str:
    """The player's text with the changed values in their lines; '' if there is no text."""
    tables = _TABLES.search(text)
    text, rest = (text, "") if tables is None else (text[: tables.start()], text[tables.start() :])
    if not (text + rest).strip():
        return ""
    for setting in SETTINGS:
        value = getattr(settings, setting.key)
        if value == getattr(old, setting.key):
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
            before = f"{text.rstrip()}\n\n" if text.strip() else ""
            after = "\n" if rest else ""
            text = f"{before}# {setting.about}\n{line}\n{after}"
    return text + rest


def _free_name(file: Path) -> Path:
    """The first name beside a file that nothing has yet."""
    number = 1
    while os.path.lexists(aside := file.with_name(f"{file.name}.old-{number}")):
        number += 1
    return aside

"""Taking values out of a TOML file that a person wrote, and saying everything that is wrong with it.

Levels and tables are read with it: every problem at once, as file, key, what is wrong, what is allowed.
"""

import difflib
import math
import re
import tomllib
from collections.abc import Callable, Collection, Mapping
from fractions import Fraction
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Any

from trainer.geometry.fullness import band_name
from trainer.geometry.tables import INCH
from trainer.names import plain

SUFFIX = ".toml"
MOST_BYTES = 64 * 1024  # such a file is a page of text; more is a mistake
MOST_PARTS = 32  # of a key
_PART = r"""(?:[\w-]+|"[^"\n]*"|'[^'\n]*')[ \t]*\.[ \t]*"""  # of a key, with the point after it
DEEP = re.compile(rf"(?:^|[\[{{,])[ \t]*(?:{_PART}){{{MOST_PARTS}}}", re.ASCII | re.MULTILINE)
MOST_DIGITS = 6  # of a fraction, above and below the stroke each

REQUIRED: Any = object()
"""Stands for a default where a key must be there."""


class FileError(Exception):
    """A file that can't be used. ``problems`` holds one line a problem."""

    def __init__(self, problems: list[str]):
        super().__init__("; ".join(problems))
        self.problems = problems


class Reader:
    """Takes values out of the parsed file and gathers what is wrong with them.

    Every method that takes a value gives the default where the key is missing or can't be used, so
    that one pass finds every problem.

    Parameters
    ----------
    data : dict
        What the file holds.
    where : str
        How problems name the file.
    keys : mapping of str to strings
        The keys allowed in each section; those at the top under ``""``, the sections among them.
    """

    def __init__(self, data: Mapping[str, Any], where: str, keys: Mapping[str, Collection[str]]):
        self.data, self.where, self.keys = data, where, keys
        self.problems: list[str] = []
        for key, value in data.items():
            if key in keys and key:
                if isinstance(value, dict):
                    for inner in value:
                        if inner not in keys[key]:
                            self._nearest(inner, keys[key], f"{key}.{inner}")
                else:
                    self.say(key, f"{shown(value)} is not a table", f"a table [{key}]")
            elif key not in keys[""]:
                self._nearest(key, keys[""], key)

    def _nearest(self, key: str, allowed: Collection[str], full: str) -> None:
        near = difflib.get_close_matches(key, allowed, 1, 0.5)
        hint = f"did you mean {near[0]}?" if near else f"allowed here: {', '.join(allowed)}"
        self.problems.append(f"{self.where}: {_short(full)}: no such key; {hint}")

    def say(self, key: str, wrong: str, allowed: str) -> None:
        """Note a problem: the key, what is wrong, what is allowed."""
        self.problems.append(f"{self.where}: {key}: {_short(wrong)}; allowed: {allowed}")

    def has(self, key: str) -> bool:
        """Whether the file holds the key, written ``section.key``."""
        return self._get(key) is not REQUIRED

    def _get(self, key: str) -> Any:
        section, _, last = key.rpartition(".")
        table = self.data.get(section, {}) if section else self.data
        return table.get(last, REQUIRED) if isinstance(table, dict) else REQUIRED

    def _take(self, key: str, default: Any, allowed: str, ok: Callable[[Any], bool]) -> Any:
        value = self._get(key)
        if value is REQUIRED:
            if default is REQUIRED:
                self.say(key, "missing", allowed)
            return default
        if not ok(value):
            self.say(key, f"{shown(value)} can't be used", allowed)
            return default
        return value

    def text(self, key: str, most: int, default: Any = REQUIRED) -> str:
        """A line of printable text, which must be there if there is no default."""

        def ok(value: Any) -> bool:
            return isinstance(value, str) and 0 < len(value) <= most and value.isprintable()

        taken = self._take(key, default, f"a line of 1 to {most} printable characters", ok)
        return "" if taken is REQUIRED else str(taken)

    def whole(self, key: str, low: int, high: int, default: int) -> int:
        """A whole number from low to high."""

        def ok(value: Any) -> bool:
            return isinstance(value, int) and not isinstance(value, bool) and low <= value <= high

        return int(self._take(key, default, f"a whole number from {low} to {high}", ok))

    def number(self, key: str, low: float, high: float, unit: str, default: float) -> float:
        """A number from low to high."""
        allowed = f"a number of {unit} from {low:g} to {high:g}" if unit else f"from {low:g} to {high:g}"
        return float(self._take(key, default, allowed, lambda v: _is_number(v) and low <= v <= high))

    def length(self, key: str, low: float, high: float, default: float) -> float:
        """A length in mm, from ``key_mm`` or else from ``key_in`` in inches; low to high are mm."""
        mm, inches = f"{key}_mm", f"{key}_in"
        if self.has(mm) and self.has(inches):
            self.say(inches, f"given beside {mm}", "one of the two")
        if self.has(inches) and not self.has(mm):
            least, most = (_inward(end / INCH, up) for end, up in ((low, True), (high, False)))
            return self.number(inches, least, most, "inches", default / INCH) * INCH
        return self.number(mm, low, high, "mm", default)

    def points(
        self, key: str, most: tuple[float, float], default: tuple[tuple[float, float], ...], limit: int
    ) -> tuple[tuple[float, float], ...]:
        """Points ``[x, y]`` in mm, each from 0 to ``most``; at most ``limit`` of them."""

        def point(value: Any) -> bool:
            return (
                isinstance(value, list)
                and len(value) == 2
                and all(_is_number(v) and 0 <= v <= end for v, end in zip(value, most, strict=True))
            )

        def ok(value: Any) -> bool:
            return isinstance(value, list) and len(value) <= limit and all(point(v) for v in value)

        x, y = most
        allowed = f"up to {limit} points [x, y] in mm, x from 0 to {x:g}, y from 0 to {y:g}"
        return tuple((float(a), float(b)) for a, b in self._take(key, default, allowed, ok))

    def yes_no(self, key: str, default: bool) -> bool:
        """True or false."""
        return bool(self._take(key, default, "true or false", lambda v: isinstance(v, bool)))

    def one_of(self, key: str, allowed: tuple[str, ...], default: Any = REQUIRED) -> str:
        """One of these names."""
        taken = self._take(key, default, ", ".join(allowed), lambda v: isinstance(v, str) and v in allowed)
        return allowed[0] if taken is REQUIRED else str(taken)

    def some_of(
        self, key: str, allowed: tuple[str, ...], default: tuple[str, ...], *, in_order: bool = True
    ) -> tuple[str, ...]:
        """A list of some of these names, in the order of ``allowed``, or else in the file's own."""

        def ok(value: Any) -> bool:
            return (
                isinstance(value, list)
                and bool(value)
                and all(isinstance(v, str) and v in allowed for v in value)
                and len(set(value)) == len(value)
            )

        taken = self._take(key, list(default), f"a list of some of {', '.join(allowed)}", ok)
        return tuple(name for name in allowed if name in taken) if in_order else tuple(taken)

    def stretch(
        self, key: str, low: float, high: float, unit: str, default: tuple[float, float]
    ) -> tuple[float, float]:
        """Two numbers in order, from low to high."""

        def ok(value: Any) -> bool:
            return (
                isinstance(value, list)
                and len(value) == 2
                and all(_is_number(v) for v in value)
                and low <= value[0] < value[1] <= high
            )

        allowed = f"[low, high] in {unit}, from {low:g} to {high:g}, the first smaller"
        a, b = self._take(key, list(default), allowed, ok)
        return float(a), float(b)

    def fraction(self, key: str, allowed: tuple[Fraction, ...], default: Fraction | None) -> Any:
        """One of these fractions, written as text."""
        names = {band_name(step): step for step in allowed}
        taken = self._take(
            key,
            default,
            ", ".join(f'"{n}"' for n in names),
            lambda v: isinstance(v, str) and v in names,
        )
        return names[taken] if isinstance(taken, str) else taken

    def fractions(self, key: str, low: Fraction, high: Fraction) -> tuple[Fraction, Fraction] | None:
        """Two fractions in order, written as text, from low to high; None where they are missing."""

        def ok(value: Any) -> bool:
            if not isinstance(value, list) or len(value) != 2:
                return False
            a, b = (_fraction(v) for v in value)
            return a is not None and b is not None and low <= a < b <= high

        allowed = f'["low", "high"] in balls, as ["1/64", "1/8"], from {low} to {high}, the first smaller'
        taken = self._take(key, None, allowed, ok)
        return None if taken is None else (Fraction(taken[0]), Fraction(taken[1]))


def is_name(name: str) -> bool:
    """Whether a level or a table may be called this."""
    return bool(name) and all(c.isascii() and (c.isalnum() or c in "-_") for c in name)


def read_text(file: Traversable, kind: str) -> tuple[str, str, str]:
    """The name that a file gives, how to name the file itself, and its text.

    Parameters
    ----------
    file : Traversable
        Its name, less ``.toml``, is the name of what it holds.
    kind : str
        What it holds: ``level`` or ``table``.

    Raises
    ------
    FileError
        Where it can't be read.
    """
    name = file.name.removesuffix(SUFFIX)
    where = plain(str(file))
    if not is_name(name):
        raise FileError([f"{where}: a {kind}'s file name holds letters, digits, - and _, then .toml"])
    # Opening a pipe would wait for somebody to write to it.
    if isinstance(file, Path) and file.exists() and not (file.is_file() or file.is_dir()):
        raise FileError([f"{where}: not a file"])
    try:
        with file.open("rb") as stream:
            raw = stream.read(MOST_BYTES + 1)
    except OSError as error:
        raise FileError([f"{where}: can't be read: {error.strerror or error}"]) from None
    if len(raw) > MOST_BYTES:
        raise FileError([f"{where}: larger than {MOST_BYTES // 1024} KiB; a {kind} is a page of text"])
    try:
        return name, where, raw.decode("utf-8-sig")  # some editors write a mark first
    except UnicodeDecodeError as error:
        raise FileError([f"{where}: not UTF-8 text, at byte {error.start}"]) from None


def parse(text: str, where: str) -> dict[str, Any]:
    """What TOML text holds; FileError where it isn't TOML."""
    if DEEP.search(text):  # reading one takes the square of its length
        raise FileError([f"{where}: not TOML: a key of over {MOST_PARTS} parts"])
    try:
        return tomllib.loads(text)
    except (ValueError, RecursionError) as error:  # a number too long to read is a plain ValueError
        reason = "nested too deeply" if isinstance(error, RecursionError) else str(error)
        raise FileError([f"{where}: not TOML: {_short(reason)}"]) from None


def shown(value: object) -> str:
    """A value as a problem shows it."""
    if isinstance(value, Fraction):
        return band_name(value)
    try:
        text = repr(value)
    except (ValueError, RecursionError):  # a number of too many digits, tables nested too deeply
        return "this"
    return text if len(text) <= 40 else text[:37] + "..."


def _short(text: str) -> str:
    """Text from a file, fit for one line on a terminal."""
    return plain(text)[:200]


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _fraction(value: Any) -> Fraction | None:
    if not isinstance(value, str):
        return None
    above, _, below = value.partition("/")
    if not all(p.isascii() and p.isdecimal() and len(p) <= MOST_DIGITS for p in (above, below)):
        return None
    return Fraction(int(above), int(below)) if int(below) else None


def _inward(value: float, up: bool) -> float:
    """An end of a range to a hundredth, toward the inside."""
    return (math.ceil if up else math.floor)(value * 100) / 100

"""What kinds of value a line may hold: one checker for lines as they are made and for imports."""

import json
import math
import re
from abc import ABC, abstractmethod
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, ClassVar

from trainer.history.clock import DAY_S, FIRST_MS, LAST_MS, parse_iso
from trainer.history.errors import quoted

Choice = tuple[str, str, float]
Point = tuple[float, float]

# Control characters, marks that turn the direction of text, line separators and lone surrogates:
# nothing that a terminal could obey, or that can't be written as UTF-8, enters the history.
FORBIDDEN = re.compile("[\x00-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ufeff\ud800-\udfff]")
LONGEST = 200  # characters of a name
MOST_CHOICES = 200
MOST_BALLS = 40


class BadValue(ValueError):
    """A value that isn't allowed; the message says what is wrong with it and what is allowed."""


@dataclass(frozen=True)
class Field(ABC):
    """One column: its name, and how it is checked, written as text and read back.

    ``check`` takes and returns the value in Python, ``from_text`` what stands in CSV,
    ``from_json`` what JSON gave; all raise :class:`BadValue`.
    """

    name: str
    default: ClassVar[str | None] = None  # what a file without the column is taken to hold in it

    @property
    @abstractmethod
    def allowed(self) -> str:
        """What is allowed, in words."""

    @abstractmethod
    def check(self, value: Any) -> Any:
        """The value if it is allowed."""

    def from_text(self, text: str) -> Any:
        """The value that a text stands for."""
        return self.check(text)

    def from_json(self, value: Any) -> Any:
        """The value that a JSON value stands for."""
        return self.check(value)

    def column(self, texts: Sequence[str]) -> Sequence[Any]:
        """The values that some texts stand for, at least one; faster than one by one.

        Raises
        ------
        BadValue
            If one isn't allowed; which it is ``from_text`` says.
        """
        return [self.from_text(text) for text in texts]

    def bad(self, value: object) -> BadValue:
        """The error that names a value."""
        return BadValue(f"{quoted(value)} is not allowed; allowed: {self.allowed}")


@dataclass(frozen=True)
class Text(Field):
    """A short text without control characters; ``empty`` says whether '' is one."""

    empty: bool = False

    @property
    def allowed(self) -> str:
        return f"{0 if self.empty else 1} to {LONGEST} characters, no control characters"

    def check(self, value: Any) -> str:
        if (
            not isinstance(value, str)
            or not (value or self.empty)
            or len(value) > LONGEST
            or FORBIDDEN.search(value)
        ):
            raise self.bad(value)
        return value

    def column(self, texts: Sequence[str]) -> Sequence[str]:
        if max(map(len, texts)) > LONGEST or not (self.empty or all(texts)):
            raise BadValue(self.allowed)
        if FORBIDDEN.search("".join(texts)):
            raise BadValue(self.allowed)
        return texts


@dataclass(frozen=True)
class Pattern(Field):
    """A text of one form."""

    pattern: re.Pattern[str]
    form: str

    @property
    def allowed(self) -> str:
        return self.form

    def check(self, value: Any) -> str:
        if not isinstance(value, str) or not self.pattern.fullmatch(value):
            raise self.bad(value)
        return value

    def column(self, texts: Sequence[str]) -> Sequence[str]:
        if not all(map(self.pattern.fullmatch, texts)):
            raise BadValue(self.allowed)
        return texts


@dataclass(frozen=True)
class OneOf(Field):
    """One of a few words."""

    words: tuple[str, ...]

    @property
    def allowed(self) -> str:
        return ", ".join(self.words)

    def check(self, value: Any) -> str:
        if not isinstance(value, str) or value not in self.words:
            raise self.bad(value)
        return value

    def column(self, texts: Sequence[str]) -> Sequence[str]:
        for text in set(texts):
            self.check(text)
        return texts


@dataclass(frozen=True)
class Day(Field):
    """A local day."""

    @property
    def allowed(self) -> str:
        return "a day as 2026-03-01"

    def check(self, value: Any) -> str:
        try:
            same = isinstance(value, str) and date.fromisoformat(value).isoformat() == value
        except ValueError:
            same = False
        if not same:
            raise self.bad(value)
        return str(value)

    def column(self, texts: Sequence[str]) -> Sequence[str]:
        for text in set(texts):
            self.check(text)
        return texts


@dataclass(frozen=True)
class Number(Field):
    """A finite number from ``low`` to ``high``; ``optional`` says whether it may be missing."""

    low: float
    high: float
    optional: bool = False

    @property
    def allowed(self) -> str:
        return f"a number from {self.low:g} to {self.high:g}" + (", or nothing" * self.optional)

    def check(self, value: Any) -> float | None:
        if value is None and self.optional:
            return None
        if not _is_number(value):
            raise self.bad(value)
        # Comparing first: an int may be too large for a float; NaN compares false.
        if not self.low <= value <= self.high:
            raise self.bad(value)
        return float(value)

    def from_text(self, text: str) -> float | None:
        if not text and self.optional:
            return None
        try:
            number = float(text)
        except ValueError:
            raise self.bad(text) from None
        if not self.low <= number <= self.high:
            raise self.bad(text)
        return number

    def column(self, texts: Sequence[str]) -> Sequence[float | None]:
        if self.optional and not all(texts):
            return super().column(texts)
        try:
            numbers = list(map(float, texts))
        except ValueError:
            raise BadValue(self.allowed) from None
        # NaN compares false, so the least and the largest alone may miss one.
        if not self.low <= min(numbers) <= max(numbers) <= self.high or any(map(math.isnan, numbers)):
            raise BadValue(self.allowed)
        return numbers


@dataclass(frozen=True)
class Whole(Field):
    """A whole number from ``low`` to ``high``."""

    low: int
    high: int

    @property
    def allowed(self) -> str:
        return f"a whole number from {self.low} to {self.high}"

    def check(self, value: Any) -> int:
        if isinstance(value, bool) or not isinstance(value, int):
            raise self.bad(value)
        if not self.low <= value <= self.high:
            raise self.bad(value)
        return int(value)

    def from_text(self, text: str) -> int:
        try:
            return self.check(int(text))
        except ValueError:
            raise self.bad(text) from None

    def column(self, texts: Sequence[str]) -> Sequence[int]:
        known = {text: self.from_text(text) for text in set(texts)}
        return [known[text] for text in texts]


@dataclass(frozen=True)
class YesNo(Field):
    """True or False; any case in CSV, since spreadsheets write TRUE."""

    @property
    def allowed(self) -> str:
        return "true or false"

    def check(self, value: Any) -> bool:
        if not isinstance(value, bool):
            raise self.bad(value)
        return value

    def from_text(self, text: str) -> bool:
        word = text.lower()
        if word not in ("true", "false"):
            raise self.bad(text)
        return word == "true"

    def column(self, texts: Sequence[str]) -> Sequence[bool]:
        known = {text: self.from_text(text) for text in set(texts)}
        return [known[text] for text in texts]


@dataclass(frozen=True)
class Time(Field):
    """Milliseconds since 1970 with the UTC offset in seconds; ISO 8601 in files."""

    @property
    def allowed(self) -> str:
        return "a time from 1970 to 9998 with a UTC offset below a day"

    def check(self, value: Any) -> tuple[int, int] | None:
        match value:
            case (int(ms), int(offset)) if FIRST_MS <= ms < LAST_MS and abs(offset) < DAY_S:
                return ms, offset
        raise self.bad(value)

    def from_text(self, text: str) -> tuple[int, int] | None:
        try:
            return parse_iso(text)
        except ValueError as error:
            raise BadValue(f"{quoted(text)} {error}") from None

    def from_json(self, value: Any) -> tuple[int, int] | None:
        if not isinstance(value, str):
            raise self.bad(value)
        return self.from_text(value)


@dataclass(frozen=True)
class Undone(Time):
    """When a call was taken back, '' in files where it wasn't. In a file without the column none was."""

    default: ClassVar[str | None] = ""

    @property
    def allowed(self) -> str:
        return f"{super().allowed}, or nothing"

    def check(self, value: Any) -> tuple[int, int] | None:
        return None if value is None else super().check(value)

    def from_text(self, text: str) -> tuple[int, int] | None:
        return super().from_text(text) if text else None

    def column(self, texts: Sequence[str]) -> Sequence[tuple[int, int] | None]:
        return super().column(texts) if any(texts) else [None] * len(texts)


@dataclass(frozen=True)
class Choices(Field):
    """The answers that were offered: key, name and value each; compact JSON in files."""

    @property
    def allowed(self) -> str:
        return (
            f"JSON: a list of at most {MOST_CHOICES} of [key, name, value], "
            "two short texts and a finite number"
        )

    def check(self, value: Any) -> tuple[Choice, ...]:
        if not isinstance(value, tuple | list) or len(value) > MOST_CHOICES:
            raise self.bad(value)
        return tuple(self._one(choice, value) for choice in value)

    def _one(self, choice: Any, value: Any) -> Choice:
        if not isinstance(choice, tuple | list) or len(choice) != 3:
            raise self.bad(value)
        key, name, number = choice
        if not isinstance(key, str) or not isinstance(name, str) or not _is_number(number):
            raise self.bad(value)
        try:
            number = float(number)
        except OverflowError:
            raise self.bad(value) from None
        if len(key) > LONGEST or len(name) > LONGEST or FORBIDDEN.search(key + name):
            raise self.bad(value)
        if not math.isfinite(number):
            raise self.bad(value)
        return key, name, number

    def from_text(self, text: str) -> tuple[Choice, ...]:
        return self.check(parsed_json(self, text))

    def from_json(self, value: Any) -> tuple[Choice, ...]:
        if not isinstance(value, str):
            raise self.bad(value)
        return self.from_text(value)


@dataclass(frozen=True)
class Places(Field):
    """Places of balls on the table, mm; compact JSON in files. A file from before there were any has none."""

    farthest: float
    default: ClassVar[str | None] = "[]"

    @property
    def allowed(self) -> str:
        return f"JSON: a list of at most {MOST_BALLS} of [x, y], mm within {self.farthest:g}"

    def check(self, value: Any) -> tuple[Point, ...]:
        if not isinstance(value, tuple | list) or len(value) > MOST_BALLS:
            raise self.bad(value)
        return tuple(self._one(place, value) for place in value)

    def _one(self, place: Any, value: Any) -> Point:
        if not isinstance(place, tuple | list) or len(place) != 2:
            raise self.bad(value)
        for mm in place:
            if not _is_number(mm) or not abs(mm) <= self.farthest:
                raise self.bad(value)
        return float(place[0]), float(place[1])

    def from_text(self, text: str) -> tuple[Point, ...]:
        return self.check(parsed_json(self, text))

    def from_json(self, value: Any) -> tuple[Point, ...]:
        if not isinstance(value, str):
            raise self.bad(value)
        return self.from_text(value)


def _is_number(value: Any) -> bool:
    """Whether a value is a number; True and False are none."""
    # Nearly all are just a float, and asking for that takes no time.
    return value.__class__ is float or (isinstance(value, int | float) and not isinstance(value, bool))


def parsed_json(field: Field, text: str) -> Any:
    """What a JSON text in a column holds."""
    try:
        return json.loads(text)
    except (ValueError, RecursionError):
        raise field.bad(text) from None

"""What one value of a record may be: its check, its column in SQLite, and its text in CSV and JSON."""

import math
import re
from abc import ABC, abstractmethod
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any, ClassVar, Self

from trainer.history.errors import quoted

# Control characters, marks that turn the direction of text, line separators and lone surrogates:
# nothing that a terminal could obey, or that can't be written as UTF-8, enters the history.
FORBIDDEN = re.compile("[\x00-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ufeff\ud800-\udfff]")
LONGEST = 200  # characters of a name


class BadValue(ValueError):
    """A value that isn't allowed; the message says what is wrong with it and what is allowed.

    ``column`` is that of the value, where it is known.
    """

    column = ""

    def of(self, column: str) -> Self:
        """The same, of this column."""
        self.column = column
        return self


@dataclass(frozen=True)
class Field(ABC):
    """One column of an export: its name, how it is checked, written and read, and its column in SQLite.

    ``check`` takes and returns the value in Python, ``from_text`` what stands in CSV, ``from_json`` what JSON
    gave; all raise :class:`BadValue`. SQLite holds ``stored(value)``; of that ``loaded`` is the value again,
    and ``exported`` what a file holds.
    """

    name: str = field(default="", kw_only=True)
    default: ClassVar[str | None] = None  # what a file without the column is taken to hold in it

    @property
    @abstractmethod
    def allowed(self) -> str:
        """What is allowed, in words."""

    @abstractmethod
    def check(self, value: Any) -> Any:
        """The value if it is allowed."""

    @abstractmethod
    def sql(self) -> str:
        """The column in a STRICT table, with what SQLite itself checks of it."""

    @property
    def columns(self) -> tuple[str, ...]:
        """The columns that hold it in SQLite: one, but for a time and what other tables hold."""
        return (self.name,)

    def from_text(self, text: str) -> Any:
        """The value that a text stands for."""
        return self.check(text)

    def from_json(self, value: Any) -> Any:
        """The value that a JSON value stands for."""
        return self.check(value)

    def stored(self, value: Any) -> Any:
        """What SQLite holds for a checked value; a tuple where ``columns`` are several."""
        return value

    def loaded(self, stored: Any) -> Any:
        """The value that SQLite holds as this; only where it is one column."""
        return stored

    def exported(self, stored: Any) -> Any:
        """What a file holds for what SQLite holds."""
        return stored

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

    def _column(self, kind: str, check: str, *, optional: bool = False) -> str:
        """SQL for a column; ``check`` names it as ``{}``."""
        name = f'"{self.name}"'
        told = check.format(name)
        if optional:
            return f"{name} {kind} CHECK ({name} IS NULL OR {told})"
        return f"{name} {kind} NOT NULL CHECK ({told})"


@dataclass(frozen=True)
class Text(Field):
    """A short text without control characters; ``empty`` says whether '' is one."""

    empty: bool = False

    @property
    def allowed(self) -> str:
        return f"{0 if self.empty else 1} to {LONGEST} characters, no control characters"

    def sql(self) -> str:
        return self._column("TEXT", f"length({{}}) BETWEEN {0 if self.empty else 1} AND {LONGEST}")

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
    glob: str = ""  # about the same for SQLite

    @property
    def allowed(self) -> str:
        return self.form

    def sql(self) -> str:
        return self._column(
            "TEXT", f"{{}} GLOB {sql_text(self.glob)}" if self.glob else f"length({{}}) <= {LONGEST}"
        )

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

    def sql(self) -> str:
        return self._column("TEXT", f"{{}} IN ({', '.join(map(sql_text, self.words))})")

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

    def sql(self) -> str:
        return self._column("TEXT", "date({0}, '+0 days') IS {0} AND {0} > '0001'")

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

    def sql(self) -> str:
        # In a column of type REAL SQLite would hold -0.0 as 0.
        told = f"typeof({{0}}) = 'real' AND {{0}} BETWEEN {self.low!r} AND {self.high!r}"
        return self._column("ANY", told, optional=self.optional)

    def check(self, value: Any) -> float | None:
        if value is None and self.optional:
            return None
        if not is_number(value):
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

    def sql(self) -> str:
        return self._column("INTEGER", f"{{}} BETWEEN {self.low} AND {self.high}")

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

    def sql(self) -> str:
        return self._column("INTEGER", "{} IN (0, 1)")

    def stored(self, value: bool) -> int:
        return int(value)

    def loaded(self, stored: int) -> bool:
        return bool(stored)

    def exported(self, stored: int) -> bool:
        return bool(stored)

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


def sql_text(text: str) -> str:
    """A text in SQL."""
    return "'" + text.replace("'", "''") + "'"


def is_number(value: Any) -> bool:
    """Whether a value is a number; True and False are none."""
    # Nearly all are just a float, and asking for that takes no time.
    return value.__class__ is float or (isinstance(value, int | float) and not isinstance(value, bool))

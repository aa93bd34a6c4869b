"""A kind of record, declared once: a dataclass whose annotations say what each value may be.

Its table in SQLite, its columns in CSV and JSON, and the way between them follow from that.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from functools import cached_property
from operator import attrgetter, itemgetter
from typing import Any, ClassVar, Generic, TypeVar, get_type_hints

from trainer.history.clock import DAY_S, FIRST_MS, LAST_MS, iso_of, parse_iso
from trainer.history.errors import quoted
from trainer.history.fields import BadValue, Field, Pattern
from trainer.history.ids import PATTERN

Point = tuple[float, float]
Row = tuple[Any, ...]
T = TypeVar("T")

MM = 100_000.0  # no table is a hundred metres long
ID = Pattern(PATTERN, "a UUID of version 7 in lower case", "????????-????-7???-????-????????????")
# The line that takes a call back; of several, from several machines, the earliest says when.
FIRST_UNDONE = "(SELECT {} FROM undone WHERE attempt_id = {}.id ORDER BY epoch_ms, offset_s LIMIT 1)"


@dataclass(frozen=True)
class Time(Field):
    """Milliseconds since 1970 with the UTC offset in seconds; ISO 8601 in files."""

    columns: ClassVar[tuple[str, ...]] = ("epoch_ms", "offset_s")

    @property
    def allowed(self) -> str:
        return "a time from 1970 to 9998 with a UTC offset below a day"

    def sql(self) -> str:
        return (
            f"epoch_ms INTEGER NOT NULL CHECK (epoch_ms BETWEEN {FIRST_MS} AND {LAST_MS - 1}), "
            f"offset_s INTEGER NOT NULL CHECK (abs(offset_s) < {DAY_S})"
        )

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

    def exported(self, stored: tuple[int | None, int | None]) -> str:
        ms, offset = stored
        return "" if ms is None or offset is None else iso_of(ms, offset)


@dataclass(frozen=True)
class Undone(Time):
    """When a call was taken back, '' in files where it wasn't. In a file without the column none was.

    SQLite holds it in a table of its own.
    """

    default: ClassVar[str | None] = ""
    columns: ClassVar[tuple[str, ...]] = ("undone_ms", "undone_s")

    @property
    def allowed(self) -> str:
        return f"{super().allowed}, or nothing"

    def check(self, value: Any) -> tuple[int, int] | None:
        return None if value is None else super().check(value)

    def from_text(self, text: str) -> tuple[int, int] | None:
        return super().from_text(text) if text else None

    def column(self, texts: Sequence[str]) -> Sequence[tuple[int, int] | None]:
        return super().column(texts) if any(texts) else [None] * len(texts)

    def stored(self, value: tuple[int, int] | None) -> tuple[int | None, int | None]:
        return value or (None, None)


@dataclass(frozen=True)
class Parts:
    """An attribute that takes several columns: these fields, and what makes it of their values.

    ``names`` are those of its parts, None for a tuple's. Where its columns are empty the attribute is None.
    """

    fields: tuple[Field, ...]
    make: Callable[..., Any] = lambda *values: values
    names: tuple[str, ...] | None = None

    def values(self, whole: Any) -> tuple[Any, ...]:
        """The values of its fields."""
        if whole is None:
            return (None,) * len(self.fields)
        return tuple(whole) if self.names is None else tuple(getattr(whole, name) for name in self.names)

    def whole(self, values: Sequence[Any]) -> Any:
        """The attribute again."""
        return None if values[0] is None else self.make(*values)


@dataclass(frozen=True)
class Rule:
    """What several values must be together: ``holds(*values)`` of ``columns``, and the same in SQL.

    Where it is broken the first of the columns is named, with ``message``.
    """

    columns: tuple[str, ...]
    holds: Callable[..., bool]
    message: str
    sql: str


def all_or_none(columns: tuple[str, ...], message: str) -> Rule:
    """All of these values are there, or none of them."""
    there = [f"(coalesce({name}, '') <> '')" for name in columns]
    return Rule(
        columns,
        lambda *values: len({value in (None, "") for value in values}) == 1,
        message,
        f"{' + '.join(there)} IN (0, {len(columns)})",
    )


def names_of(columns: Iterable[str], of: str = "") -> str:
    """Columns for SQL; quoted, since some are words of SQL."""
    return ", ".join(f'{of}"{column}"' for column in columns)


class Record(Generic[T]):
    """A kind of record.

    Parameters
    ----------
    kind : type
        The dataclass. Its first attributes are the id and the time. An annotation ``Annotated[type, field]``
        declares a column, ``Annotated[type, Parts(...)]`` several; an attribute without one is part of the
        time before it.
    table : str
        Its table in SQLite.
    one : str
        What one is called in messages.
    rules : sequence of Rule
        What must hold between values.
    undoable : bool
        Whether one may be taken back: then its last column says when, and SQLite holds that in rows of the
        table ``undone``.
    references : mapping of str to str
        Columns that hold the id of a record of another table, and that table.
    """

    def __init__(
        self,
        kind: type[T],
        table: str,
        one: str,
        rules: Sequence[Rule] = (),
        *,
        undoable: bool = False,
        references: Mapping[str, str] = {},
    ):
        self.kind, self.table, self.one, self.undoable = kind, table, one, undoable
        self._references = references
        hints = get_type_hints(kind, include_extras=True)
        held = [(f.name, getattr(hints[f.name], "__metadata__", (None,))[0]) for f in fields(kind)]  # type: ignore[arg-type]
        self._attributes: list[tuple[str, Field | Parts]] = []
        for name, what in held:
            if isinstance(what, Parts):
                self._attributes.append((name, what))
            elif what is not None:
                self._attributes.append((name, what if what.name else replace(what, name=name)))
        own = [
            f for _, what in self._attributes for f in (what.fields if isinstance(what, Parts) else (what,))
        ]
        self.own: tuple[Field, ...] = tuple(own)
        self.fields: tuple[Field, ...] = (*own, Undone(name="undone")) if undoable else self.own
        self.names = tuple(f.name for f in self.fields)
        self.columns = tuple(column for f in own for column in f.columns)
        self.whole = tuple(column for f in self.fields for column in f.columns)
        self.defaults = {f.name: f.default for f in self.fields if f.default is not None}
        self.rules = tuple((rule, itemgetter(*map(self.names.index, rule.columns))) for rule in rules)
        self._wide = len(self.columns)

    def field(self, name: str) -> Field:
        """The field of this name."""
        return self.fields[self.names.index(name)]

    # SQL

    @cached_property
    def create(self) -> str:
        """The table, with all that SQLite itself checks."""
        columns = [f.sql() for f in self.own]
        columns[0] += " PRIMARY KEY"
        rules = [f"CHECK ({rule.sql})" for rule, _ in self.rules]
        rules += [f"FOREIGN KEY ({name}) REFERENCES {other} (id)" for name, other in self._references.items()]
        return f"CREATE TABLE {self.table} ({', '.join([*columns, *rules])}) STRICT, WITHOUT ROWID"

    @cached_property
    def every(self) -> str:
        """Every record in order, as :attr:`whole` has it."""
        undone = [FIRST_UNDONE.format(part, self.table) for part in ("epoch_ms", "offset_s")]
        more = undone if self.undoable else []
        columns = names_of(self.columns, f"{self.table}.")
        return f"SELECT {', '.join([columns, *more])} FROM {self.table} ORDER BY 1"

    @property
    def own_columns(self) -> str:
        """Its columns for SQL."""
        return names_of(self.columns)

    @cached_property
    def insert(self) -> str:
        """One more, its values in order of :attr:`columns`."""
        marks = ", ".join("?" * self._wide)
        return f"INSERT INTO {self.table} ({names_of(self.columns)}) VALUES ({marks})"

    # From one shape to another

    def values_of(self, one: T) -> list[Any]:
        """The values of a record's own fields."""
        values = list[Any]()
        for name, what in self._attributes:
            if isinstance(what, Parts):
                values += what.values(getattr(one, name))
            elif len(what.columns) > 1:
                values.append(attrgetter(*what.columns)(one))
            else:
                values.append(getattr(one, name))
        return values

    def check(self, values: Sequence[Any]) -> list[Any]:
        """The values, all of :attr:`fields` or only its own, if they are allowed.

        Raises
        ------
        BadValue
            If one isn't, or they don't go together; ``column`` says which.
        """
        found, f = list[Any](), self.fields[0]
        try:
            for f, value in zip(self.fields, values, strict=False):
                found.append(f.check(value))
        except BadValue as error:
            raise error.of(f.name) from None
        self.check_rules(found)
        return found

    def check_rules(self, values: Sequence[Any]) -> None:
        """See whether values that are allowed go together.

        Raises
        ------
        BadValue
            If they don't; ``column`` says which.
        """
        for rule, pick in self.rules:
            if not rule.holds(*pick(values)):
                raise BadValue(rule.message).of(rule.columns[0])

    @cached_property
    def _stores(self) -> list[tuple[int, Callable[[Any], Any]]]:
        """Fields that SQLite holds otherwise, or in several columns, from the last to the first."""
        odd = [(i, f) for i, f in enumerate(self.fields) if _is_odd(f, "stored")]
        return [(i, f.stored) for i, f in reversed(odd)]

    def row_of(self, values: Sequence[Any]) -> Row:
        """Checked values as SQLite holds them: of all fields, or only of its own."""
        row = list(values)
        for i, store in self._stores:
            if i < len(values):
                stored = store(values[i])
                row[i : i + 1] = stored if isinstance(stored, tuple) else (stored,)
        return tuple(row)

    @cached_property
    def _loads(self) -> list[tuple[int, int, Callable[[Any], Any]]]:
        """From the last to the first, attributes that SQLite holds otherwise: their columns from and to."""
        found, at = list[tuple[int, int, Callable[[Any], Any]]](), 0
        for _, what in self._attributes:
            if isinstance(what, Parts):
                found.append((at, at + len(what.fields), what.whole))
                at += len(what.fields)
                continue
            if type(what).loaded is not Field.loaded:
                found += [(k, k + 1, what.loaded) for k in range(at, at + len(what.columns))]
            at += len(what.columns)
        return found[::-1]

    def of_row(self, row: Sequence[Any]) -> T:
        """The record that a row in order of :attr:`columns` holds; what comes after those is left out."""
        values = list(row[: self._wide])
        for at, to, make in self._loads:
            values[at:to] = (make(row[at] if to == at + 1 else row[at:to]),)
        return self.kind(*values)

    @cached_property
    def _exports(self) -> list[tuple[int, int, Callable[[Any], Any]]]:
        """From the last to the first, fields that files hold otherwise: their columns from and to."""
        found, at = list[tuple[int, int, Callable[[Any], Any]]](), 0
        for f in self.fields:
            if _is_odd(f, "exported"):
                found.append((at, at + len(f.columns), f.exported))
            at += len(f.columns)
        return found[::-1]

    def exported(self, row: Row) -> list[Any]:
        """The values that a file holds of a row in order of :attr:`whole`."""
        values = list(row)
        for at, to, export in self._exports:
            values[at:to] = (export(row[at] if to == at + 1 else row[at:to]),)
        return values


def _is_odd(f: Field, way: str) -> bool:
    """Whether a field has a way of its own, or several columns."""
    return getattr(type(f), way) is not getattr(Field, way) or len(f.columns) > 1

"""Reading a level from TOML: a level, or every problem the file has, all at once."""

import difflib
import tomllib
from collections.abc import Callable
from fractions import Fraction
from typing import Any

import numpy as np

from trainer.geometry.bands import band_name, bands
from trainer.geometry.tables import POCKETS, TABLES
from trainer.shots.draw import draw
from trainer.shots.level import Answers, Level, Pass, narrowed
from trainer.shots.limits import CUT_LIMIT, Limits, NoSuchShot
from trainer.shots.names import DRILLS, VIEWS
from trainer.shots.plain import plain

MOST_CHOICES = 9  # one key each, 1 to 9
STEPS = tuple(Fraction(1, n) for n in (2, 4, 8, 16, 32))
WITHINS = tuple(Fraction(1, n) for n in (8, 16, 32, 64))


class LevelError(Exception):
    """A level file that can't be used. ``problems`` holds one line a problem."""

    def __init__(self, problems: list[str]):
        super().__init__("; ".join(problems))
        self.problems = problems


KEYS: dict[str, tuple[str, ...]] = {
    "": (
        *("title", "teaches", "place", "drill", "table", "view", "line_to_pocket", "adaptive"),
        *("answers", "shots", "set", "passed"),
    ),
    "answers": ("step", "bands", "choices", "within"),
    "shots": ("cuts", "sides", "pockets", "cue_distance", "pocket_distance"),
    "set": ("shots",),
    "passed": ("in_a_row", "right", "of"),
}


def read_level(text: str, name: str, where: str) -> Level:
    """Read a level from TOML text.

    Parameters
    ----------
    text : str
        The file's content.
    name : str
        The level's name: the file's name without ``.toml``.
    where : str
        How messages name the file.

    Raises
    ------
    LevelError
        With every problem of the file: file, key, what is wrong, what is allowed.
    """
    try:
        data = tomllib.loads(text)
    except (ValueError, RecursionError) as error:  # ValueError: also a number of too many digits
        reason = "nested too deeply" if isinstance(error, RecursionError) else _plain(str(error))
        raise LevelError([f"{where}: not TOML: {reason}"]) from None
    reader = _Reader(data, where)
    level = _build(reader, name)
    if level.passed and level.passed.right > level.passed.of:
        reader.say("passed.right", f"{level.passed.right} is more than passed.of", "at most passed.of")
    if not reader.problems:
        _check_whole(reader, level)
    if reader.problems:
        raise LevelError(reader.problems)
    return level


def _build(reader: "_Reader", name: str) -> Level:
    drill = reader.one_of("drill", DRILLS)
    table = TABLES[reader.one_of("table", tuple(TABLES), "snooker")]
    pockets = reader.some_of("shots.pockets", POCKETS, POCKETS)
    return Level(
        name=name,
        title=reader.text("title", 48),
        teaches=reader.text("teaches", 160),
        drill=drill,
        place=reader.whole("place", 1, 10000, 1000),
        view=reader.one_of("view", VIEWS, "plan"),
        line_to_pocket=reader.yes_no("line_to_pocket", False),
        adaptive=reader.yes_no("adaptive", True),
        limits=Limits(
            table=table,
            cuts=reader.stretch("shots.cuts", 0.0, CUT_LIMIT, "degrees", (0.0, 75.0)),
            sides=reader.some_of("shots.sides", ("left", "right"), ("left", "right")),
            pockets=pockets,
            cue_distance=reader.stretch("shots.cue_distance", 0.0, 5000.0, "mm", (300.0, 1200.0)),
            pocket_distance=reader.stretch("shots.pocket_distance", 0.0, 5000.0, "mm", (200.0, 1200.0)),
        ),
        answers=_answers(reader, drill),
        shots=reader.whole("set.shots", 3, 200, 12),
        passed=Pass(
            in_a_row=reader.whole("passed.in_a_row", 1, 50, 5),
            right=reader.whole("passed.right", 1, 200, 10),
            of=reader.whole("passed.of", 1, 200, 12),
        ),
    )


def _answers(reader: "_Reader", drill: str) -> Answers:
    step = reader.fraction("answers.step", STEPS, Fraction(1, 8))
    names = tuple(band.name for band in bands(step))
    return Answers(
        step=step,
        named=reader.some_of("answers.bands", names, ()),
        choices=reader.whole("answers.choices", 3, MOST_CHOICES, 7),
        within=reader.fraction("answers.within", WITHINS, None),
    )


def _check_whole(reader: "_Reader", level: Level) -> None:
    """What no single key can tell: too many answers, a pass out of reach, limits without a shot."""
    if level.drill == "band":
        asked = len(level.bands())
        if not 2 <= asked <= MOST_CHOICES:
            reader.say(
                "answers",
                f"step {_say(level.answers.step)} over these cuts makes {asked} answers",
                f"2 to {MOST_CHOICES}: take a coarser step, fewer cuts, or name the bands",
            )
        for key in ("choices",):
            if reader.has(f"answers.{key}"):
                reader.say(f"answers.{key}", "only for the drill aim", "leave it out")
    else:
        for key in ("bands", "within"):
            if reader.has(f"answers.{key}"):
                reader.say(f"answers.{key}", "only for the drill band", "leave it out")
        if level.answers.choices * level.answers.step > Fraction(5, 2):
            reader.say(
                "answers.choices",
                f"{level.answers.choices} candidates a step of {_say(level.answers.step)} apart are "
                "wider than the ball and its surroundings",
                "choices x step up to 2 1/2 balls",
            )
    if reader.problems:
        return
    try:
        draw(np.random.default_rng(0), 8, narrowed(level))
    except NoSuchShot as error:
        reader.say("shots", str(error), "wider limits")


def _say(value: object) -> str:
    if isinstance(value, Fraction):
        return band_name(value)
    try:
        text = repr(value)
    except (ValueError, RecursionError):  # a number of too many digits, tables nested too deeply
        return "this"
    return text if len(text) <= 40 else text[:37] + "..."


_MISSING = object()


class _Reader:
    """Takes values out of the parsed file and gathers what is wrong with them."""

    def __init__(self, data: dict[str, Any], where: str):
        self.data, self.where = data, where
        self.problems: list[str] = []
        for key, value in data.items():
            if key in KEYS and key:
                if isinstance(value, dict):
                    self._unknown(value, key)
                else:
                    self.say(key, f"{_say(value)} is not a table", f"a table [{key}]")
            elif key not in KEYS[""]:
                self._nearest(key, KEYS[""], key)

    def _unknown(self, table: dict[str, Any], section: str) -> None:
        for key in table:
            if key not in KEYS[section]:
                self._nearest(key, KEYS[section], f"{section}.{key}")

    def _nearest(self, key: str, allowed: tuple[str, ...], shown: str) -> None:
        near = difflib.get_close_matches(key, allowed, 1, 0.5)
        hint = f"did you mean {near[0]}?" if near else f"allowed here: {', '.join(allowed)}"
        self.problems.append(f"{self.where}: {_plain(shown)}: no such key; {hint}")

    def say(self, key: str, wrong: str, allowed: str) -> None:
        self.problems.append(f"{self.where}: {key}: {_plain(wrong)}; allowed: {allowed}")

    def has(self, key: str) -> bool:
        return self._get(key) is not _MISSING

    def _get(self, key: str) -> Any:
        section, _, last = key.rpartition(".")
        table = self.data.get(section, {}) if section else self.data
        return table.get(last, _MISSING) if isinstance(table, dict) else _MISSING

    def _take(self, key: str, default: Any, allowed: str, ok: Callable[[Any], bool]) -> Any:
        value = self._get(key)
        if value is _MISSING:
            if default is _MISSING:
                self.say(key, "missing", allowed)
            return default
        if not ok(value):
            self.say(key, f"{_say(value)} can't be used", allowed)
            return default
        return value

    def text(self, key: str, most: int) -> str:
        def ok(value: Any) -> bool:
            return isinstance(value, str) and 0 < len(value) <= most and value.isprintable()

        taken = self._take(key, _MISSING, f"a line of 1 to {most} printable characters", ok)
        return "" if taken is _MISSING else str(taken)

    def whole(self, key: str, low: int, high: int, default: int) -> int:
        def ok(value: Any) -> bool:
            return isinstance(value, int) and not isinstance(value, bool) and low <= value <= high

        return int(self._take(key, default, f"a whole number from {low} to {high}", ok))

    def yes_no(self, key: str, default: bool) -> bool:
        return bool(self._take(key, default, "true or false", lambda v: isinstance(v, bool)))

    def one_of(self, key: str, allowed: tuple[str, ...], default: Any = _MISSING) -> str:
        taken = self._take(key, default, ", ".join(allowed), lambda v: isinstance(v, str) and v in allowed)
        return allowed[0] if taken is _MISSING else str(taken)

    def some_of(self, key: str, allowed: tuple[str, ...], default: tuple[str, ...]) -> tuple[str, ...]:
        def ok(value: Any) -> bool:
            return (
                isinstance(value, list)
                and bool(value)
                and all(isinstance(v, str) and v in allowed for v in value)
                and len(set(value)) == len(value)
            )

        taken = self._take(key, list(default), f"a list of some of {', '.join(allowed)}", ok)
        return tuple(name for name in allowed if name in taken)

    def stretch(
        self, key: str, low: float, high: float, unit: str, default: tuple[float, float]
    ) -> tuple[float, float]:
        def number(value: Any) -> bool:
            return isinstance(value, int | float) and not isinstance(value, bool)

        def ok(value: Any) -> bool:
            return (
                isinstance(value, list)
                and len(value) == 2
                and all(number(v) for v in value)
                and low <= value[0] < value[1] <= high
            )

        allowed = f"[low, high] in {unit}, from {low:g} to {high:g}, the first smaller"
        a, b = self._take(key, list(default), allowed, ok)
        return float(a), float(b)

    def fraction(self, key: str, allowed: tuple[Fraction, ...], default: Fraction | None) -> Any:
        names = {band_name(step): step for step in allowed}
        taken = self._take(
            key,
            default,
            ", ".join(f'"{n}"' for n in names),
            lambda v: isinstance(v, str) and v in names,
        )
        return names[taken] if isinstance(taken, str) else taken


def _plain(text: str) -> str:
    """Text from a file, fit for a terminal: nothing that isn't printable."""
    return plain(text)[:200]

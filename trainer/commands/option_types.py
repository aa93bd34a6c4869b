"""What the text of an option means: each reader takes one, or says what is allowed."""

import argparse
from collections.abc import Callable

TYPE_CHECKING = False  # without typing itself, whose import is felt
if TYPE_CHECKING:
    from typing import Any

LONGEST = 25  # digits of a number


def whole(low: int, high: int) -> Callable[[str], int]:
    """A whole number from one to another."""

    def read(text: str) -> int:
        plain = text.isascii() and text.isdigit() and len(text) <= LONGEST
        if not plain or not low <= int(text) <= high:
            raise argparse.ArgumentTypeError(f"{text[:40]!r}: allowed is a whole number from {low} to {high}")
        return int(text)

    return read


def number(low: float, high: float) -> Callable[[str], float]:
    """A number from one to another."""

    def read(text: str) -> float:
        try:
            value = float(text)
        except ValueError:
            value = float("nan")
        if not low <= value <= high:
            raise argparse.ArgumentTypeError(f"{text[:40]!r}: allowed is a number from {low:g} to {high:g}")
        return value

    return read


def balls(low: float, high: float) -> Callable[[str], float]:
    """A part of a ball's width, as a decimal or a fraction."""

    def read(text: str) -> float:
        above, stroke, below = text.partition("/")
        try:
            value = float(above) / float(below) if stroke else float(above)
        except (ValueError, ZeroDivisionError):
            value = float("nan")
        if not low <= value <= high:
            raise argparse.ArgumentTypeError(
                f"{text[:40]!r}: allowed is a part of a ball from {low:g} to {high:g}, as 0.05 or 1/20"
            )
        return value

    return read


def bump(text: str) -> tuple[float, float]:
    """A size in balls, and a sign: + thick, - thin, 0 either."""
    value = balls(-0.5, 0.5)(text)
    return abs(value), {"+": 1.0, "-": -1.0}.get(text.strip()[:1], 0.0)


def days(read: "Callable[[str], Any] | None") -> "Callable[[str], list[Any]]":
    """Days, from 1, and with ``read`` a value of each: ``3,5``, or ``1=a,15=b``."""
    number = whole(1, 3650)

    def read_all(text: str) -> "list[Any]":
        found = []
        for part in text.split(","):
            day, tie, value = part.strip().partition("=")
            if bool(tie) != (read is not None):
                allowed = "numbers of days, as 3,5" if read is None else "day=value, as 1=...,15=..."
                raise argparse.ArgumentTypeError(f"{part[:40]!r}: allowed is {allowed}")
            found.append(number(day) if read is None else (number(day), read(value)))
        return found

    return read_all


def zone(text: str) -> str:
    """The name of a time zone."""
    from zoneinfo import ZoneInfo

    try:
        return ZoneInfo(text).key
    except (KeyError, ValueError, OSError):
        raise argparse.ArgumentTypeError(
            f"{text[:40]!r}: no zone of this name is known here; allowed is one as Europe/London "
            "(where the system has none: pip install tzdata)"
        ) from None


def point(text: str) -> tuple[float, float]:
    """A place on the table, mm."""
    try:
        x, y = (float(part) for part in text.split(","))
    except ValueError:
        raise argparse.ArgumentTypeError(
            f"{text[:40]!r}: allowed are two numbers in mm, as 1200,450"
        ) from None
    return x, y


def size(text: str) -> tuple[int, int]:
    """Columns and rows of a picture."""
    from trainer.pictures import MOST_SIZE

    columns, _, rows = text.partition("x")
    if columns.isdecimal() and rows.isdecimal() and columns.isascii() and rows.isascii():
        size = int(columns[:6]), int(rows[:6])
        if 1 <= size[0] <= MOST_SIZE[0] and 1 <= size[1] <= MOST_SIZE[1]:
            return size
    raise argparse.ArgumentTypeError(
        f"{text[:40]!r}: allowed is 1x1 to {MOST_SIZE[0]}x{MOST_SIZE[1]}, as 120x40"
    )


def colours(text: str) -> int:
    """A number of colours that a terminal may have."""
    from trainer.pictures.terminal import depth_named

    try:
        return depth_named(text)
    except ValueError as error:
        raise argparse.ArgumentTypeError(str(error)) from None

"""Notes and ticks in the words that one has for them after a frame, read."""

import math
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from types import MappingProxyType

from trainer.geometry.fullness import SIDES, bands
from trainer.history.note import DISTANCES, PACES, RESULTS, THIN

NAMED = {band.name: band.value for band in bands()}  # the fullnesses that have a name, thick to thin
# How full a pot was, as one says it who doesn't think in eighths: the eighth in the middle of what it covers.
WORDS = MappingProxyType({"thick-ish": "3/4", "half": "1/2", "thin": "1/4", "very thin": "1/8"})
ALSO = MappingProxyType({"quarter": "1/4", "thickish": "3/4", "very-thin": "1/8"})
KEYS = MappingProxyType({THIN: "n"})  # t is thick
TICKS = {"p": "potted", "t": "thick", "n": "thin"}
EXAMPLE = "half left thick far"
NUMBER = re.compile(r"(\d{1,7})(?:\.(\d{1,3}))?:?")


class NoteError(ValueError):
    """A note that isn't possible; the message is one line: what is wrong, and what is allowed."""


@dataclass(frozen=True)
class NoteSaid:
    """A note as it was said; ``distance`` and ``pace`` are '' where nothing was said of them."""

    fullness: float
    called: str
    side: str
    result: str
    distance: str = ""
    pace: str = ""


@dataclass(frozen=True)
class TicksSaid:
    """Ticks of a card: its number, the layout they begin at (None: where they go on), results a layout."""

    card: int
    nth: int | None
    results: tuple[tuple[str, ...], ...]


def read_fullness(text: str) -> tuple[float, str]:
    """A fullness and the name it goes by, from a name or a number from 0 to 1.

    Raises
    ------
    NoteError
        If it is neither.
    """
    known = ALSO.get(text.lower(), text.lower())
    if known in WORDS:
        return NAMED[WORDS[known]], "1/2" if known == "half" else known
    if known in NAMED:
        return NAMED[known], known
    try:
        value = float(Fraction(text)) if "/" in text else float(text)
    except (ValueError, ZeroDivisionError, OverflowError):
        value = math.nan
    if not 0.0 <= value <= 1.0:
        raise NoteError(
            f"{text[:40]!r} is no fullness; allowed: {', '.join(NAMED)}, the words {', '.join(WORDS)}, "
            "or a number from 0 to 1"
        )
    named = next((name for name, fullness in NAMED.items() if fullness == value), text)
    return value, named


def read_notes(words: Sequence[str]) -> list[NoteSaid]:
    """The notes in what somebody wrote: one, or those of a frame with commas between them.

    Raises
    ------
    NoteError
        If one of them isn't a note; which one is said where there are several.
    """
    parts = [part.split() for part in re.split(r"[,;]", " ".join(words))]
    parts = [part for part in parts if part]
    found = []
    for nth, part in enumerate(parts, 1):
        try:
            found.append(_note(part))
        except NoteError as error:
            raise NoteError(f"note {nth}: {error}" if len(parts) > 1 else str(error)) from None
    return found


def _note(words: list[str]) -> NoteSaid:
    if words[0].lower() == "very" and len(words) > 1:
        words = [f"{words[0]} {words[1]}", *words[2:]]
    if not 3 <= len(words) <= 5:
        raise NoteError(
            f"{len(words)} word{'s' * (len(words) != 1)}; allowed: fullness, side, result and maybe the "
            f"distance and the pace, as {EXAMPLE}"
        )
    fullness, called = read_fullness(words[0])
    side, result = one_of(words[1], "side", SIDES), one_of(words[2], "result", RESULTS, KEYS)
    more = {"distance": "", "pace": ""}
    for word in words[3:]:
        what, meant = _distance_or_pace(word)
        if more[what]:
            raise NoteError(f"{word[:40]!r}: the {what} is said twice; allowed: once")
        more[what] = meant
    return NoteSaid(fullness, called, side, result, **more)


def _distance_or_pace(word: str) -> tuple[str, str]:
    """Which of both a word says: ``f`` is far, and ``m`` middle; a pace is said in full, or as ``s``."""
    meant = word.lower()
    for each in DISTANCES:
        if meant in (each, each[0]):
            return "distance", each
    if meant in PACES or meant == "s":
        return "pace", "slow" if meant == "s" else meant
    raise NoteError(
        f"{word[:40]!r} is neither distance nor pace; allowed: {', '.join(DISTANCES)}; {', '.join(PACES)}"
    )


def one_of(
    word: str, what: str, allowed: tuple[str, ...], keys: Mapping[str, str] = MappingProxyType({})
) -> str:
    """The word that is meant: itself, the key that says it on the screen, or its first letter.

    Raises
    ------
    NoteError
        If it is none of those.
    """
    meant = word.lower()
    for each in allowed:
        if meant in (each, keys.get(each, each[0])):
            return each
    raise NoteError(f"{what} {word[:40]!r}; allowed: {', '.join(allowed)}")


def read_ticks(words: Sequence[str]) -> TicksSaid:
    """A card's number and the ticks that follow: ``12: p t t n p``, ``12.2: p n / t t``.

    A stroke begins the next layout.

    Raises
    ------
    NoteError
        If it isn't so.
    """
    first, *rest = " ".join(words).replace(":", ": ").split() or [""]
    number = NUMBER.fullmatch(first)
    if number is None:
        raise NoteError(f"{first[:40]!r} is no card; allowed: its number, or 12.2 for its second layout")
    if rest and rest[0] == ":":
        rest = rest[1:]
    layouts: list[list[str]] = [[]]
    for sign in _signs(rest):
        if sign == "/":
            layouts.append([])
        else:
            layouts[-1].append(sign)
    results = tuple(tuple(each) for each in layouts)
    return TicksSaid(
        int(number[1]), None if number[2] is None else int(number[2]), () if results == ((),) else results
    )


def _signs(words: Sequence[str]) -> Iterator[str]:
    for word in re.split(r"[\s,]+", " ".join(words).lower().replace("/", " / ").strip()):
        if word in (*RESULTS, "/"):
            yield word
        elif word and set(word) <= set(TICKS):
            yield from (TICKS[letter] for letter in word)
        elif word:
            raise NoteError(
                f"{word[:40]!r} is no tick; allowed: p (potted), t (thick), n (thin), / between layouts"
            )

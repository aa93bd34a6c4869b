"""What a drill asks, and what a player may answer."""

import difflib
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from trainer.shots.level import Level
from trainer.shots.plain import plain
from trainer.shots.shot import Shot
from trainer.shots.truth import Truth


@dataclass(frozen=True)
class Choice:
    """One answer: the key that gives it, its name, and its value.

    The value is a fullness for a band, a signed offset in ball widths for an aim.
    """

    key: str
    name: str
    value: float


class CallError(ValueError):
    """A call that can't be used; the message says what is wrong and what is allowed."""


@dataclass(frozen=True)
class Question:
    """One question about one shot.

    ``best`` is the index of the choice nearest to the truth, ``width`` how far apart neighbouring
    answers are, in ball widths.
    """

    drill: str
    shot: Shot
    truth: Truth
    prompt: str
    choices: tuple[Choice, ...]
    best: int
    width: float

    def read(self, text: str) -> Choice:
        """The choice that a line of text means: a key or a name, in any case, spaces ignored.

        Raises
        ------
        CallError
            If it is none of them.
        """
        wanted = " ".join(text.split()).casefold()
        for choice in self.choices:
            if wanted in (choice.key.casefold(), choice.name.casefold()):
                return choice
        keys = f"{self.choices[0].key} to {self.choices[-1].key}"
        names = [choice.name for choice in self.choices]
        near = difflib.get_close_matches(wanted, names, 1, 0.6)
        hint = f"; did you mean {near[0]}?" if near else ""
        shown = plain(text.strip())
        if len(shown) > 40:
            shown = shown[:37] + "..."
        raise CallError(
            f"{shown!r} is not an answer here{hint}; allowed: {keys}, or a name: {', '.join(names)}"
        )


class Drill(Protocol):
    """What every drill's module offers; ``HELP`` is three sentences."""

    NAME: str
    TITLE: str
    HELP: str

    def ask(self, level: Level, shot: Shot, truth: Truth, rng: np.random.Generator) -> Question:
        """The question that this drill asks of a shot."""

    def called_offset(self, question: Question, value: float) -> float:
        """The signed offset (ball widths) that an answer's value plays."""

    def error(self, question: Question, value: float) -> float:
        """Called less true fullness, + thick, - thin, in ball widths."""


def numbered(answers: list[tuple[str, float]]) -> tuple[Choice, ...]:
    """Choices with the keys 1, 2, 3, ... in the order given."""
    return tuple(Choice(str(i), name, value) for i, (name, value) in enumerate(answers, 1))

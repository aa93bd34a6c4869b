"""What a drill is to ask of, what it asks, and what a player may answer."""

import difflib
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from trainer.geometry.aiming import ROLLS, SPEEDS, Stroke
from trainer.geometry.fullness import Band, bands
from trainer.names import plain
from trainer.shots.shot import Limits, Point, Shot
from trainer.shots.truth import Truth

STEPS = tuple(Fraction(1, n) for n in (2, 4, 8, 16, 32))  # that answers may be apart, in balls
MOST_BALLS = 5  # to pick from
MOST_CHOICES = 9  # one key each, 1 to 9


@dataclass(frozen=True)
class Answers:
    """How fine the answers are.

    ``step`` in balls. ``named`` are the bands asked for by name (empty: all of this step that the
    cuts can give), ``choices`` the number of candidates in a row of aim points, ``within`` how near
    to a named band every shot lies (None: anywhere). ``mirrored``: the shots to compare a shot with are
    cut to the other side than it. ``ask`` says which of its questions a drill that has several asks
    (empty: its usual one).
    """

    step: Fraction = Fraction(1, 8)
    named: tuple[str, ...] = ()
    choices: int = 7
    within: Fraction | None = None
    mirrored: bool = True
    ask: str = ""


@dataclass(frozen=True, kw_only=True)
class Task:
    """What a drill asks of.

    Throw is counted, with one of the ``strokes`` at random, where there are any; else as the table has it.
    ``others`` is how many other balls lie about. Of so many ``balls`` one alone can be potted, and the
    player first says which.
    """

    limits: Limits = field(default_factory=Limits)
    answers: Answers = field(default_factory=Answers)
    strokes: tuple[Stroke, ...] = ()
    others: int = 0
    balls: int = 1

    def bands(self) -> tuple[Band, ...]:
        """The named bands, or else those of the step that the cuts can give, fullest first."""
        every = bands(self.answers.step)
        if self.answers.named:
            return tuple(band for band in every if band.name in self.answers.named)
        thick, thin = (1 - math.sin(math.radians(cut)) for cut in self.limits.cuts)
        return tuple(band for band in every if band.high > thin + 1e-9 and band.low < thick - 1e-9)


@dataclass(frozen=True)
class Problem:
    """What is wrong with a task as a level's file has it: the file's key, what is wrong, what is allowed."""

    key: str
    wrong: str
    allowed: str


@dataclass(frozen=True)
class Needed:
    """Shots that a task can't do without.

    Where the limits leave none, ``whose`` begins what is said of that, and ``allowed`` says what helps.
    """

    limits: Limits
    whose: str = ""
    allowed: str = "wider limits"


def strokes_named(speeds: Sequence[str], spins: Sequence[str] = ()) -> tuple[Stroke, ...]:
    """Every stroke of these speeds and spins by name; no spin named is all of them."""
    return tuple(Stroke(SPEEDS[speed], ROLLS[spin]) for speed in speeds for spin in spins or ROLLS)


LONGEST = 40  # characters of an answer that a message repeats


@dataclass(frozen=True)
class Choice:
    """One answer: the key that gives it, its name, and its value.

    What the value is the drill says: a fullness for a band, a signed offset in ball widths for an aim.
    A number that was set has no key.
    """

    key: str
    name: str
    value: float


@dataclass(frozen=True)
class Dial:
    """A number to be set: an answer without steps.

    ``low`` and ``high`` are its ends, ``start`` where it stands when the question comes, which tells
    nothing of the answer; ``steps`` how far a coarse, a fine and a hair's step turn it; ``jumps`` where
    the keys 1, 2, 3, ... set it at once, and ``ends`` where the first and the last of these lie, in words;
    ``unit`` what it counts, and ``name`` a value in words.
    """

    low: float
    high: float
    start: float
    steps: tuple[float, float, float]
    unit: str
    name: Callable[[float], str]
    jumps: tuple[float, ...] = ()
    ends: tuple[str, str] = ("far left", "far right")

    def at(self, value: float) -> Choice:
        """The answer of a value, kept within the ends."""
        kept = min(max(value, self.low), self.high)
        return Choice("", self.name(kept), kept)


class CallError(ValueError):
    """A call that can't be used; the message says what is wrong and what is allowed."""


@dataclass(frozen=True)
class Eye:
    """What is thought of the player's seeing at a shot's cut: bias (+ thick) and noise, in balls."""

    bias: float = 0.0
    noise: float = 0.06


@dataclass(frozen=True)
class Asked:
    """What was asked, as far as it says what an answer tells of the player's eye.

    The history keeps as much of a question. ``answers`` are the names and values of the choices, none where
    a number was set; ``cut_deg`` is the signed cut, ``fullness`` the true one and ``margin`` the fullness
    that still pots.
    """

    answers: tuple[tuple[str, float], ...]
    cut_deg: float
    fullness: float
    margin: tuple[float, float]

    @property
    def sine(self) -> float:
        """That of the signed cut."""
        return math.sin(math.radians(self.cut_deg))

    @property
    def sign(self) -> float:
        """That of the cut, + left."""
        return -1.0 if self.cut_deg < 0 else 1.0


@dataclass(frozen=True)
class Question:
    """One question about one shot. What only one drill's question has is in a class of that drill's own.

    ``choices`` are the answers, or there are none and ``dial`` is the number to set. ``best`` is the
    index of the choice nearest to the truth (-1: a number is asked), ``width`` how far apart neighbouring
    answers are, in ball widths (0 for a number).
    """

    drill: str
    shot: Shot
    truth: Truth
    prompt: str
    choices: tuple[Choice, ...] = ()
    best: int = -1
    width: float = 0.0
    dial: Dial | None = None

    @property
    def target(self) -> Point | None:
        """Where in the called pocket's mouth the object ball must go, mm; None where no pocket is called."""
        return self.truth.target

    @property
    def asked(self) -> Asked:
        """What of it decides what an answer tells."""
        answers = tuple((choice.name, choice.value) for choice in self.choices)
        return Asked(answers, math.degrees(self.truth.cut), self.truth.fullness, self.truth.margin)

    def read(self, text: str) -> Choice:
        """The answer that a line of text means.

        A choice's key or name, in any case, spaces ignored; where a number is asked, a number or a fraction.

        Raises
        ------
        CallError
            If it is none of them.
        """
        wanted = " ".join(text.split()).casefold()
        shown = plain(text.strip())
        if len(shown) > LONGEST:
            shown = shown[: LONGEST - 3] + "..."
        if self.dial is not None:
            return _number(self.dial, wanted, shown)
        for choice in self.choices:
            if wanted in (choice.key.casefold(), choice.name.casefold()):
                return choice
        keys = f"{self.choices[0].key} to {self.choices[-1].key}"
        names = [choice.name for choice in self.choices]
        near = difflib.get_close_matches(wanted, names, 1, 0.6)
        hint = f"; did you mean {near[0]}?" if near else ""
        raise CallError(
            f"{shown!r} is not an answer here{hint}; allowed: {keys}, or a name: {', '.join(names)}"
        )


def _number(dial: Dial, text: str, shown: str) -> Choice:
    """The number that a text is: decimal, or a fraction as a player says it."""
    try:
        value = float(Fraction(text)) if "/" in text and len(text) <= LONGEST else float(text)
    except (ValueError, ZeroDivisionError, OverflowError):
        value = math.nan
    if not dial.low <= value <= dial.high:
        raise CallError(
            f"{shown!r} is not an answer here; "
            f"allowed: a number from {dial.low:g} to {dial.high:g}, {dial.unit}"
        )
    return dial.at(value)


def numbered(answers: list[tuple[str, float]]) -> tuple[Choice, ...]:
    """Choices with the keys 1, 2, 3, ... in the order given."""
    return tuple(Choice(str(i), name, value) for i, (name, value) in enumerate(answers, 1))


def bounds(value: float, answers: Sequence[float]) -> tuple[float, float]:
    """Between which values somebody meant what he called: half way to the neighbouring answers.

    Parameters
    ----------
    value : float
        The answer called.
    answers : sequence of float
        All there were; none: a free answer.

    Returns
    -------
    (float, float)
        Low and high; infinite where there was no further answer.
    """
    if not answers:
        return value, value
    below = max((a for a in answers if a < value), default=-math.inf)
    above = min((a for a in answers if a > value), default=math.inf)
    return (value + below) / 2, (value + above) / 2

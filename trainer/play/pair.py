"""Pairs of calls: one shot called standing, and then again down on it, before anything of it is told.

What tells a pair in a history, what is said of one, and what many come to.
"""

import math
from collections.abc import Iterable, Iterator
from dataclasses import asdict, dataclass
from typing import NamedTuple

from trainer.drills import DRILLS, Mark
from trainer.drills.words import capital, counted
from trainer.history.attempt import Attempt
from trainer.levels.level import ROUTINE
from trainer.shots.style import HAIR, Style

AGREE = 1 / 32  # balls: two calls that are no farther apart agree
ENOUGH = 10  # pairs from which something can be said of a player
LATELY = 600  # calls that are looked at for them
# Standard errors: a difference of two looks is told only beyond. Of players without one, who look after
# each of a hundred shots, 2 in 100 are told of one.
SURE = 3.5
DIGITS = 9
STANDING, DOWN = ROUTINE
# What is to be done at each look.
LOOKS = {
    STANDING: ("Standing: choose the line.", "You get down on it next."),
    DOWN: ("Down: trust it or change it.", "You chose {chosen}."),
}
HELP = (
    "Here each shot is called twice, as a line is chosen standing and trusted when down: first standing, "
    "then again down on it, beginning at what you chose. Both calls are marked then, not before."
)


class Look(NamedTuple):
    """What of an attempt tells whether it is the first or the second look at a shot."""

    set_id: str
    number: int
    view: str
    drill: str
    cut_deg: float


def look_of(attempt: Attempt) -> Look:
    """That of an attempt."""
    return Look(attempt.set_id, attempt.number, attempt.view, attempt.drill, attempt.cut_deg)


def is_second(before: Look | None, look: Look) -> bool:
    """Whether a call is of the shot of the one just ``before`` it, standing then and down on it now."""
    if before is None or before.view != STANDING:
        return False
    return look == before._replace(number=before.number + 1, view=DOWN)


def pairs_in(attempts: Iterable[Attempt]) -> Iterator[tuple[Attempt, Attempt]]:
    """The pairs among attempts in the order they were made."""
    before = None
    for attempt in attempts:
        if before is not None and is_second(look_of(before), look_of(attempt)):
            yield before, attempt
        before = attempt


def without_seconds(attempts: Iterable[Attempt]) -> Iterator[Attempt]:
    """The attempts without the second look at a shot: that began at the first one's answer."""
    before = None
    for attempt in attempts:
        look = look_of(attempt)
        if not is_second(before, look):
            yield attempt
        before = look


@dataclass(frozen=True)
class Pair:
    """The marks of both calls of a shot."""

    standing: Mark
    down: Mark

    @property
    def changed(self) -> bool:
        """Whether the second answer was another one."""
        return self.standing.choice != self.down.choice

    @property
    def agree(self) -> bool:
        """Whether the two calls are next to the same."""
        return abs(self.standing.error - self.down.error) <= AGREE

    @property
    def nearer(self) -> str:
        """The view in which the truth was called nearer; '' for neither. What is right is nearer."""
        mine, other = ((not mark.right, abs(mark.error)) for mark in (self.standing, self.down))
        return STANDING if mine < other else DOWN if other < mine else ""

    def headline(self, style: Style) -> str:
        """``Standing 1/16 thick, down 1/64 thin. It needs 0.31 left of centre.``"""
        drill, question = DRILLS[self.down.question.drill], self.down.question
        best = drill.best(question)
        if drill.names_answers and question.choices:
            one, other = self.standing.choice.name, self.down.choice.name
            return f"Standing {one}, down {other}. The answer: {best.name}."
        seen = [_off(mark.error, style) for mark in (self.standing, self.down)]
        needs = f"It needs {best.name}." if question.dial else f"The answer: {best.key}."
        return f"Standing {seen[0]}, down {seen[1]}. {needs}"

    @property
    def lesson(self) -> str:
        """What to take from it: to trust the line that was chosen, or to look better when choosing."""
        right = self.down.right
        if not self.changed:
            return "You trusted it: well chosen." if right else "Both alike: choose it better standing."
        if self.nearer == STANDING:
            was = "You were right standing" if self.standing.right else "Standing was nearer"
            return f"{was}: trust it."
        if self.nearer == DOWN:
            return "The change was right." if right else "The change was for the better."
        return "The change made no difference: trust what you chose."


def _off(error: float, style: Style) -> str:
    """``1/16 thick``, ``dead on``."""
    if abs(error) < HAIR:
        return "dead on"
    part = style.ball_part(error).removesuffix("s").removesuffix(" ball")
    return f"{part} {'thick' if error > 0 else 'thin'}"


@dataclass(frozen=True)
class TwoLooks:
    """What pairs come to. Errors are mean sizes, in balls.

    ``gain`` is by how much the second calls are nearer to the truth on average, ``gain_sd`` its standard
    error; it is nan for a single pair.
    """

    pairs: int
    agree: int
    standing_typical_error: float
    down_typical_error: float
    changed_for_better: int
    changed_for_worse: int
    gain: float
    gain_sd: float

    def plain(self) -> dict[str, int | float]:
        """The figures for JSON."""
        left_out = ("gain", "gain_sd")
        figures = {name: value for name, value in asdict(self).items() if name not in left_out}
        return {name: round(value, DIGITS) for name, value in figures.items()}

    @property
    def is_sure(self) -> bool:
        """Whether one of the two looks is surely nearer."""
        return abs(self.gain) > SURE * self.gain_sd

    def of_a_set(self, style: Style) -> str:
        """One sentence at the end of a set."""
        shots = counted(self.pairs, "shot")
        said = f"Standing and down agreed within {style.one_over(AGREE)} ball in {self.agree} of {shots}"
        first, second = (style.one_over(e) for e in (self.standing_typical_error, self.down_typical_error))
        if first == second:
            return f"{said}; both were {first} off on average."
        name, least, most = (DOWN, second, first) if self.gain > 0 else (STANDING, first, second)
        return f"{said}; {name} was nearer on average, {least} off and not {most}."

    def of_a_player(self, style: Style) -> str:
        """What they say of a player, and how sure it is; with too few, how many more it takes."""
        if self.pairs < ENOUGH:
            more = counted(ENOUGH - self.pairs, "more shot")
            return f"Standing, then down: {more} called twice will tell which look to trust."
        said = (
            f"Standing, then down: within {style.one_over(AGREE)} ball of each other in {self.agree} of "
            f"{self.pairs} shots; {self.changed_for_better} changed for the better, "
            f"{self.changed_for_worse} for the worse."
        )
        if not self.is_sure:
            return f"{said} Neither look is surely nearer yet."
        by, within = style.one_over(self.gain), style.one_over(1.96 * self.gain_sd)
        name = DOWN if self.gain > 0 else STANDING
        return f"{said} {capital(name)} is nearer by {by} ball, sure within {within}."


def two_looks(pairs: Iterable[tuple[Attempt, Attempt]]) -> TwoLooks | None:
    """What pairs of attempts come to; None without any."""
    found = list(pairs)
    if not found:
        return None
    first, second = ([abs(pair[k].error) for pair in found] for k in (0, 1))
    gains = [a - b for a, b in zip(first, second, strict=True)]
    changed = [gain for gain, pair in zip(gains, found, strict=True) if pair[0].value != pair[1].value]
    n, gain = len(found), math.fsum(gains) / len(found)
    spread = math.fsum((each - gain) ** 2 for each in gains)
    return TwoLooks(
        pairs=n,
        agree=sum(abs(a.error - b.error) <= AGREE for a, b in found),
        standing_typical_error=math.fsum(first) / n,
        down_typical_error=math.fsum(second) / n,
        changed_for_better=sum(each > 0 for each in changed),
        changed_for_worse=sum(each < 0 for each in changed),
        gain=gain,
        gain_sd=math.sqrt(spread / (n - 1) / n) if n > 1 else math.nan,
    )

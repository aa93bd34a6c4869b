"""What follows from all the attempts that count, kept up call by call.

A start reads it from the history and takes in the few attempts that came after it was written. Without one,
or where it doesn't fit the history any more, it is made anew from all of them.
"""

import math
from collections import deque
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import astuple, dataclass, field
from datetime import date
from functools import partial
from typing import Any, Self

from trainer.drills import ANGLE, DRILLS
from trainer.history.attempt import Attempt
from trainer.history.store import History
from trainer.learner.belief import Belief
from trainer.learner.call import Call
from trainer.learner.centre import REMEMBERED as SIGHTED
from trainer.learner.tally import Tally
from trainer.learner.verdicts import REMEMBERED, believe
from trainer.levels.level import Level
from trainer.play.calls import call_of, is_sighted, sighted_of, skill_of
from trainer.play.passing import Passing

VERSION = 2  # one more whenever the same attempts would come to something else
LEARNING = 16  # attempts are counted in the time that one is learnt from, about
LATELY = 600  # calls of a skill that are kept whole
BRIEF = ("id", "local_day", "level", "drill", "right", "potted", "cut_deg", "error", "called_offset", "call")


@dataclass
class Skill:
    """What is known of one skill: what is thought of it, its calls counted by kind, and the last of them."""

    belief: Belief = field(default_factory=Belief)
    tally: Tally = field(default_factory=Tally)
    calls: list[Call] = field(default_factory=list)

    def learn(self, call: Call) -> None:
        """Take in one more call."""
        self.belief.update(call)
        self.tally.take(call)
        self.calls.append(call)
        if len(self.calls) > 2 * LATELY:
            del self.calls[:-LATELY]

    def plain(self) -> dict[str, Any]:
        """All of it for JSON."""
        return {
            "belief": self.belief.plain(),
            "tally": self.tally.plain(),
            "calls": [astuple(call) for call in self.calls[-LATELY:]],
        }

    @classmethod
    def of_plain(cls, plain: Mapping[str, Any]) -> Self:
        """What ``plain`` gave."""
        belief, tally = Belief.of_plain(plain["belief"]), Tally.of_plain(plain["tally"])
        return cls(belief, tally, [Call(*values) for values in plain["calls"]])


@dataclass
class Runs:
    """Calls one after another: how many, right ones, potted ones, and the runs of both, now and longest."""

    calls: int = 0
    right: int = 0
    potted: int = 0
    run: int = 0
    best_run: int = 0
    run_of_pots: int = 0
    best_run_of_pots: int = 0

    def take(self, right: bool, potted: bool) -> None:
        """Count one more call."""
        self.calls += 1
        self.right += right
        self.potted += potted
        self.run = self.run + 1 if right else 0
        self.best_run = max(self.best_run, self.run)
        self.run_of_pots = self.run_of_pots + 1 if potted else 0
        self.best_run_of_pots = max(self.best_run_of_pots, self.run_of_pots)


@dataclass
class Levelled:
    """The calls of one level: how many, and by each of its rules whether they pass it."""

    calls: int = 0
    passing: dict[str, Passing] = field(default_factory=dict)

    def take(self, drill: str, right: bool) -> None:
        """Count one more call."""
        self.calls += 1
        for each in self.passing.values():
            each.take(drill, right)

    def plain(self) -> list[Any]:
        """All of it for JSON."""
        return [self.calls, [each.plain() for each in self.passing.values()]]

    @classmethod
    def of_plain(cls, plain: Sequence[Any]) -> Self:
        """What ``plain`` gave."""
        calls, each = plain
        return cls(calls, {found.key: found for found in map(Passing.of_plain, each)})


class Digest:
    """What follows from attempts up to ``last_id``: over all, by day, by level and by skill.

    ``sighted`` is what the last calls of straight or not tell, see :func:`sighted_of`: nobody knows how far
    back one would have to go for them.
    """

    def __init__(self) -> None:
        self.last_id = ""
        self.whole = Runs()
        self.days: dict[str, Runs] = {}
        self.levels: dict[str, Levelled] = {}
        self.skills: dict[str, Skill] = {ANGLE: Skill()}
        self.sighted: deque[tuple[float, float]] = deque(maxlen=SIGHTED)

    def skill(self, name: str) -> Skill:
        """What is known of a skill; nothing before its first call."""
        if name not in self.skills:
            self.skills[name] = Skill()
        return self.skills[name]

    def take(self, attempt: Attempt) -> None:
        """Take in one more attempt."""
        a = attempt
        self.count(a.id, a.local_day, a.level, a.drill, right=a.right, potted=a.potted)
        self.skill(skill_of(a.drill)).learn(call_of(a))
        if is_sighted(a.drill, a.call):
            self.sighted.append(sighted_of(a))

    def count(self, attempt_id: str, day: str, level: str, drill: str, *, right: bool, potted: bool) -> None:
        """Count one more attempt: all but what it tells of a skill."""
        self.last_id = max(self.last_id, attempt_id)
        self.whole.take(right, potted)
        if day not in self.days:
            self.days[day] = Runs()
        self.days[day].take(right, potted)
        if level not in self.levels:
            self.levels[level] = Levelled()
        self.levels[level].take(drill, right)

    # Keeping it

    def plain(self) -> dict[str, Any]:
        """All of it for JSON, and a copy: what is learnt later changes nothing of it."""
        return {
            "last_id": self.last_id,
            "whole": astuple(self.whole),
            "days": {day: astuple(runs) for day, runs in self.days.items()},
            "levels": {name: level.plain() for name, level in self.levels.items()},
            "skills": {name: skill.plain() for name, skill in self.skills.items()},
            "sighted": list(self.sighted),
        }

    @classmethod
    def of_plain(cls, plain: Mapping[str, Any]) -> Self:
        """What ``plain`` gave."""
        found = cls()
        found.last_id = plain["last_id"]
        found.whole = Runs(*plain["whole"])
        found.days = {day: Runs(*values) for day, values in plain["days"].items()}
        found.levels = {name: Levelled.of_plain(each) for name, each in plain["levels"].items()}
        found.skills = {name: Skill.of_plain(each) for name, each in plain["skills"].items()}
        found.sighted.extend((needed, way) for needed, way in plain["sighted"])
        return found


def work(attempts: int) -> int:
    """What there is to do for the digest of so many attempts of one skill, in attempts that are counted."""
    return attempts + LEARNING * min(attempts, REMEMBERED)


def built(history: History, levels: Iterable[Level], said: Callable[[int], object] | None = None) -> Digest:
    """The digest of a history, made anew; ``said`` is told how much more of its :func:`work` is done.

    What is long past has faded from a belief: it begins with the last ``REMEMBERED`` calls of its skill.
    """
    found, lately, sighted = Digest(), dict[str, deque[str]](), deque[str](maxlen=SIGHTED)
    for level in levels:
        if level.passed is not None:
            passing = Passing.of_level(level)
            found.levels.setdefault(level.name, Levelled()).passing[passing.key] = passing
    for rows in history.brief(BRIEF):
        for attempt_id, day, level_name, drill, right, potted, cut_deg, error, called_offset, call in rows:
            found.count(attempt_id, day, level_name, drill, right=bool(right), potted=bool(potted))
            name, known = skill_of(drill), DRILLS.get(drill)
            sine = math.sin(math.radians(cut_deg))
            found.skill(name).tally.count(
                known.looked_at(sine, error, called_offset) if known else sine,
                bool(right),
                date.fromisoformat(day).toordinal(),
                compares=known is not None and known.compares,
            )
            if name not in lately:
                lately[name] = deque(maxlen=REMEMBERED)
            lately[name].append(attempt_id)
            if is_sighted(drill, call):
                sighted.append(attempt_id)
        if said is not None:
            said(len(rows))
    for name, ids in lately.items():
        skill, calls = found.skill(name), [call_of(attempt) for attempt in history.attempts_of(ids)]
        learnt = None if said is None else partial(said, LEARNING)
        skill.belief, skill.calls = believe(calls, learnt), calls[-LATELY:]
        for call in calls:
            skill.tally.measure(call)
    found.sighted.extend(map(sighted_of, history.attempts_of(sighted)))
    return found

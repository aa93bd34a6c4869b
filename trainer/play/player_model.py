"""What is believed of a player, kept up call by call, and kept in the history as it was after one of them.

A start reads it and takes in the few attempts that came after it. Without one, or where it doesn't fit the
history any more, it is worked out anew from all of them.
"""

import json
import math
from collections import defaultdict, deque
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date
from functools import lru_cache
from typing import Any, Self

from trainer.drills import ANGLE, DRILLS
from trainer.history import TrainerError
from trainer.history.attempt import Attempt
from trainer.history.store import History
from trainer.learner.belief import Belief
from trainer.learner.call import Call
from trainer.learner.centre import REMEMBERED as SIGHTED
from trainer.learner.diagnosis import Looks
from trainer.learner.tally import Tally
from trainer.learner.verdicts import REMEMBERED
from trainer.play.calls import call_of, is_sighted, learns_from, sighted_of, skill_of, skills_told_of
from trainer.play.pair import Look, is_second, look_of

NAME = "belief"
VERSION = 7  # one more whenever the same attempts would come to something else
LEARNING = 16  # attempts are counted in the time that one is learnt from, about
BRIEF = (
    *("id", "local_day", "drill", "right", "cut_deg", "error", "called_offset", "call", "level"),
    *("set_id", "number", "view"),
)
WORTH_KEEPING = 64  # attempts that a start would have to take in
MOST = 512
ANEW = 4000  # attempts: counting all of the others is quicker than learning from each of so many


@dataclass
class Skill:
    """What is known of one skill.

    What is believed of it, its calls counted by kind of shot, and which causes are told, each since when.
    """

    belief: Belief = field(default_factory=Belief)
    tally: Tally = field(default_factory=Tally)
    looks: Looks = field(default_factory=Looks)

    def learn(self, call: Call, number: int) -> None:
        """Take in one more call, the player's call of this number."""
        self.believe(call, number)
        self.tally.take(call)

    def believe(self, call: Call, number: int) -> None:
        """Take in one more call that is counted already."""
        self.belief.update(call)
        self.looks.look(self.belief, number)


class PlayerModel:
    """What follows for the learner from the attempts up to ``last_id``: by skill.

    ``sighted`` is what the last calls of straight or not tell, see :func:`sighted_of`: nobody knows how far
    back one would have to go for them. ``look`` is the last attempt's, also where that told nothing.
    """

    def __init__(self) -> None:
        self.last_id = ""
        self.look: Look | None = None
        self.skills = defaultdict[str, Skill](Skill, {ANGLE: Skill()})
        self.sighted: deque[tuple[float, float]] = deque(maxlen=SIGHTED)

    def skill(self, name: str) -> Skill:
        """What is known of a skill; nothing before its first call."""
        return self.skills[name]

    @property
    def calls(self) -> int:
        """How many calls it has taken in, of all skills."""
        return sum(skill.tally.calls for skill in self.skills.values())

    def take(self, attempt: Attempt, told: Call | None = None) -> None:
        """Take in one more attempt, and what is ``told`` of it; None where it comes out of the history.

        A second look at a shot began at the first one's answer, so it tells nothing that counts again.
        """
        before, self.look = self.look, look_of(attempt)
        self.last_id = max(self.last_id, attempt.id)
        if is_second(before, self.look) or not learns_from(attempt.level):
            return
        call, number = told or call_of(attempt), self.calls + 1
        name, *others = skills_told_of(attempt.drill)
        self.skill(name).learn(call, number)
        for other in others:
            self.skill(other).believe(call, number)
        if is_sighted(attempt.drill, attempt.call):
            self.sighted.append(sighted_of(attempt))

    def plain(self) -> dict[str, Any]:
        """All of it for JSON, and a copy: what is learnt later changes nothing of it."""
        skills = {
            name: (each.belief.plain(), each.tally.plain(), *each.looks.plain())
            for name, each in self.skills.items()
        }
        sighted = list(self.sighted)
        return {"last_id": self.last_id, "look": self.look, "skills": skills, "sighted": sighted}

    @classmethod
    def of_plain(cls, plain: Mapping[str, Any]) -> Self:
        """What ``plain`` gave."""
        found = cls()
        found.last_id = plain["last_id"]
        found.look = Look(*plain["look"]) if plain.get("look") else None
        for name, (belief, tally, *looks) in plain["skills"].items():
            found.skills[name] = Skill(Belief.of_plain(belief), Tally.of_plain(tally), Looks(*looks))
        found.sighted.extend((needed, way) for needed, way in plain["sighted"])
        return found


def work(attempts: int) -> int:
    """What there is to do for the model after so many attempts of one skill, in attempts that are counted."""
    return attempts + LEARNING * min(attempts, REMEMBERED)


@lru_cache(maxsize=8)
def _numbered(day: str) -> int:
    """The number of a local day; attempts come day by day."""
    return date.fromisoformat(day).toordinal()


def built(history: History, progress: Callable[[int], object] | None = None) -> PlayerModel:
    """The model of a history's player, made anew.

    What is long past has faded from a belief: it begins with the last ``REMEMBERED`` calls of its skill.
    ``progress`` is told how much more of its :func:`work` is done.
    """
    found, sighted, number = PlayerModel(), deque[str](maxlen=SIGHTED), 0
    lately = defaultdict[str, deque[tuple[str, int]]](lambda: deque(maxlen=REMEMBERED))
    for rows in history.brief(BRIEF):
        for attempt_id, day, drill, right, cut_deg, error, called_offset, call, level, *look in rows:
            before, found.look = found.look, Look(look[0], look[1], look[2], drill, cut_deg)
            if is_second(before, found.look) or not learns_from(level):
                continue
            known, number = DRILLS.get(drill), number + 1
            sine = math.sin(math.radians(cut_deg))
            found.skills[skill_of(drill)].tally.count(
                known.looked_at(sine, error, called_offset) if known else sine,
                bool(right),
                _numbered(day),
                compares=known is not None and known.compares,
            )
            for told_of in skills_told_of(drill):
                lately[told_of].append((attempt_id, number))
            if is_sighted(drill, call):
                sighted.append(attempt_id)
        found.last_id = rows[-1][0]
        if progress is not None:
            progress(len(rows))
    for name, last in lately.items():
        skill = found.skill(name)
        attempts = history.attempts_of([attempt_id for attempt_id, _ in last])
        for attempt, (_, number) in zip(attempts, last, strict=True):
            call = call_of(attempt)
            skill.believe(call, number)
            if skill_of(attempt.drill) == name:
                skill.tally.measure(call)
            if progress is not None:
                progress(LEARNING)
    found.sighted.extend(map(sighted_of, history.attempts_of(sighted)))
    return found


class KeptModel:
    """A player's model as the history keeps it, and how to get back to before the last attempt."""

    def __init__(self, history: History, progress: Callable[[int], object] | None = None) -> None:
        self._history = history
        self._since: list[Attempt] = []  # what the model has taken in since the base
        self._kept_id: str | None = None  # the last attempt of what is kept, which the next goes on from
        kept = _read(history.get_snapshot(NAME))
        if kept is None or history.count_after(kept[0].last_id) > ANEW:
            self._make_anew(progress)
            return
        self.model, self._base = kept
        self._kept_id = self.model.last_id
        for attempt in history.attempts_after(self.model.last_id):
            self.model.take(attempt)
            self._since.append(attempt)
        self.keep(MOST)

    def take(self, attempt: Attempt, told: Call) -> None:
        """Take in an attempt that was just kept, and what is told of it."""
        if len(self._since) >= MOST:
            self.keep()
        self.model.take(attempt, told)
        self._since.append(attempt)

    def forget_last(self) -> None:
        """Be as before the last attempt, which counts no more."""
        if not self._since:
            self._make_anew()
            return
        del self._since[-1]
        self.model = PlayerModel.of_plain(self._base)
        for attempt in self._since:
            self.model.take(attempt)

    def keep(self, least: int = 1) -> None:
        """Write the model into the history, if it has taken in so many attempts since it was."""
        if len(self._since) < least:
            return
        after = self._kept_id
        self._base, self._since = self.model.plain(), []
        text = json.dumps({"version": VERSION, **self._base}, separators=(",", ":"))
        try:
            if self._history.put_snapshot(NAME, self.model.last_id, text, after):
                self._kept_id = self.model.last_id
        except TrainerError:  # all of it can be had from the attempts
            return

    def _make_anew(self, progress: Callable[[int], object] | None = None) -> None:
        self.model, self._kept_id = built(self._history, progress), None
        self._base, self._since = self.model.plain(), []
        if self.model.calls >= WORTH_KEEPING:
            self.keep(0)


def _read(kept: tuple[str, str] | None) -> tuple[PlayerModel, dict[str, Any]] | None:
    """The model that was kept, and as it was kept; None where it is of another version or none."""
    if kept is None:
        return None
    try:
        plain = json.loads(kept[1])
        return (PlayerModel.of_plain(plain), plain) if plain["version"] == VERSION else None
    except (ValueError, TypeError, LookupError, RecursionError):  # changed by hand: it is made anew
        return None

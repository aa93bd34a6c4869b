"""What is wrong with this player's eye, why, and what to do about it: one plain sentence first.

The causes that are surely there come first, the one that costs most pots before the others. Where there is
none, the kinds of shot that are surely seen wrong are told; where it is too early, what is likely already.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from trainer.drills import ANGLE
from trainer.drills.words import capital, counted, kind_name, small
from trainer.geometry.fullness import Kind
from trainer.geometry.vectors import Floats
from trainer.learner import causes
from trainer.learner.diagnosis import LIKELY, SURE, CauseSize, Weighed, weighed
from trainer.learner.verdicts import (
    MOST_TO_GO,
    THICK,
    THIN,
    TRUE,
    KindVerdict,
    is_sure,
    kind_verdicts,
    share_potted,
)
from trainer.levels.level import Level, about
from trainer.levels.shelf import Shelf
from trainer.play.causes_in_words import (
    COURSES,
    CURES,
    SAYS,
    THROWN,
    VIEW_CURES,
    VIEWED,
    healed_words,
    part,
    wide,
)
from trainer.play.player_model import PlayerModel
from trainer.shots.style import Style

FIRST_WORD = 12  # calls from which something can be said
EARLY = 60  # calls
HELD = 2  # days after a cause has healed in which what is left of it isn't told as a local fault
HEALED_FOR = 14  # days in which it is said that it has healed
LEAST_COST = 0.02  # of all pots: what costs less isn't what a player is told first
NAMED_FROM = 0.5  # the chance from which a cause is said to be likely
PLACES = np.sin(np.radians(np.arange(-70.0, 71.0, 5.0)))  # of cuts, evenly: costs are averages over them
MOST_KINDS = 3  # kinds of shot in a sentence


@dataclass(frozen=True)
class Found:
    """A cause that is surely there.

    ``size`` and its 95 % interval ``low`` to ``high`` are in balls, as :mod:`trainer.learner.causes` says;
    ``cost`` is the part of all pots that it loses. ``since_call`` is the number of the call it has been told
    since. ``what`` is wrong, ``does`` is what comes of it at the pocket, ``why`` or what follows. ``cure`` is
    the level that mends it, ``aim`` what is to be learnt there, ``course`` the cure and what follows on it.
    ``kinds`` are those of a local fault.
    """

    cause: str
    size: float
    low: float
    high: float
    chance: float
    since_call: int
    cost: float
    what: str
    does: str
    why: str
    cure: Level
    aim: str
    course: tuple[Level, ...]
    kinds: tuple[Kind, ...] = ()
    brief: str = ""  # what is wrong, where there is room for no more

    @property
    def matters(self) -> bool:
        """Whether it costs pots to speak of: a local fault is told only where it does."""
        return self.cost >= LEAST_COST or self.cause == causes.LOCAL

    @property
    def short(self) -> str:
        """What is wrong, as a sentence."""
        return f"{self.brief or self.what}."

    @property
    def says(self) -> str:
        """What is wrong, how much, what comes of it and why, in one sentence."""
        return f"{self.what} ({self.does}){f', {self.why}' if self.why else ''}."

    @property
    def todo(self) -> str:
        """What to do about it, as a sentence: ``See where the ball's centre is: Straight or not.``"""
        return f"{self.aim}: {self.cure.title}."


@dataclass(frozen=True)
class Diagnosis:
    """The verdict on an eye: what is surely there, and a sentence that is true whenever it is read.

    ``calls_to_go`` is about how many more calls it takes to be sure of what is likely; None where nothing is
    open.
    """

    causes: tuple[Found, ...]
    sentence: str
    calls_to_go: int | None = None

    @property
    def said(self) -> str:
        """The sentence, and what to do about it."""
        return self.sentence if self.worst is None else f"{self.sentence} {self.worst.todo}"

    def news(self, before: "Diagnosis | None", style: Style) -> str:
        """The sentence, if it isn't that of ``before``; a short one of what is as it was, '' of nothing."""
        if before is None:
            return self.sentence
        now, then = self.worst, before.worst
        if now is None or then is None or now.cause != then.cause:
            return "" if before.sentence == self.sentence else self.sentence
        if now.cause == causes.LOCAL:
            return "" if now.what == then.what else now.says
        was = part(then.size, style)
        if was == part(now.size, style):
            return f"As before: {small(now.short)}"
        return f"{now.short} Before this set it was {was}."

    @property
    def worst(self) -> Found | None:
        """What costs most pots, if anything costs some to speak of."""
        return next((found for found in self.causes if found.matters), None)


def diagnose(model: PlayerModel, shelf: Shelf, style: Style) -> Diagnosis:
    """The verdict on a player's eye, after all calls."""
    skill, words = model.skill(ANGLE), _Words(model, shelf, style)
    seen, since = weighed(skill.belief), skill.looks.since
    found = [words.found(size, since[size.cause]) for size in seen.sizes if size.cause in since]
    if all(skill.belief.day - healed.day >= HELD for healed in skill.looks.healed.values()):
        found += words.local(found, since.get(causes.LOCAL, model.calls))
    found.sort(key=lambda each: -each.cost)
    told = [each for each in found if each.matters]
    if told:
        said = [told[0].says, *(f"Besides: {small(each.says)}" for each in told[1:2])]
        return Diagnosis(tuple(found), " ".join(said))
    return Diagnosis(tuple(found), *words.too_early(seen))


def by_view(model: PlayerModel, style: Style) -> list[str]:
    """How each view differs from the first, and the kinds of shot that are seen otherwise, as sentences.

    None where only one was called in.
    """
    found = []
    for size in weighed(model.skill(ANGLE).belief).sizes:
        cause, *views = size.cause.split()
        if cause != causes.VIEW:
            continue
        one, other = (VIEWED[view] for view in views)
        fuller = "fuller" if size.mean > 0 else "thinner"
        within = f"{part(max(-size.low, size.high), style)}"
        if size.low <= 0.0 <= size.high:
            found.append(f"{one} you see hits as {small(other)}, within {within}.")
        else:
            found.append(f"{one} you see hits {part(size.mean, style)} {fuller} than {small(other)}.")
    return found + _kinds_that_differ(model, style)


def kinds_by_view(model: PlayerModel) -> dict[str, list[KindVerdict]]:
    """Every kind of shot as it is seen in each view that surely differs from another; {} where none does."""
    skill = model.skill(ANGLE)
    told = [cause.split()[1:] for cause in skill.looks.since if cause.startswith(causes.VIEW)]
    views = dict.fromkeys(view for pair in told for view in reversed(pair))
    return {view: kind_verdicts(skill.belief, skill.tally, view) for view in views}


def _kinds_that_differ(model: PlayerModel, style: Style) -> list[str]:
    """The kinds with one verdict in one view and another in the other, as sentences; the worst only."""
    views = kinds_by_view(model)
    rows = [row for row in zip(*views.values(), strict=True) if len({kind.verdict for kind in row}) > 1]
    wrong = [row for row in rows if any(kind.verdict in (THICK, THIN) for kind in row)]
    wrong.sort(key=lambda row: -max(abs(kind.bias) for kind in row if kind.verdict in (THICK, THIN)))
    found = []
    for row in wrong[:MOST_KINDS]:
        seen = [f"{small(VIEWED[v])} {_brief(kind, style)}" for v, kind in zip(views, row, strict=True)]
        found.append(f"{capital(kind_name(row[0].kind))}: {', '.join(seen)}.")
    return found


def _brief(kind: KindVerdict, style: Style) -> str:
    if kind.verdict in (THICK, THIN):
        return f"{part(kind.bias, style)} {kind.verdict}"
    return "true" if kind.verdict == TRUE else "not sure yet"


def calls_to_be_sure(size: CauseSize, calls: int) -> int | None:
    """About how many more calls it takes until a likely cause is told; None for more than anybody plays.

    The evidence grows with the square of size over standard deviation, and that with the calls.
    """
    wanted = _log_odds(SURE) - _log_odds(size.chance)
    evidence = 0.5 * (size.mean / size.sd) ** 2
    more = 1.0
    for _ in range(20):  # a fixed point: what another prior takes away grows with the logarithm
        more = 1.0 + (wanted + 0.5 * math.log(more)) / evidence
    needed = math.ceil(calls * (more - 1.0))
    return max(needed, 1) if needed <= MOST_TO_GO else None


def _log_odds(chance: float) -> float:
    return math.log(chance / (1.0 - chance))


class _Words:
    """What is said of one player's eye."""

    def __init__(self, model: PlayerModel, shelf: Shelf, style: Style) -> None:
        self.model, self.shelf, self.style = model, shelf, style
        self.belief = model.skill(ANGLE).belief
        self.noise = self.belief.noise(PLACES)

    def found(self, size: CauseSize, since: int) -> Found:
        """A cause that is told, in words."""
        cause, *views = size.cause.split()
        said = SAYS[cause](size.mean, self.style, views)
        level, aim = CURES[cause] if cause in CURES else VIEW_CURES[views[0]]
        values = size.mean, size.low, size.high, size.chance
        cost = self.cost(_bias(cause, size.mean))
        cure, *others = (self.shelf.find(name) for name in (level, *COURSES[cause]))
        return Found(cause, *values, since, cost, *said, cure, aim, (cure, *others))

    def cost(self, bias: Floats) -> float:
        """The part of all pots that a bias at ``PLACES`` loses, given how this player's calls scatter."""
        lost = share_potted(0.0, self.noise, PLACES) - share_potted(bias, self.noise, PLACES)
        return float(lost.mean())

    def local(self, told: Sequence[Found], since: int) -> list[Found]:
        """The kinds of shot that are surely seen wrong and that no cause explains, as one; [] for none."""
        rows = [row for row in self.kinds if row.verdict in (THICK, THIN) and self._lost(row) >= LEAST_COST]
        if told:
            rows = [row for row in rows if self._is_left(row)]
        if not rows:
            return []
        rows.sort(key=lambda row: -self._lost(row))
        worst = rows[0]
        named = [f"{kind_name(row.kind)} {self._part(row.bias)} {row.verdict}" for row in rows[:MOST_KINDS]]
        if len(rows) > MOST_KINDS:
            named[-1:] = [f"{len(rows) - MOST_KINDS + 1} kinds more"]
        does = wide(abs(sum(worst.kind.sines)) / 2, worst.bias, self.style)
        what = f"You see {_listed(named)}"
        level = about(worst.kind, self.shelf.tables)
        off = self.belief.rest(PLACES)[0] if told else self.belief.curve(PLACES)[0]
        mean = self.belief.average(np.linspace(*worst.kind.sines, 9))
        chance = 0.5 * (1 + math.erf(abs(mean.mean) / mean.sd / math.sqrt(2)))
        kinds = tuple(row.kind for row in rows)
        cost, aim = self.cost(off), "Practise that cut among others"
        values = worst.bias, worst.low, worst.high, chance
        brief = f"You see {named[0]}"
        return [Found(causes.LOCAL, *values, since, cost, what, does, "", level, aim, (level,), kinds, brief)]

    @cached_property
    def kinds(self) -> list[KindVerdict]:
        """Every kind of shot."""
        return kind_verdicts(self.belief, self.model.skill(ANGLE).tally)

    def _is_left(self, row: KindVerdict) -> bool:
        """Whether the local curve alone is surely off there, the way the kind is."""
        mean, sd = self.belief.rest(np.linspace(*row.kind.sines, 3))
        return bool((is_sure(mean, sd) & (np.sign(mean) == np.sign(row.bias))).any())

    def _lost(self, row: KindVerdict) -> float:
        sine = np.array([sum(row.kind.sines) / 2])
        return float((share_potted(0.0, row.noise, sine) - share_potted(row.bias, row.noise, sine))[0])

    def _part(self, size: float) -> str:
        return part(size, self.style)

    def too_early(self, seen: Weighed) -> tuple[str, int | None]:
        """What can be said where nothing is sure that costs pots, and how many calls more it takes."""
        calls = self.model.calls
        if calls < FIRST_WORD:
            more = FIRST_WORD - calls
            return f"{counted(more, 'more call')}, and a first word on your eye can be said.", more
        likely = max((s for s in seen.sizes if s.cause != causes.THROW), key=lambda size: size.chance)
        if likely.chance >= NAMED_FROM:
            says = self.found(likely, 0).says
            more_calls = calls_to_be_sure(likely, calls)
            if more_calls is not None:
                wait = f"About {counted(more_calls, 'more call')} will tell."
                return f"Likely, and not sure yet: {small(says)} {wait}", more_calls
        if pair := _either(seen):
            one, other = (self.found(size, 0) for size in pair)
            says = f"One of two things: {small(one.says)} Or: {small(other.says)}"
            return f"{says} {other.cure.title} tells which.", None
        return self._nothing({size.cause: size for size in seen.sizes}), None

    def _nothing(self, sizes: Mapping[str, CauseSize]) -> str:
        skill = self.model.skill(ANGLE)
        for cause, healed in skill.looks.healed.items():
            if self.belief.day - healed.day < HEALED_FOR:
                return healed_words(cause, healed, sizes.get(cause), self.style)
        rows = self.kinds
        true = [row for row in rows if row.verdict == TRUE]
        if not true and self.belief.calls < EARLY:
            return "Too early to tell what your eye does: nothing is sure yet."
        if not true:
            return "Nothing stands out: no fault that runs through all your shots."
        scattered = [row for row in true if row.scatters]
        said = f"You see {counted(len(true), 'kind')} of shot of {len(rows)} true"
        if 2 * len(true) > len(rows) and 2 * len(scattered) > len(true):
            share = sum(row.pots for row in scattered) / len(scattered)
            return f"{said}; what is left is scatter: {max(round(10 * share), 1)} of 10 such calls would pot."
        return f"{said} so far, and nothing is surely off."


def _either(seen: Weighed) -> tuple[CauseSize, CauseSize] | None:
    """Two causes of which one at least is surely there, and neither likely by itself."""
    chance = np.array(seen.either)
    np.fill_diagonal(chance, 0.0)
    i, j = np.unravel_index(int(chance.argmax()), chance.shape)
    if chance[i, j] < SURE or min(seen.sizes[i].chance, seen.sizes[j].chance) < 2 * LIKELY:
        return None
    return seen.sizes[i], seen.sizes[j]


def _bias(cause: str, size: float) -> Floats:
    """What a cause makes of the bias at ``PLACES``."""
    if cause in causes.NAMED_CAUSES:
        return np.asarray(size * causes.NAMED_CAUSES[cause].shape(PLACES))
    return np.full(len(PLACES), size * (THROWN if cause == causes.THROW else 1.0))


def _listed(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"

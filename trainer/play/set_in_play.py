"""One set of shots being played: question, call, mark, until it is done."""

import math
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import replace
from datetime import date
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from trainer import drills
from trainer.drills import DRILLS, Choice, Eye, Mark, Question
from trainer.drills.pick import Pick
from trainer.geometry.vectors import Floats
from trainer.history import TrainerError
from trainer.history.attempt import Attempt
from trainer.history.store import History, PlayedSet
from trainer.history.streaks import best_run, run_now
from trainer.learner.belief import Belief
from trainer.learner.call import Call
from trainer.learner.choice import choose
from trainer.learner.verdicts import resting
from trainer.levels.level import OTHER_STROKE, Level, narrowed, with_a_stroke
from trainer.levels.shelf import Shelf
from trainer.play.answered import answers
from trainer.play.calls import in_its_place
from trainer.play.cheers import Cheers
from trainer.play.diagnosis import Diagnosis
from trainer.play.pair import Pair, without_seconds
from trainer.play.player_model import PlayerModel, Skill
from trainer.shots.draw import draw, even_offsets
from trainer.shots.obstacles import laid_about
from trainer.shots.shot import Shot
from trainer.shots.style import Style
from trainer.shots.truth import truth_of

BATCH = 48  # shots drawn for the learner to choose from
# In a level that can be passed, at most ALIKE shots in a row are within LIKE of one fullness, as long as the
# batch has FEWEST others.
ALIKE, LIKE, FEWEST = 2, 0.1, 4
SAMPLED, SHOWN = 4, 0.5  # the seed of a sample question, and the sine of its cut


class Keeper(Protocol):
    """What a set needs of the game it belongs to."""

    history: History
    attempts: list[Attempt]
    style: Style
    shelf: Shelf

    @property
    def model(self) -> PlayerModel:
        """What is believed of the player."""

    @property
    def diagnosis(self) -> Diagnosis:
        """What is wrong with the player's eye, and what to do about it."""

    def skill(self, name: str) -> Skill:
        """What is known of one of the player's skills."""

    def keep(self, attempt: Attempt, told: Call) -> None:
        """Put an attempt on disk, then learn from what is told of it."""

    def undo(self) -> bool:
        """Take the last call back: it counts for nothing."""

    def passed(self, level: Level) -> bool:
        """Whether this player has passed a level."""


class SetInPlay:
    """A set under way. ``number`` is the question asked or to be asked next, from 1."""

    def __init__(self, game: Keeper, level: Level, kept: PlayedSet):
        self.game, self.level, self.kept = game, level, kept
        self.of = kept.shots
        self.number = kept.done + 1
        self.attempts = game.history.attempts_of_set(kept.id) if kept.done else []
        self.passed_before = game.passed(level)  # before this set, or before it was gone on with
        self.cheer = ""  # what is worth cheering at the last call
        self.pair: Pair | None = None  # the marks of both looks, after the second call of a shot
        self.before: Diagnosis | None = None  # the set's first call
        self._cheers: Cheers | None = None
        self._asked: tuple[int, Question] | None = None

    @property
    def done(self) -> bool:
        """Whether every question has been answered."""
        return self.number > self.of

    @property
    def level_now(self) -> Level:
        """What the present question is asked of: the level, as far as the set has come."""
        return self.level

    @property
    def views(self) -> tuple[str, ...]:
        """The views of the present question: the one it is first shown in first."""
        return self.level_now.views_of(self.number, self.of)

    @property
    def chosen(self) -> Choice | None:
        """What the present question was answered at first, where it is asked a second time."""
        return None

    @property
    def told(self) -> Sequence[Attempt]:
        """The calls whose marks have been told."""
        return self.attempts

    @property
    def skill(self) -> Skill:
        """What is known of the skill that this set trains."""
        return self.game.skill(DRILLS[self.level_now.drill].skill)

    @property
    def findings(self) -> tuple[str, ...]:
        """What the set by itself tells at its end, in some sentences."""
        return answers(self.level.name, self.game.model, self.game.style)

    @property
    def rights(self) -> list[bool]:
        """Right or not, for every call of this set that was told, also those before a break."""
        return [attempt.right for attempt in self.told]

    @property
    def run(self) -> int:
        """How many calls in a row have been right, up to now."""
        return run_now(self.rights)

    @property
    def best_run(self) -> int:
        """The longest run of right calls in this set."""
        return best_run(self.rights)

    @property
    def potted(self) -> int:
        """How many calls of this set drop the ball when played exactly."""
        return sum(attempt.potted for attempt in self.told)

    def question(self) -> Question:
        """The present question. Asked again, it is the same: set, number and belief decide it."""
        if self._asked is None or self._asked[0] != self.number:
            self._asked = (self.number, self._ask())
        return self._asked[1]

    def _ask(self) -> Question:
        """Draw a shot and ask of it; where balls are to be picked first, two questions ask of one shot."""
        if asked_before := self._asked_before():
            return self._ask_again(asked_before)
        level = self.level_now
        second = level.picks and self.number % 2 == 0
        seed, number, limits = self.kept.seed, self.number - second, narrowed(level)
        rng = np.random.default_rng([seed, number])
        offsets = even_offsets(rng, BATCH, limits)
        before = [a for a in without_seconds(self.attempts) if a.number < number]
        asked = np.array([math.sin(math.radians(abs(a.cut_deg))) for a in before])
        offsets = offsets[self._unlike(offsets / limits.table.reach, asked)]
        wanted = choose(
            self.skill.belief,
            offsets / limits.table.reach,
            rng,
            resting=self._resting() if level.adaptive else (),
            about=level.about,
            adaptive=level.adaptive,
        )
        offset = float(offsets[wanted])
        eye = eye_at(self.skill.belief, offset / limits.table.reach, f"{level.drill} {self.views[0]}")
        return question_about(level, offset, rng, eye, picked=second)

    def _asked_before(self) -> Attempt | None:
        """The attempt whose shot comes again as the present question."""
        wanted = self.number - self.of // 2
        if not self.level.again or not 1 <= wanted <= self.of // 2:
            return None
        return next((each for each in self.attempts if each.number == wanted), None)

    def _ask_again(self, before: Attempt) -> Question:
        """The same shot, with the other stroke or in the other view."""
        level = self.level
        stroke = before.stroke
        if level.again == OTHER_STROKE:
            stroke = level.strokes[0 if stroke == level.strokes[-1] else -1]
        shot = replace(shot_of(before, level), stroke=stroke)
        truth, rng = truth_of(shot), np.random.default_rng([self.kept.seed, self.number])
        where = f"{level.drill} {self.views[0]}"
        return level.question(shot, truth, rng, eye_at(self.skill.belief, math.sin(truth.cut), where))

    def _unlike(self, sines: Floats, asked: Floats) -> NDArray[np.bool_]:
        """Which cuts may come next, so that giving one answer every time doesn't pass a level.

        ``sines`` of the signed cuts, ``asked`` of cuts without their sign.
        """
        like = max(float(self.level.answers.step), LIKE)
        every = np.ones(len(sines), bool)
        if self.level.passed is None or len(asked) < ALIKE or np.ptp(asked[-ALIKE:]) > like:
            return every
        found = np.asarray(np.abs(np.abs(sines) - asked[-1]) > like)
        return found if found.sum() >= FEWEST else every

    def _resting(self) -> list[tuple[float, float]]:
        today = date.fromisoformat(self.game.history.today).toordinal()
        return resting(self.skill.belief, self.skill.tally, today)

    def call(self, choice: Choice, seconds: float | None = None, view: str | None = None) -> Mark:
        """Answer the present question: mark it, keep it on disk, learn from it.

        ``view`` is the one it was seen in, else the question's first.

        When this returns, the attempt is on disk and the next question is the present one.
        """
        mark = drills.mark(self.question(), choice)
        attempt = self._attempt(mark, seconds, view or self.views[0])
        skill = self.game.skill(DRILLS[mark.question.drill].skill)
        self.before = self.before or self.game.diagnosis
        self._cheers = self._cheers or Cheers(skill, passed=self.passed_before)
        told = in_its_place(mark.told, attempt)
        self.game.keep(attempt, told)
        self.attempts.append(attempt)
        self.number += 1
        self.cheer = ""
        if self.chosen is None:  # else nothing of it is told yet
            passed = self.game.passed(self.level)
            self.cheer = self._cheers.after(told, skill, passed=passed, run=self.run)
        if self.done:
            with suppress(TrainerError):  # the call is kept, and a set with all its calls is over anyway
                self.game.history.finish_set(self.kept.id)
        return mark

    def undo(self) -> bool:
        """Take back the last call, if it is of this set, and forget what it taught.

        Its question isn't asked again.

        Returns
        -------
        bool
            False where there is none to take back.

        Raises
        ------
        TrainerError
            If that can't be written; then the call counts.
        """
        last = self.game.attempts[-1:]
        if not self.attempts or not last or self.attempts[-1].id != last[0].id:
            return False
        undone = self.game.undo()
        del self.attempts[-1]
        self._asked, self.cheer, self.pair = None, "", None
        return undone

    def _attempt(self, mark: Mark, seconds: float | None, view: str) -> Attempt:
        question = mark.question
        shot, truth = question.shot, question.truth
        history = self.game.history
        moment = history.clock.now()
        return Attempt(
            **history.line_at(moment),
            set_id=self.kept.id,
            number=self.number,
            of=self.of,
            level=self.level.name,
            drill=question.drill,
            view=view,
            table=shot.table.name,
            cue_ball=shot.cue_ball,
            object_ball=shot.object_ball,
            pocket=shot.pocket,
            stroke=shot.stroke,
            cut_deg=math.degrees(truth.cut),
            offset=truth.offset,
            fullness=truth.fullness,
            throw_deg=math.degrees(truth.throw),
            margin_low=truth.margin[0],
            margin_high=truth.margin[1],
            target=truth.target,
            touching=truth.touching,
            choices=tuple((c.key, c.name, c.value) for c in question.choices),
            answer_width=question.width,
            key=mark.choice.key,
            call=mark.choice.name,
            value=mark.choice.value,
            called_offset=mark.offset,
            error=mark.error,
            potted=mark.potted,
            right=mark.right,
            miss_mm=mark.miss_mm,
            seconds=seconds,
            others=shot.others,
        )


def shot_of(attempt: Attempt, level: Level) -> Shot:
    """The shot of an attempt, on the table of its level."""
    balls = attempt.cue_ball, attempt.object_ball, attempt.pocket
    return Shot(level.limits.table, *balls, attempt.stroke, attempt.others)


def question_about(
    level: Level, offset: float, rng: np.random.Generator, eye: Eye, *, picked: bool = False
) -> Question:
    """A level's question about a shot with this signed offset (ball widths), laid within its limits.

    Where a ball is to be picked first, that is the question, or once it is ``picked`` the one after it.
    """
    limits = with_a_stroke(level, narrowed(level), rng)
    shot = draw(rng, 1, limits, np.array([offset]))[0]
    truth = truth_of(shot)
    shot = laid_about(rng, shot, truth, level.others)
    if level.picks:
        pick = DRILLS[Pick.name].ask(level, shot, truth, rng, Eye())
        if not picked:
            return pick
        shot = DRILLS[Pick.name].settled(pick, pick.choices[pick.best]).shot
    return level.question(shot, truth, rng, eye)


def sample_of(level: Level) -> Question:
    """A sample of what a level asks, about a medium cut where it has one; always the same."""
    rng, limits = np.random.default_rng(SAMPLED), narrowed(level)
    offsets = even_offsets(rng, BATCH, limits)
    shown = int(np.argmin(np.abs(np.abs(offsets / limits.table.reach) - SHOWN)))
    return question_about(level, float(offsets[shown]), rng, Eye())


def eye_at(belief: Belief, sine: float, where: str) -> Eye:
    """The expected bias and noise of a player at the sine of a signed cut, in one drill and view."""
    mean, _ = belief.curve([sine], where)
    return Eye(float(mean[0]), float(belief.noise([sine], where)[0]))

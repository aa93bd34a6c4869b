"""A player's game: the levels, the history on disk, and the belief that follows from it."""

import secrets
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from trainer.drills import ANGLE
from trainer.history.attempt import Attempt
from trainer.history.store import History, PlayedSet
from trainer.learner.belief import Belief
from trainer.learner.call import Call
from trainer.levels.level import CHAPTERS, TEST, Level, as_test, at_a_pace, free_practice
from trainer.levels.shelf import Shelf
from trainer.play import measure, placement, warmup
from trainer.play.diagnosis import Diagnosis, diagnose
from trainer.play.named_levels import OF_A_LENGTH, OF_THEIR_OWN, SETS, level_named
from trainer.play.pair import Look, is_second, look_of
from trainer.play.passing import Passing
from trainer.play.player_model import WORTH_KEEPING, KeptModel, PlayerModel, Skill
from trainer.play.routine import Routine, begun_so
from trainer.play.set_in_play import SetInPlay
from trainer.shots.style import USUAL, Style

OF_LATE = 200  # attempts kept in memory, at least
MOST_SHOTS = 1_000_000  # in a set: the history holds no more


@dataclass(frozen=True)
class Standing:
    """What a player goes on with: the open set, if there is one, else the level to play.

    ``day`` is that of the open set's last call.
    """

    level: Level
    done: int
    of: int
    day: str = ""

    @property
    def under_way(self) -> bool:
        """Whether a set of this level has been begun and not finished."""
        return self.done > 0


class Game:
    """A player's game; everything a player does goes through it. ``attempts`` are the recent ones.

    Parameters
    ----------
    history : History
        The open history. It is read once; later calls are added as they are made.
    shelf : Shelf
        The levels.
    style : Style
        How lengths and parts of a ball are written for the player.
    progress : callable, optional
        Where the model must be made anew from all attempts, is told how many more are done.
    """

    def __init__(
        self,
        history: History,
        shelf: Shelf,
        *,
        style: Style = USUAL,
        progress: Callable[[int], object] | None = None,
    ):
        self.history = history
        self.shelf = shelf
        self.style = style
        self.paced = False  # whether each shot has a speed and a spin, where a level says nothing of them
        self.routine = False  # whether shots are called standing, then down, where a set has both views
        self.attempts: list[Attempt] = history.last_attempts(OF_LATE)
        self._kept = KeptModel(history, progress)
        self._diagnosed: tuple[tuple[str, int, Style], Diagnosis] | None = None  # in which state, and what
        self._passing: dict[tuple[str, str], Passing] = {}  # by level and rule, as far as it was asked for
        self._opened: int | None = None  # chapters, once it was asked for

    @property
    def model(self) -> PlayerModel:
        """What is believed of the player."""
        return self._kept.model

    def skill(self, name: str = ANGLE) -> Skill:
        """What is known of one of the player's skills; of seeing angles, if no other is named."""
        return self.model.skill(name)

    @property
    def diagnosis(self) -> Diagnosis:
        """What is wrong with the player's eye, and what to do about it."""
        state = self.model.last_id, self.model.calls, self.style
        if self._diagnosed is None or self._diagnosed[0] != state:
            self._diagnosed = state, diagnose(self.model, self.shelf, self.style)
        return self._diagnosed[1]

    @property
    def belief(self) -> Belief:
        """The belief over the player's seeing."""
        return self.skill().belief

    def level(self, name: str | None, drill: str | None = None) -> Level:
        """The level of this name, asked with another drill if one is given; None: free practice.

        Raises
        ------
        LookupError
            If there is no such level.
        """
        return level_named(self.shelf, name, drill)

    def begin(self, level: Level, shots: int | None = None, seed: int | None = None) -> SetInPlay:
        """Begin a set, or go on with the one of this level and drill that was left unfinished.

        A number of shots or a seed always begins a new set.
        """
        self._kept.keep(WORTH_KEEPING)
        open_set, twice = None, self._calls_twice(level)
        if shots is None and seed is None:
            open_set = self.unfinished(level)
        if open_set is None:
            planned = shots or level.shots
            open_set = self.history.start_set(
                level=level.name,
                drill=level.drill,
                seed=secrets.randbits(32) if seed is None else seed,
                shots=min(planned + planned % 2 * twice, level.shots if level in OF_A_LENGTH else MOST_SHOTS),
            )
        if level in OF_THEIR_OWN:
            return SETS[level.name](self, level, open_set)
        if self.paced:
            level = at_a_pace(level)
        played = SetInPlay(self, level, open_set)
        goes_on_so = twice and (level.routine or begun_so(played.attempts))
        return Routine(self, level, open_set) if goes_on_so else played

    def _calls_twice(self, level: Level) -> bool:
        """Whether a new set of a level calls each shot standing, then down."""
        if level.routine or not self.routine:
            return level.routine
        return level not in OF_THEIR_OWN and not level.name.startswith(TEST) and level.takes_routine

    def unfinished(self, level: Level) -> PlayedSet | None:
        """The set of this level that was left before its end, if there is one."""
        left = self.history.unfinished_set(level.name, level.drill)
        if left is not None and level is warmup.LEVEL:
            now_ms = self.history.clock.now().epoch_ms
            return left if warmup.goes_on(left, self.attempts, now_ms) else None
        if left is not None and level is measure.LEVEL:
            return left if measure.goes_on(left, self.attempts, self.history.today) else None
        # With all its calls a set is over, even where the program was killed before it said so.
        return None if left is None or left.done >= left.shots else left

    def keep(self, attempt: Attempt, told: Call) -> None:
        """Put an attempt on disk, then learn from what is told of it."""
        self.history.append(attempt)
        second = bool(self.attempts) and is_second(look_of(self.attempts[-1]), look_of(attempt))
        self.attempts.append(attempt)
        if len(self.attempts) > 2 * OF_LATE:
            del self.attempts[:-OF_LATE]
        self._kept.take(attempt, told)
        for (level, _), passing in self._passing.items():
            if level == attempt.level:
                passing.take(attempt.drill, attempt.right, second=second)
        if attempt.level == placement.NAME:
            self._opened = None

    def undo(self) -> bool:
        """Take the last call back, so that it counts for nothing; False if that was done before."""
        undone = self.history.undo(self.attempts[-1].id)
        level = self.attempts.pop().level
        self._passing = {key: passing for key, passing in self._passing.items() if key[0] != level}
        self._opened = None
        self._kept.forget_last()
        return undone

    def passed(self, level: Level) -> bool:
        """Whether this player has passed the level: by itself, by its test, or by finding the place."""
        if level.passed is None:
            return False
        if self._is_passed(level) or level.chapter in self.opened:
            return True
        return not level.name.startswith(TEST) and self._is_passed(as_test(level))

    @property
    def opened(self) -> tuple[str, ...]:
        """The chapters that were opened by finding the place."""
        if self._opened is None:
            self._opened = placement.opened_by(self.history.sets_of_level(placement.NAME))
        return tuple(CHAPTERS)[: self._opened]

    def _is_passed(self, level: Level) -> bool:
        """Whether a level's own calls, and no others, have passed it."""
        passing = Passing.of_level(level)
        known = self._passing.get((level.name, passing.key))
        if known is not None:
            return known.passed
        for drill, right, second in self._calls_of(level):
            passing.take(drill, right, second=second)
            if passing.passed:
                break
        self._passing[level.name, passing.key] = passing
        return passing.passed

    def _calls_of(self, level: Level) -> Iterator[tuple[str, bool, bool]]:
        """Drill, right or not, and whether it was a second look, of each call of a level, in order."""
        if level.routine or not level.takes_routine:  # quicker, and second looks count or there are none
            for drill, right in self.history.calls_of_level(level.name):
                yield drill, right, False
            return
        before = None
        for *where, right in self.history.looks_of_level(level.name):
            look = Look(*where)
            yield look.drill, bool(right), is_second(before, look)
            before = look

    def standing(self) -> Standing:
        """The set that was left last, if there is one, else the next level."""
        for name, drill, last in self.history.left_sets():
            try:
                level = self.level(name, drill)
            except LookupError:  # an own level that has been taken away since
                continue
            open_set = self.unfinished(level)
            if open_set is not None and open_set.done:
                (attempt,) = self.history.attempts_of([last])
                return Standing(level, open_set.done, open_set.shots, attempt.local_day)
        level = self.next_level()
        return Standing(level, 0, level.shots)

    def next_level(self) -> Level:
        """The first level of the path that isn't passed yet; free practice when all are."""
        for level in self.shelf.path():
            if not self.passed(level):
                return level
        return free_practice("aim", self.shelf.tables)

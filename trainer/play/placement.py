"""Find your place: some thirty shots over the whole path, which open the chapters that are mastered.

It begins at the third chapter, since whoever tells eighths apart need not name full balls. Each chapter is
asked about with its own levels, the last ones first: a right call is a step up, a wrong one two down. Four
steps up and it is mastered, four down and it is not: whoever gets seven of ten right is as likely to master
it as not. Then comes the next chapter, or the one before. All follows from what was right, so it holds for a
set that is left and taken up again. ``tests/benchmarks/bench_placement.py`` prints where players come to.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from trainer.drills import Choice, Mark
from trainer.history.store import PlayedSet
from trainer.levels.level import CHAPTERS, Level
from trainer.play.set_in_play import Keeper, SetInPlay

NAME = "place"
SHOTS, USUAL = 40, 25  # at the most, and as often as not
FIRST = 2  # the place of the chapter that it begins with
RIGHT, WRONG = 1, -2  # steps by a call
FAR = 4  # steps up to master a chapter, or down to fail it

LEVEL = Level(
    name=NAME,
    title="Find your place",
    teaches="Shots of every sort, harder and harder: the chapters that you master are opened.",
    drill="band",
    adaptive=False,
    shots=SHOTS,
    passed=None,
)


@dataclass(frozen=True)
class Place:
    """How far a search for one's place has come.

    ``chapter`` is the place of the chapter that is asked about, and ``asked`` how many of its questions were
    answered; ``mastered`` is how many chapters are shown to be mastered. ``done``: nothing is left to ask.
    """

    chapter: int
    asked: int
    mastered: int
    done: bool


def place_after(rights: Iterable[bool], chapters: int = len(CHAPTERS)) -> Place:
    """Where a player stands after calls that were right or not."""
    chapter, mastered, failed = min(FIRST, chapters - 1), 0, chapters
    asked = steps = 0
    for right in rights:
        asked, steps = asked + 1, steps + (RIGHT if right else WRONG)
        if abs(steps) < FAR:
            continue
        if steps > 0:
            mastered = chapter + 1
        else:
            failed = chapter
        asked = steps = 0
        if mastered >= failed:
            return Place(chapter, 0, mastered, done=True)
        chapter = mastered if mastered else failed - 1
    return Place(chapter, asked, mastered, done=False)


def opened_by(sets: Iterable[Sequence[bool]]) -> int:
    """How many chapters are opened by sets of right and wrong calls: by the best of them."""
    return max((place_after(rights).mastered for rights in sets), default=0)


def gates(levels: Iterable[Level]) -> list[list[Level]]:
    """For each chapter the levels that it is asked with, the last first.

    Without those that need two questions for a shot.
    """
    found = defaultdict[str, list[Level]](list)
    for level in levels:
        if not level.picks and not level.again:
            found[level.chapter].insert(0, level)
    return [found[chapter] for chapter in CHAPTERS if found[chapter]]


class FindPlace(SetInPlay):
    """A search for one's place under way. ``of`` is how many shots it may take yet."""

    def __init__(self, game: Keeper, level: Level, kept: PlayedSet) -> None:
        super().__init__(game, level, kept)
        self._gates = gates(game.shelf.levels)

    @property
    def place(self) -> Place:
        """How far it has come."""
        return place_after(self.rights, len(self._gates))

    @property
    def level_now(self) -> Level:
        """A level of the chapter that is asked about."""
        place = self.place
        levels = self._gates[place.chapter]
        return levels[place.asked % len(levels)]

    @property
    def done(self) -> bool:
        """Whether there is nothing left to ask."""
        return self.place.done or super().done

    def call(self, choice: Choice, seconds: float | None = None, view: str | None = None) -> Mark:
        """Answer the present question, as in any set; a chapter that is mastered by it is cheered."""
        before = self.place.mastered
        mark = super().call(choice, seconds, view)
        mastered = self.place.mastered
        if mastered > before:
            self.cheer = f"Mastered: {list(CHAPTERS)[mastered - 1]}"
        return mark

    @property
    def findings(self) -> tuple[str, ...]:
        """Which chapters it has opened."""
        mastered, chapters = self.place.mastered, list(CHAPTERS)
        if not mastered:
            return ("It ends as soon as it knows. You begin at the beginning: each set shows a little more.",)
        if mastered == len(chapters):
            return ("You master every chapter. Free practice finds what is left to see.",)
        opened = "The first chapter is" if mastered == 1 else f"The first {mastered} chapters are"
        return (f"{opened} yours. You go on with: {chapters[mastered]}.",)

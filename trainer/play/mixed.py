"""The end of a day: a few shots of every drill that the player has met, mixed.

What was practised by itself holds at the table only where it is told from all else. Each shot is of a level
that was played before, and no drill comes twice before the others have come.
"""

import numpy as np

from trainer.history.queries import Queries
from trainer.history.store import PlayedSet
from trainer.levels.level import Level
from trainer.levels.shelf import Shelf
from trainer.play.set_in_play import Keeper, SetInPlay

NAME = "mixed"
SHOTS = 10
FEWEST = 3  # drills met: of fewer there is nothing to mix

LEVEL = Level(
    name=NAME,
    title="The day's last ten",
    teaches="A few shots of every drill that you have met.",
    drill="band",
    shots=SHOTS,
    passed=None,
)


def met(shelf: Shelf, history: Queries) -> dict[str, list[Level]]:
    """The levels that were played, by drill, in the order of the path.

    Without those that need two questions for a shot.
    """
    found = dict[str, list[Level]]()
    for level in shelf.some(name for name in shelf.names if history.count_of_level(name)):
        if not level.picks and not level.again:
            found.setdefault(level.drill, []).append(level)
    return found


class Mixed(SetInPlay):
    """A set of every drill that was met, under way."""

    def __init__(self, game: Keeper, level: Level, kept: PlayedSet) -> None:
        super().__init__(game, level, kept)
        self._levels = list(met(game.shelf, game.history).values())

    @property
    def level_now(self) -> Level:
        """A level with a drill whose turn it is."""
        if not self._levels:
            return self.game.shelf.levels[0]
        turn, place = divmod(self.number - 1, len(self._levels))
        rng = np.random.default_rng([self.kept.seed, turn])
        levels = self._levels[int(np.argsort(rng.random(len(self._levels)))[place])]
        return levels[int(np.random.default_rng([self.kept.seed, self.number]).random() * len(levels))]

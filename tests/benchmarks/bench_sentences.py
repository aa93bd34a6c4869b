"""The sentences that thirty players read, one under the other: is each true, and understood at once?

    .venv/bin/python tests/benchmarks/bench_sentences.py

Each plays the real game (drills, levels, marks, history on disk) and does one thing wrong, or nothing
(``tests/misjudging.py``).
"""

import os
import sys
import tempfile
from datetime import date, timedelta
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np

from trainer.drills import DRILLS
from trainer.history.clock import FixedClock
from trainer.history.store import History
from trainer.levels.level import Level, free_practice
from trainer.levels.shelf import Shelf, open_shelf
from trainer.play.game import Game
from trainer.simulate.simulation import answer

sys.path.append(str(Path(__file__).parents[1]))
from misjudging import Misjudging, Seeing

P = Misjudging
AIM, EVERY, THROW = ("aim",), ("aim", "slide", "band"), ("throw-or-not",)
PLAYERS = (
    *(("contact point", P(contact=1.0), AIM, n) for n in (10, 20, 60)),
    ("half the width", P(contact=0.5), EVERY, 60),
    ("too much width", P(contact=-0.4), EVERY, 80),
    *(("line .04 right", P(right=0.04), AIM, n) for n in (40, 120)),
    ("line .05 left", P(right=-0.05), EVERY, 160),
    ("all .05 thick", P(fuller=0.05), AIM, 160),
    ("all .06 thin", P(fuller=-0.06), EVERY, 240),
    *(("names, half way", P(to_names=0.5), AIM, n) for n in (60, 160)),
    ("to the middle .1", P(to_middle=0.1), AIM, 160),
    ("from the middle .12", P(to_middle=-0.12), AIM, 160),
    ("thin cuts thick .08", P(lost=0.08), AIM, 160),
    ("thin cuts thin .1", P(lost=-0.1), EVERY, 160),
    *(("no throw", P(no_throw=1.0), THROW, n) for n in (30, 60)),
    ("too much throw", P(no_throw=-0.8), THROW, 80),
    ("standing thick .07", P(in_view={"standing": 0.07}), EVERY, 240),
    ("width and line", P(contact=0.6, right=0.06), AIM, 100),
    ("local, 3/8 right", P(bump=(-38.0, 0.08, 12.0)), AIM, 240),
    ("local, two", P(bump=(20.0, -0.08, 14.0)), AIM, 240),
    ("nothing, 4 calls", P(), AIM, 4),
    *(("nothing", P(), EVERY, n) for n in (40, 160, 320)),
    ("nothing, fine eye", P(noise=0.02), EVERY, 240),
    ("nothing, scatters", P(noise=0.09), EVERY, 320),
    ("nothing, skewed", P(skew=3.0), EVERY, 240),
    ("all .01 thick", P(fuller=0.01, noise=0.03), EVERY, 400),
)


def play(game: Game, level: Level, playing: Seeing, calls: int, clock: FixedClock) -> None:
    """Play a level for so many calls."""
    played = game.begin(level, calls, int(playing.rng.integers(1 << 32)))
    while not played.done:
        question = played.question()
        view = str(playing.rng.choice(level.views))
        playing.look(question.truth.cut, question.truth.throw, view)
        played.call(answer(question, playing), 4.0, playing.view)  # type: ignore[arg-type]


def level_of(shelf: Shelf, name: str) -> Level:
    """A level, or free practice with the drill of this name."""
    return free_practice(name, shelf.tables) if name in DRILLS else shelf.find(name)


def main() -> None:
    shelf = open_shelf()
    for seed, (name, player, drills, calls) in enumerate(PLAYERS):
        playing = Seeing(player, np.random.default_rng([seed, 55]))
        with tempfile.TemporaryDirectory() as folder:
            day, left = date(2026, 3, 2), calls
            while left:
                clock = FixedClock(f"{day}T18:00:00+01:00")
                with History.open(Path(folder), clock) as history:
                    game = Game(history, shelf)
                    for drill in drills:
                        some = min(left, 40 // len(drills))
                        if some:
                            play(game, level_of(shelf, drill), playing, some, clock)
                        left -= some
                    said = game.diagnosis
                day += timedelta(days=1)
        print(f"{name} ({calls} calls)\n    {said.said}")
        print(f"    {[(c.cause, round(c.size, 3), c.since_call, round(c.cost, 3)) for c in said.causes]}\n")


if __name__ == "__main__":
    main()

"""Whether what healed in the drills has healed at the table: players whose fault is gone there, or isn't."""

import math
from datetime import date

import numpy as np
import pytest
from misjudging import Misjudging

from trainer.drills import ANGLE
from trainer.learner.diagnosis import Healed
from trainer.learner.verdicts import NOT_YET
from trainer.play.game import Game
from trainer.report.carried import AGREES, STILL, Carried, carried
from trainer.report.notebook import Notebook, Said
from trainer.report.report import report, table_lines

HEALED_ON = date(2026, 2, 20)


def heal(game: Game, cause: str, worst: float) -> None:
    game.skill(ANGLE).looks.healed[cause] = Healed(HEALED_ON.toordinal(), worst)


def note(book: Notebook, player: Misjudging, misses: int, seed: int = 0) -> None:
    """So many misses of a player, whose stroke scatters too."""
    rng, made = np.random.default_rng(seed), 0
    while made < misses:
        eighths = int(rng.integers(1, 7))
        side = 1.0 if rng.random() < 0.5 else -1.0
        error = player.bias(side * (1 - eighths / 8)) + 0.05 * rng.standard_normal()
        if abs(error) > 0.02:
            said = Said(eighths / 8, f"{eighths}/8", "left" if side > 0 else "right", "middle")
            book.add(said, "thick" if error > 0 else "thin")
            made += 1


def only(book: Notebook) -> Carried:
    (found,) = carried(book)
    return found


@pytest.mark.parametrize(
    ("cause", "worst", "player"),
    [
        ("ball-width", 0.2, Misjudging(contact=0.6)),
        ("line-shift", 0.08, Misjudging(right=0.08)),
        ("overall", -0.08, Misjudging(fuller=-0.08)),
    ],
)
def test_a_fault_that_is_gone_here_and_not_at_the_table_is_told(
    game: Game, cause: str, worst: float, player: Misjudging
) -> None:
    book = Notebook(game)
    heal(game, cause, worst)
    note(book, player, 30)
    still = only(book)
    assert (still.verdict, still.to_go) == (STILL, 0)
    assert still.mine > 0.75 * still.misses
    assert ", but not at the table: since then" in still.words


def test_a_table_without_the_fault_agrees_and_says_how_sure(game: Game) -> None:
    book = Notebook(game)
    heal(game, "line-shift", 0.08)
    note(book, Misjudging(), 60)
    found = only(book)
    assert found.verdict == AGREES
    assert found.low < found.mine / found.misses < found.high < 0.75
    assert found.words.startswith("The line to one side, healed here since 20 Feb: since then ")
    assert found.words.endswith("of all such). The table agrees.")
    assert f"{found.mine} of 60 misses at the table went its way ({found.low:.0%} to " in found.words
    assert f"  {found.words}" in table_lines(book)
    assert report(game)["carried"][0]["verdict"] == AGREES


def test_until_it_is_known_how_many_more_misses_it_takes_is_said(game: Game) -> None:
    book = Notebook(game)
    heal(game, "line-shift", 0.08)
    assert (only(book).verdict, only(book).misses) == (NOT_YET, 0)
    assert "no miss was noted at the table since" in only(book).words
    assert table_lines(book) == []
    note(book, Misjudging(), 8)
    found = only(book)
    assert found.verdict == NOT_YET
    assert found.to_go is not None
    assert f" About {found.to_go} more misses can tell." in found.words


def test_only_misses_since_then_count_and_those_that_the_fault_would_send(game: Game) -> None:
    book = Notebook(game)
    heal(game, "thin-cuts", 0.1)
    book.add(Said(0.75, "3/4", "left", "middle"), "thick")  # thicker than half: not its way or another
    book.add(Said(0.25, "1/4", "left", "middle"), "thick")
    book.add(Said(0.25, "1/4", "left", "middle"), "thin")
    book.add(Said(0.25, "1/4", "left", "middle"), "potted")
    assert (only(book).mine, only(book).misses) == (1, 2)
    game.skill(ANGLE).looks.healed["thin-cuts"] = Healed(date(2026, 3, 5).toordinal(), 0.1)
    assert only(book).misses == 0


def test_hardly_any_even_table_is_said_to_have_the_fault_however_often_one_looks() -> None:
    """Ville's bound over 300 players of 120 misses each, counted by hand."""
    from trainer.report.carried import FALSE, _verdict

    rng, told = np.random.default_rng(5), 0
    for _ in range(300):
        mine = np.cumsum(rng.random(120) < 0.5)
        told += any(_verdict(int(m), n) == STILL for n, m in enumerate(mine, 1))
    assert told <= 300 * FALSE + 3 * math.sqrt(300 * FALSE)

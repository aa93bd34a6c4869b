"""What is worked out of a scene, how often, and that the pictures' frames only read it."""

from collections import Counter
from itertools import pairwise

import pytest
import textual.constants
from by_hand import begun, playing, shown

from trainer.drills import DRILLS
from trainer.play.game import Game


def counted(monkeypatch: pytest.MonkeyPatch, drill: str, *names: str) -> Counter[str]:
    """How often some of a drill's functions are called from now on."""
    calls: Counter[str] = Counter()

    def watched(name: str) -> None:
        plain = getattr(DRILLS[drill], name)

        def watch(*args: object) -> object:
            calls[name] += 1
            return plain(*args)

        monkeypatch.setattr(DRILLS[drill], name, watch)

    for name in names:
        watched(name)
    return calls


async def test_a_laid_shot_is_worked_out_once_a_key(game: Game, monkeypatch: pytest.MonkeyPatch) -> None:
    async with begun(game, "name-it-back", seed=1) as (_, pilot):
        calls = counted(monkeypatch, "back", "settled")
        for presses, key in enumerate(("left", "up", "3"), 1):
            await pilot.press(key)
            await pilot.pause()
            assert calls["settled"] == presses


async def test_a_film_works_nothing_out(game: Game, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(textual.constants, "TEXTUAL_ANIMATIONS", "full")
    async with begun(game, "where-to-leave-it", seed=1) as (app, pilot):
        calls = counted(monkeypatch, "leave", "settled", "shown_after", "shown")
        await pilot.press("2")
        board = playing(app).board
        once = dict(calls)
        assert once["shown_after"] == 1
        drawn = [board._shown]
        for part in (0.3, 0.6, 0.9):
            assert board.film is not None
            board.film.began -= part * board.film.seconds / 2
            board._next_frame()
            drawn.append(board._shown)
        assert all(a is not None and b is not None and a != b for a, b in pairwise(drawn))
        assert dict(calls) == once


@pytest.mark.parametrize(
    ("level", "numbers"),
    [
        ("first-look", "1-3 Call"),
        ("same-angle", "1-4 Call"),
        pytest.param("where-to-leave-it", "1-5 Call", marks=pytest.mark.slow),
        pytest.param("cushion-or-straight", "1-2 Call", marks=pytest.mark.slow),
        pytest.param("slide-the-line", "1-9 Place", marks=pytest.mark.slow),
    ],
)
async def test_the_keys_say_how_many_numbers_there_are(game: Game, level: str, numbers: str) -> None:
    async with begun(game, level, seed=1) as (app, pilot):
        await pilot.pause()  # the row of keys comes after the rest
        assert numbers in shown(app).splitlines()[-1]
        most, screen = int(numbers[2]), playing(app)
        assert screen.scene.numbers == most
        assert {key for key in screen.active_bindings if key.isdigit()} == set("123456789"[:most])
        await pilot.press("question_mark")
        await pilot.pause()
        assert numbers[:3] in shown(app)

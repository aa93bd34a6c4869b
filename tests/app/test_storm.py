"""Any key, any click, any size: nothing ends the app, nothing is left running, escape leads home."""

import asyncio
import random
import threading
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

import pytest
import textual.constants
from storm import PLACES, Unending, act, go, go_home

from trainer.play.game import Game

SMALL, USUAL = (80, 24), (120, 40)
EDGES = [(1, 1), (400, 120), (80, 24), (79, 24), (80, 23), (1, 120), (400, 1), (2, 2), (81, 25), (200, 60)]


@asynccontextmanager
async def nothing_left() -> AsyncIterator[None]:
    """No thread and no task is there afterwards that wasn't before; the loop's own threads end with it."""
    threads, tasks = set(threading.enumerate()), asyncio.all_tasks()
    yield
    for _ in range(50):
        there = {thread for thread in threading.enumerate() if not thread.name.startswith("asyncio_")}
        more = there - threads, asyncio.all_tasks() - tasks
        if not any(more):
            return
        await asyncio.sleep(0.1)
    raise AssertionError(more)


async def storm(game: Game, seed: int, acts: int, size: tuple[int, int], places: tuple[str, ...]) -> None:
    """So many keys and clicks at each of these places."""
    chance = random.Random(seed)
    async with nothing_left():
        app = Unending(game)
        async with app.run_test(size=size) as pilot:
            await pilot.pause()
            for place in places:
                await go_home(app, pilot)
                await go(app, pilot, place)
                for _ in range(acts):
                    act(app, chance)
                    if chance.random() < 0.4:
                        await pilot.pause()
                await pilot.pause()
            await go_home(app, pilot)
    assert app.fault is None


async def resizing(game: Game, sizes: list[tuple[int, int]], seed: int) -> None:
    """Each size while a call rolls, then a few keys, wherever they lead."""
    chance = random.Random(seed)
    async with nothing_left():
        app = Unending(game)
        async with app.run_test(size=SMALL) as pilot:
            await pilot.pause()
            for i, size in enumerate(sizes):
                if i % 5 == 0:
                    await pilot.resize_terminal(*SMALL)
                    await go_home(app, pilot)
                    await go(app, pilot, chance.choice(PLACES))
                await pilot.press(chance.choice("123"))
                await pilot.resize_terminal(*size)
                for _ in range(100):  # drawing comes after it, where nothing waits for it
                    if len(app.screen._compositor.render_strips()) == size[1]:
                        break
                    await pilot.pause(0.02)
                else:
                    raise AssertionError(f"not drawn at {size}")
                act(app, chance)
                act(app, chance)
                await pilot.pause()
            await pilot.resize_terminal(*SMALL)
            await go_home(app, pilot)
    assert app.fault is None


def some_sizes(count: int, seed: int) -> list[tuple[int, int]]:
    """Sizes from 1x1 to 400x120, the ones at the edge of anything first."""
    chance = random.Random(seed)
    return [*EDGES, *((chance.randint(1, 400), chance.randint(1, 120)) for _ in range(count))][:count]


@pytest.mark.slow
async def test_no_key_and_no_click_ends_the_app(game: Game) -> None:
    await storm(game, 1, 8, SMALL, PLACES[:-2:2])


@pytest.mark.slow
async def test_no_size_ends_the_app_while_balls_roll(game: Game, moving: None) -> None:
    await resizing(game, some_sizes(10, 1), 1)


@pytest.mark.long
@pytest.mark.parametrize("seed", range(2, 34))
async def test_no_key_and_no_click_ends_the_app_in_20_000(game: Game, seed: int) -> None:
    await storm(game, seed, 25, SMALL if seed % 2 else USUAL, PLACES)


@pytest.mark.long
@pytest.mark.parametrize("seed", range(2, 12))
async def test_no_size_ends_the_app_in_200(game: Game, moving: None, seed: int) -> None:
    await resizing(game, some_sizes(20, seed), seed)


@pytest.fixture
def moving(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(textual.constants, "TEXTUAL_ANIMATIONS", "full")

"""Keys, clicks and sizes at random, from a seed, over every screen there is."""

import random
from pathlib import Path
from typing import Any

from textual import events
from textual.keys import _character_to_key
from textual.pilot import Pilot

import trainer.app.app
from trainer.app.app import TrainerApp
from trainer.app.screens.home import HomeScreen
from trainer.drills import DRILLS

LETTERS = "abcdefghijklmnoprstuvwxyz"
KEYS = (
    *(*LETTERS, *"0123456789", *"xyzuvd", *"123456789", "Q", "é", "\u4e2d", "\U0001f3b1"),
    *("left", "right", "up", "down", "enter", "escape", "space", "tab", "shift+tab", "backspace", "delete"),
    *("left", "right", "up", "down", "enter", "enter", "space", "escape"),
    *("home", "end", "pageup", "pagedown", "insert", "shift+left", "shift+up", "ctrl+left", "ctrl+home"),
    *("f1", "f2", "f12", "ctrl+a", "ctrl+c", "ctrl+p", "ctrl+z", "ctrl+d", "ctrl+x", "ctrl+v", "ctrl+l"),
    *("?", "-", "+", ".", "/", "[", "ctrl+at", "alt+f"),
)
PAGES = ("primer", "warmup", "levels", "progress", "weeks", "table", "card", "terminal")
SCREENS = ("home", *PAGES, "settings", "help", "palette")
PLACES = (*SCREENS, *(f"drill {name}" for name in DRILLS), "summary", "warmed")
CLICK = (events.MouseDown, events.MouseUp)
MOUSE: tuple[tuple[type[events.MouseEvent], ...], ...] = (
    *(CLICK, CLICK, CLICK),
    *((events.MouseDown,), (events.MouseUp,), (events.MouseMove,)),
    *((events.MouseScrollUp,), (events.MouseScrollDown,)),
    (events.MouseDown, events.MouseMove, events.MouseMove, events.MouseUp),
)


class Unending(TrainerApp):
    """The app, which doesn't end: quitting is counted."""

    CSS_PATH = Path(trainer.app.app.__file__).with_name("trainer.tcss")
    quits = 0

    def exit(self, *args: Any, **kwargs: Any) -> None:
        """Count it."""
        self.quits += 1


async def go(app: TrainerApp, pilot: Pilot[None], place: str) -> None:
    """To one of ``PLACES``, from home."""
    what, _, drill = place.partition(" ")
    game = app.game
    if drill:
        app.play_level(game.level(None, drill))
    elif what in PAGES:
        app.screen.action_pick(what)  # type: ignore[attr-defined]
    elif what == "settings":
        app.show_page("settings")
    elif what == "help":
        app.action_help()
    elif what == "palette":
        app.action_command_palette()
    elif what == "summary":
        app.show_summary(game.begin(game.level("eighths", None), shots=3))
    elif what == "warmed":
        app.show_summary(game.begin(game.level("warmup", None), shots=3))
    await pilot.pause()


async def go_home(app: TrainerApp, pilot: Pilot[None]) -> None:
    """By escape alone."""
    for _ in range(6):
        if isinstance(app.screen, HomeScreen):
            break
        await pilot.press("escape")
        await pilot.pause()
    assert isinstance(app.screen, HomeScreen), app.screen
    assert len(app.screen_stack) == 2


def act(app: TrainerApp, chance: random.Random) -> None:
    """A key, or something of the mouse, as a terminal sends it: nobody waits for what the last one did."""
    if chance.random() < 0.7:
        key = chance.choice(KEYS)
        single = len(key) == 1
        app.post_message(events.Key(_character_to_key(key) if single else key, key if single else None))
        return
    width, height = app.size
    button, shift, ctrl = chance.choice((1, 1, 1, 2, 3)), chance.random() < 0.1, chance.random() < 0.1
    kinds = chance.choice(MOUSE)
    x, y = chance.randrange(width), chance.randrange(height)
    for kind in kinds:
        app.post_message(kind(None, x, y, 0, 0, button, shift, False, ctrl, x, y))
        if len(kinds) > 2:  # dragged
            x, y = chance.randrange(width), chance.randrange(height)

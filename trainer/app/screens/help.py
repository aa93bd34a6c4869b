"""Help: what a screen is for, what its keys do (from the active bindings), what the words mean.

And every action there is, to be found by its name.
"""

import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import partial
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.content import Content
from textual.dom import DOMNode
from textual.fuzzy import Matcher
from textual.screen import Screen
from textual.widgets import Input, Static
from textual.widgets.option_list import Option

from trainer.app.keys import Page, Rows, bound, said
from trainer.app.screens.base import TrainerScreen

WORDS = (
    ("call", "your answer"),
    ("fullness", "how much of the object ball's width the cue ball covers at contact, seen along the aim"),
    ("line of aim", "the line that the cue ball's centre travels to contact"),
    ("touching position", "where the cue ball's centre is when the balls touch"),
    ("cut", "the angle between the line of aim and the object ball's line to the pocket; half ball is 30°"),
    ("thick, thin", "hitting fuller, or less full, than the pot needs"),
    ("half ball", "the cue ball's centre goes at the object ball's very edge, and half of it is covered"),
    ("graze", "the thinnest hit: the balls only just touch"),
    ("inside edge", "the cue ball's side that is towards the object ball"),
    ("a hair", "less than 1/128 of a ball, 0.4 mm"),
    ("seen thick", "taken for fuller than it is, so that you would hit it thick"),
    ("forgives", "how far off a call may be and still pot, in parts of a ball's width"),
    (
        "easy, medium, hard",
        "of three fair calls two or more pot, one or two, fewer than one",
    ),
    ("to turn down", "a pot that forgives less than 1/64 ball: play something else"),
    ("jaw", "the end of a cushion at a pocket: off it a ball may still drop"),
    ("throw", "how far friction turns the object ball along the cue ball's way"),
    ("stun", "the cue ball slides into the object ball and doesn't roll"),
    ("natural roll", "the cue ball rolls and doesn't slide, as after any long way"),
    ("settled", "five right in a row, and surely seen true: it rests, and comes back days later"),
    ("scatter", "how far your calls lie apart"),
)


class HelpScreen(TrainerScreen):
    """Help for the screen it was asked from."""

    BINDINGS: ClassVar[list[BindingType]] = [
        bound("back", "close", "Back"),
        *[bound(name, "close", "Back", show=False) for name in ("choose", "go_on", "help")],
        bound("every_action", "app.command_palette", "Every action", priority=True),
    ]

    def __init__(self, about: TrainerScreen) -> None:
        super().__init__()
        self._about = about

    def body(self) -> ComposeResult:
        """What it is for, words that stand on the screen, keys, the other words."""
        yield Static(Content.styled("Help", "bold $head"), id="headline")
        with Page(id="page", can_focus=True):
            yield Static(self._text())

    def _text(self) -> Content:
        parts: list[Content] = []
        text = self._about.help_text()
        if text:
            parts.append(Content(text))
        here = words_in(self._about.said())
        if here:
            parts += [Content.styled("Words here", "bold $head"), self._table(here)]
        parts.append(Content.styled("Keys here", "bold $head"))
        parts.append(self._table(self._keys()))
        parts.append(Content("Everything with a key can be clicked too, the points on the picture as well."))
        parts.append(Content.styled("Other words" if here else "Words", "bold $head"))
        parts.append(self._table([row for row in WORDS if row not in here]))
        return Content("\n\n").join(parts)

    def _keys(self) -> list[tuple[str, str]]:
        """Keys and what they do, taken from the bindings that are active on the screen asked about."""
        found: dict[str, list[str]] = {}
        for one in offered(self._about):
            keys = found.setdefault(one.what, [])
            if one.keys not in keys:
                keys.append(one.keys)
        return [(" ".join(keys), what) for what, keys in found.items()]

    @staticmethod
    def _table(rows: list[tuple[str, str]]) -> Content:
        wide = max(len(left) for left, _ in rows)
        return Content("\n").join(
            Content.assemble((f"{left:>{wide}}", "bold $key"), "  ", right) for left, right in rows
        )

    def action_close(self) -> None:
        """Back to where help was asked for."""
        self.close()


def words_in(text: str) -> list[tuple[str, str]]:
    """The words of the trade, with what they mean, that a text has."""
    text = text.casefold()
    return [row for row in WORDS if any(re.search(rf"\b{word}s?\b", text) for word in row[0].split(", "))]


# Bindings that Textual gives every app, and that mean nothing to a player.
NOT_OURS = ("app.focus_next", "app.focus_previous", "screen.copy_text")
# Said in full: the row of keys has room for a word, and one of its words may stand for several actions.
SAID = {
    "command_palette": "Every action, by name",
    "suspend_process": "Put the game aside (fg in the shell brings it back)",
    "look('turn', -1)": "Look round to the left",
    "consider(-1)": "Consider the answer before",
    "consider(1)": "Consider the next answer",
    "turn(0, -1)": "Less, in large steps",
    "turn(0, 1)": "More, in large steps",
    "turn(1, -1)": "Less, in small steps",
    "turn(1, 1)": "More, in small steps",
    "turn(2, -1)": "Less, by a hair",
    "turn(2, 1)": "More, by a hair",
    "why(1)": "Why? The construction, step by step",
    "why(-1)": "Why? The step before",
    "replay": "See the call roll again, slowly",
    "undo": "Take the last one back: it counts for nothing",
    "next_view": "See the shot another way",
    "shape(-1)": "Make the ball higher or wider",
    "shape(1)": "Make the ball higher or wider",
    "glyphs(-1)": "Draw with other shapes",
    "glyphs(1)": "Draw with other shapes",
    "as_known": "All as your terminal is known to be",
}


@dataclass(frozen=True)
class Offered:
    """An action, and how it is come by.

    Parameters
    ----------
    what : str
        What it does, in words.
    key : str
        The key that does it.
    keys : str
        The same as the row of keys says it, where it may stand for the keys of other actions, too.
    action : str
        What Textual knows it by.
    node : DOMNode
        Whose action it is.
    """

    what: str
    key: str
    keys: str
    action: str
    node: DOMNode


def offered(screen: Screen[None]) -> Iterator[Offered]:
    """The actions of a screen and of the app that mean something now; one with two keys comes twice."""
    for active in screen.active_bindings.values():
        binding = active.binding
        ours = active.node in (screen, screen.app) and binding.action not in NOT_OURS
        what = SAID.get(binding.action, binding.description)
        if not ours or not what or not active.enabled:
            continue
        key = said(binding.key)
        keys = key if binding.action in SAID else binding.key_display or key
        yield Offered(what, key, keys, binding.action, active.node)


WIDEST_KEY = 12  # columns of the keys


@dataclass
class Entry:
    """An action, the keys that do it elsewhere, and what to call."""

    what: str
    keys: list[str]
    run: Callable[[], object]

    @property
    def row(self) -> Content:
        """How it is listed."""
        return Content.assemble((f"{' '.join(self.keys):>{WIDEST_KEY}}", "bold $key"), "  ", self.what)


class ActionsScreen(TrainerScreen):
    """Type a part of a name, and take the action."""

    BINDINGS: ClassVar[list[BindingType]] = [
        bound("find_do", "take", "Do it", priority=True),
        # With priority: the line that is typed in would take them to scroll itself.
        bound("find_next", "move(1)", "Next", priority=True),
        bound("find_before", "move(-1)", "Before", show=False, priority=True),
        bound("find_page_down", "page(1)", "A page down", show=False, priority=True),
        bound("find_page_up", "page(-1)", "A page up", show=False, priority=True),
        bound("find_close", "close", "Back"),
    ]
    AUTO_FOCUS: ClassVar[str | None] = "#wanted"

    def __init__(self, about: TrainerScreen) -> None:
        super().__init__()
        self._about = about
        self._entries: list[Entry] = []

    def body(self) -> ComposeResult:
        """What is wanted, and what is like it."""
        yield Static(Content.styled("Every action, by name", "bold $head"), id="name")
        yield Input(placeholder="type a part of it", id="wanted", compact=True)
        yield Rows(id="actions")

    def on_mount(self) -> None:
        """List everything."""
        keyed = self._keyed()
        there = {entry.what for entry in keyed}
        self._entries = [*keyed, *(entry for entry in self._others() if entry.what not in there)]
        self.query_one(Rows).can_focus = False
        self._list(range(len(self._entries)))

    def _keyed(self) -> list[Entry]:
        """What has a key on the screen that this was called from."""
        found: dict[str, Entry] = {}
        for one in offered(self._about):
            if one.action == "command_palette":
                continue
            run = partial(self.app.run_action, one.action, one.node)
            entry = found.setdefault(one.action, Entry(one.what, [], run))
            if one.key not in entry.keys:
                entry.keys.append(one.key)
        return list(found.values())

    def _others(self) -> Iterable[Entry]:
        """What has none."""
        trainer = self.trainer
        yield Entry("Your terminal", [], partial(trainer.show_page, "terminal"))
        yield Entry("Settings", [], partial(trainer.show_page, "settings"))
        yield Entry("Keep a picture of the screen", [], trainer.keep_picture)
        for name in trainer.available_themes:
            said = name.replace("-", " ")
            yield Entry(f"Colours of the screen: {said}", [], partial(setattr, trainer, "theme", name))

    @on(Input.Changed)
    def _narrowed(self, event: Input.Changed) -> None:
        wanted = event.value.strip()
        if not wanted:
            self._list(range(len(self._entries)))
            return
        matcher = Matcher(wanted)
        scores = [matcher.match(" ".join([entry.what, *entry.keys])) for entry in self._entries]
        fitting = (index for index, score in enumerate(scores) if score > 0)
        self._list(sorted(fitting, key=lambda index: -scores[index]))

    def _list(self, indices: Iterable[int]) -> None:
        rows = self.query_one(Rows)
        rows.clear_options()
        rows.add_options(Option(self._entries[index].row, id=str(index)) for index in indices)
        if not rows.option_count:
            rows.add_option(Option(Content.styled("Nothing is called so.", "$quiet"), disabled=True))
            rows.highlighted = None
            return
        rows.highlighted = 0

    @on(Rows.OptionSelected)
    def _picked(self, event: Rows.OptionSelected) -> None:
        if self.is_on_top:  # a click that came before it knows of an entry that may be listed no more
            self.close()
            self.app.call_later(self._entries[int(event.option_id or 0)].run)

    def action_take(self) -> None:
        """Carry out the one under the cursor."""
        self.query_one(Rows).action_select()

    def action_move(self, step: int) -> None:
        """To the row below (1) or above (-1)."""
        rows = self.query_one(Rows)
        (rows.action_cursor_down if step > 0 else rows.action_cursor_up)()

    def action_page(self, step: int) -> None:
        """A page on (1) or back (-1)."""
        rows = self.query_one(Rows)
        (rows.action_page_down if step > 0 else rows.action_page_up)()

    def action_close(self) -> None:
        """Back to where it was called from."""
        self.close()

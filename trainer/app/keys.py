"""The player's keys: what each action is bound to, and how the screens say it.

Every action has a name (``settings/keys.py``), which is the ``id`` of its bindings; Textual's keymap
puts the player's keys in the place of the usual ones. Textual's own widgets go by them, too: the row of keys,
a list, a page to read.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.keys import format_key
from textual.screen import Screen
from textual.widgets import Footer, OptionList

from trainer.settings.keys import NAMED, keys_of

WIDEST = 14  # columns of keys side by side
IN_WORDS = ("enter", "backspace")  # Textual has signs for them that not every font has
# Actions that the row of keys says with one word, their keys side by side.
TOGETHER = (
    ("less", "more"),
    ("much_less", "much_more"),
    ("hair_less", "hair_more"),
    ("look_left", "look_right"),
    ("fewer_minutes", "more_minutes"),
    ("value_less", "value_more"),
    ("up", "down"),
    ("find_before", "find_next"),
)


def bound(name: str, action: str, word: str = "", *, show: bool = True, priority: bool = False) -> Binding:
    """The binding of a named action to its usual keys; ``word`` is what the row of keys says."""
    return Binding(
        ",".join(NAMED[name].usual),
        action,
        word or NAMED[name].about,
        show and bool(word),
        id=name,
        priority=priority,
    )


def said(key: str) -> str:
    """A key as a screen says it."""
    *modifiers, last = key.split("+") if len(key) > 1 else [key]
    word = last if last in IN_WORDS else format_key(last)
    if "ctrl" in modifiers:
        return f"^{word}"
    return "+".join([*modifiers, word])


@dataclass(frozen=True)
class PlayerKeys:
    """The keys of every action, by the names of Textual."""

    of: Mapping[str, tuple[str, ...]]

    @cached_property
    def keymap(self) -> dict[str, str]:
        """What Textual must be told: the actions with other keys, and those that these keys were usual for.

        Its keymap takes a key from every action that isn't in it and had the same key. Not simply all of
        them, since Textual goes through the keymap at every key, in the square of its length.
        """
        names = {name for name, keys in self.of.items() if keys != USUAL.of[name]}
        while True:
            keys = {key for name in names for key in (*USUAL.of[name], *self.of[name])}
            more = {name for name in self.of if not keys.isdisjoint(USUAL.of[name])}
            if more <= names:
                return {name: ",".join(self.of[name]) for name in self.of if name in names}
            names |= more

    def first(self, name: str) -> str:
        """The first key of an action, as a screen says it."""
        return said(self.of[name][0])

    def together(self, name: str) -> str:
        """The keys of an action and of those that are said with it, the first of each."""
        names = next((names for names in TOGETHER if name in names), (name,))
        keys = [self.first(each) for each in names]
        if sum(map(len, keys)) > WIDEST:
            return keys[0]
        return " ".join(keys)


USUAL = PlayerKeys(keys_of(None, {}))


KeysSaid = list[tuple[Binding, bool, str]]


class KeyRow(Footer):
    """What the keys do now, at the foot of a screen.

    Textual's own row makes all its parts anew whenever a screen looks which keys mean something, as one
    does after each key pressed: most of the time that a key takes, and mostly to say the same.
    """

    def __init__(self) -> None:
        super().__init__(show_command_palette=False)
        self._said: KeysSaid | None = None
        self._looked = False  # whether a screen has looked: before that there is nothing to say

    def compose(self) -> ComposeResult:
        """The parts, and what they say."""
        if self._looked:
            self._said = _keys_of(self.screen)
        for part in super().compose():
            # A key begins as a tight one; to take that from it later turns all its styles over.
            if (compact := getattr(type(part), "compact", None)) is not None:
                part.set_reactive(compact, self.compact)
            yield part

    def bindings_changed(self, screen: Screen[object]) -> None:
        """Make the parts anew if they would say something else."""
        self._looked = True
        if screen is not self.screen or self._said != _keys_of(screen):
            super().bindings_changed(screen)


def _keys_of(screen: Screen[object]) -> KeysSaid:
    found = screen.active_bindings.values()
    return [(one.binding, one.enabled, one.tooltip) for one in found if one.binding.show]


class Rows(OptionList, inherit_bindings=False):
    """Textual's list by the player's keys, whose pages turn before it was ever drawn, too."""

    BINDINGS: ClassVar[list[BindingType]] = [
        bound("up", "cursor_up"),
        bound("down", "cursor_down"),
        bound("page_up", "page_up"),
        bound("page_down", "page_down"),
        bound("first", "first"),
        bound("last", "last"),
        bound("choose", "select"),
    ]

    def action_page_up(self) -> None:
        """A page up."""
        if self._is_laid_out():
            super().action_page_up()  # type: ignore[no-untyped-call]

    def action_page_down(self) -> None:
        """A page down."""
        if self._is_laid_out():
            super().action_page_down()  # type: ignore[no-untyped-call]

    def _is_laid_out(self) -> bool:
        """Whether there is a row to turn from; where its rows have changed, they are laid out anew."""
        self.scroll_to_highlight()
        return self.highlighted is not None


class Page(VerticalScroll, inherit_bindings=False):
    """Scrolls by the player's keys."""

    BINDINGS: ClassVar[list[BindingType]] = [
        bound("up", "scroll_up"),
        bound("down", "scroll_down"),
        bound("page_up", "page_up"),
        bound("page_down", "page_down"),
        bound("first", "scroll_home"),
        bound("last", "scroll_end"),
    ]

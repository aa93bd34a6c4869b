"""The player's keys: what each action is bound to, and how the screens say it.

Every action has a name (``settings/actions.py``), which is the ``id`` of its bindings; Textual's keymap
puts the player's keys in the place of the usual ones.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from textual.binding import Binding
from textual.keys import format_key

from trainer.settings.actions import NAMED
from trainer.settings.keys import keys_of

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

"""What a screen offers: every action that has a key there now, by the name that a player reads."""

from collections.abc import Iterator
from dataclasses import dataclass

from textual.dom import DOMNode
from textual.screen import Screen

from trainer.app.keys import said

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

"""The player's own keys: the table ``[keys]`` of the settings, one line an action, over those of a hand."""

import difflib
import unicodedata
from collections.abc import Iterator, Mapping
from itertools import combinations
from typing import Any

from trainer.history.errors import quoted
from trainer.settings.actions import ACTIONS, NAMED, Action, Where

HANDS = ("both", "left", "right")
Keys = Mapping[str, tuple[str, ...]]  # of every action

MOST_KEYS = 6  # of one action
_ARROWS = ("left", "right", "up", "down")
_MOVES = (*_ARROWS, "home", "end", "pageup", "pagedown")
# Ctrl with i, j, m or h is another key to most terminals, and with c and v it copies and pastes.
_CTRL = tuple(letter for letter in "abcdefghijklmnopqrstuvwxyz" if letter not in "chijmv")
NAMED_KEYS = (
    *_MOVES,
    *("enter", "space", "tab", "shift+tab", "escape", "backspace", "delete", "insert"),
    *(f"f{number}" for number in range(1, 13)),
    *(f"shift+{key}" for key in _MOVES),
    *(f"ctrl+{key}" for key in (*_CTRL, *_ARROWS)),
)
ALLOWED = (
    "a character, or one of left, right, up, down, home, end, pageup, pagedown, enter, space, tab, escape, "
    "backspace, delete, insert, f1 to f12, shift+left, ctrl+a"
)
# Where Textual's name of a character isn't the one that Unicode has.
_OTHER_NAMES = {
    "solidus": "slash",
    "reverse_solidus": "backslash",
    "commercial_at": "at",
    "hyphen_minus": "minus",
    "plus_sign": "plus",
    "low_line": "underscore",
}


def key_named(text: str) -> str | None:
    """Textual's name of the key that a text means; None where it means none."""
    if text.lower() in NAMED_KEYS:
        return text.lower()
    if len(text) != 1 or not text.isprintable() or text.isspace():
        return text if text in _CHARACTERS else None
    return text if text.isalnum() else _name_of(text)


def key_text(key: str) -> str:
    """How a key is written in the settings, by Textual's name of it."""
    return _CHARACTERS.get(key, key)


def _name_of(character: str) -> str | None:
    name = unicodedata.name(character, "").lower().replace("-", "_").replace(" ", "_")
    return _OTHER_NAMES.get(name, name) or None


_CHARACTERS = {
    name: c for c in map(chr, range(33, 127)) if not c.isalnum() and (name := _name_of(c)) is not None
}


def types_text(key: str) -> bool:
    """Whether a key types something where text is typed."""
    return len(key) == 1 or key == "space" or key in _CHARACTERS or key not in NAMED_KEYS


def hand_keys(hand: str | None) -> dict[str, tuple[str, ...]]:
    """The ready keys of a hand, "left" or "right"; else the usual ones."""
    if hand == "left":
        return {action.name: action.left for action in ACTIONS}
    if hand == "right":
        return {action.name: action.right for action in ACTIONS}
    return {action.name: action.usual for action in ACTIONS}


def keys_of(hand: str | None, own: Keys) -> dict[str, tuple[str, ...]]:
    """The keys of every action: the player's own over those of a hand."""
    return {**hand_keys(hand), **own}


def clash(a: Action, b: Action, keys: Keys) -> tuple[str, Where] | None:
    """A key that two actions have on one screen, and which screen."""
    for key in keys[a.name]:
        if key in keys[b.name]:
            for where in Where:
                if where in a.where and where in b.where:
                    return key, where
    return None


def read_keys(table: Any, hand: str | None) -> tuple[dict[str, tuple[str, ...]], tuple[str, ...]]:
    """What the table ``[keys]`` says, and every problem of it, one line each.

    Parameters
    ----------
    table : Any
        As TOML gave it.
    hand : str, optional
        Whose ready keys hold where the table says nothing.

    Returns
    -------
    dict of str to tuple of str
        The keys of the actions that have sound ones of their own; none has a key that another has on
        the same screen.
    tuple of str
        What is wrong, each beginning with where.
    """
    if not isinstance(table, dict):
        return {}, (f"keys: {quoted(table)} is not a table; allowed: a table [keys]",)
    own: dict[str, tuple[str, ...]] = {}
    problems = []
    for name, value in table.items():
        try:
            own[name] = _keys_in(name, value)
        except ValueError as error:
            problems.append(f"keys.{name if name in NAMED else quoted(name)}: {error}")
    return own, (*problems, *_without_clashes(own, hand))


def clashes(hand: str | None, own: Keys) -> tuple[str, ...]:
    """The player's own keys that clash with the ready ones of a hand, one line each."""
    return tuple(_without_clashes(dict(own), hand))


def _keys_in(name: str, value: Any) -> tuple[str, ...]:
    if name not in NAMED:
        near = difflib.get_close_matches(name, NAMED, 1, 0.5)
        raise ValueError(
            f"no such action; {f'did you mean {near[0]}?' if near else 'trainer keys lists them all'}"
        )
    texts = value.split() if isinstance(value, str) else value
    if not isinstance(texts, list) or not texts or not all(isinstance(text, str) for text in texts):
        raise ValueError(f'{quoted(value)} can\'t be used; allowed: keys apart by blanks, as "v tab"')
    if len(texts) > MOST_KEYS:
        raise ValueError(f"{len(texts)} keys; allowed: 1 to {MOST_KEYS}")
    found = []
    for text in texts:
        key = key_named(text)
        if key is None:
            raise ValueError(f"{quoted(text)} is no key; allowed: {ALLOWED}")
        if Where.FIND in NAMED[name].where and types_text(key):
            raise ValueError(f"{quoted(text)} types text in the list of actions; allowed: a key that doesn't")
        found.append(key)
    return tuple(dict.fromkeys(found))


def _without_clashes(own: dict[str, tuple[str, ...]], hand: str | None) -> Iterator[str]:
    """Take out of ``own`` what clashes, until nothing does, and say each clash once."""
    while found := list(_clashes(own, hand)):
        for a, b, key, where in found:
            mine, other = (a, b) if a.name in own else (b, a)
            screen = where.name.lower()
            yield f"keys.{mine.name}: {key_text(key)} is {other.name} too ({screen}); the usual keys stay"
        for a, b, _, _ in found:
            own.pop(a.name, None)
            own.pop(b.name, None)


def _clashes(
    own: dict[str, tuple[str, ...]], hand: str | None
) -> Iterator[tuple[Action, Action, str, Where]]:
    keys = keys_of(hand, own)
    for a, b in combinations(ACTIONS, 2):
        if (a.name in own or b.name in own) and (found := clash(a, b, keys)) is not None:
            yield a, b, *found


def listed(hand: str | None, own: Keys) -> str:
    """The table ``[keys]`` as text: each action, its keys and what it does; a comment unless one's own."""
    keys = keys_of(hand, own)
    wide = max(len(action.name) for action in ACTIONS)
    lines = ["[keys]"]
    for action in ACTIONS:
        text = " ".join(map(key_text, keys[action.name])).replace("\\", "\\\\").replace('"', '\\"')
        mark = "" if action.name in own else "# "
        lines.append(f'{mark}{action.name:<{wide}} = "{text}"  # {action.about}')
    return "\n".join(lines) + "\n"

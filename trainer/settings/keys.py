"""Everything that a key does: its name in the settings, the usual keys, those of one hand, the player's own.

The app binds its keys by ``ACTIONS``. A name, once given, stays. The player's own keys are a table of the
settings, one line an action, over those of a hand.
"""

import difflib
import unicodedata
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import Enum, auto
from itertools import combinations
from typing import Any

from trainer.history.errors import quoted


class Where(Enum):
    """What is on the screen: one key does one thing in each."""

    QUESTION = auto()
    MARK = auto()
    HOME = auto()
    LEVELS = auto()
    PAGE = auto()  # progress, weeks, help
    SUMMARY = auto()
    WARMED = auto()
    TABLE = auto()
    SETTINGS = auto()
    FIND = auto()  # the list of actions, where letters are typed


@dataclass(frozen=True)
class Action:
    """Something that a key does.

    Parameters
    ----------
    name : str
        Its name in the settings.
    about : str
        What it does, in words.
    where : set of Where
        On which screens.
    usual, left, right : tuple of str
        The keys that do it, by their names in Textual; for the left hand alone, for the right.
    """

    name: str
    about: str
    where: frozenset[Where]
    usual: tuple[str, ...]
    left: tuple[str, ...]
    right: tuple[str, ...]


_PLAY = (Where.QUESTION, Where.MARK)
_LISTS = (Where.HOME, Where.LEVELS, Where.PAGE, Where.SUMMARY, Where.TABLE, Where.SETTINGS)
_NUMBERED = (Where.QUESTION, Where.TABLE, Where.SETTINGS)
_TYPED = frozenset({Where.FIND})
SAMPLES = "12345"  # of the shapes that pictures are drawn with, on the page about the terminal
ALL = frozenset(Where)


def _action(
    name: str, about: str, where: tuple[Where, ...], usual: str, left: str = "", right: str = ""
) -> Action:
    """An action; keys apart by blanks, and one hand has the usual ones where nothing else is said."""
    return Action(
        name,
        about,
        frozenset(where),
        tuple(usual.split()),
        tuple((left or usual).split()),
        tuple((right or usual).split()),
    )


# The usual numbers; then where the left hand finds them, and the right one, as a block of nine.
_NUMBERS = zip(
    "123456789",
    ("1", "2", "3", "4", "5", "q", "e", "r", "t"),
    ("u", "i", "o", "j", "k", "l", "m", "comma", "full_stop"),
    strict=True,
)
ANSWERS = tuple(f"answer_{number}" for number in range(1, 10))
ACTIONS = (
    *[
        _action(name, f"Answer {d}", _NUMBERED if d in SAMPLES else _NUMBERED[:2], d, left, right)
        for name, (d, left, right) in zip(ANSWERS, _NUMBERS, strict=True)
    ],
    _action("less", "The answer before, or a little less", (Where.QUESTION,), "left h", "a", "left"),
    _action("more", "The next answer, or a little more", (Where.QUESTION,), "right l", "d", "right"),
    _action("much_less", "Less, in large steps", (Where.QUESTION,), "down", "s"),
    _action("much_more", "More, in large steps", (Where.QUESTION,), "up", "w"),
    _action("hair_less", "Less, by a hair", (Where.QUESTION,), "comma", "z", "left_square_bracket"),
    _action("hair_more", "More, by a hair", (Where.QUESTION,), "full_stop", "c", "right_square_bracket"),
    _action("call", "Call the answer that is considered", (Where.QUESTION,), "enter", "space"),
    _action("next_view", "See the shot another way", _PLAY, "v", "v", "p"),
    _action("look_left", "Look round to the left", _PLAY, "a shift+left", "A", "shift+left"),
    _action("look_right", "Look round to the right", _PLAY, "d shift+right", "D", "shift+right"),
    _action("step_closer", "Step closer", _PLAY, "w shift+up", "W", "shift+up"),
    _action("step_back", "Step back", _PLAY, "s shift+down", "S", "shift+down"),
    _action("stand_up", "Stand up", _PLAY, "r pageup", "R", "pageup"),
    _action("get_down", "Get down", _PLAY, "f pagedown", "F", "pagedown"),
    _action("look_straight", "Look straight again", _PLAY, "x", "x", "h"),
    _action("why", "Why? The construction, step by step", (Where.MARK,), "y", "e", "y"),
    _action("why_before", "Why? The step before", (Where.MARK,), "left", "w", "u"),
    _action("replay", "See the call roll again, slowly", (Where.MARK,), "z", "r", "n"),
    _action("copy_shot", "Copy the shot, as a command", _PLAY, "c", "g", "6"),
    _action(
        "take_back", "Take the last one back: it counts for nothing", (*_PLAY, Where.TABLE), "u", "b", "0"
    ),
    _action(
        "go_on", "Go on (after a mark any other key does)", (Where.MARK, Where.PAGE), "space", "tab", "space"
    ),
    _action("leave_set", "Home; the set waits", (*_PLAY, Where.WARMED), "escape", "escape", "backspace"),
    _action(
        "back",
        "Back",
        (Where.LEVELS, Where.PAGE, Where.SUMMARY, Where.TABLE, Where.SETTINGS),
        "escape q",
        "escape",
        "backspace",
    ),
    _action("up", "A row up", _LISTS, "up", "w"),
    _action("down", "A row down", _LISTS, "down", "s"),
    _action("page_up", "A page up", _LISTS, "pageup", "W"),
    _action("page_down", "A page down", _LISTS, "pagedown", "S"),
    _action("first", "The first row", _LISTS, "home", "A"),
    _action("last", "The last row", _LISTS, "end", "D"),
    _action(
        "choose",
        "Take the row, or keep what is chosen",
        (Where.HOME, Where.LEVELS, Where.PAGE, Where.SUMMARY, Where.WARMED, Where.SETTINGS),
        "enter",
        "space",
    ),
    _action("again", "The same once more", (Where.SUMMARY, Where.WARMED), "r", "r", "n"),
    _action("test_me", "The test of a level: pass it in eight shots", (Where.LEVELS,), "t", "t", "j"),
    _action("copy_set", "Copy the set as text, to show it", (Where.SUMMARY,), "c", "g", "6"),
    _action("today", "Today's practice", (Where.HOME,), "g", "g", "j"),
    _action("fewer_minutes", "Fewer minutes for it", (Where.HOME,), "left minus", "1", "left minus"),
    _action("more_minutes", "More minutes for it", (Where.HOME,), "right plus", "2", "right"),
    _action("warm_up", "Warm up", (Where.HOME,), "f", "f", "k"),
    _action("name_the_fullness", "Name the fullness", (Where.HOME,), "n", "e", "n"),
    _action("pick_the_aim_point", "Pick the aim point", (Where.HOME,), "a", "a", "i"),
    _action("levels", "Levels", (Where.HOME,), "v", "v", "l"),
    _action("from_the_beginning", "From the beginning", (Where.HOME, Where.SUMMARY), "b", "b", "h"),
    _action("table_notebook", "Table notebook", (Where.HOME,), "m", "z", "m"),
    _action("progress", "Progress", (Where.HOME,), "p", "r", "p"),
    _action("weeks", "Weeks", (Where.HOME,), "w", "c", "y"),
    _action("weekly_measure", "Weekly measure", (Where.HOME, Where.PAGE), "e", "d", "8"),
    _action("settings", "Settings", (Where.HOME,), "s", "x", "0"),
    _action("your_terminal", "Your terminal", (Where.HOME,), "t", "t", "u"),
    _action("quit", "Quit", (Where.HOME,), "q", "q", "o"),
    _action("to_the_table", "Quit, after a warm-up", (Where.WARMED,), "q", "q", "o"),
    _action("keep_page", "Save as a web page", (Where.PAGE,), "k", "e", "k"),
    _action("sent_left", "Sent to the left", (Where.TABLE,), "l left", "a", "left"),
    _action("sent_right", "Sent to the right", (Where.TABLE,), "r right", "d", "right"),
    _action("potted", "Potted", (Where.TABLE,), "p", "z", "p"),
    _action("missed_thick", "Missed thick", (Where.TABLE,), "t", "x", "left_square_bracket"),
    _action("missed_thin", "Missed thin", (Where.TABLE,), "n", "c", "right_square_bracket"),
    _action("distance", "How far from the pocket", (Where.TABLE,), "d", "f", "n"),
    _action("lay_out", "Lay the balls on a plan", (Where.TABLE,), "v", "v", "y"),
    _action("other_table", "The next table", (Where.TABLE,), "b", "g", "h"),
    _action("card", "A practice card's ticks; there, the card before", (Where.TABLE,), "k", "C", "semicolon"),
    _action("new_card", "Lay out a new practice card", (Where.TABLE, Where.WARMED), "w", "V", "apostrophe"),
    _action("value_less", "The value before, or less", (Where.SETTINGS,), "left", "a", "left"),
    _action("value_more", "The next value, or more", (Where.SETTINGS,), "right", "d", "right"),
    _action("colours", "The next number of colours", (Where.SETTINGS,), "c", "c", "n"),
    _action(
        "pixels", "Pictures in pixels, in cells, or as the terminal can", (Where.SETTINGS,), "p", "z", "y"
    ),
    _action("automatic", "All as it is usual, or known of the terminal", (Where.SETTINGS,), "a", "x", "h"),
    _action("other_page", "Settings, or the page about your terminal", (Where.SETTINGS,), "t", "v", "p"),
    _action("find_next", "In the list of actions: the next", (Where.FIND,), "down", "tab"),
    _action("find_before", "In the list of actions: the one before", (Where.FIND,), "up", "shift+tab"),
    _action("find_page_down", "In the list of actions: a page down", (Where.FIND,), "pagedown", "ctrl+f"),
    _action("find_page_up", "In the list of actions: a page up", (Where.FIND,), "pageup", "ctrl+b"),
    _action("find_do", "In the list of actions: do it", (Where.FIND,), "enter", "ctrl+d"),
    _action("find_close", "In the list of actions: back", (Where.FIND,), "escape", "escape", "f10"),
    _action("help", "Help", tuple(ALL - _TYPED), "question_mark f1", "f1", "question_mark f12"),
    _action("every_action", "Every action, by name", tuple(ALL), "ctrl+p", "ctrl+e", "ctrl+p"),
    _action("quit_at_once", "Quit at once", tuple(ALL), "ctrl+q", "ctrl+q", "ctrl+o"),
    _action("put_aside", "Put the game aside (fg brings it back)", tuple(ALL), "ctrl+z", "ctrl+z", "ctrl+l"),
)
NAMED = {action.name: action for action in ACTIONS}


# --- The player's own -----------------------------------------------------------------------------------

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
    which = hand if hand in ("left", "right") else "usual"
    return {action.name: getattr(action, which) for action in ACTIONS}


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

"""Everything that a key does: its name in the settings, the usual keys, and those of one hand alone.

The app binds its keys by this table, and the settings are read by it. A name, once given, stays.
"""

from dataclasses import dataclass
from enum import Enum, auto


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
        "take_back", "Take the last one back: it counts for nothing", (Where.MARK, Where.TABLE), "u", "b", "0"
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
    _action("value_less", "The value before, or less", (Where.SETTINGS,), "left", "a", "left"),
    _action("value_more", "The next value, or more", (Where.SETTINGS,), "right", "d", "right"),
    _action("colours", "The next number of colours", (Where.SETTINGS,), "c", "c", "n"),
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

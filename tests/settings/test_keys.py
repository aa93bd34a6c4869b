"""The player's own keys: what the settings may say of them, and that no key ever does two things."""

import tomllib
from itertools import combinations, product
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from textual.keys import Keys, _character_to_key

from trainer.history import TrainerError
from trainer.settings.keys import (
    ACTIONS,
    HANDS,
    MOST_KEYS,
    NAMED,
    NAMED_KEYS,
    Where,
    clash,
    hand_keys,
    key_named,
    key_text,
    keys_of,
    listed,
    read_keys,
    types_text,
)
from trainer.settings.settings import FILE, Settings, read_settings, save_settings

# What each hand reaches on an American keyboard without leaving its place.
LEFT = {
    *"12345qwertasdfgzxcvbQWERTASDFGZXCVB",
    *("tab", "shift+tab", "escape", "space", "f1", "f2", "f3", "f4", "f5"),
    *(f"ctrl+{c}" for c in "qwertasdfgzxvb"),
}
RIGHT = {
    *"67890yuiophjklnm",
    *("comma", "full_stop", "slash", "semicolon", "apostrophe", "minus", "plus", "equals_sign"),
    *("left_square_bracket", "right_square_bracket", "question_mark", "backspace", "enter", "space"),
    *("left", "right", "up", "down", "home", "end", "pageup", "pagedown", "delete", "insert"),
    *(f"shift+{key}" for key in ("left", "right", "up", "down")),
    *(f"f{number}" for number in range(7, 13)),
    *(f"ctrl+{c}" for c in "yuophjklnm"),
}


def each_screen_is_clear(keys: dict[str, tuple[str, ...]]) -> bool:
    """Whether no key does two things on one screen, by going through every screen."""
    for where in Where:
        there = [key for action in ACTIONS if where in action.where for key in keys[action.name]]
        if len(there) != len(set(there)):
            return False
    return True


def test_no_ready_set_has_a_key_for_two_things_and_each_action_has_one() -> None:
    for hand in HANDS:
        keys = hand_keys(hand)
        assert set(keys) == {action.name for action in ACTIONS} == set(NAMED)
        assert all(keys.values())
        assert each_screen_is_clear(keys)


def test_one_hand_reaches_every_action() -> None:
    for hand, reached in (("left", LEFT), ("right", RIGHT)):
        for name, keys in hand_keys(hand).items():
            assert reached & set(keys), (hand, name, keys)


def test_keys_have_the_names_that_the_screen_knows() -> None:
    known = {key.value for key in Keys}
    for key in NAMED_KEYS:
        assert key in known, key
    for code in range(33, 127):
        name = key_named(chr(code))
        assert name == _character_to_key(chr(code))
        assert key_text(name) == chr(code)
        assert key_named(name) == name  # by the longer name too
        assert types_text(name)
    assert key_named("ö") == "ö"
    for hand, action in product(HANDS, ACTIONS):
        for key in hand_keys(hand)[action.name]:
            assert key_named(key_text(key)) == key


@pytest.mark.parametrize(
    ("text", "own", "says"),
    [
        ('why = "v"', {}, ("keys.why: v is next_view too (mark); the usual keys stay",)),
        ('why = "v"\nnext_view = "y"', {"why": ("v",), "next_view": ("y",)}, ()),
        ('next_view = "tab ? ,"', {}, ("keys.next_view: ? is help too",)),
        ('next_view = "tab ,"', {}, ("keys.next_view: , is hair_less too (question)",)),
        ('next_view = ["tab", "V", "V"]', {"next_view": ("tab", "V")}, ()),
        ('nxt_view = "k"', {}, ("no such action; did you mean next_view?",)),
        ('qqqqqq = "k"', {}, ("no such action; trainer keys lists them all",)),
        ('why = "foo"', {}, ("keys.why: 'foo' is no key; allowed: a character, or one of left",)),
        ('why = "ctrl+i"', {}, ("'ctrl+i' is no key",)),
        ('why = ""', {}, ("keys apart by blanks",)),
        ("why = 3", {}, ("3 can't be used",)),
        ("why = [3]", {}, ("can't be used",)),
        ('why = "f2 f3 f4 f5 f6 f7 f8"', {}, (f"7 keys; allowed: 1 to {MOST_KEYS}",)),
        ('find_do = "k"', {}, ("'k' types text in the list of actions",)),
        ('"a\\nb" = "k"', {}, ("keys.'a\\nb': no such action",)),
        # What is left of a swap clashes with what is usual, and goes too; why keeps its own.
        ('why = "f2"\nreplay = "u"\ntake_back = "h"\nlook_straight = "h"', {"why": ("f2",)}, ("take_back",)),
    ],
)
def test_every_problem_is_one_line_and_the_usual_keys_stay(
    tmp_path: Path, text: str, own: dict[str, tuple[str, ...]], says: tuple[str, ...]
) -> None:
    (tmp_path / FILE).write_text(f"[keys]\n{text}\n")
    settings, problems = read_settings(tmp_path)
    assert settings.keys == own
    assert settings.all_keys == {**hand_keys(None), **own}
    assert bool(problems) == bool(says)
    for said in says:
        assert any(said in problem for problem in problems), problems
    assert all("\n" not in problem and problem.startswith(str(tmp_path / FILE)) for problem in problems)


def test_keys_that_are_no_table_are_named(tmp_path: Path) -> None:
    (tmp_path / FILE).write_text('keys = "v"\n')
    settings, problems = read_settings(tmp_path)
    assert settings == Settings()
    assert len(problems) == 1
    assert "keys: 'v' is not a table; allowed: a table [keys]" in problems[0]


@given(
    own=st.dictionaries(
        st.sampled_from([action.name for action in ACTIONS]),
        st.lists(st.sampled_from([*"avhlxyz", ",", "left", "enter", "f2"]), min_size=1, max_size=3).map(
            " ".join
        ),
        max_size=12,
    ),
    hand=st.sampled_from([None, *HANDS]),
)
def test_whatever_is_said_no_key_does_two_things(own: dict[str, str], hand: str | None) -> None:
    found, problems = read_keys(own, hand)
    keys = keys_of(hand, found)
    assert each_screen_is_clear(keys)
    assert set(found) <= set(own)
    assert len(found) == len(own) or problems
    assert not any(clash(a, b, keys) for a, b in combinations(ACTIONS, 2))


def test_the_list_of_actions_is_a_table_that_can_be_read(tmp_path: Path) -> None:
    for hand in HANDS:
        text = listed(hand, {"why": ("f2", "backslash", "quotation_mark")})
        assert tomllib.loads(text) == {"keys": {"why": 'f2 \\ "'}}
        whole = tomllib.loads(text.replace("\n# ", "\n"))["keys"]  # every # taken away
        found, problems = read_keys(whole, hand)
        assert not problems
        assert found == keys_of(hand, {"why": ("f2", "backslash", "quotation_mark")})


def test_a_new_file_lists_every_action_and_a_kept_one_keeps_what_it_says(tmp_path: Path) -> None:
    save_settings(tmp_path, Settings(hand="left", keys={"why": ("f2",)}))
    text = (tmp_path / FILE).read_text()
    for action in ACTIONS:
        assert f"{action.name} " in text
        assert action.about in text
    assert read_settings(tmp_path) == (Settings(hand="left", keys={"why": ("f2",)}), ())
    mine = '# mine\n[keys]  # yes\nwhy = "f2"  # so\n# colours = "c"\n'
    (tmp_path / FILE).write_text(mine)
    save_settings(tmp_path, Settings(colours="16", keys={"why": ("f2",)}))
    text = (tmp_path / FILE).read_text()
    assert text.endswith(mine.removeprefix("# mine\n"))
    assert text.startswith("# mine\n")
    assert tomllib.loads(text) == {"colours": "16", "keys": {"why": "f2"}}


def test_a_hand_that_own_keys_do_not_go_with_is_not_kept(tmp_path: Path) -> None:
    own = {"why": ("r",), "stand_up": ("f2",)}  # r is replay to the left hand
    save_settings(tmp_path, Settings(keys=own))
    before = (tmp_path / FILE).read_text()
    with pytest.raises(TrainerError, match=r"keys\.why: r is replay too"):
        save_settings(tmp_path, Settings(hand="left", keys=own))
    assert (tmp_path / FILE).read_text() == before

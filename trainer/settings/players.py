"""More than one player on a machine: each has a folder of its own inside the data folder.

Without a name the player is the one whom the data folder itself holds.
"""

import os
import re
import unicodedata
from collections.abc import Mapping, Sequence
from pathlib import Path

from trainer.history.errors import TrainerError, quoted, shown

FOLDER = "players"
VARIABLE = "TRAINER_PLAYER"
LONGEST = 40  # characters
MARKS = " -_."
ALLOWED = (
    f"allowed: 1 to {LONGEST} letters, digits, spaces and - _ ., beginning with a letter or digit and "
    "not ending in a space or dot"
)
# Names that mean a device on some systems, whatever follows a dot. From memory.
DEVICES = re.compile(r"(con|prn|aux|nul|com\d|lpt\d)(\..*)?", re.IGNORECASE)


def chosen_player(given: str | None) -> str | None:
    """The player's name: the one given, else that in ``TRAINER_PLAYER``; None: the one without a name.

    Raises
    ------
    TrainerError
        If the name isn't allowed.
    """
    name = os.environ.get(VARIABLE) or None if given is None else given
    return None if name is None else checked(name)


def checked(name: str) -> str:
    """A player's name as it is kept, if it is allowed.

    Raises
    ------
    TrainerError
        If it isn't.
    """
    plain = unicodedata.normalize("NFC", name)
    letters = plain.replace(" ", "") and all(c.isalnum() or c in MARKS for c in plain)
    if not letters or len(plain) > LONGEST or not plain[0].isalnum() or plain[-1] in " .":
        raise TrainerError(f"player {quoted(name)} can't be a name; {ALLOWED}")
    if DEVICES.fullmatch(plain):
        raise TrainerError(f"player {quoted(name)}: some systems use that name for a device; give another")
    return plain


def player_folder(data: Path, name: str | None, there: Mapping[str, Sequence[str]] | None = None) -> Path:
    """The folder of a player inside the data folder; nothing is created.

    ``there`` is what :func:`by_letters` gave; whoever asks for many folders asks for it once.

    Raises
    ------
    TrainerError
        If the name isn't allowed, differs from one that is there only in capitals, or leads elsewhere.
    """
    if name is None:
        return data
    name = checked(name)
    for other in (by_letters(data) if there is None else there).get(_folded(name), ()):
        if other != name:
            raise TrainerError(f"player {quoted(name)} is there as {quoted(other)}; give that name")
    folder = data / FOLDER / name
    for step in (data / FOLDER, folder):
        if step.is_symlink():  # what it leads to is outside, and nothing is written there
            raise TrainerError(f"{shown(step)} is a link; a player's folder has to be one itself")
        if step.exists() and not step.is_dir():
            raise TrainerError(f"{shown(step)} is not a folder; move it away, or give another name")
    return folder


def players(data: Path) -> list[str]:
    """The names of the players who have a folder, in alphabetical order.

    Raises
    ------
    TrainerError
        If their folder can't be read.
    """
    found = []
    for name in _there(data):
        folder = data / FOLDER / name
        try:
            ours = checked(name) == name and folder.is_dir() and not folder.is_symlink()
        except TrainerError:
            continue
        if ours:
            found.append(name)
    return sorted(found, key=_folded)


def by_letters(data: Path) -> dict[str, list[str]]:
    """The names in the folder of players that differ only in capitals, by what they have in common.

    Raises
    ------
    TrainerError
        If that folder can't be read.
    """
    found: dict[str, list[str]] = {}
    for name in _there(data):
        found.setdefault(_folded(name), []).append(name)
    return found


def _there(data: Path) -> list[str]:
    try:
        return [unicodedata.normalize("NFC", name) for name in os.listdir(data / FOLDER)]
    except (FileNotFoundError, NotADirectoryError):
        return []
    except OSError as error:
        raise TrainerError(f"{shown(data / FOLDER)} can't be read: {error.strerror}") from None


def _folded(name: str) -> str:
    return unicodedata.normalize("NFC", name.casefold())

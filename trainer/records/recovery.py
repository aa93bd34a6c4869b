"""A damaged history is set aside, and the newest good copy takes its place."""

from pathlib import Path

from trainer.records import backups
from trainer.records.clock import iso
from trainer.records.errors import Damaged, shown
from trainer.records.restore import Restoring, alone


def recover(error: Damaged, day: str) -> str | None:
    """Put the newest good copy in the place of the history that is damaged.

    Parameters
    ----------
    error : Damaged
        What was found.
    day : str
        The local day it is.

    Returns
    -------
    str or None
        One line that says what was done; '' where another program has done so already. None where there is
        no good copy: then all is as it was.

    Raises
    ------
    RecordsError
        If another program has the history open, or something can't be written.
    """
    folder = error.file.parent
    for backup in reversed(backups.backups(folder)):
        if backup.why == backups.DAMAGED:
            continue
        try:
            with backups.sound(backup) as source:
                if not _still_damaged(error.file):
                    return ""
                kept = Restoring(folder, source, None).carry_out(day)
                held = backups.contents(backup)
        except backups.Unusable:
            continue
        until = "" if held.last is None else f" until {iso(held.last)[:16].replace('T', ' ')}"
        aside = "" if kept is None else f" and is set aside as {kept.name}"
        return (
            f"{shown(error.file)} was damaged ({error.why}){aside}; the newest good copy, {backup.name}, "
            f"is in its place: {held.calls} call{'s' * (held.calls != 1)}{until}"
        )
    return None


def _still_damaged(file: Path) -> bool:
    """Whether a history is damaged now that nobody else has it open."""
    try:
        alone(file).close()
    except Damaged:
        return True
    return False

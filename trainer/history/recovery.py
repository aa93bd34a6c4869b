"""A damaged history is set aside, and the newest good copy takes its place, with what is still whole."""

import gc
from pathlib import Path

from trainer.history import backups
from trainer.history.backups import Backup
from trainer.history.clock import ROLLOVER_HOUR, Clock, Moment, iso, local_day
from trainer.history.errors import Damaged, shown
from trainer.history.restore import Restoring, alone
from trainer.history.salvage import Saved, salvage
from trainer.history.store import History


def recover(error: Damaged, clock: Clock, rollover_hour: int = ROLLOVER_HOUR) -> str | None:
    """Put the newest good copy in the place of the history that is damaged, and add to it what can be read.

    Parameters
    ----------
    error : Damaged
        What was found.
    clock, rollover_hour
        What time it is, and the hour at which a day begins.

    Returns
    -------
    str or None
        One line that says what was done; '' where another program has done so already. None where there is
        no good copy: then all is as it was.

    Raises
    ------
    TrainerError
        If another program has the history open, or something can't be written.
    """
    gc.collect()  # a cursor from where it was found would hold the file
    folder = error.file.parent
    for backup in reversed(backups.backups(folder)):
        if backup.why == backups.DAMAGED:
            continue
        try:
            with backups.sound(backup) as source:
                if not _still_damaged(error.file):
                    return ""
                aside = Restoring(folder, source, None).carry_out(local_day(clock.now(), rollover_hour))
        except backups.Unusable:
            continue
        with History.open(folder, clock, rollover_hour) as history:
            saved = None if aside is None else salvage(history, aside.file)
            return _said(error, aside, backup, saved, history)
    return None


def _said(error: Damaged, aside: Backup | None, copy: Backup, saved: Saved | None, history: History) -> str:
    """What was damaged, what became of it, and what is there now."""
    where = "" if aside is None else f" and is set aside as {aside.name}"
    more, lost = "", ""
    if saved is not None and saved.calls:
        more = f", with {_calls(saved.calls)} made since that could still be read"
    if saved is not None and saved.lost:
        lost = f"; {_calls(saved.lost)} can't be read any more"
    last, until = history.last_call(), ""
    if last is not None:
        moment = Moment(last[0].epoch_ms, last[0].offset_s, last[0].zone)
        until = f" until {iso(moment)[:16].replace('T', ' ')}"
    return (
        f"{shown(error.file)} was damaged ({error.why}){where}; the newest good copy, {copy.name}, "
        f"is in its place{more}: {_calls(history.count())}{until}{lost}"
    )


def _calls(many: int) -> str:
    return f"{many} call{'s' * (many != 1)}"


def _still_damaged(file: Path) -> bool:
    """Whether a history is damaged now that nobody else has it open."""
    try:
        alone(file).close()
    except Damaged:
        return True
    return False

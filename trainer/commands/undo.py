"""``trainer undo``."""

import argparse
import json

from trainer.commands.asking import confirmed
from trainer.commands.opening import open_history, style_of
from trainer.commands.problems import CommandError
from trainer.history.attempt import Attempt
from trainer.history.clock import Moment, iso
from trainer.shots.style import Style


def undo(args: argparse.Namespace) -> int:
    """Take the last call back."""
    with open_history(args) as history:
        last = history.last_call()
        if last is None:
            raise CommandError("there is no call to take back yet")
        attempt, undone = last
        if not args.json:
            print(_words(attempt, style_of(args)))
        if undone:
            return _say(args, attempt, False, "It has been taken back already: only the last call can be.")
        if not confirmed("Take it back, so that it counts for nothing?", args.yes or args.json):
            print("Left as it is.")
            return 1
        history.undo(attempt.id)
    return _say(args, attempt, True, "Taken back: it stays in the history, and counts for nothing.")


def _say(args: argparse.Namespace, attempt: Attempt, done: bool, words: str) -> int:
    print(json.dumps({"id": attempt.id, "undone": True, "before": not done}) if args.json else words)
    return 0


def _words(attempt: Attempt, style: Style) -> str:
    """The call, its shot and when it was."""
    moment = Moment(attempt.epoch_ms, attempt.offset_s)
    off = "" if attempt.right else f", {style.thick_or_thin(attempt.error)}"
    day, time = iso(moment)[:16].split("T")
    return (
        f"The last call: {attempt.call} ({attempt.drill}), {'right' if attempt.right else 'wrong'}{off}, "
        f"shot {attempt.number} of {attempt.level or 'a set'}, {day} {time}."
    )

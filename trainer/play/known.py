"""The digest of a history as it is kept in it: read at the start, and written now and then."""

import json
from collections.abc import Callable, Iterable
from typing import Any

from trainer.history import TrainerError
from trainer.history.attempt import Attempt
from trainer.history.store import History
from trainer.learner.call import Call
from trainer.levels.level import Level
from trainer.play.digest import VERSION, Digest, built

NAME = "digest"
WORTH_KEEPING = 64  # attempts that a start would have to take in
MOST = 512
ANEW = 4000  # attempts: counting all of the others is quicker than learning from each of so many


class Known:
    """What is known of a player: ``digest``, and how to get back to before the last attempt."""

    def __init__(
        self, history: History, levels: Iterable[Level], told: Callable[[int], object] | None = None
    ) -> None:
        self._history, self._levels = history, tuple(levels)
        self._since: list[Attempt] = []  # what the digest has taken in since the base
        self._kept_id: str | None = None  # the last attempt of what is kept, which the next goes on from
        kept = _read(history.get_snapshot(NAME))
        if kept is None or history.count_after(kept[0].last_id) > ANEW:
            self._make_anew(told)
            return
        self.digest, self._base = kept
        self._kept_id = self.digest.last_id
        for attempt in history.attempts_after(self.digest.last_id):
            self.digest.take(attempt)
            self._since.append(attempt)
        self.keep(MOST)

    def take(self, attempt: Attempt, told: Call) -> None:
        """Take in an attempt that was just kept, and what is told of it."""
        if len(self._since) >= MOST:
            self.keep()
        self.digest.take(attempt, told)
        self._since.append(attempt)

    def forget_last(self) -> None:
        """Be as before the last attempt, which counts no more."""
        if not self._since:
            self._make_anew()
            return
        del self._since[-1]
        self.digest = Digest.of_plain(self._base)
        for attempt in self._since:
            self.digest.take(attempt)

    def keep(self, least: int = 1) -> None:
        """Write the digest into the history, if it has taken in so many attempts since it was."""
        if len(self._since) < least:
            return
        after = self._kept_id
        self._base, self._since = self.digest.plain(), []
        text = json.dumps({"version": VERSION, **self._base}, separators=(",", ":"))
        try:
            if self._history.put_snapshot(NAME, self.digest.last_id, text, after):
                self._kept_id = self.digest.last_id
        except TrainerError:  # all of it can be had from the attempts
            return

    def _make_anew(self, told: Callable[[int], object] | None = None) -> None:
        self.digest, self._kept_id = built(self._history, self._levels, told), None
        self._base, self._since = self.digest.plain(), []
        if self.digest.whole.calls >= WORTH_KEEPING:
            self.keep(0)


def _read(kept: tuple[str, str] | None) -> tuple[Digest, dict[str, Any]] | None:
    """The digest that was kept, and as it was kept; None where it is of another version or none."""
    if kept is None:
        return None
    try:
        plain = json.loads(kept[1])
        return (Digest.of_plain(plain), plain) if plain["version"] == VERSION else None
    except (ValueError, TypeError, LookupError, RecursionError):  # changed by hand: it is made anew
        return None

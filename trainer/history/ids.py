"""Ids that sort in the order they were given out, unlike any other machine's.

RFC 9562, UUID version 7, method 1: 48 bits of milliseconds, a counter of 42 bits, 32 random bits.
"""

import re
import secrets
import threading
import uuid

from trainer.history.clock import LAST_MS

COUNTER_BITS = 42
RANDOM_BITS = 32
PATTERN = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}")


class Ids:
    """Gives out ids, each greater than any it gave or has seen, even if the clock is set back."""

    def __init__(self) -> None:
        self._last = (-1, 0)
        self._lock = threading.Lock()

    def new(self, epoch_ms: int) -> str:
        """A new id for a moment."""
        with self._lock:
            ms, counter = self._last
            if epoch_ms > ms:
                # Half of the range stays free for ids of the same millisecond.
                ms, counter = epoch_ms, secrets.randbits(COUNTER_BITS - 1)
            else:
                counter += 1
                if counter >> COUNTER_BITS:
                    ms, counter = ms + 1, 0
            self._last = ms, counter
        low_counter = counter & ((1 << 30) - 1)
        bits = ms << 80 | 7 << 76 | (counter >> 30) << 64 | 2 << 62 | low_counter << RANDOM_BITS
        return str(uuid.UUID(int=bits | secrets.randbits(RANDOM_BITS)))

    def seen(self, text: str) -> None:
        """Take note of an id that is in the history already."""
        bits = uuid.UUID(text).int
        if bits >> 80 > LAST_MS:  # from no clock: going on from there would leave no room for more
            return
        counter = (bits >> 64 & 0xFFF) << 30 | bits >> RANDOM_BITS & ((1 << 30) - 1)
        with self._lock:
            self._last = max(self._last, (bits >> 80, counter))

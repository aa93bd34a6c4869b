"""How Textual's driver for a server (8.2) gives a page what it is to have: one whole packet after another.

What a page shows and what it downloads go through one pipe, but are written by two threads: the app's, and
the one that reads what the page says. Textual's own driver lets each write when it likes, and a pipe takes a
long packet in parts, so that parts of the other's come between them while a film runs; then the server takes
pixels for the length of a packet, and waits for ever. Without :class:`ServedDriver` the game is played as
ever, with this fault.
"""

import os
import threading
from functools import partial
from typing import Any

from textual.drivers.web_driver import WebDriver


class ServedDriver(WebDriver):
    """Writes each packet whole, whichever thread it comes from."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._one_at_a_time = threading.Lock()
        self._write = partial(self._write_whole)

    def _write_whole(self, packet: bytes) -> int:
        """Write a packet, however little of it the pipe takes at once.

        Returns
        -------
        int
            Its length in bytes.

        Raises
        ------
        OSError
            If the server is gone.
        """
        left = memoryview(packet)
        with self._one_at_a_time:
            while left:
                left = left[os.write(self.fileno, left) :]
        return len(packet)

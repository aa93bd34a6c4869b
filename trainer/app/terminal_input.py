"""What comes in from a terminal, as a player means it: a paste is no keys, and of many moves the last counts.

Nothing here knows a screen or a terminal: events come in with their time, and those that are meant come out.
"""

from collections import deque
from collections.abc import Iterable

from textual import events
from textual.message import Message

MOST_PRESSED, IN_S = 32, 0.25  # presses of keys and buttons: more of them in so many seconds nobody makes
MOST_WAITING = 64  # events that wait while the app is busy; a player has no more in mind

PRESSES = (events.Key, events.MouseDown, events.MouseUp)
SCROLLS = (events.MouseScrollUp, events.MouseScrollDown)
# Only the newest of these tells anything.
PASSING = (events.MouseMove, events.AppFocus, events.AppBlur, events.CursorPosition, events.Resize)


class Presses:
    """Tells keys that somebody presses from a paste, in a terminal that doesn't say where one begins."""

    def __init__(self) -> None:
        self._times: deque[float] = deque(maxlen=MOST_PRESSED)

    def meant(self, together: Iterable[Message]) -> list[Message]:
        """What is meant of events that came in at once, at their time; the characters of a paste as one."""
        found = list(together)
        times = [event.time for event in found if isinstance(event, PRESSES)]
        before = sum(time > times[-1] - IN_S for time in self._times) if times else 0
        self._times.extend(times)
        if before + len(times) <= MOST_PRESSED:
            return found
        text = "".join(event.character or "" for event in found if isinstance(event, events.Key))
        kept = [event for event in found if not isinstance(event, (*PRESSES, *SCROLLS, events.Paste))]
        return [*kept, events.Paste(text)] if text else kept


class Waiting:
    """The events that wait until the app takes them: no more than a player has in mind."""

    def __init__(self) -> None:
        self._events: deque[Message] = deque()

    def add(self, event: Message) -> None:
        """One more; it may take the place of the one before, or find no place."""
        last = self._events[-1] if self._events else None
        if isinstance(event, PASSING) and type(last) is type(event):
            self._events[-1] = event
        elif len(self._events) < MOST_WAITING or isinstance(event, (events.MouseUp, events.Resize)):
            self._events.append(event)

    def take(self) -> list[Message]:
        """All of them."""
        found = []
        while self._events:
            found.append(self._events.popleft())
        return found

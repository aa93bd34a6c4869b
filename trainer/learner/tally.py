"""What is counted of calls by kind of shot, call by call, so that nobody goes through all of them again."""

import math
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from typing import Any, Self

from trainer.geometry.fullness import EVERY_KIND, Kind, kind_of
from trainer.learner.call import Call
from trainer.learner.spacing import Practised, next_step

PRACTICE = 2  # calls about a kind in a day: one comes by chance, and is no practice of it
WIDTHS_OF = 1000.0  # calls that say how wide answers are, about


@dataclass
class Counted:
    """The calls of one kind of shot.

    ``run`` is how many right ones there were in a row up to the last; ``width`` the mean width of answers
    in balls, of late. ``day`` is the last day with a call, with ``calls`` and ``right`` on it; ``step`` which
    gap the kind had before that day, ``practised`` the last day before it with enough calls, 0 for none.
    """

    attempts: int = 0
    run: int = 0
    width: float = 0.0
    widths: float = 0.0
    day: int = 0
    calls: int = 0
    right: int = 0
    step: int = 0
    practised: int = 0

    def count(self, right: bool, day: int) -> None:
        """Count one more call, right or not, of a day that is counted too."""
        self.attempts += 1
        self.run = self.run + 1 if right else 0
        if day != self.day:
            self.step, self.practised = self._after_day()
            self.day, self.calls, self.right = day, 0, 0
        self.calls += 1
        self.right += right

    def measure(self, width: float) -> None:
        """Take in how wide an answer was; one that is open tells nothing."""
        if math.isfinite(width):
            self.widths = min(self.widths + 1.0, WIDTHS_OF)
            self.width += (width - self.width) / self.widths

    def _after_day(self) -> tuple[int, int]:
        """Step and last practised day, the day that is counted now among them."""
        if self.calls < PRACTICE:
            return self.step, self.practised
        apart = self.day - self.practised if self.practised else None
        return next_step(self.step, apart), self.day

    def practice(self, today: int) -> Practised | None:
        """How the kind has been practised, None where on no day yet."""
        step, last = self._after_day()
        return Practised.since(today - last, step) if last else None


class Tally:
    """The calls of one skill by band and side; those that compare two shots are of no kind."""

    def __init__(self, calls: Iterable[Call] = ()) -> None:
        self.kinds = {kind: Counted() for kind in EVERY_KIND}
        self.calls = 0
        for call in calls:
            self.take(call)

    def take(self, call: Call) -> None:
        """Count one more call."""
        self.count(call.sine, call.right, call.day, compares=call.compares)
        self.measure(call)

    def count(self, sine: float, right: bool, day: int, *, compares: bool = False) -> None:
        """Count one more call of a shot with this sine of its signed cut."""
        self.calls += 1
        if not compares:
            self._kind(sine).count(right, day)

    def measure(self, call: Call) -> None:
        """Take in how wide a call's answer was."""
        if not call.compares:
            self._kind(call.sine).measure(call.high - call.low)

    def _kind(self, sine: float) -> Counted:
        return self.kinds[kind_of(sine)]

    def plain(self) -> dict[str, Any]:
        """All of it for JSON."""
        seen = {kind: counted for kind, counted in self.kinds.items() if counted.attempts}
        kinds = [[*kind, *asdict(counted).values()] for kind, counted in seen.items()]
        return {"calls": self.calls, "kinds": kinds}

    @classmethod
    def of_plain(cls, plain: Mapping[str, Any]) -> Self:
        """What ``plain`` gave."""
        found = cls()
        found.calls = plain["calls"]
        for band, side, *values in plain["kinds"]:
            found.kinds[Kind(band, side)] = Counted(*values)
        return found

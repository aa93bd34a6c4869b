"""The coach's desk: a line for each player of a data folder, and nothing written into anybody's history."""

from collections.abc import Iterator
from dataclasses import asdict, dataclass
from datetime import date
from typing import Any

from trainer.drills.words import counted
from trainer.play.game import Game
from trainer.play.today import plan
from trainer.report.notebook import Notebook
from trainer.report.report import change_lines
from trainer.report.weeks import monday_of
from trainer.report.wording import table_cause_words


@dataclass(frozen=True)
class DeskRow:
    """What a coach looks for first.

    ``calls`` are all that count, ``week_days`` and ``week_calls`` those of this week (from Monday).
    ``sentence`` is what is wrong with the eye and what to do, ``cause`` its cause ('' for none), told since
    call ``since_call``; ``next`` what is worth doing now, ``change`` what became of faults, ``table`` what
    the notes of real play say; '' where nothing can be said.
    """

    name: str | None
    calls: int
    last_day: str | None
    week_days: int
    week_calls: int
    sentence: str
    cause: str
    since_call: int | None
    next: str
    change: str
    table: str

    def plain(self) -> dict[str, Any]:
        """For JSON."""
        return asdict(self)

    def lines(self, title: str) -> Iterator[str]:
        """In words: the player and the week, then three plain sentences and what is next."""
        week = f"{counted(self.week_calls, 'call')} on {counted(self.week_days, 'day')} this week"
        last = f", last on {self.last_day}" if self.last_day else ""
        yield f"{title}: {counted(self.calls, 'call')}{last}; {week}"
        since = "" if self.since_call is None else f" (told since call {self.since_call})"
        for what, said in (
            ("eye", f"{self.sentence}{since}"),
            ("change", self.change),
            ("table", self.table),
            ("next", self.next),
        ):
            if said:
                yield f"  {what:<7} {said}"


def desk_row(name: str | None, game: Game) -> DeskRow:
    """A player's line; ``game`` is theirs."""
    days, _ = game.history.day_counts()
    monday = monday_of(date.fromisoformat(game.history.today)).isoformat()
    week = [each for each in days if each.day >= monday]
    found, changed = game.diagnosis, change_lines(game)
    worst, parts = found.worst, plan(game).parts
    causes = Notebook(game).causes()
    return DeskRow(
        name=name,
        calls=sum(each.calls for each in days),
        last_day=days[-1].day if days else None,
        week_days=len(week),
        week_calls=sum(each.calls for each in week),
        sentence=found.said,
        cause=worst.cause if worst else "",
        since_call=worst.since_call if worst else None,
        next=parts[0].line if parts else "",
        change=changed[0][0] if changed else "",
        table=table_cause_words(causes[0]) if causes else "",
    )

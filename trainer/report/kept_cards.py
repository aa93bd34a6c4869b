"""Cards that were made, by their numbers, and the ticks that come back from the table."""

from collections.abc import Sequence
from dataclasses import dataclass

from trainer.geometry.aiming import MEDIUM, SPEEDS, Stroke
from trainer.geometry.tables import Table
from trainer.history.layout import KeptLayout, cards_of
from trainer.history.note import Note
from trainer.play.game import Game
from trainer.report.card import TRIES, Card, new_card
from trainer.report.card_page import PER_PAGE
from trainer.report.note_words import NoteError, TicksSaid
from trainer.report.notebook import Laid, Notebook, Played
from trainer.report.proposed import proposed
from trainer.report.report import game_kinds
from trainer.shots.check import checked
from trainer.shots.layout import Wanted, wanted
from trainer.shots.shot import Shot

USUAL = Stroke(MEDIUM)  # where a layout says nothing of how it is to be played


@dataclass(frozen=True)
class Ticked:
    """A layout and the notes that were made of its ticks."""

    layout: KeptLayout
    notes: tuple[Note, ...]


class KeptCards:
    """The cards of a game's player."""

    def __init__(self, game: Game) -> None:
        self.game = game
        self.every = cards_of(game.history.layouts())

    def keep(self, card: Card) -> int:
        """Keep a card; its number, which is that of the same one where it is kept already.

        Raises
        ------
        TrainerError
            If it can't be written.
        """
        number = 1 + max((known[0].card for known in self.every), default=0)
        made = self._layouts(card, number)
        same = [one.lies for one in made]
        for known in self.every:
            if [one.lies for one in known] == same:
                return known[0].card
        self.game.history.append_card(made)
        self.every.append(made)
        return number

    def make(self, table: Table, count: int = PER_PAGE) -> list[KeptLayout]:
        """Lay out a new card of what is proposed, so many layouts, and keep it.

        Raises
        ------
        NoSuchShot
            If there is no room for it on that table.
        TrainerError
            If it can't be written.
        """
        game = self.game
        found = proposed(game.diagnosis, game.model, game_kinds(game))
        unit = "in" if game.style.imperial else "mm"
        card = new_card(table, found.kinds, count, unit, game.history.today, seed=None, why=found.why)
        return self.find(self.keep(card))

    def _layouts(self, card: Card, number: int) -> list[KeptLayout]:
        history = self.game.history
        moment = history.clock.now()  # the same for all: by it they are one card
        found = []
        for nth, one in enumerate(card.layouts, 1):
            stroke = one.shot.stroke or USUAL
            found.append(
                KeptLayout(
                    **history.line_at(moment),
                    card=number,
                    nth=nth,
                    kind=one.wanted.name,
                    table=card.table.name,
                    unit=card.unit,
                    cue_ball=one.shot.cue_ball,
                    object_ball=one.shot.object_ball,
                    pocket=one.shot.pocket,
                    speed=stroke.speed,
                    roll=stroke.roll,
                    side_spin=stroke.side_spin,
                )
            )
        return found

    def find(self, number: int) -> list[KeptLayout]:
        """The layouts of a card; of two of one number, made on two machines, the later one.

        Raises
        ------
        NoteError
            If there is none.
        """
        found = [card for card in self.every if card[0].card == number]
        if found:
            return found[-1]
        last = max((card[0].card for card in self.every), default=0)
        known = f"allowed: 1 to {last}" if last else "none is kept yet; trainer card makes one"
        raise NoteError(f"no card has the number {number}; {known}")

    def enter(
        self, said: TicksSaid, book: Notebook, card: Sequence[KeptLayout] | None = None
    ) -> list[Ticked]:
        """Enter a card's ticks, all or none; they go on at the first layout without one today.

        ``card`` says which is meant, else the number does.

        Raises
        ------
        NoteError
            If there is no such card or layout, or no box is left for a tick.
        TrainerError
            If they can't be written.
        """
        card = self.find(said.card) if card is None else card
        if not said.results:
            return []
        chosen = _boxed(card, said, {note.layout for note in book.notes if note.local_day == book.today})
        notes = iter(book.add_all([tick for one, results in chosen for tick in self._ticks(one, results)]))
        return [Ticked(one, tuple(next(notes) for _ in results)) for one, results in chosen]

    def _ticks(self, layout: KeptLayout, results: Sequence[str]) -> list[Played]:
        """What a layout's ticks say was played."""
        tables = self.game.shelf.tables
        if layout.table not in tables:
            raise NoteError(f"card {layout.card} is of the table {layout.table!r}, which isn't here any more")
        stroke = Stroke(layout.speed, layout.roll, layout.side_spin)
        table = tables[layout.table]
        shot = Shot(table, layout.cue_ball, layout.object_ball, layout.pocket, stroke)
        said = Laid(shot, checked(shot, self.game.style)).said
        pace = min(SPEEDS, key=lambda name: abs(SPEEDS[name] - layout.speed))
        return [Played(said, result, table, pace, layout.id) for result in results]


def kind_of(layout: KeptLayout) -> Wanted:
    """The kind of shot that a layout is of."""
    band, _, side = layout.kind.partition(" ")
    return wanted(band, side)


def _boxed(
    card: Sequence[KeptLayout], said: TicksSaid, ticked: set[str]
) -> list[tuple[KeptLayout, tuple[str, ...]]]:
    """The layouts that ticks are of, each with its results: as they were parted, else so many a layout."""
    number, many = card[0].card, len(card)
    if said.nth is not None:
        if not 1 <= said.nth <= many:
            raise NoteError(f"card {number} has no layout {said.nth}; allowed: {number}.1 to {number}.{many}")
        first = said.nth - 1
    else:
        free = [i for i, one in enumerate(card) if one.id not in ticked]
        if not free:
            raise NoteError(
                f"every layout of card {number} has ticks of today; say which, as {number}.1: p t"
            )
        first = free[0]
    groups = said.results
    if len(groups) == 1:
        groups = tuple(groups[0][i : i + TRIES] for i in range(0, len(groups[0]), TRIES))
    if first + len(groups) > many:
        raise NoteError(
            f"more ticks than card {number} has boxes from layout {first + 1} on; allowed: {TRIES} a layout, "
            f"{TRIES * (many - first)} in all"
        )
    found = list(zip(card[first:], groups, strict=False))
    for one, results in found:
        if len(results) > TRIES:
            raise NoteError(f"{len(results)} ticks of layout {number}.{one.nth}; allowed: {TRIES} at most")
    return [(one, results) for one, results in found if results]

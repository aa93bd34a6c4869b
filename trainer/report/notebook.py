"""The table notebook: shots of real play, and what they say beside the eye."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from trainer.geometry.fullness import THINNER, band_of
from trainer.geometry.tables import POCKETS, Table
from trainer.history.note import DISTANCES, POTTED, UNDONE, Note, standing
from trainer.learner.table_cause import TableCause, table_causes
from trainer.learner.table_verdict import TableShot, TableVerdict, table_verdicts
from trainer.learner.verdicts import NOT_YET
from trainer.play.game import Game
from trainer.shots.check import ShotError, checked
from trainer.shots.shot import Point, Shot
from trainer.shots.style import Style
from trainer.shots.tolerance import LEAST, forgives
from trainer.shots.truth import Truth, truth_of

USUAL_TABLE, USUAL_DISTANCE = "snooker", "middle"
# What the words for a distance mean, in widths of the table: a judgement, to cover what a frame brings.
WIDTHS = dict(zip(DISTANCES, (0.25, 0.5, 1.0), strict=True))
FAR = dict(zip(DISTANCES, ("near", "middle distance", "far"), strict=True))  # in a sentence


@dataclass(frozen=True)
class Said:
    """The kind of a shot, as a player says it: fullness with the name it was given by, side, distance.

    ``position`` is None unless the balls were laid on a plan.
    """

    fullness: float
    called: str
    side: str
    distance: str | float
    position: Shot | None = None


@dataclass(frozen=True)
class Laid:
    """A position laid on the plan, and its truth."""

    shot: Shot
    truth: Truth

    @property
    def said(self) -> Said:
        """The kind of shot that it is."""
        far = math.dist(self.shot.object_ball, self.truth.target)
        fullness = min(max(self.truth.fullness, 0.0), 1.0)
        return Said(fullness, band_of(fullness).name, self.truth.side, round(far, 1), self.shot)


def lay(table: Table, cue_ball: Point, object_ball: Point, style: Style, pocket: str | None = None) -> Laid:
    """Lay down a position; without a pocket it is the one with the fullest hit.

    ``style`` is that of the error's message.

    Raises
    ------
    ShotError
        If it can't be potted.
    """
    found, wrong = [], ShotError("no pocket")
    for name in POCKETS if pocket is None else (pocket,):
        shot = Shot(table, cue_ball, object_ball, name)
        try:
            found.append(Laid(shot, checked(shot, style)))
        except ShotError as error:
            wrong = error
    if not found:
        raise wrong
    return max(found, key=lambda laid: laid.truth.fullness)


@dataclass(frozen=True)
class Played:
    """A shot that was played: its kind, how it went, on which table (None: as the last one), and how hard.

    ``layout`` is the id of the card's layout that it was a try at, '' where it was none.
    """

    said: Said
    result: str
    table: Table | None = None
    pace: str = ""
    layout: str = ""


class Notebook:
    """The notes of a game's player; each is on disk when it has been added."""

    def __init__(self, game: Game) -> None:
        self.game = game
        self._lines: list[Note] = game.history.notes()
        self._state = -1, -1  # of the notes and calls that these two are of
        self._verdicts = list[TableVerdict]()
        self._causes = list[TableCause]()

    @property
    def notes(self) -> list[Note]:
        """The notes that stand, in their order."""
        return standing(self._lines)

    @property
    def table(self) -> Table:
        """The table of the last note, if it is still there, else snooker's."""
        tables, notes = self.game.shelf.tables, self.notes
        return tables.get(notes[-1].table if notes else USUAL_TABLE, tables[USUAL_TABLE])

    @property
    def distance(self) -> str:
        """The distance that was last said by a word."""
        said = (note.distance for note in reversed(self.notes) if isinstance(note.distance, str))
        return next(said, USUAL_DISTANCE)

    @property
    def today(self) -> str:
        """The player's day, as notes have it."""
        return self.game.history.today

    def add(self, said: Said, result: str, table: Table | None = None) -> Note:
        """Note how a shot of this kind went.

        Raises
        ------
        TrainerError
            If a value isn't allowed, or it can't be written.
        """
        return self.add_all([Played(said, result, table)])[0]

    def add_all(self, played: Sequence[Played]) -> list[Note]:
        """Note how some shots went, all or none.

        Raises
        ------
        TrainerError
            If a value isn't allowed, or they can't be written.
        """
        return self._keep(*map(self._note, played))

    def _note(self, played: Played) -> Note:
        said, at = played.said, played.said.position
        return Note(
            **self._now(),
            table=(at.table if at else played.table or self.table).name,
            fullness=said.fullness,
            called=said.called,
            side=said.side,
            result=played.result,
            distance=said.distance,
            cue_ball=at.cue_ball if at else None,
            object_ball=at.object_ball if at else None,
            pocket=at.pocket if at else "",
            pace=played.pace,
            layout=played.layout,
        )

    def undo(self) -> Note | None:
        """Take the last note back by a further line; returns the note, None if there is none."""
        notes = self.notes
        if not notes:
            return None
        last = notes[-1]
        self._keep(replace(last, **self._now(), result=UNDONE, undoes=last.id))
        return last

    def _now(self) -> dict[str, Any]:
        """What a note that is made now says of itself."""
        history = self.game.history
        return history.line_at(history.clock.now())

    def _keep(self, *notes: Note) -> list[Note]:
        self.game.history.append_note(*notes)
        self._lines += notes
        return [*notes]

    def verdicts(self) -> list[TableVerdict]:
        """Seeing or cueing, of each kind of shot that was noted."""
        self._look()
        return self._verdicts

    def causes(self) -> list[TableCause]:
        """The same of what runs through all kinds: those with a verdict, the best shown first."""
        self._look()
        return [each for each in self._causes if each.verdict != NOT_YET]

    @property
    def more_misses(self) -> int | None:
        """About how many more misses it takes to tell the eye from the stroke over all kinds.

        None where there are none to either side yet, or where they can't tell it.
        """
        self._look()
        return min((each.to_go for each in self._causes if each.to_go), default=None)

    def _look(self) -> None:
        """Work both out, where there are more notes or calls than there were."""
        belief, tally = self.game.belief, self.game.skill().tally
        if self._state != (state := (len(self._lines), tally.calls)):
            played = self.played()
            self._state, self._verdicts = state, table_verdicts(belief, tally, played)
            self._causes = table_causes(belief, played)

    def played(self, since: str = "") -> list[TableShot]:
        """What was played at the table, from a day on."""
        return [
            TableShot(
                (1.0 if note.side == "left" else -1.0) * (1.0 - note.fullness),
                self._margin(note),
                note.result,
                ticked=bool(note.layout),
            )
            for note in self.notes
            if note.local_day >= since
        ]

    def _margin(self, note: Note) -> float:
        """What the shot forgives either way: itself where it was laid, else one of its kind."""
        tables = self.game.shelf.tables
        table = tables.get(note.table, tables[USUAL_TABLE])
        if note.cue_ball is not None and note.object_ball is not None and note.table in tables:
            truth = truth_of(Shot(table, note.cue_ball, note.object_ball, note.pocket))
            return max((truth.margin[1] - truth.margin[0]) / 2.0, LEAST)
        return forgives(table, round(note.fullness, 2), round(far_mm(note.distance, table), -1))


def far_mm(distance: str | float, table: Table) -> float:
    """A distance in mm; a word stands for a part of the table's width."""
    return WIDTHS[distance] * table.width if isinstance(distance, str) else distance


def note_words(note: Note, style: Style) -> str:
    """A note in a narrow row: ``1/2 left, thick, far``."""
    far = note.distance if isinstance(note.distance, str) else style.length(note.distance)
    return f"{note.called} {note.side}, {note.result}, {far}"


def note_sentence(note: Note, style: Style) -> str:
    """A note in a sentence: ``1/2 to the left, missed thick, middle distance``."""
    far = FAR[note.distance] if isinstance(note.distance, str) else style.length(note.distance)
    went = note.result if note.result == POTTED else f"missed {note.result}"
    kind = f"{THINNER} than 1/8" if note.called == THINNER else note.called
    return f"{kind} to the {note.side}, {went}, {far}"

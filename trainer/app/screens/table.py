"""The table notebook: a note in three keys, or the balls laid on a plan; below, what the notes say."""

from functools import partial
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.widgets import Static

from trainer.app.keys import Page, bound
from trainer.app.screens.base import TrainerScreen, clickable
from trainer.app.widgets.picture import Picture, drawing_of
from trainer.drills.words import capital, counted
from trainer.geometry.fullness import SIDES
from trainer.geometry.tables import Table
from trainer.history import TrainerError
from trainer.history.note import DISTANCES, POTTED, RESULTS, THICK, THIN
from trainer.learner.table_verdict import TableVerdict
from trainer.learner.verdicts import NOT_YET
from trainer.pictures.inset import Hit, painted_inset
from trainer.pictures.marks import Line, Meaning, balls_of
from trainer.pictures.plan import Plan
from trainer.pictures.plan_table import place_on_whole, pocket_at
from trainer.report.carried import carried
from trainer.report.note_words import NAMED
from trainer.report.notebook import Laid, Notebook, Said, lay, note_sentence, note_words
from trainer.report.wording import open_words, table_cause_words, table_counts, table_words
from trainer.settings.keys import ANSWERS
from trainer.shots.check import ShotError
from trainer.shots.describe import place
from trainer.shots.shot import Point, Shot
from trainer.shots.style import Style

NOTHING_YET = "Some fifteen misses, to both sides, tell your eye from your stroke."
CHOSEN = "bold $on-chosen on $chosen"
LISTED = 40  # notes
SIDE_KEYS = {"left": "sent_left", "right": "sent_right"}
RESULT_KEYS = {POTTED: "potted", THICK: "missed_thick", THIN: "missed_thin"}
NEAR_POCKET = 60.0  # mm beside a drawn hole that still mean its pocket


class TableScreen(TrainerScreen):
    """Notes of real play: fullness, side and how it went, in any order; the distance stays as it was."""

    BINDINGS: ClassVar[list[BindingType]] = [
        *[
            bound(name, f"fullness({i})", "How full", show=False)
            for i, name in enumerate(ANSWERS[: len(NAMED)], 1)
        ],
        *[
            bound(name, f"side('{side}')", f"Sent to the {side}", show=False)
            for side, name in SIDE_KEYS.items()
        ],
        *[bound(name, f"result('{result}')", show=False) for result, name in RESULT_KEYS.items()],
        bound("distance", "distance", "Distance"),
        bound("take_back", "undo", "Undo the last"),
        bound("lay_out", "plan", "Plan"),
        bound("other_table", "table", "Table"),
        bound("card", "card", "Card"),
        bound("back", "leave", "Back"),
    ]
    HELP_TEXT = (
        "After a frame, note the shots you remember, in three keys each: how full the pot needed to be, to "
        "which side the object ball had to go, and how it went. How far the object ball was from the pocket "
        "stays as it was: near is about a quarter of the table's width, middle half of it, far all of it. Or "
        "lay the balls on a plan and let it work out the kind. The notes are compared with how you "
        "call such shots here, to tell whether it is your eye or your stroke. Only misses count, and nothing "
        "is said before it is sure, however often you look."
    )

    def __init__(self) -> None:
        super().__init__()
        self._fullness = self._side = self._result = ""
        self._laid: Laid | None = None
        self._object_ball: Point | None = None
        self._planning = False
        self._noted: Said | None = None  # the last one
        self._says = Content("")

    def body(self) -> ComposeResult:
        """What is being noted; below, the notes beside their verdicts, or the plan."""
        yield Static(id="headline")
        with Horizontal(id="noting"):
            with Vertical(id="left"):
                yield Static(id="entry")
                yield Static(id="note-says")
                yield Picture(id="plan")
                with Horizontal(id="written"):
                    yield Static(id="notes", markup=False)
                    with Page(id="page"):
                        yield Static(id="verdicts")
            yield Picture(id="hit")

    def on_mount(self) -> None:
        """Open the notebook where it was left."""
        self.book = Notebook(self.trainer.game)
        self._table: Table = self.book.table
        self._distance = self.book.distance
        for static in self.query(Static):
            static.auto_links = False  # what can be clicked has colours of its own
        self._show_all()

    # Saying a note

    def action_fullness(self, number: int) -> None:
        """Say how full the pot needed to be."""
        self._by_words()
        self._fullness = list(NAMED)[number - 1]
        self._note_if_whole()

    def action_side(self, side: str) -> None:
        """Say to which side the object ball had to go."""
        self._by_words()
        self._side = side
        self._note_if_whole()

    def action_result(self, result: str) -> None:
        """Say how it went."""
        self._result = result
        self._note_if_whole()

    def action_distance(self, word: str = "") -> None:
        """Say how far the object ball was from the pocket; without a word the next one."""
        self._by_words()
        self._distance = word or DISTANCES[(DISTANCES.index(self._distance) + 1) % len(DISTANCES)]
        self._show_all()

    def action_table(self) -> None:
        """Go on to the next table."""
        tables = list(self.trainer.game.shelf.tables.values())
        names = [table.name for table in tables]
        self._table = tables[(names.index(self._table.name) + 1) % len(tables)]
        self._forget_places()
        self._show_all()

    def action_card(self) -> None:
        """Go to the practice cards, to enter their ticks."""
        self.trainer.show_page("card")

    def action_undo(self) -> None:
        """Take the last note back."""
        try:
            gone = self.book.undo()
        except TrainerError as error:
            self._tell(f"Not taken back: {error}", "$bad")
        else:
            self._tell(
                f"Taken back: {note_sentence(gone, self.book.game.style)}."
                if gone
                else "There is no note to take back.",
                "",
            )
        self._show_all()

    def action_leave(self) -> None:
        """Leave what is half said, then the plan, then the page."""
        if self._fullness or self._side or self._result or self._object_ball:
            self._forget()
            self._show_all()
        elif self._planning:
            self.action_plan()
        else:
            self.trainer.show_home()

    def _by_words(self) -> None:
        """A kind said by words takes the place of balls on the plan."""
        self._planning = False
        self._forget_places()

    def _note_if_whole(self) -> None:
        said = self._kind()
        if said is None or not self._result:
            self._says = Content("")
        else:
            try:
                note = self.book.add(said, self._result, self._table)
            except TrainerError as error:
                self._tell(f"Not noted: {error}", "$bad")
            else:
                self._tell(f"Noted: {note_sentence(note, self.book.game.style)}.", "$good")
                self._noted = said
            self._forget()
        self._show_all()

    def _kind(self) -> Said | None:
        """The kind of shot that is said or laid, once it is whole."""
        if self._laid is not None:
            return self._laid.said
        if not (self._fullness and self._side):
            return None
        return Said(NAMED[self._fullness], self._fullness, self._side, self._distance)

    def _forget(self) -> None:
        self._fullness = self._side = self._result = ""
        self._forget_places()

    def _forget_places(self) -> None:
        self._laid = self._object_ball = None

    def _tell(self, text: str, style: str) -> None:
        self._says = Content.styled(text, style)

    # The plan

    def action_plan(self) -> None:
        """Lay the balls on a plan, or go back to the notes."""
        self._forget()
        self._planning = not self._planning
        self._says = Content("")
        self._show_all()

    @on(Picture.Clicked, "#plan")
    def _clicked(self, message: Picture.Clicked) -> None:
        picture = message.picture
        at = place_on_whole(self._table, picture.viewport, (message.x, message.y))
        pocket = pocket_at(self._table, at, NEAR_POCKET)
        self._says = Content("")
        if self._laid is not None:
            if pocket is None:  # another position
                self._forget_places()
                self._object_ball = self._on_cloth(at)
            else:
                self._lay(self._laid.shot.cue_ball, self._laid.shot.object_ball, pocket)
        elif self._object_ball is None:
            self._object_ball = self._on_cloth(at)
        else:
            self._lay(self._on_cloth(at), self._object_ball, None)
        if self._laid is not None and self._result:
            self._note_if_whole()
        self._show_all()

    def _lay(self, cue_ball: Point, object_ball: Point, pocket: str | None) -> None:
        try:
            self._laid = lay(self._table, cue_ball, object_ball, self.book.game.style, pocket)
        except ShotError as error:
            self._tell(capital(str(error)), "$warn")

    def _on_cloth(self, at: Point) -> Point:
        """A place beside the cloth means the nearest on it."""
        radius = self._table.balls.object_radius
        x, y = (min(max(v, radius), size - radius) for v, size in zip(at, self._table.size, strict=True))
        return round(x, 1), round(y, 1)

    # Showing

    def _show_all(self) -> None:
        self._show_entry()
        self._show_says()
        self._show_hit()
        plan, written = self.query_one("#plan", Picture), self.query_one("#written")
        plan.display, written.display = self._planning, not self._planning
        if self._planning:
            self._show_plan(plan)
        else:
            self._show_written()

    def _show_hit(self) -> None:
        """The hit that is being noted, or was noted last, as the cue ball sees it."""
        said = self._kind()
        if said is None and not (self._fullness or self._side):
            said = self._noted
        true = None
        if said is not None:
            true = (1 - said.fullness) * self._table.reach * (-1 if said.side == "right" else 1)
        self.query_one("#hit", Picture).show(partial(painted_inset, Hit(self._table.reach, true=true)))

    def _show_entry(self) -> None:
        notes, key = len(self.book.notes), self.keys.first
        self.query_one("#headline", Static).update(
            Content.assemble(
                ("Table notebook", "bold $head"),
                (f"   {counted(notes, 'note')}   on ", "$quiet"),
                clickable(Content.assemble(_key(key("other_table")), self._table.title), "screen.table"),
            )
        )
        full = self._kind().called if self._laid is not None else self._fullness  # type: ignore[union-attr]
        side = self._laid.truth.side if self._laid is not None else self._side
        fullnesses = [
            _choice(key(ANSWERS[i - 1]), name, f"screen.fullness({i})", name == full)
            for i, name in enumerate(NAMED, 1)
        ]
        sides = [
            _choice(key(SIDE_KEYS[name]), name, f"screen.side('{name}')", name == side) for name in SIDES
        ]
        results = [
            _choice(
                key(RESULT_KEYS[name]),
                name if name == POTTED else f"missed {name}",
                f"screen.result('{name}')",
                name == self._result,
            )
            for name in RESULTS
        ]
        far = [
            clickable(
                f" {name} ",
                f"screen.distance('{name}')",
                CHOSEN if self._laid is None and name == self._distance else "",
            )
            for name in DISTANCES
        ]
        distance = Content.styled("     from the pocket ", "$quiet")
        rows = [
            _row("How full", *fullnesses),
            _row("Sent", *sides, distance, _key(key("distance")), *far),
            _row("Went", *results),
        ]
        self.query_one("#entry", Static).update(Content("\n").join(rows))

    def _show_says(self) -> None:
        said = self._says
        if self._planning and self._laid is not None:
            shot, whole = self._laid.shot, self._laid.said
            far = self.book.game.style.length(float(whole.distance))
            asks = f"{whole.called} {whole.side}, {far} from {shot.pocket}. How did it go? Or click a pocket."
        elif self._planning and self._object_ball is not None:
            where = place(self._table, self._object_ball, self.book.game.style)
            asks = f"Object ball {where}. Click where the cue ball lay."
        elif self._planning:
            asks = "Click where the object ball lay."
        else:
            asks = self._asks()
        self.query_one("#note-says", Static).update(
            Content("\n").join([said, Content.styled(asks, "$quiet")]) if said.plain else Content(asks)
        )

    def _asks(self) -> str:
        """What is still to be said."""
        said = (
            ("How full did it have to be?", self._fullness),
            ("To which side was it?", self._side),
            ("How did it go?", self._result),
        )
        missing = [question for question, answer in said if not answer]
        example = " ".join(map(self.keys.first, (ANSWERS[4], "sent_left", "missed_thick")))
        return f"A note is three keys, as {example}." if len(missing) == len(said) else missing[0]

    def _show_plan(self, picture: Picture) -> None:
        nowhere, target = (0.0, 0.0), None
        laid, ball = self._laid, self._object_ball
        if laid is not None:
            shot, target = laid.shot, laid.truth.target
            to_pocket = Line((shot.object_ball, target), Meaning.HELP)
            aim = Line((shot.cue_ball, shot.abreast(laid.truth.offset)), Meaning.CONSIDERED)
            marks = [to_pocket, aim, *balls_of(shot)]
        else:
            shot = Shot(self._table, nowhere, ball or nowhere, "top-left")
            marks = balls_of(shot, cue_ball=False, object_ball=ball is not None)
        picture.show(drawing_of(partial(Plan, shot, target, whole=True), marks))

    def _show_written(self) -> None:
        lines = [Content.styled("The last notes", "bold $head")]
        lines += [
            Content(note_words(note, self.book.game.style)) for note in reversed(self.book.notes[-LISTED:])
        ]
        if len(lines) == 1:
            lines.append(Content.styled("none yet", "$quiet"))
        self.query_one("#notes", Static).update(Content("\n").join(lines))
        found = [Content.styled("The eye or the stroke?", "bold $head")]
        rows = sorted(self.book.verdicts(), key=_undecided)  # what has a verdict comes first
        told = [Content.styled(table_cause_words(each), "bold $head") for each in self.book.causes()]
        missing = open_words(rows, self.book.more_misses) if rows else NOTHING_YET
        found += told or ([Content(missing)] if missing else [])
        found += [Content(each.words) for each in carried(self.book) if self.book.notes]
        for row in rows:
            found += _verdict_lines(row, self.book.game.style)
        self.query_one("#verdicts", Static).update(Content("\n").join(found))


def _undecided(row: TableVerdict) -> int:
    """How little is known of a kind: 0 with a verdict, 1 where the table's way is sure, else 2."""
    return 0 if row.verdict != NOT_YET else 1 if row.table != NOT_YET else 2


def _verdict_lines(row: TableVerdict, style: Style) -> list[Content]:
    known = _undecided(row)
    head = Content.assemble((f"{row.kind} {row.side}", "bold"), (f"   {table_counts(row)}", "$quiet"))
    if known == 2:
        return [head]
    return [head, Content.styled(f"  {capital(table_words(row, style))}.", ("$head", "$foreground")[known])]


def _row(head: str, *parts: Content) -> Content:
    return Content.assemble((f"{head:9}", "$quiet"), *parts)


def _key(key: str) -> Content:
    return Content.styled(f"{key} ", "bold $key")


def _choice(key: str, name: str, action: str, is_chosen: bool) -> Content:
    """A choice with its key, lit where it is chosen."""
    text = Content.assemble((f" {key} ", "bold $key"), f"{name} ")
    return clickable(text, action, CHOSEN if is_chosen else "")

"""A practice card come back from the table: choose a layout, five keys for its tries."""

from functools import partial
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.widgets import Static

from trainer.app.keys import bound
from trainer.app.screens.base import TrainerScreen, clickable
from trainer.app.screens.table import RESULT_KEYS
from trainer.app.widgets.picture import Picture, drawing_of
from trainer.drills import words
from trainer.geometry.aiming import Stroke
from trainer.history import TrainerError
from trainer.history.layout import KeptLayout
from trainer.history.note import POTTED, RESULTS, Note
from trainer.pictures.marks import Line, Meaning, balls_of
from trainer.pictures.plan import Plan
from trainer.report.card import TRIES, aim_words
from trainer.report.kept_cards import KeptCards, kind_of
from trainer.report.note_words import TICKS, NoteError, TicksSaid
from trainer.report.notebook import Notebook
from trainer.shots.describe import place
from trainer.shots.shot import NoSuchShot, Shot
from trainer.shots.truth import truth_of

BAR = "\N{LEFT HALF BLOCK}"  # at the chosen row's left, besides its colour
OPEN = "\N{MIDDLE DOT}"  # a try that has no tick yet
SIGNS = {result: key for key, result in TICKS.items()}


class CardScreen(TrainerScreen):
    """The layouts of a card with their ticks of today, and the chosen one on a plan."""

    BINDINGS: ClassVar[list[BindingType]] = [
        *[bound(name, f"result('{result}')", show=False) for result, name in RESULT_KEYS.items()],
        bound("up", "go(-1)", "Layout", show=False),
        bound("down", "go(1)", "Layout"),
        bound("take_back", "undo", "Undo the last"),
        bound("card", "before", "Card before"),
        bound("new_card", "make", "New card"),
        bound("back", "leave", "Back"),
    ]
    HELP_TEXT = (
        "A practice card lays shots out for a real table: put the balls where it says, play each five times "
        "and tick how it went. Back here every tick is one key: potted, missed thick or missed thin. Each "
        "try knows its layout, so its pots count too, which they don't in notes from memory. "
        "trainer card prints a card; a new one made here can be read off the screen."
    )

    def __init__(self) -> None:
        super().__init__()
        self._nth = 0  # of the card before which number
        self._row = 0
        self._says = Content("")

    def body(self) -> ComposeResult:
        """The card's rows; beside or below them the plan of one."""
        yield Static(id="headline")
        with Horizontal(id="ticking"):
            with Vertical(id="left"):
                with VerticalScroll(id="rows", can_focus=False):
                    yield Static(id="layouts")
                yield Static(id="lies")
            yield Picture(id="plan")
        yield Static(id="note-says")

    def on_mount(self) -> None:
        """Open the last card."""
        self.book = Notebook(self.trainer.game)
        self.cards = KeptCards(self.trainer.game)
        for static in self.query(Static):
            static.auto_links = False
        self._show_all()

    @property
    def card(self) -> list[KeptLayout]:
        """The layouts of the card that is shown; none where no card was made."""
        return self.cards.every[-1 - self._nth] if self.cards.every else []

    def action_result(self, result: str) -> None:
        """Tick the next try of the chosen layout."""
        if not self.card:
            return
        layout = self.card[self._row]
        if len(self._today(layout)) >= TRIES:
            self._tell(f"All {TRIES} tries of layout {layout.nth} are ticked.", "$warn")
        else:
            said = TicksSaid(layout.card, layout.nth, ((result,),))
            try:
                self.cards.enter(said, self.book, self.card)
            except (NoteError, TrainerError) as error:
                self._tell(f"Not ticked: {error}", "$bad")
            else:
                self._says = Content("")
                if len(self._today(layout)) == TRIES and self._row + 1 < len(self.card):
                    self._row += 1
        self._show_all()

    def action_go(self, steps: int) -> None:
        """Choose another layout."""
        if self.card:
            self._row = min(max(self._row + steps, 0), len(self.card) - 1)
        self._says = Content("")
        self._show_all()

    def action_choose(self, row: int) -> None:
        """Choose the layout that was clicked."""
        self._row = row
        self._show_all()

    def action_undo(self) -> None:
        """Take the last tick back, if the last note is one of this card's."""
        notes = self.book.notes
        rows = {one.id: i for i, one in enumerate(self.card)}
        if not notes or notes[-1].layout not in rows:
            self._tell("The last note is no tick of this card; the notebook takes it back.", "$warn")
        else:
            try:
                gone = self.book.undo()
            except TrainerError as error:
                self._tell(f"Not taken back: {error}", "$bad")
            else:
                assert gone is not None
                self._row = rows[gone.layout]
                self._tell(f"Taken back: {gone.result}, layout {self._row + 1}.", "")
        self._show_all()

    def action_before(self) -> None:
        """Show the card before this one; before the first comes the last."""
        if self.cards.every:
            self._nth = (self._nth + 1) % len(self.cards.every)
        self._row, self._says = 0, Content("")
        self._show_all()

    def action_make(self) -> None:
        """Lay out a new card on the table that was last played on."""
        try:
            self.cards.make(self.book.table)
        except (NoSuchShot, TrainerError) as error:
            self._tell(f"No card: {error}", "$bad")
        else:
            self._nth = self._row = 0
            self._says = Content("")
        self._show_all()

    def action_leave(self) -> None:
        """Back to the notebook."""
        self.trainer.show_page("table")

    def _today(self, layout: KeptLayout) -> list[Note]:
        return [
            note for note in self.book.notes if note.layout == layout.id and note.local_day == self.book.today
        ]

    def _tell(self, text: str, style: str) -> None:
        self._says = Content.styled(text, style)

    # Showing

    def _show_all(self) -> None:
        card, many = self.card, len(self.cards.every)
        head = Content.styled("Practice card", "bold $head")
        if card:
            first = card[0]
            table = self.trainer.game.shelf.tables.get(first.table)
            title = table.title if table else first.table
            more = f", card {many - self._nth} of {many}" if many > 1 else ""
            head = Content.assemble(
                (f"Practice card {first.card}", "bold $head"),
                (f"   {title}, made {first.local_day}{more}", "$quiet"),
            )
        self.query_one("#headline", Static).update(head)
        rows = [self._layout_row(i, one) for i, one in enumerate(card)]
        empty = f"No card was made yet: {self.keys.first('new_card')} lays one out, trainer card prints one."
        self.query_one("#layouts", Static).update(Content("\n").join(rows) if rows else Content(empty))
        self.query_one("#rows").scroll_to(y=self._row - 2, animate=False)
        self.query_one("#lies", Static).update(self._lies(card[self._row]) if card else "")
        self._show_plan()
        asks = self._asks() if card else ""
        self.query_one("#note-says", Static).update(
            Content("\n").join([self._says, Content.styled(asks, "$quiet")])
        )

    def _asks(self) -> str:
        first = self.keys.first
        keys = ", ".join(
            f"{first(RESULT_KEYS[result])} {result if result == POTTED else f'missed {result}'}"
            for result in RESULTS
        )
        return f"A key a try, {TRIES} a layout: {keys}."

    def _layout_row(self, i: int, layout: KeptLayout) -> Content:
        chosen, ticks = i == self._row, self._today(layout)
        boxes = [
            Content.styled(f" {SIGNS[note.result]}", "bold $good" if note.result == POTTED else "bold $warn")
            for note in ticks
        ]
        boxes += [Content.styled(f" {OPEN}", "$quiet")] * (TRIES - len(ticks))
        name = f"{BAR if chosen else ' '} {layout.nth:>2}. {layout.kind:<14}"
        row = Content.assemble((name, "bold $head" if chosen else "bold"), *boxes)
        return clickable(row, f"screen.choose({i})")

    def _lies(self, layout: KeptLayout) -> Content:
        """Where a layout's balls lie, in words."""
        table, style = self.trainer.game.shelf.tables.get(layout.table), self.trainer.game.style
        if table is None:
            return Content.styled(f"The table {layout.table} isn't here any more.", "$warn")
        return Content.assemble(
            ("Object ball ", "bold"),
            f"{place(table, layout.object_ball, style)}, to the {layout.pocket} pocket.\n",
            ("Cue ball ", "bold"),
            f"{place(table, layout.cue_ball, style)}.\n",
            ("Aim ", "bold"),
            f"{aim_words(table, kind_of(layout))}; played ",
            f"{words.stroke(Stroke(layout.speed, layout.roll, layout.side_spin))}.",
        )

    def _show_plan(self) -> None:
        picture = self.query_one("#plan", Picture)
        layout = self.card[self._row] if self.card else None
        table = self.trainer.game.shelf.tables.get(layout.table) if layout else None
        if layout is None or table is None:
            picture.show(None)
            return
        shot = Shot(table, layout.cue_ball, layout.object_ball, layout.pocket)
        truth = truth_of(shot)
        marks = [
            Line((shot.object_ball, truth.target), Meaning.HELP),
            Line((shot.cue_ball, shot.abreast(truth.offset)), Meaning.CONSIDERED),
            *balls_of(shot),
        ]
        picture.show(drawing_of(partial(Plan, shot, truth.target, whole=True), marks))

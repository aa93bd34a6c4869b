"""The end of a set: what was seen well, what thick or thin, what comes next; and the end of a warm-up."""

from collections.abc import Sequence
from dataclasses import replace
from functools import partial
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.content import Content
from textual.widgets import Static

from trainer.app.keys import Page, bound
from trainer.app.screens.base import TrainerScreen
from trainer.app.widgets.picture import Picture
from trainer.drills.words import counted, kind_name
from trainer.history import TrainerError
from trainer.pictures.charts import painted_calls_chart
from trainer.play.first_look import LEVEL as FIRST
from trainer.play.first_look import FirstLook
from trainer.play.game import Game
from trainer.play.measure import WeeklyMeasure
from trainer.play.primer import LEVEL as PRIMER
from trainer.play.primer import Primer
from trainer.play.set_in_play import SetInPlay
from trainer.play.summary import (
    Errors,
    KindSummary,
    errors_in,
    figures,
    grouped,
    to_show,
    was_about,
    worth_reading,
)
from trainer.play.today import Part, minutes_of, plan
from trainer.play.warmup import Warmup, seconds_of
from trainer.report.kept_cards import KeptCards
from trainer.report.notebook import Notebook
from trainer.report.wording import to_pass
from trainer.shots.shot import NoSuchShot
from trainer.shots.style import Style

NEW = 30  # calls
MATCH_DAY = 3  # layouts of a card between warm-up and match
EXPLAINED = "Each ball is a call: thick above the line, thin below; on green it goes in."


class CallsPicture(Picture):
    """Shows how full each shot of a set was seen."""

    def __init__(self, errors: Errors, style: Style) -> None:
        draw = partial(
            painted_calls_chart,
            offsets=errors.sines,
            errors=errors.errors,
            forgiven=errors.forgiven,
            style=style,
        )
        super().__init__(draw, id="calls")


class SummaryScreen(TrainerScreen):
    """After the last shot of a set."""

    BINDINGS: ClassVar[list[BindingType]] = [
        bound("choose", "next", "Next"),
        bound("again", "again", "Again"),
        bound("copy_set", "copy_set", "Copy"),
        bound("from_the_beginning", "primer", "From the beginning", show=False),
        bound("back", "home", "Home"),
    ]
    HELP_TEXT = (
        "The chart has each call over its cut, from thin ones to the left over straight to thin ones to the "
        "right, as on the page Progress. A dozen calls say little about how you see: take the set for what "
        "it was. "
        "What the trainer thinks of your eye after all your calls stands under Progress."
    )

    def __init__(self, played: SetInPlay) -> None:
        super().__init__()
        self.played = played

    def body(self) -> ComposeResult:
        """The calls, and below them what is next and the kinds of shot."""
        yield Static(self._head(), id="headline")
        errors = errors_in(self.played.attempts)
        if errors.enough:
            yield CallsPicture(errors, self.trainer.game.style)
        with Page(id="page"):
            yield Static(self._text(errors))

    def _head(self) -> Content:
        played = self.played
        return Content.assemble(
            (played.level.title, "bold $head"), "" if played.level is FIRST else f"   {figures(played)}"
        )

    def _text(self, errors: Errors) -> Content:
        played, game = self.played, self.trainer.game
        found = self.plan = plan(game, minutes_of(game.history))
        lines = [Content.styled(EXPLAINED, "$quiet"), Content("")] if errors.enough else []
        diagnosis, findings = game.diagnosis, played.findings
        if findings:
            lines += [*map(Content, findings), Content("")]
        if not isinstance(played, FirstLook | Primer | WeeklyMeasure):  # they have said it already
            news = diagnosis.news(played.before, game.style)
            if news and news not in findings:
                lines += [Content.styled(news, "bold" if diagnosis.worst else ""), Content("")]
            if worth := worth_reading(played):
                lines += [Content(worth), Content("")]
        if about := was_about(played):
            lines += [Content(about), Content("")]
        gone = played.number - 1 - len(played.rights)
        if gone:
            lines += [Content.styled(f"{counted(gone, 'call')} taken back.", "$quiet"), Content("")]
        if passed := self._passed():
            lines += [passed, Content("")]
        if found.enough:
            lines.append(Content.styled(f"{found.enough} If you like, go on:", "$good"))
        lines.append(
            Content.assemble(
                (f"{self.keys.first('choose')}  ", "bold $key"), f"{self._next(found.parts[0])}."
            )
        )
        right = sum(played.rights)
        if not isinstance(played, Primer) and 2 * right < len(played.rights) and _is_new(game):
            key = self.keys.first("from_the_beginning")
            lines.append(Content(f"New to fullness? {key} shows it from the beginning, in nine pages."))
        for heading, rows in [] if played.level is FIRST else grouped(played.attempts):
            lines += [Content(""), Content.styled(heading, "bold $head"), *_lines(rows, game.style)]
        return Content("\n").join(lines)

    def _next(self, part: Part) -> str:
        """What comes next; the level that was just played isn't the next one."""
        if part.level == self.played.level and part.level.passed is not None:
            part = replace(part, says=f"Once more: {part.level.title}")
        return part.line

    def _passed(self) -> Content | None:
        """Whether the level is passed, or what that takes."""
        played = self.played
        rule = played.level.passed
        if rule is None:
            return None
        if not self.trainer.game.passed(played.level):
            return Content.styled(to_pass(rule), "$quiet")
        if played.passed_before:
            opened = played.level.chapter in self.trainer.game.opened
            said = "Opened when you found your place." if opened else "You passed this level before."
            return Content.styled(said, "$quiet")
        alone = sum(played.rights) >= rule.right
        said = (
            " Level passed with this set. " if alone else " Level passed, with the calls of the set before. "
        )
        return Content.styled(said, "bold reverse $good")

    def action_copy_set(self) -> None:
        """Put the set into the clipboard as text, to show it to somebody."""
        text = to_show(self.played, self.trainer.game.history.today)
        self.copy(text, "The set as text: paste it where you like.")

    def action_next(self) -> None:
        """Play what comes next."""
        self.trainer.play_level(self.plan.parts[0].level)

    def action_again(self) -> None:
        """Play the same level again."""
        self.trainer.play_level(self.played.level)

    def action_primer(self) -> None:
        """What fullness is, from the beginning."""
        self.trainer.play_level(PRIMER)


def _lines(rows: Sequence[KindSummary], style: Style) -> list[Content]:
    counts = [f"{row.right} of {row.calls} right" for row in rows]
    wide, widest = max(map(len, counts)), max(len(kind_name(row.kind)) for row in rows)
    return [
        Content.assemble(
            f"  {kind_name(row.kind):<{widest}}  ",
            (f"{count:<{wide}}", "$quiet"),
            "" if row.well else f"   {row.words(style)}",
        )
        for row, count in zip(rows, counts, strict=True)
    ]


def _is_new(game: Game) -> bool:
    """Whether this player has hardly called anything yet, nor played the primer to its end, or about."""
    primed = game.history.count_of_level(PRIMER.name)
    return game.history.count() < NEW and primed < PRIMER.shots - 1


class WarmedScreen(TrainerScreen):
    """After the last shot of a warm-up."""

    BINDINGS: ClassVar[list[BindingType]] = [
        bound("choose", "home", "Home"),
        bound("leave_set", "home", "Home", show=False),
        bound("again", "again", "Again"),
        bound("new_card", "card", "Card"),
        bound("to_the_table", "quit", "Quit"),
    ]
    HELP_TEXT = (
        "One sentence to take to the table. Of today it says only what today's calls carry: thick or thin "
        "cuts to one side, or all of them, that are surely off from how you usually see them. Else it says "
        "what is known of your eye from all your calls, or that it is as usual. A card of three "
        "layouts takes it to the practice table; after the match, note your frames in the table notebook."
    )

    def __init__(self, played: Warmup) -> None:
        super().__init__()
        self.played = played

    def body(self) -> ComposeResult:
        """The sentence, in the middle; below it the calls."""
        played = self.played
        shots = counted(len(played.rights), "shot")
        minutes, seconds = divmod(round(seconds_of(played.attempts)), 60)
        text = Content.assemble(
            ("Warmed up", "bold $head"),
            (f"   {shots} in {minutes}:{seconds:02d}, {sum(played.rights)} right", "$quiet"),
            "\n\n",
            (played.closing, "bold"),
        )
        yield Static(text, id="sentence")
        errors = errors_in(played.attempts)
        if errors.enough:
            yield CallsPicture(errors, self.trainer.game.style)

    def action_card(self) -> None:
        """Lay out a card of three for the practice table, and show its page."""
        try:
            KeptCards(self.trainer.game).make(Notebook(self.trainer.game).table, MATCH_DAY)
        except (NoSuchShot, TrainerError) as error:
            self.notify(f"No card: {error}", severity="error")
        else:
            self.trainer.show_page("card")

    def action_quit(self) -> None:
        """Off to the match."""
        self.trainer.exit()

    def action_again(self) -> None:
        """Warm up once more."""
        self.trainer.play_level(self.played.level)

"""Home: what is worth doing today, and the way to everything else."""

import math
import textwrap
from functools import partial
from typing import ClassVar

import numpy as np
from textual import events, on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.widgets import Static
from textual.widgets.option_list import Option

from trainer.app.keys import PlayerKeys, Rows, bound
from trainer.app.screens.base import TrainerScreen
from trainer.app.widgets.picture import Picture
from trainer.drills.words import counted
from trainer.history import TrainerError
from trainer.learner.verdicts import SAMPLES, is_sure
from trainer.levels.level import MEASURE
from trainer.pictures.inset import Hit, painted_inset
from trainer.play.game import Game
from trainer.play.primer import NAME as PRIMER
from trainer.play.today import Plan, minutes_of, other_minutes, plan
from trainer.play.warmup import NAME as WARMUP

HALF_BALL = 0.5  # where the day is about nothing in particular
TODAY = "today"
# What ``action_pick`` does, the name of its key, what it is called, and what it is.
ROWS = (
    ("warmup", "warm_up", "Warm up", "five minutes before a match"),
    ("free-band", "name_the_fullness", "Name the fullness", "free practice, every cut"),
    ("free-aim", "pick_the_aim_point", "Pick the aim point", "free practice, every cut"),
    ("levels", "levels", "Levels", "nine chapters, and every drill"),
    ("primer", "from_the_beginning", "From the beginning", "what fullness is, in nine pages"),
    ("table", "table_notebook", "Table notebook", "the eye or the stroke?"),
    ("progress", "progress", "Progress", "what you see thick or thin"),
    ("weeks", "weeks", "Weeks", "your days, and what has changed"),
    ("measure", "weekly_measure", "Weekly measure", "24 shots, as hard every week"),
    ("settings", "settings", "Settings", "your terminal, colours, hand"),
    ("quit", "quit", "Quit", ""),
)
WIDEST = max(len(name) for _, _, name, _ in ROWS)
INDENT = 4  # columns of a row's key
WIDE = 57  # columns of the menu from which there is room for what a row is
HIGH = 32  # rows of the menu from which there is room between its rows
LONGEST = 76  # columns of a line that is read


class HomeScreen(TrainerScreen):
    """Where a player starts, and comes back to."""

    BINDINGS: ClassVar[list[BindingType]] = [
        bound("today", f"pick('{TODAY}')", "Today's practice", show=False),
        bound("fewer_minutes", "minutes(-1)", "Fewer minutes", show=False),
        bound("more_minutes", "minutes(1)", "More minutes", show=False),
        *[bound(action, f"pick('{name}')", title, show=False) for name, action, title, _ in ROWS],
        bound("your_terminal", "pick('terminal')", "Your terminal", show=False),
    ]
    AUTO_FOCUS: ClassVar[str | None] = "#menu"
    HELP_TEXT = (
        "The trainer shows you a shot and asks how full the hit must be, or where to send the cue ball. "
        "It marks your call against the true geometry, keeps it, and brings more of what you see wrong. "
        "Today's practice is what is worth doing now: what you see thick or thin, what was settled and "
        "should come back, and the path of levels. About forty calls a day are enough to learn from."
    )

    def body(self) -> ComposeResult:
        """The menu beside a picture of the hit that today is about."""
        with Horizontal(id="home"):
            with Vertical(id="left"):
                yield Static(id="name")
                yield Static(id="now")
                yield Static(id="eye")
                yield Rows(id="menu")
            with Vertical(id="today"):
                yield Picture(id="emblem")
                yield Static(id="seen")

    def on_screen_resume(self) -> None:
        """Here, for the first time or back from somewhere: things may have changed."""
        self.show_standing()

    def on_resize(self, event: events.Resize) -> None:
        """Lines break where there is room."""
        super().on_resize(event)
        self.call_after_refresh(self.show_menu)

    def show_standing(self) -> None:
        """Where the player stands, and the menu that follows from it."""
        game = self.trainer.game
        self.query_one("#name", Static).update(
            Content.assemble(
                ("See the angle of the pot", "bold $head"),
                (f"   {self.trainer.player}" if self.trainer.player else "", "bold $key"),
            )
        )
        count = game.history.count()
        self.query_one("#now", Static).update(
            Content.styled(
                f"{counted(count, 'call')} kept, {sum(map(game.passed, game.shelf.levels))} of "
                f"{len(game.shelf.levels)} levels passed"
                if count
                else "No calls yet: the first set takes two minutes.",
                "$quiet",
            )
        )
        self.query_one("#eye", Static).update(_eye(game) if count else "")
        self.plan = plan(game, minutes_of(game.history))
        self.show_hit()
        self.show_menu()

    def show_hit(self) -> None:
        """The hit that today is about, and how it is seen where that is known to be wrong."""
        stretches = [part.level.about for part in self.plan.parts if part.level.about is not None]
        places = np.linspace(*stretches[0], SAMPLES) if stretches else np.array([HALF_BALL])
        mean, sd = self.trainer.game.belief.curve(places)
        surest = int((np.abs(mean) / sd).argmax())
        wrong = bool(is_sure(mean, sd)[surest])
        hit = float(places[surest if wrong else len(places) // 2])
        seen = hit - math.copysign(float(mean[surest]), hit) if wrong else None
        self.query_one("#emblem", Picture).show(partial(painted_inset, Hit(1.0, true=hit, called=seen)))
        self.query_one("#seen", Static).update("dashed: as you see it" if wrong else "")

    def show_menu(self) -> None:
        """Today's practice, then everything else."""
        menu = self.query_one("#menu", Rows)
        width = menu.scrollable_content_region.width - 2  # the options' own padding
        at, airy = menu.highlighted or 0, menu.size.height >= HIGH
        menu.clear_options()
        menu.add_options(
            [
                Option(_today(self.plan, minutes_of(self.trainer.game.history), width, self.keys), id=TODAY),
                *[Option(_row(row, width, self.keys, airy=airy), id=row[0]) for row in ROWS],
            ]
        )
        menu.highlighted = at

    def action_minutes(self, step: int) -> None:
        """Say that there are more or fewer minutes for today's practice."""
        game = self.trainer.game
        try:
            self.plan = plan(game, other_minutes(game.history, step))
        except TrainerError as error:
            self.notify(f"Not kept: {error}", severity="error", markup=False)
        self.show_menu()

    @on(Rows.OptionSelected)
    def _picked(self, event: Rows.OptionSelected) -> None:
        if event.option.id is not None:
            self.action_pick(event.option.id)

    def action_pick(self, what: str) -> None:
        """Do what a row of the menu says."""
        trainer = self.trainer
        if what == TODAY:
            trainer.play_level(self.plan.parts[0].level)
        elif what in ("free-band", "free-aim"):
            trainer.play_level(trainer.game.level(None, what.removeprefix("free-")))
        elif what in (PRIMER, WARMUP, MEASURE):
            trainer.play_level(trainer.game.level(what))
        elif what == "quit":
            trainer.exit()
        else:
            trainer.show_page(what)


def _eye(game: Game) -> Content:
    """What is wrong with this eye, in one sentence."""
    found = game.diagnosis
    if found.worst is not None:
        return Content.styled(found.worst.short, "bold $head")
    return Content.styled(found.sentence, "$quiet")


def _today(found: Plan, minutes: int, width: int, keys: PlayerKeys) -> Content:
    """Today's practice: for how long, what, and what after it."""
    head = Content.assemble(
        *_key(keys.first("today")),
        ("Today", "bold"),
        (f"   {counted(minutes, 'minute')}  ", "$quiet"),
        (keys.together("fewer_minutes"), "$key"),
    )
    first, *later = found.parts
    said = [(f"{found.enough} If you like, go on:", "$good")] if found.enough else []
    said.append((f"{first.line}.", "$foreground"))
    said.append((" ".join([*(f"Then {part.level.title}." for part in later[:1]), found.takes]), "$quiet"))
    lines = [head]
    for text, style in said:
        lines += [Content.styled(line, style) for line in _wrapped(text, width)]
    return Content("\n").join([*lines, Content("")])


def _wrapped(text: str, width: int) -> list[str]:
    room, indent = min(max(width, 2 * INDENT), LONGEST), " " * INDENT
    return textwrap.wrap(text, room, initial_indent=indent, subsequent_indent=indent)


def _row(row: tuple[str, str, str, str], width: int, keys: PlayerKeys, *, airy: bool) -> Content:
    _, action, title, about = row
    said = f"{title:<{WIDEST}}" if width >= WIDE else title
    beside = f"   {about}" if width >= WIDE else ""
    return Content.assemble(
        *_key(keys.first(action)), (said, "bold"), (beside, "$quiet"), "\n" if airy else ""
    )


def _key(key: str) -> tuple[tuple[str, str]]:
    return ((f"{key:>2}  ", "bold $key"),)

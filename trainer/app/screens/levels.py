"""The levels in the order of the path, and what each teaches."""

from functools import cached_property
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from trainer.app.screens.base import TrainerScreen
from trainer.drills import DRILLS
from trainer.shots.level import Level

TITLE_WIDTH = 34


class LevelsScreen(TrainerScreen):
    """Pick a level."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "play", "Play it", priority=True),
        Binding("escape,q", "home", "Home", key_display="esc"),
    ]
    AUTO_FOCUS: ClassVar[str | None] = "#levels"
    HELP_TEXT = (
        "The levels form a path, but any of them can be played at any time. "
        "After them comes free practice with each drill. "
        "Own levels, TOML files in the folder levels of the data folder, appear among them."
    )

    @cached_property
    def levels(self) -> list[Level]:
        """The path, and after it free practice with every drill."""
        game = self.trainer.game
        return [*game.shelf.levels, *(game.level(None, drill) for drill in DRILLS)]

    def body(self) -> ComposeResult:
        """The list, and below it what the level under the cursor is about."""
        yield Static(Content.styled("Levels", "bold $secondary"), id="name")
        game = self.trainer.game
        rows = [_row(level, game.passed(level)) for level in self.levels]
        yield OptionList(*[Option(row) for row in rows], id="levels")
        yield Static(id="about")
        yield Static("\n".join(game.shelf.problems), id="problems", markup=False)

    def on_mount(self) -> None:
        """Start at the level that comes next."""
        game = self.trainer.game
        names = [level.name for level in game.shelf.levels]
        wanted = game.next_level().name
        self.query_one("#levels", OptionList).highlighted = names.index(wanted) if wanted in names else 0
        self.query_one("#problems").display = bool(game.shelf.problems)

    @on(OptionList.OptionHighlighted)
    def _highlighted(self, event: OptionList.OptionHighlighted) -> None:
        level = self.levels[event.option_index]
        self.query_one("#about", Static).update(about(level))

    @on(OptionList.OptionSelected)
    def _selected(self, event: OptionList.OptionSelected) -> None:
        self.trainer.play_level(self.levels[event.option_index])

    def action_play(self) -> None:
        """Play the level under the cursor."""
        self.query_one("#levels", OptionList).action_select()

    def action_home(self) -> None:
        """Back home."""
        self.trainer.show_home()


def _row(level: Level, passed: bool) -> Content:
    return Content.assemble(
        (" ✓ " if passed else "   ", "$success"),
        (f"{level.title:<{TITLE_WIDTH}}", "bold"),
        (f"  {DRILLS[level.drill].title.lower()}", "$quiet"),
    )


def about(level: Level) -> Content:
    """What a level teaches, and when it is passed."""
    rule = level.passed
    text = level.teaches
    if rule is not None:
        text += (
            f"\nPassed with {rule.right} of the last {rule.of} right, {rule.in_a_row} of them in a row. "
            f"{level.shots} shots a set, {level.limits.table.title}."
        )
    return Content(text)

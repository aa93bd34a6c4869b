"""The levels in the order of the path, and what each teaches."""

from collections.abc import Iterator
from functools import cached_property
from itertools import groupby
from typing import ClassVar

from textual import events, on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.widgets import Static
from textual.widgets.option_list import Option

from trainer.app.keys import Rows, bound
from trainer.app.scene import Scene
from trainer.app.screens.base import WIDE, TrainerScreen
from trainer.app.widgets.board import Board
from trainer.drills import DRILLS
from trainer.levels.level import CHAPTERS, Level, as_test
from trainer.play import mixed, placement
from trainer.play.set_in_play import sample_of
from trainer.report.wording import to_pass

TITLE_WIDTH = 34


class LevelsScreen(TrainerScreen):
    """Pick a level."""

    BINDINGS: ClassVar[list[BindingType]] = [
        bound("choose", "play", "Play it", priority=True),
        bound("test_me", "test", "Test me out"),
        bound("back", "home", "Home"),
    ]
    AUTO_FOCUS: ClassVar[str | None] = "#levels"
    HELP_TEXT = (
        "The levels form a path, but any of them can be played at any time. Find your place asks shots of "
        "every sort and opens the chapters that you master; the test of a level passes it in eight shots. "
        "After the path come all drills mixed, and free practice with each. "
        "Own levels, TOML files in the folder levels of the data folder, appear among them."
    )

    @cached_property
    def levels(self) -> list[Level]:
        """Where to begin, the path, and after it all mixed and free practice with every drill."""
        game = self.trainer.game
        free = (game.level(None, drill) for drill in DRILLS)
        return [placement.LEVEL, *game.shelf.levels, mixed.LEVEL, *free]

    def body(self) -> ComposeResult:
        """The list, below it what the level under the cursor is about, and beside it one of its shots."""
        yield Static(Content.styled("Levels", "bold $head"), id="headline")
        with Horizontal(id="browsing"):
            with Vertical(id="left"):
                yield Rows(*self._rows(), id="levels")
                yield Static(id="about")
            yield Board(id="sample")
        yield Static("\n".join(self.trainer.game.shelf.problems), id="problems", markup=False)

    def on_mount(self) -> None:
        """Start at the level that comes next."""
        game, rows = self.trainer.game, self.query_one("#levels", Rows)
        names = [level.name for level in self.levels]
        rows.highlighted = rows.get_option_index(str(names.index(game.next_level().name)))
        self.query_one("#problems").display = bool(game.shelf.problems)

    def _rows(self) -> Iterator[Option]:
        """A row for each level, known by its place in the list, under the heading of its chapter."""
        game = self.trainer.game
        passed = [game.passed(level) for level in self.levels]
        for chapter, levels in groupby(range(len(self.levels)), self._chapter):
            these = list(levels)
            done = sum(passed[i] for i in these)
            on_path = self.levels[these[0]] in game.shelf.levels
            yield Option(_heading(chapter, done, len(these) if on_path else 0), disabled=True)
            for i in these:
                yield Option(_row(self.levels[i], passed[i]), id=str(i))

    def _chapter(self, index: int) -> str:
        level = self.levels[index]
        if level in self.trainer.game.shelf.levels:
            return level.chapter or "Others"
        return {placement.LEVEL.name: "Where to begin", mixed.LEVEL.name: "Everything at once"}.get(
            level.name, "Free practice, drill by drill"
        )

    @on(Rows.OptionHighlighted)
    def _highlighted(self, event: Rows.OptionHighlighted) -> None:
        level = self.levels[int(event.option_id or 0)]
        self.query_one("#about", Static).update(about(level, passed=self.trainer.game.passed(level)))
        self.show_sample()

    def on_resize(self, event: events.Resize) -> None:
        """There may be room for the picture now."""
        super().on_resize(event)
        self.show_sample()

    def show_sample(self) -> None:
        """A shot of the level under the cursor, where there is room for it."""
        rows = self.query_one("#levels", Rows)
        if rows.highlighted is None or self.size.width < WIDE:
            return
        level = self.levels[int(rows.get_option_at_index(rows.highlighted).id or 0)]
        scene = Scene(sample_of(level), level.views[0], way=level.line_to_pocket)
        self.query_one("#sample", Board).show_scene(scene)

    @on(Rows.OptionSelected)
    def _selected(self, event: Rows.OptionSelected) -> None:
        self.trainer.play_level(self.levels[int(event.option_id or 0)])

    def action_test(self) -> None:
        """Play the test of the level under the cursor."""
        rows = self.query_one("#levels", Rows)
        if rows.highlighted is None:
            return
        level = self.levels[int(rows.get_option_at_index(rows.highlighted).id or 0)]
        if level.passed is None:
            self.notify("Nothing to pass here: choose a level of the path.", markup=False)
        else:
            self.trainer.play_level(as_test(level))

    def action_play(self) -> None:
        """Play the level under the cursor."""
        self.query_one("#levels", Rows).action_select()


def _heading(chapter: str, done: int, of: int) -> Content:
    """A chapter's title, and how many of its levels are passed."""
    return Content.assemble((chapter, "bold $head"), (f"  {done} of {of}" if of else "", "$quiet"))


def _row(level: Level, passed: bool) -> Content:
    drill = "every drill" if level in (placement.LEVEL, mixed.LEVEL) else DRILLS[level.drill].title
    return Content.assemble(
        (" ✓ " if passed else "   ", "$good"),
        (f"{level.title:<{TITLE_WIDTH}}", "bold"),
        ("" if drill == level.title else f"  {drill.lower()}", "$quiet"),
    )


def about(level: Level, *, passed: bool) -> Content:
    """What a level teaches, when it is passed, and what its chapter is for."""
    rule, parts = level.passed, [level.teaches]
    if rule is not None:
        parts.append(
            ("\nPassed. " if passed else "\n")
            + f"{to_pass(rule)} A set is {level.shots} shots. Table: {level.limits.table.title}."
        )
    aim = CHAPTERS.get(level.chapter, "")
    return Content.assemble(*parts, (f"\n{aim}" if aim else "", "$quiet"))

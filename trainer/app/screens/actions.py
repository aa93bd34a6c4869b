"""Every action there is now, to be found by its name."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import partial
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.content import Content
from textual.fuzzy import Matcher
from textual.widgets import Input, Static
from textual.widgets.option_list import Option

from trainer.app.keys import bound
from trainer.app.offered import offered
from trainer.app.screens.base import TrainerScreen
from trainer.app.widgets.keyed import Rows

WIDEST_KEY = 12  # columns of the keys


@dataclass
class Entry:
    """An action, the keys that do it elsewhere, and what to call."""

    what: str
    keys: list[str]
    run: Callable[[], object]

    @property
    def row(self) -> Content:
        """How it is listed."""
        return Content.assemble((f"{' '.join(self.keys):>{WIDEST_KEY}}", "bold $key"), "  ", self.what)


class ActionsScreen(TrainerScreen):
    """Type a part of a name, and take the action."""

    BINDINGS: ClassVar[list[BindingType]] = [
        bound("find_do", "take", "Do it", priority=True),
        # With priority: the line that is typed in would take them to scroll itself.
        bound("find_next", "move(1)", "Next", priority=True),
        bound("find_before", "move(-1)", "Before", show=False, priority=True),
        bound("find_page_down", "page(1)", "A page down", show=False, priority=True),
        bound("find_page_up", "page(-1)", "A page up", show=False, priority=True),
        bound("find_close", "close", "Back"),
    ]
    AUTO_FOCUS: ClassVar[str | None] = "#wanted"

    def __init__(self, about: TrainerScreen) -> None:
        super().__init__()
        self._about = about
        self._entries: list[Entry] = []

    def body(self) -> ComposeResult:
        """What is wanted, and what is like it."""
        yield Static(Content.styled("Every action, by name", "bold $head"), id="name")
        yield Input(placeholder="type a part of it", id="wanted", compact=True)
        yield Rows(id="actions")

    def on_mount(self) -> None:
        """List everything."""
        keyed = self._keyed()
        there = {entry.what for entry in keyed}
        self._entries = [*keyed, *(entry for entry in self._others() if entry.what not in there)]
        self.query_one(Rows).can_focus = False
        self._list(range(len(self._entries)))

    def _keyed(self) -> list[Entry]:
        """What has a key on the screen that this was called from."""
        found: dict[str, Entry] = {}
        for one in offered(self._about):
            if one.action == "command_palette":
                continue
            run = partial(self.app.run_action, one.action, one.node)
            entry = found.setdefault(one.action, Entry(one.what, [], run))
            if one.key not in entry.keys:
                entry.keys.append(one.key)
        return list(found.values())

    def _others(self) -> Iterable[Entry]:
        """What has none."""
        trainer = self.trainer
        yield Entry("Your terminal", [], trainer.show_terminal)
        yield Entry("Settings", [], trainer.show_settings)
        yield Entry("Keep a picture of the screen", [], trainer.keep_picture)
        for name in trainer.available_themes:
            said = name.replace("-", " ")
            yield Entry(f"Colours of the screen: {said}", [], partial(setattr, trainer, "theme", name))

    @on(Input.Changed)
    def _narrowed(self, event: Input.Changed) -> None:
        wanted = event.value.strip()
        if not wanted:
            self._list(range(len(self._entries)))
            return
        matcher = Matcher(wanted)
        scores = [matcher.match(" ".join([entry.what, *entry.keys])) for entry in self._entries]
        fitting = (index for index, score in enumerate(scores) if score > 0)
        self._list(sorted(fitting, key=lambda index: -scores[index]))

    def _list(self, indices: Iterable[int]) -> None:
        rows = self.query_one(Rows)
        rows.clear_options()
        rows.add_options(Option(self._entries[index].row, id=str(index)) for index in indices)
        if not rows.option_count:
            rows.add_option(Option(Content.styled("Nothing is called so.", "$quiet"), disabled=True))
            rows.highlighted = None
            return
        rows.highlighted = 0

    @on(Rows.OptionSelected)
    def _picked(self, event: Rows.OptionSelected) -> None:
        if self.is_on_top:  # a click that came before it knows of an entry that may be listed no more
            self.close()
            self.app.call_later(self._entries[int(event.option_id or 0)].run)

    def action_take(self) -> None:
        """Carry out the one under the cursor."""
        self.query_one(Rows).action_select()

    def action_move(self, step: int) -> None:
        """To the row below (1) or above (-1)."""
        rows = self.query_one(Rows)
        (rows.action_cursor_down if step > 0 else rows.action_cursor_up)()

    def action_page(self, step: int) -> None:
        """A page on (1) or back (-1)."""
        rows = self.query_one(Rows)
        (rows.action_page_down if step > 0 else rows.action_page_up)()

    def action_close(self) -> None:
        """Back to where it was called from."""
        self.close()

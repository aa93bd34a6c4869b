"""Settings: every one of them on one page, as the file has them, changed in place."""

from collections.abc import Sequence
from dataclasses import replace
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.content import Content
from textual.widgets import Static
from textual.widgets.option_list import Option

from trainer.app.keys import Rows, bound
from trainer.app.screens.base import SETTINGS_PAGE, TrainerScreen
from trainer.settings.settings import FILE, SETTINGS, Setting, Settings, read_settings

WIDEST = max(len(setting.title) for setting in SETTINGS)
LEFT_S = 3.0
KEYS_SAID = "Your own keys: the file's table [keys]; the command trainer keys lists them."


MISTAKEN = f"{FILE} has mistakes; keeping writes a new one and sets this one aside:"


class SettingsPage(TrainerScreen):
    """A page on which settings are chosen, to be kept or left."""

    def __init__(self) -> None:
        super().__init__(classes=SETTINGS_PAGE)
        self.own = self._saved = Settings()

    def read(self) -> tuple[str, ...]:
        """Begin with what the file says now; returns its problems."""
        self._saved, problems = read_settings(self.trainer.data_folder)
        self.own = self._saved
        return problems

    def show_problems(self, problems: Sequence[str]) -> None:
        """Say what is wrong with the file."""
        shown = self.query_one("#problems", Static)
        shown.display = bool(problems)
        shown.update("\n".join([MISTAKEN, *problems]))

    def head(self, title: str) -> Content:
        """The page's title, and whether what is chosen is kept."""
        news = "" if self.own == self._saved else "   not kept yet"
        return Content.assemble((title, "bold $head"), (news, "$quiet"))

    def action_keep(self) -> None:
        """Keep what is chosen, for now and for every start from now on."""
        if self.trainer.keep_settings(self.own):
            self.close()


class SettingsScreen(SettingsPage):
    """One row a setting; what is chosen holds once it is kept."""

    BINDINGS: ClassVar[list[BindingType]] = [
        bound("value_less", "change(-1)", "Value"),
        bound("value_more", "change(1)", "Value", show=False),
        bound("automatic", "as_usual", "As usual"),
        bound("other_page", "terminal", "Your terminal"),
        bound("choose", "keep", "Keep", priority=True),
        bound("back", "leave", "Leave"),
    ]
    AUTO_FOCUS: ClassVar[str | None] = "#settings"
    HELP_TEXT = (
        f"All settings, as they stand in {FILE} in the data folder, where you may change them, too. "
        "Keep writes the lines that change, and leaves your own comments alone. What is kept holds at once. "
        "Of shapes, colours and the form of a cell the page Your terminal shows what they look like. "
        "A click on a row takes its next value."
    )

    def body(self) -> ComposeResult:
        """The rows, and below them what the one under the cursor is."""
        yield Static(id="headline")
        yield Rows(id="settings")
        yield Static(id="about", markup=False)
        yield Static(id="problems", markup=False)

    def on_mount(self) -> None:
        """Begin with what the file says now."""
        self.show_problems(self.read())
        self.query_one(Rows).add_options(Option("", id=setting.key) for setting in SETTINGS)
        self.query_one(Rows).highlighted = 0
        self.show_settings()

    @property
    def _setting(self) -> Setting:
        """The one under the cursor."""
        return SETTINGS[self.query_one(Rows).highlighted or 0]

    def action_change(self, steps: int) -> None:
        """Go so many values further."""
        setting = self._setting
        self._choose(setting, setting.stepped(getattr(self.own, setting.key), steps))

    def action_as_usual(self) -> None:
        """Choose nothing: it is as usual, or as the terminal is known to be."""
        self._choose(self._setting, None)

    @on(Rows.OptionSelected)
    def _clicked(self, event: Rows.OptionSelected) -> None:
        setting = SETTINGS[event.option_index]
        value = getattr(self.own, setting.key)
        after = setting.stepped(value, 1)
        self._choose(setting, None if after == value else after)

    @on(Rows.OptionHighlighted)
    def _moved(self) -> None:
        self.show_about()

    def _choose(self, setting: Setting, value: str | float | None) -> None:
        self.own = replace(self.own, **{setting.key: value})  # type: ignore[arg-type]
        self.show_settings()

    def action_terminal(self) -> None:
        """See what shapes, colours and forms of a cell look like."""
        if self.own == self._saved:
            self.trainer.show_page("terminal")
        else:
            self.notify("Keep these first, or leave them.")

    def action_leave(self) -> None:
        """Leave everything as it was."""
        if self.own != self._saved:
            self.notify("Nothing was kept: all is as it was.", timeout=LEFT_S)
        self.close()

    # Showing

    def show_settings(self) -> None:
        """Say what is chosen."""
        self.query_one("#headline", Static).update(self.head("Settings"))
        rows = self.query_one(Rows)
        for setting in SETTINGS:
            rows.replace_option_prompt(setting.key, self._row(setting))
        self.show_about()

    def _row(self, setting: Setting) -> Content:
        value = getattr(self.own, setting.key)
        changed = value != getattr(self._saved, setting.key)
        said = setting.usual if value is None else f"{value}"
        return Content.assemble(
            (f"{setting.title:<{WIDEST}}", "bold"),
            ("  ◂ ", "$key"),
            (said, "$quiet" if value is None else "bold $key"),
            (" ▸", "$key"),
            ("   not kept yet" if changed else "", "$quiet"),
        )

    def show_about(self) -> None:
        """Say what the setting under the cursor is, and what it may be."""
        setting = self._setting
        self.query_one("#about", Static).update(
            Content.assemble(setting.about, (f"\n{setting.key} in {FILE}. {KEYS_SAID}", "$quiet"))
        )

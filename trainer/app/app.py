"""The app: which screen is shown."""

import os
import time
from collections.abc import Sequence
from datetime import datetime
from importlib import import_module
from io import StringIO
from pathlib import Path
from typing import ClassVar

from textual import events
from textual.binding import Binding, BindingType
from textual.geometry import Size
from textual.screen import Screen
from textual.types import AnimationLevel

from trainer.app.keys import PlayerKeys, bound, said
from trainer.app.screens.base import SETTINGS_PAGE, TrainerScreen
from trainer.app.terminal_input import MOST_PRESSED
from trainer.app.textual_private import FaultApp
from trainer.app.theme import CLUB_ROOM, OWN, scheme_of, spoken_for
from trainer.app.widgets.picture import Picture
from trainer.history import TrainerError
from trainer.history.files import keep_text
from trainer.levels.level import Level
from trainer.pictures import GlyphSet, asked, terminal
from trainer.pictures.asked import Answer, Pictures, pictures_in
from trainer.pictures.terminal import Depth, chosen_colours, chosen_glyphs, chosen_shape
from trainer.play.first_look import LEVEL as FIRST
from trainer.play.game import Game
from trainer.play.set_in_play import SetInPlay
from trainer.play.warmup import Warmup
from trainer.settings.settings import FILE, Settings, save_settings

LARGEST = 400, 150  # columns and rows that are drawn in: more than any screen has
MOST_SAID = 4  # problems of a file that are told; the page of the settings tells them all
TYPED = {" ": "space", "\r": "enter", "\n": "enter"}  # characters whose keys have names
DEAF_S = 0.2  # from the beginning of an answer that came late
SAID_S = 12.0  # how long: they are long lines


def drawn(size: Size) -> Size:
    """What is drawn in of a terminal of this size."""
    return Size(min(size.width, LARGEST[0]), min(size.height, LARGEST[1]))


def resized(event: events.Resize) -> events.Resize:
    """The same event, of what is drawn in."""
    size, pixels = drawn(event.size), event.pixel_size
    if size == event.size:
        return event
    if pixels is not None:
        across, down = pixels.width / event.size.width, pixels.height / event.size.height
        pixels = Size(round(across * size.width), round(down * size.height))
    return events.Resize(size, size, size, pixels)


class TrainerApp(FaultApp):
    """The game on the screen.

    Parameters
    ----------
    game : Game
        The player's game.
    start : Played, optional
        A set to play at once. Without one a player who has never called a shot gets the first
        level, and everybody else comes home.
    glyphs, colours
        What pictures are drawn with, and in how many colours.
    answer : Answer
        What the terminal said when it was asked how it shows pictures, or what else is known of it.
    problems : sequence of str
        What is wrong with the player's settings, to be told once.
    player : str, optional
        The player's name, where there is one.
    table : bool
        Begin with the table notebook.
    recovered : str
        What was done about a damaged history, to be told once.
    settings : Settings, optional
        What else the player has chosen.
    """

    TITLE = "See the angle of the pot"
    CSS_PATH = "trainer.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        bound("help", "help", "Help"),
        bound("every_action", "command_palette", show=False, priority=True),
        bound("quit_at_once", "quit", "Quit at once", show=False, priority=True),
        bound("put_aside", "suspend_process", show=False, priority=True),
    ]

    def __init__(
        self,
        game: Game,
        start: SetInPlay | None = None,
        *,
        glyphs: GlyphSet = "quadrants",
        colours: Depth = Depth.TRUE,
        answer: Answer = asked.NONE,
        problems: Sequence[str] = (),
        player: str | None = None,
        table: bool = False,
        recovered: str = "",
        settings: Settings | None = None,
    ) -> None:
        super().__init__()
        self.settings = settings or Settings()
        self._still_from: AnimationLevel | None = None  # what moved before motion was reduced
        self.keys = PlayerKeys(self.settings.all_keys)
        self._recovered = recovered
        self.game = game
        self.player = player
        self._table = table
        self._start = start
        self._home: Screen[None] | None = None
        self._problems = problems
        self.glyphs: GlyphSet = glyphs
        self.colours: Depth = colours
        self.own_aspect = self.settings.cell_shape
        self.view = self.settings.view  # that shots are first shown in, as it was chosen last
        self.said_aspect = answer.aspect or terminal.asked_aspect()
        self.answer = answer
        self.pixel_cell = answer.cell
        self.pictures = self._pictures()
        self._deaf_until = 0.0
        for theme in OWN:
            self.register_theme(theme)
        self.theme = CLUB_ROOM.name

    def get_css_variables(self) -> dict[str, str]:
        """The theme's variables, and those of our own that follow from them."""
        variables = super().get_css_variables()
        self.theme_variables = variables | spoken_for(variables)
        self.scheme = scheme_of(self.theme_variables, self.theme == CLUB_ROOM.name)
        return self.theme_variables

    @property
    def cell_aspect(self) -> float:
        """Height of a cell over its width: the player's, else what the terminal says, else the usual."""
        return chosen_shape(self.own_aspect, self.said_aspect).value

    @property
    def data_folder(self) -> Path:
        """Where the player's settings are kept: beside the history."""
        return self.game.history.file.parent

    def on_mount(self) -> None:
        """Begin with a shot, where there is one to begin with; home is made when somebody comes there."""
        self._go_by_settings()
        for signal in (
            self.app_resume_signal,
            self.theme_changed_signal,
        ):  # the terminal forgot them; other colours
            signal.subscribe(self, lambda _: self.redraw_pictures())
        self._take_typed()
        if self._start is not None:
            self.show_set(self._start)
        elif self._table:
            self.show_page("table")
        elif not self.game.history.has_calls():
            self.play_level(FIRST)
        if len(self.screen_stack) == 1:  # nothing to begin with, or it can't be begun
            self.show_home()
        if self._recovered:
            self.notify(self._recovered, title="History", severity="warning", timeout=SAID_S, markup=False)
        if self._problems:
            problems = "\n".join(self._problems[:MOST_SAID])
            self.notify(problems, title="Settings", severity="warning", timeout=SAID_S, markup=False)

    def on_resize(self, event: events.Resize) -> None:
        """A terminal may say with its size how large its cells are; balls are drawn round by that."""
        if event.pixel_size is None:
            return
        aspect = terminal.aspect_of(event.size, event.pixel_size)
        cell = event.pixel_size.width // event.size.width, event.pixel_size.height // event.size.height
        if aspect is not None and (aspect, cell) != (self.said_aspect, self.pixel_cell):
            self.said_aspect, self.pixel_cell = aspect, cell
            self.redraw_pictures()

    @property
    def size(self) -> Size:
        """The size of the terminal; of one beyond any screen, the part that is drawn in."""
        return drawn(super().size)

    async def on_event(self, event: events.Event) -> None:
        """A terminal beyond any screen is drawn in its upper left part only.

        Where the terminal hasn't answered in time, an answer that comes yet isn't what the player types.

        Textual takes an answer that it doesn't know for keys, its escape for a ``^``, all in one go.
        """
        if isinstance(event, events.Resize):
            event = resized(event)
        elif isinstance(event, events.Key) and self.answer.late:
            if event.key == "circumflex_accent":
                self._deaf_until = time.monotonic() + DEAF_S
            if time.monotonic() < self._deaf_until:
                return
        if isinstance(event, events.Key) and self._came_before(event):
            return
        await super().on_event(event)

    def _came_before(self, key: events.Key) -> bool:
        """Whether a key is older than what is on the screen, where that matters."""
        screen = self.screen_stack[-1] if self.screen_stack else None
        return isinstance(screen, TrainerScreen) and screen.came_before(key)

    def _take_typed(self) -> None:
        """What was typed while the terminal was asked is meant for whatever is shown first; a paste isn't."""
        keys = [TYPED.get(c, c if c.isalnum() else "") for c in self.answer.typed]
        for name in filter(None, keys if len(keys) <= MOST_PRESSED else []):
            key = events.Key(name, None)
            key.time = float("inf")
            self.post_message(key)

    def _pictures(self) -> Pictures:
        return pictures_in(self.answer, os.environ, self.settings.pictures)

    def keep_settings(self, settings: Settings) -> bool:
        """Keep these settings, now and from the next start on; False, and said, where they can't be."""
        try:
            aside = save_settings(self.data_folder, settings)
        except TrainerError as error:
            self.notify(f"Not kept: {error}", severity="error", markup=False)
            return False
        self.use_settings(settings)
        self.notify(f"Kept in {FILE}." + (f" The file before is now {aside.name}." if aside else ""))
        return True

    def use_settings(self, settings: Settings) -> None:
        """Go by these settings from now on."""
        if settings.view != self.settings.view:
            self.view = settings.view
        self.settings = settings
        self._go_by_settings()
        self.game.history.rollover_hour = settings.day_begins
        glyphs = chosen_glyphs(os.environ, settings.glyphs).value
        colours = chosen_colours(os.environ, settings.colours).value
        self.draw_with(glyphs, colours, settings.cell_shape, self._pictures())

    def _go_by_settings(self) -> None:
        self.keys = PlayerKeys(self.settings.all_keys)
        self.set_keymap(self.keys.keymap)
        self.game.style = self.settings.style
        self.game.paced = self.settings.pace == "on"
        self.game.routine = self.settings.routine == "on"
        if self.settings.theme is not None:  # else it may be one that was picked from the list of actions
            self.theme = self.settings.theme
        if (self.settings.motion == "reduced") != (self._still_from is not None):
            # As it was before, a variable may have said how.
            before, self._still_from = self._still_from, None if self._still_from else self.animation_level
            self.animation_level = before or "none"

    def get_key_display(self, binding: Binding) -> str:
        """How the row of keys says a binding's: with those that it is said with."""
        if binding.key_display or binding.id is None:
            return binding.key_display or said(binding.key)
        return self.keys.together(binding.id)

    def draw_with(
        self, glyphs: GlyphSet, colours: Depth, own_aspect: float | None, pictures: Pictures
    ) -> None:
        """Draw every picture with these from now on."""
        self.glyphs, self.colours, self.own_aspect, self.pictures = glyphs, colours, own_aspect, pictures
        self.redraw_pictures()

    def redraw_pictures(self) -> None:
        """Draw the pictures of every screen again, those that lie under others too."""
        for screen in self.screen_stack:
            for picture in screen.query(Picture):
                picture.redraw()

    def play_level(self, level: Level) -> None:
        """Play a set of a level, going on with one left unfinished."""
        try:
            played = self.game.begin(level)
        except TrainerError as error:
            self.notify(f"Your calls could not be kept: {error}", severity="error", markup=False)
            return
        self.show_set(played)

    def show_set(self, played: SetInPlay) -> None:
        """The questions of a set."""
        from trainer.app.screens.play import PlayScreen

        self._over_home(PlayScreen(played))

    def show_summary(self, played: SetInPlay) -> None:
        """The end of a set; the bell rings, where it is wanted."""
        if self.settings.bell == "on":
            self.bell()
        from trainer.app.screens.summary import SummaryScreen, WarmedScreen

        self._over_home(WarmedScreen(played) if isinstance(played, Warmup) else SummaryScreen(played))

    def show_page(self, name: str) -> None:
        """Show a page by its name: those of the settings over whatever is shown, to come back to it."""
        page = getattr(import_module(f"trainer.app.screens.{name}"), f"{name.title()}Screen")()
        (self._over_all if page.has_class(SETTINGS_PAGE) else self._over_home)(page)

    def _over_all(self, screen: Screen[None]) -> None:
        """Show a page of the settings, in the place of the other one; where it is shown, once is enough."""
        if self.screen.has_class(SETTINGS_PAGE):
            if type(self.screen) is not type(screen):
                self.switch_screen(screen)
        elif not any(below.has_class(SETTINGS_PAGE) for below in self.screen_stack):
            self.push_screen(screen)

    def show_home(self) -> None:
        """Back home."""
        while len(self.screen_stack) > 1 and self.screen is not self._home:
            self.pop_screen()
        if self.screen is not self._home:
            from trainer.app.screens.home import HomeScreen

            self._home = HomeScreen()
            self.push_screen(self._home)

    def action_help(self) -> None:
        """Show what the screen is for and what its keys do."""
        from trainer.app.screens.help import HelpScreen

        if isinstance(self.screen, TrainerScreen) and not isinstance(self.screen, HelpScreen):
            self.push_screen(HelpScreen(self.screen))

    def action_command_palette(self) -> None:
        """List every action that there is on the screen, or on the one that help is about."""
        from trainer.app.screens.help import ActionsScreen, HelpScreen

        if isinstance(self.screen, HelpScreen):
            self.pop_screen()
        if isinstance(self.screen, TrainerScreen) and not isinstance(self.screen, ActionsScreen):
            self.push_screen(ActionsScreen(self.screen))

    def keep_picture(self) -> None:
        """Give the player a picture of the screen."""
        self.hand_over(f"screen-{datetime.now():%Y%m%d-%H%M%S}.svg", self.export_screenshot(), "picture")

    def hand_over(self, name: str, text: str, kind: str) -> None:
        """Write a file into the data folder, and say where; a browser gets it as a download."""
        if self.is_web:
            self.deliver_text(StringIO(text), save_filename=name)
            return
        try:
            keep_text(self.data_folder / name, text)
        except TrainerError as error:
            self.notify(f"Not written: {error}", severity="error", markup=False)
        else:
            self.notify(str(self.data_folder / name), title=f"Kept as a {kind}", markup=False)

    def _over_home(self, screen: Screen[None]) -> None:
        """Show one screen over home, in the place of any other; home need not be there yet."""
        if self.screen is self._home or len(self.screen_stack) == 1:
            self.push_screen(screen)
        else:
            self.switch_screen(screen)

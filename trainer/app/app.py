"""The app: which screen is shown."""

from typing import ClassVar

from textual import events
from textual.app import App
from textual.binding import Binding, BindingType
from textual.screen import Screen

from trainer.app import cell_shape
from trainer.app.screens.base import TrainerScreen
from trainer.app.screens.home import HomeScreen
from trainer.app.screens.play import PlayScreen
from trainer.app.theme import CLUB_ROOM
from trainer.app.widgets.picture import Picture
from trainer.game.game import Game
from trainer.game.played import Played
from trainer.pictures import GlyphSet
from trainer.records import RecordsError
from trainer.shots.level import Level


class TrainerApp(App[None]):
    """The game on the screen.

    Parameters
    ----------
    game : Game
        The player's game.
    start : Played, optional
        A set to play at once. Without one a player who has never called a shot gets the first
        level, and everybody else comes home.
    glyphs
        What pictures are drawn with.
    """

    TITLE = "See the angle of the pot"
    CSS_PATH = "trainer.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("question_mark,f1", "help", "Help", key_display="?"),
        Binding("ctrl+q", "quit", "Quit", show=False, priority=True),
    ]

    def __init__(self, game: Game, start: Played | None = None, *, glyphs: GlyphSet = "quadrants") -> None:
        super().__init__()
        self.game = game
        self._start = start
        self.glyphs: GlyphSet = glyphs
        self.cell_aspect = cell_shape.asked() or cell_shape.USUAL
        self.register_theme(CLUB_ROOM)
        self.theme = CLUB_ROOM.name

    def get_default_screen(self) -> Screen[None]:
        """Home lies under everything else."""
        return HomeScreen()

    def on_mount(self) -> None:
        """Begin with a shot, where there is one to begin with."""
        if self._start is not None:
            self.push_screen(PlayScreen(self._start))
        elif not self.game.attempts:
            self.play_level(self.game.next_level())

    def on_resize(self, event: events.Resize) -> None:
        """A terminal may say with its size how large its cells are; balls are drawn round by that."""
        if event.pixel_size is None:
            return
        aspect = cell_shape.aspect_of(event.size, event.pixel_size)
        if aspect is not None and aspect != self.cell_aspect:
            self.cell_aspect = aspect
            for picture in self.screen.query(Picture):
                picture.redraw()

    def play_level(self, level: Level) -> None:
        """Play a set of a level, going on with one left unfinished."""
        try:
            played = self.game.begin(level)
        except RecordsError as error:
            self.notify(f"Your calls could not be kept: {error}", severity="error")
            return
        self._over_home(PlayScreen(played))

    def show_summary(self, played: Played) -> None:
        """The end of a set."""
        from trainer.app.screens.summary import SummaryScreen

        self._over_home(SummaryScreen(played))

    def show_levels(self) -> None:
        """The list of levels."""
        from trainer.app.screens.levels import LevelsScreen

        self._over_home(LevelsScreen())

    def show_progress(self) -> None:
        """What the trainer thinks of the player's eye."""
        from trainer.app.screens.progress import ProgressScreen

        self._over_home(ProgressScreen())

    def show_home(self) -> None:
        """Back home."""
        while len(self.screen_stack) > 1:
            self.pop_screen()

    def action_help(self) -> None:
        """Show what the screen is for and what its keys do."""
        from trainer.app.screens.help import HelpScreen

        if isinstance(self.screen, TrainerScreen) and not isinstance(self.screen, HelpScreen):
            self.push_screen(HelpScreen(self.screen))

    def _over_home(self, screen: Screen[None]) -> None:
        """Show one screen over home, in the place of any other."""
        if len(self.screen_stack) > 1:
            self.switch_screen(screen)
        else:
            self.push_screen(screen)

"""Your terminal: how pictures come out here, chosen by looking at them."""

import os
from dataclasses import replace
from typing import ClassVar

from textual import events, on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.widgets import Static

from trainer.app.keys import bound
from trainer.app.screens.base import clickable
from trainer.app.screens.settings import SettingsPage
from trainer.app.widgets.picture import Picture
from trainer.pictures import GLYPH_SETS, GlyphSet, terminal
from trainer.pictures.asked import Pictures, pictures_in
from trainer.pictures.inset import painted_ball
from trainer.pictures.terminal import Chosen, Source, chosen_colours, chosen_glyphs, chosen_shape
from trainer.settings.keys import ANSWERS
from trainer.settings.settings import CELL_SHAPES, COLOURS, PICTURES, Settings
from trainer.settings.settings import KNOWN as KNOWN_WORD

STEP = 0.02  # of a cell's height over its width: about what an eye can see of a ball
DEPTHS = {terminal.DEPTH_NAMES[name]: name for name in COLOURS}
PICTURE_WORDS = (KNOWN_WORD, *PICTURES)
WIDE = 42  # columns of the choices
KNOWN = "known of this terminal"
CHOSEN = "bold $on-chosen on $chosen"


def said_of(pictures: Pictures) -> str:
    """What pictures are shown in, and why."""
    return f"{pictures.shown.value}: {pictures.why}"


class TerminalScreen(SettingsPage):
    """A ball to make round, shapes to compare, colours to go through; then all is kept, or left."""

    BINDINGS: ClassVar[list[BindingType]] = [
        bound("value_less", "shape(-1)", "Ball"),
        bound("value_more", "shape(1)", "Ball", show=False),
        bound("up", "glyphs(-1)", "Shapes"),
        bound("down", "glyphs(1)", "Shapes", show=False),
        *[
            bound(name, f"pick_glyphs({i})", "Those shapes", show=False)
            for i, name in enumerate(ANSWERS[: len(GLYPH_SETS)], 1)
        ],
        bound("colours", "colours", "Colours", show=False),
        bound("pixels", "pixels", "Pixels", show=False),
        bound("automatic", "as_known", "Automatic"),
        bound("other_page", "settings", "All"),
        bound("choose", "keep", "Keep"),
        bound("back", "leave", "Leave"),
    ]
    HELP_TEXT = (
        "Make the ball as wide as it is high; a ruler on the screen knows best. Of the shapes pick the last "
        "that comes out whole, with no gaps, boxes or marks. What you keep goes into settings.toml in the "
        "data folder, and every picture follows it. The variables "
        f"{terminal.GLYPHS_VARIABLE} and {terminal.COLOURS_VARIABLE} go before it."
    )

    def body(self) -> ComposeResult:
        """The ball, and beside it what can be chosen."""
        with Horizontal(id="terminal"):
            with Vertical(id="ball-side"):
                yield Picture(painted_ball, id="ball")
                yield Static(id="problems", markup=False)
            with Vertical(id="choices"):
                yield Static(id="standing")
                yield Static(id="pixels")
                yield Static(id="shape")
                yield Static(id="glyphs")
                yield Static(id="colours")

    def on_mount(self) -> None:
        """Begin with what the settings say now."""
        trainer = self.trainer
        for static in self.query("#choices Static").results(Static):
            static.auto_links = False  # what can be clicked has colours of its own
        self._before = trainer.glyphs, trainer.colours, trainer.own_aspect, trainer.pictures
        where = f"{trainer.data_folder}{os.sep}"
        self.show_problems([problem.removeprefix(where) for problem in self.read()])
        self._choose(self._saved)

    def on_resize(self, event: events.Resize) -> None:
        """With its size the terminal may have said how large its cells are."""
        self.show_chosen()

    # What is chosen

    @property
    def _glyphs(self) -> Chosen[GlyphSet]:
        return chosen_glyphs(os.environ, self.own.glyphs)

    @property
    def _colours(self) -> Chosen[terminal.Depth]:
        return chosen_colours(os.environ, self.own.colours)

    @property
    def _pictures(self) -> Pictures:
        return pictures_in(self.trainer.answer, os.environ, self.own.pictures)

    @property
    def _shape(self) -> Chosen[float]:
        return chosen_shape(self.own.cell_shape, self.trainer.said_aspect)

    def action_shape(self, steps: int) -> None:
        """Make the ball wider for its height, or narrower."""
        shape = min(max(self.trainer.cell_aspect + steps * STEP, CELL_SHAPES[0]), CELL_SHAPES[1])
        self._choose(replace(self.own, cell_shape=round(shape, 2)))

    def action_glyphs(self, steps: int) -> None:
        """Draw with the set of glyphs so many further down the list."""
        at = GLYPH_SETS.index(self.trainer.glyphs) + steps
        self.action_pick_glyphs(min(max(at, 0), len(GLYPH_SETS) - 1) + 1)

    def action_pick_glyphs(self, number: int) -> None:
        """Draw with the set of this number, from 1 on, unless a variable decides; the page says so."""
        if self._glyphs.source is not Source.VARIABLE:
            self._choose(replace(self.own, glyphs=GLYPH_SETS[number - 1]))

    def action_colours(self) -> None:
        """Go on to the next number of colours."""
        now = COLOURS.index(DEPTHS[self.trainer.colours])
        self.action_pick_colours(COLOURS[(now + 1) % len(COLOURS)])

    def action_pick_colours(self, name: str) -> None:
        """Draw with so many colours, unless a variable decides."""
        if self._colours.source is not Source.VARIABLE:
            self._choose(replace(self.own, colours=name))

    def action_pixels(self) -> None:
        """Show pictures in the next way."""
        self.action_pick_pictures(
            PICTURE_WORDS[(PICTURE_WORDS.index(self.own.pictures or KNOWN_WORD) + 1) % 3]
        )

    def action_pick_pictures(self, word: str) -> None:
        """Show pictures in pixels, in cells, or as the terminal can."""
        self._choose(replace(self.own, pictures=None if word == KNOWN_WORD else word))

    def action_as_known(self) -> None:
        """Choose nothing of the terminal's: all of that is as it is known to be."""
        self._choose(replace(self.own, glyphs=None, colours=None, cell_shape=None, pictures=None))

    @on(Picture.Rolled)
    def _rolled(self, message: Picture.Rolled) -> None:
        self.action_shape(message.steps)

    def _choose(self, own: Settings) -> None:
        self.own = own
        trainer = self.trainer
        trainer.draw_with(self._glyphs.value, self._colours.value, own.cell_shape, self._pictures)
        self.show_chosen()

    # Keeping and leaving

    def action_leave(self) -> None:
        """Leave everything as it was."""
        self.trainer.draw_with(*self._before)
        self.close()

    def action_settings(self) -> None:
        """Go to all the settings, unless something is chosen here and not kept yet."""
        if self.own == self._saved:
            self.trainer.show_page("settings")
        else:
            self.notify("Keep what you chose first, or leave it.")

    # Showing

    def show_chosen(self) -> None:
        """Say what is chosen, and who says so."""
        shape, glyphs, colours = self._shape, self._glyphs, self._colours
        key = self.keys.first
        self.query_one("#standing", Static).update(self.head("Your terminal"))
        self.query_one("#pixels", Static).update(
            Content.assemble(
                ("Pictures in ", "bold"),
                (f"  {key('pixels')} ", "bold $key"),
                *[
                    clickable(
                        f" {word} ",
                        f"screen.pick_pictures('{word}')",
                        CHOSEN if word == (self.own.pictures or KNOWN_WORD) else "",
                    )
                    for word in PICTURE_WORDS
                ],
                "\n",
                (said_of(self._pictures), "$quiet"),
            )
        )
        self.query_one("#shape", Static).update(
            Content.assemble(
                ("Is the ball round?  ", "bold"),
                clickable(" ◂ ", "screen.shape(-1)", "bold $key"),
                (f"{shape.value:.2f}", "bold"),
                clickable(" ▸ ", "screen.shape(1)", "bold $key"),
                (f"\ntoo wide: {key('value_less')}   too high: {key('value_more')}\n", "$quiet"),
                self._from(
                    shape.source,
                    "cell_shape",
                    "",
                    ("as the terminal says", "usual: the terminal doesn't say"),
                ),
            )
        )
        rows = [Content.styled("Which shapes are whole and smooth?", "bold")]
        for i, line in enumerate(terminal.samples()):
            number = i // 2 + 1
            name = GLYPH_SETS[number - 1]
            is_chosen = name == glyphs.value
            its = f" {key(ANSWERS[number - 1])} "
            row = Content.assemble((its if i % 2 == 0 else " " * len(its), "bold $key"), line)
            row = row.pad_right(WIDE - row.cell_length).stylize("on $panel" if is_chosen else "")
            if is_chosen and i % 2 == 0:
                row = row.stylize(CHOSEN, 0, len(f"{its}{name} "))
            rows.append(clickable(row, f"screen.pick_glyphs({number})"))
        rows.append(
            self._from(
                glyphs.source,
                "glyphs",
                terminal.GLYPHS_VARIABLE,
                (KNOWN, "usual: nearly every terminal draws them"),
            )
        )
        self.query_one("#glyphs", Static).update(Content("\n").join(rows))
        self.query_one("#colours", Static).update(
            Content.assemble(
                ("How many colours?", "bold"),
                (f"  {key('colours')} ", "bold $key"),
                *[
                    clickable(
                        f" {name} ",
                        f"screen.pick_colours('{name}')",
                        CHOSEN if name == DEPTHS[colours.value] else "",
                    )
                    for name in COLOURS
                ],
                "\n",
                self._from(
                    colours.source,
                    "colours",
                    terminal.COLOURS_VARIABLE,
                    (KNOWN, "usual: no more is known of this terminal"),
                ),
            )
        )

    def _from(self, source: Source, key: str, variable: str, else_said: tuple[str, str]) -> Content:
        """Where a value comes from; ``else_said`` are the words for what is known and what is usual."""
        if source is Source.VARIABLE:
            return Content.styled(f"set by {variable}, which goes first", "$warn")
        if source is Source.OWN:
            said = "your settings" if getattr(self.own, key) == getattr(self._saved, key) else "your choice"
        else:
            said = else_said[source is Source.USUAL]
        return Content.styled(said, "$quiet")

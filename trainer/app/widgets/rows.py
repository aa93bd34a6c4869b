"""A list of rows to pick from."""

from typing import ClassVar

from textual.binding import BindingType
from textual.widgets import OptionList

from trainer.app.keys import bound


class Rows(OptionList, inherit_bindings=False):
    """Textual's list by the player's keys, whose pages turn before it was ever drawn, too."""

    BINDINGS: ClassVar[list[BindingType]] = [
        bound("up", "cursor_up"),
        bound("down", "cursor_down"),
        bound("page_up", "page_up"),
        bound("page_down", "page_down"),
        bound("first", "first"),
        bound("last", "last"),
        bound("choose", "select"),
    ]

    def action_page_up(self) -> None:
        """A page up."""
        if self._is_laid_out():
            super().action_page_up()  # type: ignore[no-untyped-call]

    def action_page_down(self) -> None:
        """A page down."""
        if self._is_laid_out():
            super().action_page_down()  # type: ignore[no-untyped-call]

    def _is_laid_out(self) -> bool:
        """Whether there is a row to turn from; where its rows have changed, they are laid out anew."""
        self.scroll_to_highlight()
        return self.highlighted is not None

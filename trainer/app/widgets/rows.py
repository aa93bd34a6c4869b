"""A list of rows to pick from."""

from textual.widgets import OptionList


class Rows(OptionList):
    """Textual's list, whose pages turn before it was ever drawn, too."""

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

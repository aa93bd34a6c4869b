"""Help: what this screen is for, what its keys do (from the active bindings), what the words mean."""

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.content import Content
from textual.widgets import Static

from trainer.app.keys import bound
from trainer.app.offered import offered
from trainer.app.screens.base import TrainerScreen
from trainer.app.widgets.keyed import Page

WORDS = (
    ("call", "your answer"),
    ("fullness", "how much of the object ball's width the cue ball covers at contact, seen along the aim"),
    ("line of aim", "the line that the cue ball's centre travels to contact"),
    ("touching position", "where the cue ball's centre is when the balls touch"),
    ("cut", "the angle between the line of aim and the object ball's line to the pocket; half ball is 30°"),
    ("thick, thin", "hitting fuller, or less full, than the pot needs"),
    ("seen thick", "taken for fuller than it is, so that you would hit it thick"),
    ("forgives", "how far off a call may be and still pot, in parts of a ball's width"),
    ("settled", "five right in a row, and surely seen true: it rests, and comes back days later"),
    ("scatter", "how far your calls lie apart"),
)


class HelpScreen(TrainerScreen):
    """Help for the screen it was asked from."""

    BINDINGS: ClassVar[list[BindingType]] = [
        bound("back", "close", "Back"),
        *[bound(name, "close", "Back", show=False) for name in ("choose", "go_on", "help")],
        bound("every_action", "app.command_palette", "Every action", priority=True),
    ]

    def __init__(self, about: TrainerScreen) -> None:
        super().__init__()
        self._about = about

    def body(self) -> ComposeResult:
        """What it is for, keys, words."""
        yield Static(Content.styled("Help", "bold $head"), id="headline")
        with Page(id="page", can_focus=True):
            yield Static(self._text())

    def on_mount(self) -> None:
        """Let the arrow keys scroll."""
        self.query_one("#page").focus()

    def _text(self) -> Content:
        parts: list[Content] = []
        text = self._about.help_text()
        if text:
            parts.append(Content(text))
        parts.append(Content.styled("Keys here", "bold $head"))
        parts.append(self._table(self._keys()))
        parts.append(Content("Everything with a key can be clicked too, the points on the picture as well."))
        parts.append(Content.styled("Words", "bold $head"))
        parts.append(self._table(WORDS))
        return Content("\n\n").join(parts)

    def _keys(self) -> list[tuple[str, str]]:
        """Keys and what they do, taken from the bindings that are active on the screen asked about."""
        found: dict[str, list[str]] = {}
        for one in offered(self._about):
            keys = found.setdefault(one.what, [])
            if one.keys not in keys:
                keys.append(one.keys)
        return [(" ".join(keys), what) for what, keys in found.items()]

    @staticmethod
    def _table(rows: "list[tuple[str, str]] | tuple[tuple[str, str], ...]") -> Content:
        wide = max(len(left) for left, _ in rows)
        return Content("\n").join(
            Content.assemble((f"{left:>{wide}}", "bold $key"), "  ", right) for left, right in rows
        )

    def action_close(self) -> None:
        """Back to where help was asked for."""
        self.close()

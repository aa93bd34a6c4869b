"""The row of answers: keys and names, one of them perhaps considered, each of them clickable."""

from collections.abc import Sequence
from dataclasses import replace

from textual import events
from textual.content import Content
from textual.message import Message
from textual.widget import Widget

from trainer.drills import Choice

GAP = 3


class Answers(Widget):
    """Shows the choices in as many rows as they need; a click on one calls it."""

    can_focus = False
    ALLOW_SELECT = False

    class Called(Message):
        """An answer was clicked."""

        def __init__(self, index: int) -> None:
            super().__init__()
            self.index = index

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._labels: list[tuple[str, str]] = []
        self._selected: int | None = None

    def show(
        self, choices: Sequence[Choice], names: bool, selected: Choice | None, keys: Sequence[str] = ()
    ) -> None:
        """Show these choices; ``names`` false shows their numbers alone, and ``keys`` what calls each.

        Where its own key calls an answer, that stands before the number or the name.
        """
        keys = [*keys[: len(choices)], *(choice.key for choice in choices[len(keys) :])]
        self._labels = [
            (key, choice.name if names else "" if key == choice.key else choice.key)
            for choice, key in zip(choices, keys, strict=True)
        ]
        self._selected = None if selected is None else list(choices).index(selected)
        self.refresh(layout=True)

    def show_dial(self, considered: Choice, key: str, name: str, *, trial: bool, moved: bool) -> None:
        """Show the key that calls a number to be set, once it was ``moved``; without a ``name`` as it.

        Where it is only a ``trial`` the key goes on to the question.
        """
        if trial:
            text = "on to the question"
        elif moved:
            text = f"call {name or 'it'}"
        else:
            key, text = "", f"move it{f' from {name}' if name else ''}"
        self.show([replace(considered, key=key, name=text)], True, None)

    def _places(self, width: int) -> list[tuple[int, int, int]]:
        """Row, first column and length of each answer."""
        places, x, y = [], 0, 0
        for key, name in self._labels:
            length = len(key) + (len(name) + 1 if name else 0) + 2
            if x and x + length > width:
                x, y = 0, y + 1
            places.append((y, x, length))
            x += length + GAP - 2
        return places

    def render(self) -> Content:
        """The answers as text."""
        rows: list[Content] = []
        line = Content("")
        row = 0
        for i, (y, x, _) in enumerate(self._places(max(self.size.width, 1))):
            if y != row:
                rows.append(line)
                line, row = Content(""), y
            line = line + " " * (x - line.cell_length) + self._answer(i)
        return Content("\n").join([*rows, line])

    def _answer(self, i: int) -> Content:
        key, name = self._labels[i]
        text = f" {key} {name} " if name else f" {key} "
        if i == self._selected:
            return Content.styled(text, "bold $on-chosen on $chosen")
        answer = Content.assemble((f" {key}", "bold $key"))
        return answer + f" {name} " if name else answer + " "

    def get_content_height(self, container: object, viewport: object, width: int) -> int:
        """As many rows as the answers need."""
        places = self._places(width)
        return places[-1][0] + 1 if places else 1

    def on_click(self, event: events.Click) -> None:
        """Say where it was clicked."""
        for i, (y, x, length) in enumerate(self._places(self.size.width)):
            if event.y == y and x <= event.x < x + length:
                event.stop()
                self.post_message(self.Called(i))
                return

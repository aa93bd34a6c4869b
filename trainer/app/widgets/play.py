"""What stands around the board of a set: the line above, the small pictures beside, options, answers."""

import math
from collections.abc import Sequence
from dataclasses import replace
from functools import partial

from textual import events
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.message import Message
from textual.widget import Widget
from textual.widgets import Static

from trainer.app.scene import Scene
from trainer.app.widgets.picture import Drawing, Picture, ScenePicture, drawing_of
from trainer.drills import Choice, Dial, words
from trainer.drills.same import SameQuestion
from trainer.drills.words import counted
from trainer.learner.verdicts import IN_A_ROW
from trainer.pictures import colours
from trainer.pictures.inset import Hit, inset_view, painted_inset
from trainer.pictures.options import Option, painted_options, places
from trainer.pictures.projection import Projection, Viewport
from trainer.play.placement import FindPlace
from trainer.play.primer import Primer
from trainer.play.routine import Routine
from trainer.play.set_in_play import SetInPlay
from trainer.play.warmup import Warmup


class Top(Horizontal):
    """The line above the shot: title, number and stroke on the left, the run of right calls on the right."""

    def __init__(self, *, id: str | None = None) -> None:
        self._title, self._run = Static(id="title"), Static(id="run")
        super().__init__(self._title, self._run, id=id)

    def tell(self, played: SetInPlay, number: int, scene: Scene) -> None:
        """Say what a scene is of: the question of this number."""
        stroke = scene.question.shot.stroke
        title = Content.assemble(
            (played.level.title, "bold"),
            *_how_far(played, number, "both looks" if scene.pair else scene.look),
            (f"   {words.stroke(stroke)}" if stroke else "", "$quiet"),
        )
        self._title.update(title)
        if isinstance(played, Primer):
            self._run.update("")
            return
        run = run_dots(played.run)
        if played.cheer and number < played.number:  # with the mark of the call that earned it
            self._run.update(Content.styled(f" {played.cheer} ", "bold reverse $good"))
            return
        named = Content.styled("right in a row ", "$quiet") + run
        room = self.screen.size.width - 2 - title.cell_length - 3  # the padding, and a gap
        self._run.update(named if named.cell_length <= room else run)


def _how_far(played: SetInPlay, number: int, look: str) -> list[tuple[str, str]]:
    """Where in the set it is, and at which look at a shot; in a warm-up by the clock, how long it goes on."""
    if isinstance(played, Routine) and look:
        shot = played.shot_of_call(number)
        return [("   shot ", "$quiet"), (f"{shot}", ""), (f" of {played.of // 2}, ", "$quiet"), (look, "")]
    what = "page" if isinstance(played, Primer) else "shot"
    rest = f" of {played.of}{' at most' if isinstance(played, FindPlace) else ''}"
    if isinstance(played, Warmup) and played.by_clock:
        minutes = math.ceil(played.seconds_left / 60)
        rest = f"   {counted(minutes, 'minute')} to go" if minutes else ""
    return [(f"   {what} ", "$quiet"), (f"{number}", ""), (rest, "$quiet")]


def run_dots(run: int) -> Content:
    """The run of right calls as dots: five in a row settles a kind of shot."""
    full = min(run, IN_A_ROW)
    return Content.assemble(
        ("●" * full, "$head"),
        ("○" * (IN_A_ROW - full), "$quiet"),
        (f" {run}" if run > IN_A_ROW else "", "$head"),
    )


class Options(ScenePicture):
    """Shows a question's options: before the call the considered one stands out, after it the right one."""

    def drawing(self, scene: Scene) -> Drawing:
        """The options, after the call with what they are."""
        return partial(painted_options, _options(scene), way=scene.way)

    def answer_at(self, scene: Scene, x: int, y: int) -> Choice | None:
        """The option that is shown at a cell."""
        choices = scene.question.choices
        lying = zip(choices, places(len(choices), self.viewport), strict=True)
        return next((choice for choice, place in lying if place.holds(x, y)), None)


def _options(scene: Scene) -> list[Option]:
    """The options of a question; after the call how full each is, which was called and which is the same."""
    question, mark, found = scene.question, scene.mark, []
    assert isinstance(question, SameQuestion)
    for i, (option, choice) in enumerate(zip(question.options, question.choices, strict=True)):
        truth, label, paper = option.truth, choice.key, None
        if mark is not None:
            label = f"{label}  {truth.fullness:.2f}"
        if mark is None and choice == scene.considered:
            label, paper = f"{label} ◂", colours.CHALK
        elif mark is not None and i == question.best:
            label, paper = f"{label}  ✓ the same", colours.AMBER
        elif mark is not None and choice == mark.choice:
            label, paper = f"{label}  ✗ you said", colours.CHALK
        ink = None if paper is None else colours.ROOM
        touching = None if mark is None else truth.touching
        found.append(Option(option.shot, truth.target, label, ink, paper, touching))
    return found


NEAR = 2  # cells: a click this near to a candidate is meant for it


class Inset(ScenePicture):
    """Where on the object ball it is aimed."""

    def drawing(self, scene: Scene) -> Drawing:
        """The candidates, or the cue ball where it is considered; after the call what was called and true."""
        return partial(painted_inset, _hit(scene))

    def answer_at(self, scene: Scene, x: int, y: int) -> Choice | None:
        """What the drill takes the column's offset for."""
        view = inset_view(_hit(scene), self.viewport)
        return scene.drill.pointed(scene.question, view.offset(x), view.offset(NEAR) - view.offset(0))


def _hit(scene: Scene) -> Hit:
    question, mark, shown = scene.question, scene.mark, scene.shown
    labels = [choice.key for choice in question.choices] if shown.marks else ()
    hit = Hit(question.shot.table.reach, shown.marks, labels)
    if mark is None:
        at = shown.ghost if shown.selected is None else shown.marks[shown.selected]
        outlined = () if at is None else (at, -at) if shown.either_side else (at,)
        first = scene.shown_first
        was = first.ghost if first.selected is None else first.marks[first.selected]
        was = None if first.either_side else was
        return replace(hit, selected=shown.selected, outlined=outlined, edge=shown.edge, first=was)
    return replace(
        hit,
        edge=question.truth.offset if scene.parts[-1] == "offset" else None,
        first=None if scene.first is None else scene.first.offset,
        called=mark.offset if "call" in scene.parts else None,
        true=scene.drill.true_offset(question) if "fullness" in scene.parts else None,
    )


class WholeTable(ScenePicture):
    """Where on the table the shot is."""

    def drawing(self, scene: Scene) -> Drawing:
        """The whole of it from above, lying as the large picture shows it."""

        def project(viewport: Viewport) -> Projection:
            large = self.screen.query_one("#shot", Picture).viewport
            return scene.from_above(viewport, 0 if 0 in large.size else scene.projection(large).turns)

        return drawing_of(project, scene.located)


class Side(Vertical):
    """The two of them, the inset above the table."""

    def __init__(self, *, id: str | None = None) -> None:
        self._pictures = Inset(id="aim"), WholeTable(id="table")
        super().__init__(*self._pictures, id=id)

    def show_scene(self, scene: Scene) -> None:
        """Show this scene from now on."""
        for picture, wanted in zip(self._pictures, (scene.inset, scene.whole_table), strict=True):
            picture.display = wanted
            picture.set_class(not scene.inset, "alone")
            picture.show_scene(scene)


def jumps_words(dial: Dial, keys: Sequence[str]) -> str:
    """Where the first and the last key of a number to be set move it: ``1 far left, 9 far right``."""
    first, last = dial.ends
    return f"{keys[0]} {first}, {keys[len(dial.jumps) - 1]} {last}"


GAP = 3


class Answers(Widget):
    """The row of answers: shows the choices in as many rows as they need; a click on one calls it."""

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

    def show_dial(
        self, scene: Scene, considered: Choice, key: str, name: str, places: str, *, moved: bool
    ) -> None:
        """Show the key that calls a number to be set, once it was ``moved``; without a ``name`` as it.

        Where it is only a trial the key goes on to the question. What was chosen before is trusted.
        ``places`` says where the keys of numbers set it.
        """
        if scene.trial:
            text = f"on to the question   ({places})"
        elif scene.chosen is not None and considered.value == scene.chosen.value:
            text = f"trust {name or 'it'}"
        elif moved or scene.chosen is not None:
            text = f"call {name or 'it'}"
        else:
            key, text = "", f"move it{f' from {name}' if name else ''}   ({places})"
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

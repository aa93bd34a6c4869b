"""The shots to choose from, small and numbered."""

from functools import partial

from trainer.app.scene import Scene
from trainer.app.widgets.picture import Drawing, ScenePicture
from trainer.drills import Choice
from trainer.drills.same import SameQuestion
from trainer.pictures import colours
from trainer.pictures.options import Option, draw_options, places


class Options(ScenePicture):
    """Shows a question's options: before the call the considered one stands out, after it the right one."""

    def drawing(self, scene: Scene) -> Drawing:
        """The options, after the call with what they are."""
        if scene.mark is None:
            return partial(draw_options, _asked(scene), way=scene.way)
        return partial(draw_options, _answered(scene))

    def answer_at(self, scene: Scene, x: int, y: int) -> Choice | None:
        """The option that is shown at a cell."""
        viewport = self.viewport
        choices = scene.question.choices
        for choice, place in zip(
            choices, places(len(choices), viewport.size, viewport.cell_aspect), strict=True
        ):
            if place.holds(x, y):
                return choice
        return None


def _same(scene: Scene) -> SameQuestion:
    assert isinstance(scene.question, SameQuestion)
    return scene.question


def _asked(scene: Scene) -> list[Option]:
    """The options of a question, the considered one marked."""
    question = _same(scene)
    found = []
    for option, choice in zip(question.options, question.choices, strict=True):
        here = choice == scene.considered
        found.append(
            Option(
                option.shot,
                option.truth.target,
                f"{choice.key} ◂" if here else choice.key,
                ink=colours.ROOM if here else colours.MARK,
                paper=colours.CHALK if here else colours.ROOM,
            )
        )
    return found


def _answered(scene: Scene) -> list[Option]:
    """How full each is, which was called and which has the same angle."""
    question, mark = _same(scene), scene.mark
    found = []
    for i, (option, choice) in enumerate(zip(question.options, question.choices, strict=True)):
        said, ink, paper = "", colours.MARK, colours.ROOM
        if i == question.best:
            said, ink, paper = "✓ the same", colours.ROOM, colours.AMBER
        elif mark is not None and choice == mark.choice:
            said, ink, paper = "✗ you said", colours.ROOM, colours.CHALK
        label = f"{choice.key}  {option.truth.fullness:.2f}  {said}".rstrip()
        found.append(Option(option.shot, option.truth.target, label, ink, paper, option.truth.touching))
    return found

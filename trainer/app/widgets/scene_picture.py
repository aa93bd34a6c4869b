"""A picture of a scene; what is pointed at on it before the call is an answer."""

from abc import abstractmethod

from textual.message import Message

from trainer.app.scene import Scene
from trainer.app.widgets.picture import Drawing, Picture
from trainer.drills import Choice, Question


class ScenePicture(Picture):
    """Shows the scene that it is given.

    A subclass says what is drawn of it and which answer a cell stands for. After the call a click on it
    is one like on any picture.
    """

    class Pointed(Message):
        """An answer to a question was pointed at."""

        def __init__(self, question: Question, choice: Choice) -> None:
            super().__init__()
            self.question, self.choice = question, choice

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self.scene: Scene | None = None

    def show_scene(self, scene: Scene) -> None:
        """Show this scene from now on."""
        self.scene = scene
        self.show(self.drawing(scene))

    @abstractmethod
    def drawing(self, scene: Scene) -> Drawing:
        """What is drawn of a scene."""

    def answer_at(self, scene: Scene, x: int, y: int) -> Choice | None:
        """The answer that a cell stands for before the call, if it stands for one."""
        return None

    def clicked(self, x: int, y: int) -> None:
        """Before the call it points at an answer."""
        if self.scene is None or self.scene.mark is not None:
            super().clicked(x, y)
        else:
            self._point(self.scene, x, y)

    def dragged(self, across: int, down: int, x: int, y: int) -> None:
        """A number to be set goes with the mouse; an answer is called only by a click."""
        scene = self.scene
        if scene is not None and scene.mark is None and scene.question.dial is not None:
            self._point(scene, x, y)

    def _point(self, scene: Scene, x: int, y: int) -> None:
        choice = self.answer_at(scene, x, y)
        if choice is not None:
            self.post_message(self.Pointed(scene.question, choice))

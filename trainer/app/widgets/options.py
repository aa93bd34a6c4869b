"""The shots to choose from, small and numbered."""

from functools import partial

from trainer.app.cell_shape import USUAL
from trainer.app.widgets.picture import Picture
from trainer.drills import Choice, Mark, Question
from trainer.pictures import colours
from trainer.pictures.options import Option, draw_options, places


class Options(Picture):
    """Shows a question's options: before the call the considered one stands out, after it the right one."""

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._count = 0

    def ask(self, question: Question, considered: Choice | None, way: bool) -> None:
        """Show the options of a question; ``way``: with the lines from object balls to pockets."""
        self._count = len(question.options)
        found = []
        for option, choice in zip(question.options, question.choices, strict=True):
            here = choice == considered
            found.append(
                Option(
                    option.shot,
                    option.truth.target,
                    f"{choice.key} ◂" if here else choice.key,
                    ink=colours.ROOM if here else colours.MARK,
                    paper=colours.CHALK if here else colours.ROOM,
                )
            )
        self.show(partial(draw_options, found, way=way))

    def tell(self, mark: Mark) -> None:
        """Show how full each is, which was called and which has the same angle."""
        question = mark.question
        self._count = len(question.options)
        found = []
        for i, (option, choice) in enumerate(zip(question.options, question.choices, strict=True)):
            said, ink, paper = "", colours.MARK, colours.ROOM
            if i == question.best:
                said, ink, paper = "✓ the same", colours.ROOM, colours.AMBER
            elif choice == mark.choice:
                said, ink, paper = "✗ you said", colours.ROOM, colours.CHALK
            label = f"{choice.key}  {option.truth.fullness:.2f}  {said}".rstrip()
            found.append(Option(option.shot, option.truth.target, label, ink, paper, option.truth.touching))
        self.show(partial(draw_options, found))

    def option_at(self, x: int, y: int) -> int | None:
        """Which option is shown at a cell."""
        size, aspect = (self.size.width, self.size.height), getattr(self.app, "cell_aspect", USUAL)
        for i, place in enumerate(places(self._count, size, aspect)):
            if place.holds(x, y):
                return i
        return None

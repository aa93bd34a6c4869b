"""Beside the shot: the object ball as the cue ball sees it, and the whole table."""

from functools import partial

from textual.containers import Vertical

from trainer.app.scene import Scene
from trainer.app.widgets.picture import Drawing, ScenePicture, drawing_of
from trainer.drills import Choice
from trainer.pictures.inset import draw_inset, inset_view

NEAR = 2  # cells: a click this near to a candidate is meant for it


class Inset(ScenePicture):
    """Where on the object ball it is aimed."""

    def drawing(self, scene: Scene) -> Drawing:
        """The candidates, or the cue ball where it is considered; after the call what was called and true."""
        question, mark, shown = scene.question, scene.mark, scene.shown
        table = question.shot.table
        draw = partial(
            draw_inset,
            reach=table.reach,
            cue_ratio=table.balls.cue_radius / table.balls.object_radius,
            candidates=shown.marks,
            labels=[choice.key for choice in question.choices] if shown.marks else (),
        )
        if mark is None:
            outlined = partial(draw, ghost=shown.ghost, either_side=shown.either_side)
            return partial(outlined, selected=shown.selected, edge=shown.edge)
        return partial(
            draw,
            edge=question.truth.offset if scene.parts[-1] == "offset" else None,
            called=mark.offset if "call" in scene.parts else None,
            true=scene.drill.true_offset(question) if "fullness" in scene.parts else None,
        )

    def answer_at(self, scene: Scene, x: int, y: int) -> Choice | None:
        """What the drill takes the column's offset for."""
        view = inset_view(
            self.viewport.size,
            reach=scene.question.shot.table.reach,
            candidates=scene.shown.marks,
            cell_aspect=self.viewport.cell_aspect,
        )
        return scene.drill.pointed(scene.question, view.offset(x), view.offset(NEAR) - view.offset(0))


class WholeTable(ScenePicture):
    """Where on the table the shot is."""

    def drawing(self, scene: Scene) -> Drawing:
        """The whole of it from above."""
        return drawing_of(scene.from_above, scene.located)


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

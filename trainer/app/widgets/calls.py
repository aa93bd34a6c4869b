"""The calls of a set as a chart."""

from functools import partial

from trainer.app.widgets.picture import Picture
from trainer.pictures.charts import draw_calls_chart
from trainer.play.summary import Errors
from trainer.shots.style import Style


class CallsPicture(Picture):
    """Shows how full each shot of a set was seen."""

    def __init__(self, errors: Errors, style: Style) -> None:
        draw = partial(
            draw_calls_chart,
            offsets=errors.sines,
            errors=errors.errors,
            forgiven=errors.forgiven,
            style=style,
        )
        super().__init__(draw, id="calls")

"""The drill *throw*: the aim that pots once friction between the balls is counted."""

import math
from dataclasses import replace

from trainer.drills import words
from trainer.drills.drill import ANGLE, miss_of, run_at
from trainer.drills.mark import Mark
from trainer.drills.question import Question
from trainer.drills.slide import Slide
from trainer.geometry.aiming import SPEEDS
from trainer.shots.style import HAIR, Style
from trainer.shots.truth import truth_of

HARDLY = 0.5  # mm at the pocket


class Throw(Slide):
    """Allow for throw."""

    name = "throw"
    title = "Allow for throw"
    help = (
        "Friction at contact throws the object ball a little along the cue ball's way, so a cut must be hit "
        "thinner than it looks: most at slow speed and with stun, when the cue ball slides and doesn't roll. "
        "The speed and the spin are said above; slide the line of aim to where the ball pots with them. "
        "The mark says how far wide you would be without allowing for it."
    )
    skill = "throw"
    tells_of = (ANGLE,)  # what isn't throw is seeing, and what is seen wrong everywhere isn't throw
    speeds = tuple(SPEEDS)

    prompt = "Slide the line to where it pots with throw."

    def detail(self, mark: Mark, style: Style) -> str:
        """Where it goes, and what throw does."""
        more = f" {words.how_hard(mark, style)}" if mark.potted else ""
        off = words.played_off(mark)
        if mark.potted and abs(off) >= HAIR:  # no room for what it touches on its way
            said = f"It is {words.sizes(mark, style, off)}. "
        else:
            said = words.landed(mark, style)
        return f"{said}{what_throw_does(mark.question, style)}{more}"


def what_throw_does(question: Question, style: Style) -> str:
    """``Throw straightens it by 2.9°, 1/24 ball: 41 mm wide if not allowed for.``"""
    shot, truth = question.shot, question.truth
    if shot.stroke is None:
        return "Throw isn't counted here."
    plain = truth_of(replace(shot, stroke=None)).offset
    by = style.room(truth.offset - plain)
    way = run_at(shot, plain).way
    wide = miss_of(shot, truth.target, way)
    degrees = math.degrees(truth.throw)
    if wide < HARDLY:
        return "Throw hardly turns it."
    does = "straightens it by" if truth.throw >= 0 else "cuts it more, by"
    said = f"Throw {does} {abs(degrees):.1f}°, {by}"
    return f"{said}: {style.distance(wide)} wide if not allowed for."

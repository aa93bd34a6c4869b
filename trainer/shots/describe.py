"""A shot and its truth as the plain objects that scripts read, and as lines for people."""

import math
from typing import Any

from trainer.geometry.tables import Table
from trainer.shots.shot import Shot
from trainer.shots.style import Style
from trainer.shots.truth import Truth

# Angles come from the machine's own arcsine and arctangent, which may differ in the last bit.
DIGITS = 12


def shot_object(
    shot: Shot, truth: Truth, *, seed: int | None, level: str | None, answer: bool = True
) -> dict[str, Any]:
    """The JSON object of a shot: mm and degrees; ``answer`` false leaves the truth out."""
    table = shot.table
    found: dict[str, Any] = {
        "seed": seed,
        "level": level,
        "table": {
            "name": table.name,
            "length_mm": table.length,
            "width_mm": table.width,
            "cue_ball_mm": 2 * table.balls.cue_radius,
            "object_ball_mm": 2 * table.balls.object_radius,
        },
        "cue_ball": list(shot.cue_ball),
        "object_ball": list(shot.object_ball),
        "pocket": {"name": shot.pocket, "target": list(truth.target)},
    }
    if shot.others:
        found["others"] = [list(place) for place in shot.others]
    if shot.stroke is not None:
        found["stroke"] = {
            "speed_m_s": shot.stroke.speed,
            "roll": shot.stroke.roll,
            "side_spin": shot.stroke.side_spin,
        }
    if answer:
        found["truth"] = truth_object(truth)
    return found


def command_of(shot: Shot) -> str:
    """The command that works out this shot again, as it lies; other balls about are left out.

    Roll between stun and natural roll has no word: the nearer of the two is said.
    """
    places = (("cue-ball", shot.cue_ball), ("object-ball", shot.object_ball))
    words = ["trainer shot", f"--table {shot.table.name}"]
    words += [f"--{name}={x!r},{y!r}" for name, (x, y) in places]
    words.append(f"--pocket {shot.pocket}")
    if shot.stroke is not None:
        spin = "stun" if shot.stroke.roll < 0.5 else "roll"
        words.append(f"--speed {shot.stroke.speed!r} --spin {spin} --side-spin={shot.stroke.side_spin!r}")
    return " ".join(words)


def truth_object(truth: Truth) -> dict[str, Any]:
    """The JSON object of a truth."""
    return {
        "cut_deg": round(math.degrees(truth.cut), DIGITS),
        "side": truth.side,
        "fullness": round(truth.fullness, DIGITS),
        "band": truth.band,
        "offset": round(truth.offset, DIGITS),
        "touching": list(truth.touching),
        "throw_deg": round(math.degrees(truth.throw), DIGITS),
        "margin": [round(end, DIGITS) for end in truth.margin],
    }


def place(table: Table, point: tuple[float, float], style: Style) -> str:
    """A place on the table in words: ``1200 mm up from the baulk cushion, 300 mm from the left one``."""
    x, y = point
    from_left = table.width - y
    side = (
        f"{style.length(from_left)} from the left" if from_left < y else f"{style.length(y)} from the right"
    )
    return f"{style.length(x)} up from the baulk cushion, {side}-hand one"

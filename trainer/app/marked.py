"""What is said of a mark: the headline, with what the lines on the picture are, and what came of it."""

from textual.content import Content

from trainer.app.scene import Scene
from trainer.drills import Mark, detail, headline

# What the lines are, with colours and without; the first of each with room.
LEGENDS = {
    True: ("   white: {true}   blue: {played}", "   blue: {played}"),
    False: ("   solid: {true}   dashed: {played}", "   dashed: {played}"),
}
# Told with the first mark of all.
FULLNESS = (
    "Fullness: how much of the object ball the cue ball covers. "
    "Thick: fuller than the pot needs; thin: less full."
)


def mark_headline(scene: Scene, mark: Mark, room: int, *, coloured: bool) -> Content:
    """The mark in one row of ``room`` columns."""
    said = ("✓ " if mark.right else "✗ ") + headline(mark, scene.style)
    legends = [text.format(true=scene.drill.true, played=scene.drill.played) for text in LEGENDS[coloured]]
    shown = legends if "call" in scene.parts else ()
    legend = next((text for text in shown if len(text) <= room - len(said)), "")
    return Content.assemble((said, f"bold {'$good' if mark.right else '$head'}"), (legend, "$quiet"))


def mark_detail(scene: Scene, mark: Mark, *, is_first: bool) -> Content:
    """What came of it, or a step of its construction; with the first mark, what fullness is."""
    if scene.step is not None:
        where = f"{scene.explained} of {len(scene.steps)}  "
        return Content.assemble((where, "$quiet"), scene.step.says)
    return Content(FULLNESS if is_first else detail(mark, scene.style))

"""Pieces of text that several screens show: what can be clicked, an interval, what is said of a mark."""

from textual.content import Content
from textual.style import Style

from trainer.app.scene import Scene
from trainer.drills import Mark, detail, headline

FULL_SCALE = 1 / 8  # balls at either end
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


def clickable(text: str | Content, action: str, style: str = "") -> Content:
    """Text with a style that runs an action of its screen where it is clicked."""
    content = text if isinstance(text, Content) else Content(text)
    return content.stylize(style).stylize(Style.from_meta({"@click": action}))


def interval(low: float, mean: float, high: float, half: int) -> str:
    """An interval and its middle, in balls, + thick, on a line of ``half`` cells to either side of true."""
    cells = [" "] * (2 * half + 1)

    def place(value: float) -> int:
        return round(half + max(-1.0, min(1.0, value / FULL_SCALE)) * half)

    for i in range(place(low), place(high) + 1):
        cells[i] = "─"
    cells[half] = "│" if cells[half] == " " else "┼"
    cells[place(mean)] = "●"
    return "".join(cells)


def true_line(half: int) -> str:
    """The same where nothing is known."""
    return f"{' ' * half}│{' ' * half}"


def ends(half: int) -> Content:
    """What is to the left and to the right of the lines below."""
    return Content.styled(f"{'thin':<{half}} {'thick':>{half}}", "$quiet")


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

"""How thick or thin something is seen, and how sure that is, as a line of text."""

from textual.content import Content

FULL_SCALE = 1 / 8  # balls at either end


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

"""A practice card in plain characters: it prints on anything."""

from collections.abc import Iterator

from trainer.geometry.tables import POCKETS, Table
from trainer.report.card import OUTCOMES, TRIES, Card, wrapped
from trainer.shots.layout import Layout
from trainer.shots.shot import Point

WIDE = 78  # columns
PLAN = (48, 12)  # columns and rows inside the cushions; a character is about twice as high as wide
CUE_BALL, BALL, POCKET, PLAYED, WAY = "C", "O", "o", "@", "."
NAMES = 13  # columns for the name of a line


def card_text(card: Card) -> str:
    """The whole card, ``WIDE`` columns at most."""
    lines = [f"Practice card: {card.heading}", ""]
    lines += wrapped(" ".join(card.how), WIDE)
    lines += wrapped(
        f"On the plans {CUE_BALL} is the cue ball, {BALL} the object ball, {PLAYED} the pocket to play; "
        "baulk is at their left end, the left-hand cushion on top.",
        WIDE,
    )
    for number, layout in enumerate(card.layouts, 1):
        lines += ["", *_layout(card, number, layout)]
    again = f"The same card again: --seed {card.seed}"
    return "\n".join([*lines, "", again])


def _layout(card: Card, number: int, layout: Layout) -> Iterator[str]:
    yield f"{number}. {layout.wanted.name}, {layout.shot.pocket} pocket"
    for name, said in card.lines(layout):
        first = f"   {name:<{NAMES}}"
        yield from wrapped(said, WIDE, first=first, indent=" " * len(first))
    beside = _boxes()
    for i, row in enumerate(_plan(card.table, layout)):
        yield f"   {row}   {beside.get(i, '')}".rstrip()


def _boxes() -> dict[int, str]:
    """The boxes to tick, by the row of the plan that they stand beside."""
    rows = {3: " " * 7 + "".join(f" {k} " for k in range(1, TRIES + 1))}
    rows |= {4 + 2 * i: f"{name:<7}" + "[ ]" * TRIES for i, name in enumerate(OUTCOMES)}
    return rows


def _plan(table: Table, layout: Layout) -> list[str]:
    """The whole table from above, baulk on the left."""
    columns, rows = PLAN
    shot, truth = layout.shot, layout.truth
    field = [
        list(f"+{'-' * columns}+"),
        *(list(f"|{' ' * columns}|") for _ in range(rows)),
        list(f"+{'-' * columns}+"),
    ]

    def cell(point: Point) -> tuple[int, int]:
        column = min(max(int(point[0] / table.length * columns), 0), columns - 1)
        row = min(max(int((1.0 - point[1] / table.width) * rows), 0), rows - 1)
        return 1 + row, 1 + column

    for start, end in ((shot.cue_ball, truth.touching), (shot.object_ball, truth.target)):
        steps = 2 * columns
        for k in range(steps + 1):
            part = k / steps
            row, column = cell((start[0] + (end[0] - start[0]) * part, start[1] + (end[1] - start[1]) * part))
            field[row][column] = WAY
    for name in POCKETS:
        column = {"baulk": 0, "middle": (columns + 1) // 2, "top": columns + 1}[name.split("-")[0]]
        row = 0 if name.endswith("left") else rows + 1
        field[row][column] = PLAYED if name == shot.pocket else POCKET
    for point, sign in ((shot.object_ball, BALL), (shot.cue_ball, CUE_BALL)):
        row, column = cell(point)
        field[row][column] = sign
    return ["".join(row) for row in field]

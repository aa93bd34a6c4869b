"""A practice card as pages to print: SVG in black on white, in millimetres of paper.

Nothing relies on a font: widths are reckoned for a wide one, and the lines are broken to fit.
"""

import math
from collections.abc import Callable, Sequence
from xml.etree import ElementTree as ET

from trainer.geometry.tables import POCKETS, Table
from trainer.report.card import OUTCOMES, TRIES, Card, wrapped
from trainer.shots.layout import Layout
from trainer.shots.shot import Point

DRAWN = "On the plan the object ball is black, the cue ball white."
To = Callable[[Point], Point]  # from the table to the paper, mm
PAPERS = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}  # mm: ISO 216, ANSI A
PER_PAGE = 4
# mm of paper from here on.
MARGIN, GAP, HEAD = 12.0, 8.0, 32.0
LINE, TEXT, SMALL, TITLE = 3.8, 3.0, 2.6, 4.2  # line spacing, and sizes of type
LETTER = 0.56  # of the size of type: how wide a letter is at most on average, in a wide font
TALLEST = 31.0  # of a plan between the noses, so that text and boxes have room below it
WIDEST = 0.8  # the same of a word in capitals
RAIL = 7.0  # round the noses: diamonds and numbers
BOX, STEP = 4.0, 5.6  # boxes to tick, and from one to the next
SIGHT = 7.5  # radius of the object ball in the picture along the line of aim
INK, THIN, HAIR = 0.35, 0.2, 0.12  # widths of lines


def card_pages(card: Card, paper: str) -> list[str]:
    """The pages of a card, each a whole SVG document.

    Parameters
    ----------
    card : Card
    paper : str
        A name in ``PAPERS``.
    """
    groups = [card.layouts[i : i + PER_PAGE] for i in range(0, len(card.layouts), PER_PAGE)]
    pages = []
    for k, group in enumerate(groups):
        page = f"page {k + 1} of {len(groups)}, " if len(groups) > 1 else ""
        pages.append(_page(card, PAPERS[paper], k * PER_PAGE, group, f"{page}seed {card.seed}"))
    return pages


def _page(card: Card, size: tuple[float, float], before: int, group: Sequence[Layout], foot: str) -> str:
    wide, high = size
    svg = ET.Element(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg",
            "width": f"{wide:g}mm",
            "height": f"{high:g}mm",
            "viewBox": f"0 0 {wide:g} {high:g}",
            "font-family": "sans-serif",
            "fill": "black",
        },
    )
    ET.SubElement(svg, "title").text = f"{card.title}: {card.heading}"
    # A browser prints the page as large as it is, without margins of its own.
    ET.SubElement(svg, "style").text = f"@page {{ size: {wide:g}mm {high:g}mm; margin: 0 }}"
    _add(svg, "rect", x=0, y=0, width=wide, height=high, fill="white")
    _text(svg, MARGIN, MARGIN + TITLE, card.title, TITLE, weight="bold")
    # A player's own title may be long, and all in capitals.
    size_of_heading = min(TEXT, (wide - 2 * MARGIN - 10 * TITLE) / (len(card.heading) * WIDEST))
    _text(svg, wide - MARGIN, MARGIN + TITLE, card.heading, size_of_heading, anchor="end", name="heading")
    letters = int((wide - 2 * MARGIN) / (SMALL * LETTER))
    how = wrapped(" ".join([*card.how, DRAWN]), letters)
    _lines(svg, MARGIN, MARGIN + 10.0, how, SMALL, "how")
    _text(svg, wide - MARGIN, high - MARGIN + 4.0, foot, SMALL, anchor="end")
    column = (wide - 2 * MARGIN - GAP) / 2
    row = (high - 2 * MARGIN - HEAD + GAP) / 2
    for i, layout in enumerate(group):
        left = MARGIN + (i % 2) * (column + GAP)
        top = MARGIN + HEAD + (i // 2) * row
        part = _add(svg, "g", id=f"layout-{before + i + 1}")
        _layout(part, card, before + i + 1, layout, (left, top), column)
    ET.indent(svg)
    return ET.tostring(svg, encoding="unicode", xml_declaration=False) + "\n"


def _layout(into: ET.Element, card: Card, number: int, layout: Layout, at: Point, wide: float) -> None:
    left, top = at
    _text(into, left, top, f"{number}. {layout.wanted.name}", TITLE, weight="bold", name="kind")
    _text(into, left + wide, top, f"{layout.shot.pocket} pocket", TEXT, anchor="end", name="pocket-said")
    bottom = _plan(into, card, layout, (left, top + 2.5), wide)
    line = bottom + 4.5
    letters = int(wide / (SMALL * LETTER))
    for name, said in card.lines(layout):
        lines = wrapped(f"{name[:1].upper()}{name[1:]}: {said}", letters)
        _lines(into, left, line, lines, SMALL, f"{name.replace(' ', '-')}-said", bold=len(name) + 1)
        line += SMALL * LINE / TEXT * len(lines)
    _boxes(into, left, line)
    _sight(into, card.table, layout, (left + wide - 2.2 * SIGHT, line + SIGHT + 2.5))


def _plan(into: ET.Element, card: Card, layout: Layout, at: Point, wide: float) -> float:
    """The whole table to scale, baulk on the left; returns where it ends, y."""
    table, shot = card.table, layout.shot
    scale = min((wide - 2 * RAIL) / table.length, TALLEST / table.width)
    left, top = at[0] + (wide - table.length * scale) / 2, at[1] + RAIL
    plan = _add(into, "g", name="plan")

    def to(point: Point) -> Point:
        return left + point[0] * scale, top + (table.width - point[1]) * scale

    _marks(plan, table, to, scale)
    _add(plan, "rect", name="noses", x=left, y=top, width=table.length * scale, height=table.width * scale,
         fill="none", stroke="black", stroke_width=INK)  # fmt: skip
    for k, name in enumerate(POCKETS):
        right_jaw, left_jaw = (to((float(x), float(y))) for x, y in table.jaws[k])
        called = name == shot.pocket
        centre = (right_jaw[0] + left_jaw[0]) / 2, (right_jaw[1] + left_jaw[1]) / 2
        radius = math.dist(right_jaw, left_jaw) / 2
        _add(plan, "circle", name="played-pocket" if called else "pocket", cx=centre[0], cy=centre[1],
             r=radius * (1.5 if called else 1.0), fill="#999999" if called else "white",
             stroke="black", stroke_width=INK if called else THIN)  # fmt: skip
    balls = table.balls
    touching, target = to(layout.truth.touching), to(layout.truth.target)
    cue, ball = to(shot.cue_ball), to(shot.object_ball)
    _distances(plan, table, to, layout)
    _line(plan, ball, target, INK)
    _line(plan, cue, touching, INK)
    _ring(plan, "touching", touching, balls.cue_radius * scale, "none", HAIR)
    _ring(plan, "object-ball", ball, balls.object_radius * scale, "black", HAIR)
    _ring(plan, "cue-ball", cue, balls.cue_radius * scale, "white", THIN)
    return top + table.width * scale + RAIL


def _marks(plan: ET.Element, table: Table, to: To, scale: float) -> None:
    """Baulk line, D and spots; diamonds in the rail."""
    grey = "#777777"
    if not table.diamonds:
        _line(plan, to((table.baulk, 0.0)), to((table.baulk, table.width)), HAIR, grey)
    if table.d_radius:
        low, high = (to((table.baulk, table.width / 2 + s * table.d_radius)) for s in (-1, 1))
        arc = f"A {table.d_radius * scale:.3f} {table.d_radius * scale:.3f} 0 0 1"
        _add(plan, "path", d=f"M {low[0]:.3f} {low[1]:.3f} {arc} {high[0]:.3f} {high[1]:.3f}",
             fill="none", stroke=grey, stroke_width=HAIR)  # fmt: skip
    for spot in table.spots:
        x, y = to(spot)
        _add(plan, "path", d=f"M {x - 0.5:.3f} {y:.3f} h 1 M {x:.3f} {y - 0.5:.3f} v 1", stroke=grey,
             stroke_width=HAIR)  # fmt: skip
    if table.diamonds:
        length, width = table.size
        along, across = length / table.diamonds, 2 * width / table.diamonds
        ends = [(k * along, y) for k in range(1, table.diamonds) for y in (0.0, width)]
        ends += [(x, k * across) for k in range(1, table.diamonds // 2) for x in (0.0, length)]
        for end in ends:
            (x, y), (mx, my) = to(end), to((length / 2, width / 2))
            on_side = end[1] in (0.0, width)
            x += 0.0 if on_side else math.copysign(1.6, x - mx)
            y += math.copysign(1.6, y - my) if on_side else 0.0
            _add(plan, "path", name="diamond", d=f"M {x - 0.6:.3f} {y:.3f} l 0.6 -0.6 l 0.6 0.6 l -0.6 0.6 z")


def _distances(plan: ET.Element, table: Table, to: To, layout: Layout) -> None:
    """From each ball a line to the two cushions that it is measured from, and the number at its end."""
    noses = {"baulk": 0.0, "top": table.length, "right-hand": 0.0, "left-hand": table.width}
    ends: dict[str, list[tuple[Point, str]]] = {cushion: [] for cushion in noses}
    for place in (layout.object_ball, layout.cue_ball):
        x, y = place.at
        for measure, end in (
            (place.along, (noses[place.along.cushion], y)),
            (place.across, (x, noses[place.across.cushion])),
        ):
            _line(plan, to(place.at), to(end), HAIR, dash="0.6 0.6")
            ends[measure.cushion].append((to(end), _short(measure.said)))
    for cushion, labels in ends.items():
        _labels(plan, cushion, labels)


def _short(said: str) -> str:
    """A distance as a plan has room for it: ``640``, ``2 1/2 d``."""
    count, _, unit = said.rpartition(" ")
    return f"{count} d" if unit.startswith("diamond") else count


def _labels(plan: ET.Element, cushion: str, labels: Sequence[tuple[Point, str]]) -> None:
    """Numbers along the outside of a cushion; those of the short ones run up the page."""
    upright = cushion in ("baulk", "top")
    axis = 1 if upright else 0
    places = [end[axis] for end, _ in labels]
    if len(labels) == 2:
        need = sum(len(said) for _, said in labels) / 2 * SMALL * LETTER + 1.0
        missing = max(need - abs(places[0] - places[1]), 0.0) / 2
        way = 1.0 if places[0] >= places[1] else -1.0
        places = [places[0] + way * missing, places[1] - way * missing]
    for (end, said), along in zip(labels, places, strict=True):
        if upright:
            x = end[0] + (-3.0 if cushion == "baulk" else 3.0 + 0.75 * SMALL)
            text = _text(plan, 0.0, 0.0, said, SMALL, anchor="middle", name="distance")
            text.set("transform", f"translate({x:.3f} {along:.3f}) rotate(-90)")
        else:
            y = end[1] + (-3.0 if cushion == "left-hand" else 3.0 + 0.75 * SMALL)
            _text(plan, along, y, said, SMALL, anchor="middle", name="distance")


def _boxes(into: ET.Element, left: float, top: float) -> None:
    """Five tries, each with a box for what came of it."""
    first = left + 15.0
    for k in range(TRIES):
        _text(into, first + k * STEP + BOX / 2, top + 1.0, str(k + 1), SMALL, anchor="middle")
    for i, name in enumerate(OUTCOMES):
        y = top + 2.0 + i * STEP
        _text(into, left, y + BOX - 0.9, name, TEXT)
        for k in range(TRIES):
            _add(into, "rect", name=name, x=first + k * STEP, y=y, width=BOX, height=BOX, fill="none",
                 stroke="black", stroke_width=THIN)  # fmt: skip


def _sight(into: ET.Element, table: Table, layout: Layout, at: Point) -> None:
    """The hit as it is seen along the line of aim: the cue ball before the object ball."""
    balls = table.balls
    scale = SIGHT / balls.object_radius
    sign = 0.0 if not layout.wanted.side else layout.truth.sign
    beside = sign * (1.0 - layout.wanted.band.value) * table.reach * 2 * balls.object_radius * scale
    radius = balls.cue_radius * scale
    sight = _add(into, "g", name="sight")
    down = at[1] + SIGHT - radius  # both rest on the cloth
    middle = at[0] - beside / 2  # so that the two together stay where there is room
    _text(sight, at[0], at[1] - SIGHT - 1.5, "seen along the aim", SMALL, anchor="middle")
    _ring(sight, "seen-object-ball", (middle, at[1]), SIGHT, "#bbbbbb", THIN)
    _ring(sight, "seen-cue-ball", (middle + beside, down), radius, "none", INK)
    _line(sight, (middle, at[1] - SIGHT), (middle, at[1] + SIGHT), HAIR, dash="0.6 0.6")
    _line(sight, (middle + beside, down - radius), (middle + beside, down + radius), HAIR)


def _ring(into: ET.Element, name: str, at: Point, radius: float, fill: str, width: float) -> None:
    _add(into, "circle", name=name, cx=at[0], cy=at[1], r=radius, fill=fill, stroke="black",
         stroke_width=width)  # fmt: skip


def _line(
    into: ET.Element, start: Point, end: Point, width: float, colour: str = "black", dash: str | None = None
) -> None:
    line = _add(into, "line", x1=start[0], y1=start[1], x2=end[0], y2=end[1], stroke=colour,
                stroke_width=width)  # fmt: skip
    if dash:
        line.set("stroke-dasharray", dash)


def _text(
    into: ET.Element,
    x: float,
    y: float,
    said: str,
    size: float,
    *,
    anchor: str = "start",
    weight: str = "normal",
    name: str | None = None,
) -> ET.Element:
    text = _add(into, "text", name=name, x=x, y=y, font_size=size, text_anchor=anchor, font_weight=weight)
    text.text = said
    return text


def _lines(
    into: ET.Element, x: float, y: float, lines: Sequence[str], size: float, name: str, bold: int = 0
) -> None:
    """Lines of text below each other, as one text; its first letters may be ``bold``."""
    text = _add(into, "text", name=name, font_size=size)
    for i, line in enumerate(lines):
        part = _add(text, "tspan", x=x, y=y + i * size * LINE / TEXT)
        if i == 0 and bold:
            part.set("font-weight", "bold")
            part.text, part = line[:bold], ET.SubElement(text, "tspan")
        part.text = line[bold:].lstrip() if i == 0 and bold else line


def _add(into: ET.Element, tag: str, *, name: str | None = None, **attributes: float | str) -> ET.Element:
    """A new element; ``name`` is its class, numbers are rounded to a thousandth of a mm."""
    found = {"class": name} if name else {}
    for key, value in attributes.items():
        found[key.replace("_", "-")] = value if isinstance(value, str) else f"{round(value, 3):.10g}"
    return ET.SubElement(into, tag, found)

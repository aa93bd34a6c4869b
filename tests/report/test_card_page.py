"""A practice card's pages, read back from the SVG alone: its words, and its drawing measured."""

import re
from collections.abc import Iterator
from xml.etree import ElementTree as ET

import numpy as np
import pytest
from laid_out import Pace, named, placed, sine

from trainer.geometry.aiming import Stroke
from trainer.geometry.tables import TABLES, Table
from trainer.levels.table_file import read_table
from trainer.report.card import Card
from trainer.report.card_page import card_pages
from trainer.shots.layout import Layout, kinds_said, lay_out
from trainer.shots.places import place_at
from trainer.shots.shot import Shot
from trainer.shots.truth import truth_of

SVG = "{http://www.w3.org/2000/svg}"
SIZES = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
ROOM = 6.0  # mm along the edges of paper that printers may leave white
OWN = read_table(
    f'title = "{"W" * 46}<&"\nlike = "snooker"\n[size]\nlength_mm = 1500\nwidth_mm = 1400\n'
    "[stroke]\nspeed = 1.5\n",
    "square",
    "square.toml",
)
TABLE = {**TABLES, OWN.name: OWN}
WORDS = ["full", "7/8 right", "1/2 left", "3/8", "1/8 right"]


def pages(table: Table, paper: str, unit: str = "mm", words: list[str] = WORDS) -> list[ET.Element]:
    kinds = kinds_said(words)
    layouts = lay_out(table, kinds, len(kinds), np.random.default_rng(6), unit)
    card = Card(table, tuple(layouts), unit, "2026-03-01", 6)
    return [ET.fromstring(page) for page in card_pages(card, paper)]


def parts(found: list[ET.Element]) -> Iterator[ET.Element]:
    for page in found:
        yield from (g for g in page.iter(f"{SVG}g") if re.fullmatch(r"layout-\d+", g.get("id", "")))


def one(of: ET.Element, name: str) -> ET.Element:
    (found,) = [e for e in of.iter() if e.get("class") == name]
    return found


def said(of: ET.Element, name: str) -> str:
    text = " ".join(" ".join(one(of, name).itertext()).split())
    return re.sub(r"^(Object ball|Cue ball|Aim|Played|Throw|Forgives|Fullness): ", "", text)


def value(of: ET.Element, key: str) -> float:
    return float(of.attrib[key])


@pytest.mark.parametrize(
    ("name", "paper", "unit"),
    [
        *(("snooker", paper, "mm") for paper in SIZES),
        ("pool-9", "a4", "in"),
        pytest.param("pool-7", "letter", "mm", marks=pytest.mark.slow),
        pytest.param("small-ball", "letter", "mm", marks=pytest.mark.slow),
        ("square", "letter", "in"),
    ],
)
def test_a_page_is_right_in_its_words_and_in_its_drawing(name: str, paper: str, unit: str) -> None:
    table = TABLE[name]
    found = pages(table, paper, unit)
    assert len(found) == 2  # four layouts to a page
    layouts = list(parts(found))
    assert [g.get("id") for g in layouts] == [f"layout-{k}" for k in range(1, 7)]
    for k, layout in enumerate(layouts, 1):
        kind = said(layout, "kind").removeprefix(f"{k}. ")
        pocket = said(layout, "pocket-said").removesuffix(" pocket")
        cue, ball = (placed(said(layout, f"{ball}-said"), table) for ball in ("cue-ball", "object-ball"))
        plan = one(layout, "plan")
        pace = Pace.of(said(layout, "played-said"))
        assert abs(1 - abs(sine(table, cue, ball, pocket, pace)) - named(kind)) <= 0.01
        drawn_cue, drawn_ball = measured(plan, table, "cue-ball"), measured(plan, table, "object-ball")
        # A thousandth of a millimetre of paper is up to 0.05 mm of table, and its edge is as rough.
        assert abs(drawn_cue - cue) < 0.25
        assert abs(drawn_ball - ball) < 0.25
        hole = measured(plan, table, "played-pocket")
        end, side = pocket.split("-")
        assert abs(hole.real - {"baulk": 0, "middle": table.length / 2, "top": table.length}[end]) < 60
        assert abs(hole.imag - (table.width if side == "left" else 0)) < 60
        seen_fullness(layout, table, kind)
        for outcome in ("potted", "thick", "thin"):
            boxes = [e for e in layout.iter(f"{SVG}rect") if e.get("class") == outcome]
            assert len(boxes) == 5
            assert {value(box, "width") for box in boxes} == {value(boxes[0], "height")}
        fits(layout, SIZES[paper])
    for page in found:
        whole(page, table, SIZES[paper])


def measured(plan: ET.Element, table: Table, name: str) -> complex:
    """Where a circle lies on the table, mm, from the drawing alone."""
    noses, circle = one(plan, "noses"), one(plan, name)
    scale = table.length / value(noses, "width")
    assert value(noses, "height") * scale == pytest.approx(table.width, abs=0.1)
    if name.endswith("ball"):
        wide = table.balls.cue_radius if name == "cue-ball" else table.balls.object_radius
        assert value(circle, "r") * scale == pytest.approx(wide, abs=0.1)
    x, y = (value(circle, f"c{axis}") - value(noses, axis) for axis in "xy")
    return complex(x * scale, table.width - y * scale)


def seen_fullness(layout: ET.Element, table: Table, kind: str) -> None:
    """The picture along the aim covers as much of the object ball as the kind says, on the right side."""
    ball, cue = one(layout, "seen-object-ball"), one(layout, "seen-cue-ball")
    wide = 2 * value(ball, "r")
    reach = (table.balls.cue_radius / table.balls.object_radius) ** 0.5
    beside = (value(cue, "cx") - value(ball, "cx")) / wide
    assert 1 - abs(beside) / reach == pytest.approx(named(kind), abs=2e-3)
    assert value(cue, "r") / value(ball, "r") == pytest.approx(reach**2, abs=1e-3)
    assert value(cue, "cy") + value(cue, "r") == pytest.approx(value(ball, "cy") + value(ball, "r"), abs=2e-3)
    if " " in kind:
        # A ball sent left is hit on its right.
        assert (beside > 0) == kind.endswith("left")
        assert (kind.endswith("left") and "right" in said(layout, "aim-said")) or "left" in said(
            layout, "aim-said"
        )


def box(e: ET.Element) -> tuple[float, float, float, float]:
    """Left, top, right and bottom of an element, mm; letters are taken to be 0.56 of their size wide."""
    tag = e.tag.removeprefix(SVG)
    if tag == "circle":
        x, y, r = (value(e, key) for key in ("cx", "cy", "r"))
        return x - r, y - r, x + r, y + r
    if tag == "rect":
        x, y, w, h = (value(e, key) for key in ("x", "y", "width", "height"))
        return x, y, x + w, y + h
    if tag == "line":
        xs, ys = sorted((value(e, "x1"), value(e, "x2"))), sorted((value(e, "y1"), value(e, "y2")))
        return xs[0], ys[0], xs[1], ys[1]
    numbers = [float(n) for n in re.findall(r"-?[\d.]+", e.attrib["d"])]
    return numbers[0] - 2, numbers[1] - 2, numbers[0] + 2, numbers[1] + 2  # all but the D are small


def boxes(of: ET.Element) -> Iterator[tuple[float, float, float, float]]:
    for e in of.iter():
        tag = e.tag.removeprefix(SVG)
        if tag in ("circle", "rect", "line", "path"):
            yield box(e)
        elif tag == "text":
            size = value(e, "font-size")
            spans = e.findall(f"{SVG}tspan")
            lines: list[list[ET.Element]] = []
            for span in spans:
                if "x" in span.attrib:
                    lines.append([])
                lines[-1].append(span)
            rows = [
                (value(row[0], "x"), value(row[0], "y"), " ".join(s.text or "" for s in row)) for row in lines
            ]
            if not spans:
                rows = [(value(e, "x"), value(e, "y"), e.text or "")]
            for x, y, words in rows:
                wide = 0.56 * size * len(words)
                left = x - {"start": 0.0, "middle": 0.5, "end": 1.0}[e.get("text-anchor", "start")] * wide
                if moved := re.match(r"translate\(([\d.]+) ([\d.]+)\) rotate\(-90\)", e.get("transform", "")):
                    across, up = float(moved[1]), float(moved[2])
                    yield across - size, up - wide / 2, across + 0.3 * size, up + wide / 2
                else:
                    yield left, y - size, left + wide, y + 0.3 * size


def extent(of: ET.Element) -> tuple[float, float, float, float]:
    found = np.array(list(boxes(of)))
    return (*found[:, :2].min(axis=0), *found[:, 2:].max(axis=0))


def fits(layout: ET.Element, size: tuple[float, float]) -> None:
    left, top, right, bottom = extent(layout)
    assert left >= ROOM
    assert top >= ROOM
    assert right <= size[0] - ROOM
    assert bottom <= size[1] - ROOM


def whole(page: ET.Element, table: Table, size: tuple[float, float]) -> None:
    """The page has the paper's size; its parts keep apart, in black, white and grey, from no other file."""
    assert page.tag == f"{SVG}svg"
    assert (page.get("width"), page.get("height")) == (f"{size[0]:g}mm", f"{size[1]:g}mm")
    assert page.get("viewBox") == f"0 0 {size[0]:g} {size[1]:g}"
    assert said(page, "heading").startswith(f"{table.title}, ")
    assert said(page, "heading").endswith(", 2026-03-01")
    blocks = [extent(g) for g in parts([page])] + [extent(t) for t in page.findall(f"{SVG}text")]
    for i, a in enumerate(blocks):
        for b in blocks[:i]:
            apart = a[0] >= b[2] or b[0] >= a[2] or a[1] >= b[3] or b[1] >= a[3]
            assert apart, (a, b)
    for e in page.iter():
        assert e.tag.removeprefix(SVG) in {
            *("svg", "title", "style", "g", "text", "tspan", "rect", "circle", "line", "path")
        }
        for key in ("fill", "stroke"):
            colour = e.get(key, "none")
            assert re.fullmatch(r"none|black|white|#([0-9a-f]{2})\1\1", colour), colour
        assert not any("href" in key or "url(" in text for key, text in e.attrib.items())
        assert e.get("font-family", "sans-serif") == "sans-serif"


def side_by_side() -> list[ET.Element]:
    """Pages of a layout whose numbers would lie on each other at two cushions."""
    table = TABLES["snooker"]
    shot = Shot(table, (1650.0, 880.0), (1720.0, 870.0), "top-left", Stroke(1.4))
    places = [place_at(table, at, "mm") for at in (shot.cue_ball, shot.object_ball)]
    layout = Layout(kinds_said(["full"])[0], shot, truth_of(shot), *places, 0.01)
    return [ET.fromstring(p) for p in card_pages(Card(table, (layout,), "mm", "2026-03-01", 1), "a4")]


def test_numbers_at_the_cushions_are_those_of_the_words_and_keep_apart() -> None:
    close = list(parts(side_by_side()))
    assert len(close) == 1
    for layout in [*close, *parts(pages(TABLE["pool-8"], "a4", words=["3/4", "1/2", "1/4", "1/8"]))]:
        labels = [e for e in layout.iter(f"{SVG}text") if e.get("class") == "distance"]
        assert len(labels) == 4
        words = f"{said(layout, 'object-ball-said')} {said(layout, 'cue-ball-said')}"
        for label in labels:
            assert (label.text or "").removesuffix(" d") in words
        areas = [next(boxes(label)) for label in labels]
        for i, a in enumerate(areas):
            for b in areas[:i]:
                assert a[0] >= b[2] or b[0] >= a[2] or a[1] >= b[3] or b[1] >= a[3]


def test_pages_are_numbered_and_say_how_to_have_them_again() -> None:
    first, second = pages(TABLE["snooker"], "a4")
    assert "page 1 of 2, seed 6" in " ".join(first.itertext())
    assert "page 2 of 2, seed 6" in " ".join(second.itertext())

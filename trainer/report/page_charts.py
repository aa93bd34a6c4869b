"""The charts of the page to keep, as SVG: drawn for paper, and readable without their colours."""

import math
from collections.abc import Sequence
from xml.etree import ElementTree as ET

from trainer.geometry.vectors import Floats
from trainer.report.weeks import Calendar, Week
from trainer.report.wording import SHADES, WEEKDAYS, short_date
from trainer.shots.style import Style

INK, QUIET, GRID, BAND, TOLD = "#1d2a25", "#5d6b65", "#d8dfdb", "#cfe3d8", "#b3470f"
DAYS = ("#f1f4f2", "#cfe3d8", "#8fbfa5", "#4b9472", "#1c6446")  # by shade; the last two want white ink
MOST_BIAS = 1 / 8  # balls at the upper and the lower edge of a curve
TICKS = ((-0.875, "1/8 right"), (-0.5, "1/2"), (-0.25, "3/4"), (0.0, "full"))


def svg(width: float, height: float, about: str) -> ET.Element:
    """An empty picture that scales with the page; ``about`` describes it to those who can't see it."""
    box = f"0 0 {width:g} {height:g}"
    found = ET.Element("svg", viewBox=box, role="img", xmlns="http://www.w3.org/2000/svg")
    ET.SubElement(found, "title").text = about
    return found


def _line(to: ET.Element, *ends: float, colour: str = GRID, width: float = 1.0) -> None:
    places = dict(zip(("x1", "y1", "x2", "y2"), (f"{end:.1f}" for end in ends), strict=True))
    ET.SubElement(to, "line", places | {"stroke": colour, "stroke-width": f"{width:g}"})


def _text(
    to: ET.Element, x: float, y: float, text: str, *, anchor: str = "middle", colour: str = QUIET
) -> None:
    at = {"x": f"{x:.1f}", "y": f"{y:.1f}", "text-anchor": anchor, "fill": colour}
    ET.SubElement(to, "text", at).text = text


def _points(xs: Sequence[float], ys: Sequence[float]) -> str:
    return " ".join(f"{x:.1f},{y:.1f}" for x, y in zip(xs, ys, strict=True))


def bias_curve(offsets: Floats, mean: Floats, low: Floats, high: Floats, told: Sequence[bool]) -> ET.Element:
    """The bias over the cut with its 95 % interval: thin cuts to the left at the left, thick is up.

    Parameters
    ----------
    offsets, mean, low, high : (n,) float
        Signed offsets in ball widths, + left, rising; the bias and its interval in balls, + thick.
    told : (n,) bool
        Where a bias is sure.
    """
    width, height, left, right, top, bottom = 720.0, 260.0, 62.0, 712.0, 14.0, 226.0
    picture = svg(width, height, "How thick or thin each cut is seen, and how sure that is")

    def across(offset: float) -> float:
        return left + (right - left) * (1.0 - offset) / 2

    def up(bias: float) -> float:
        return top + (bottom - top) * (1.0 - max(-1.0, min(1.0, bias / MOST_BIAS))) / 2

    xs = [across(offset) for offset in offsets.tolist()]
    edge = _points(xs + xs[::-1], [up(b) for b in high.tolist()] + [up(b) for b in low.tolist()][::-1])
    ET.SubElement(picture, "polygon", points=edge, fill=BAND)
    for offset, name in (*TICKS, (0.25, "3/4"), (0.5, "1/2"), (0.875, "1/8 left")):
        _line(picture, across(offset), top, across(offset), bottom)
        _text(picture, across(offset), bottom + 18, name)
    for bias in (MOST_BIAS, MOST_BIAS / 2, -MOST_BIAS / 2, -MOST_BIAS):
        _line(picture, left, up(bias), right, up(bias))
        _text(picture, left - 8, up(bias) + 4, f"1/{round(1 / abs(bias))}", anchor="end")
    _line(picture, left, up(0), right, up(0), colour=QUIET)
    _text(picture, left - 8, up(0) + 4, "0", anchor="end")
    _text(picture, 4, up(MOST_BIAS / 4) + 4, "thick", anchor="start", colour=INK)
    _text(picture, 4, up(-MOST_BIAS / 4) + 4, "thin", anchor="start", colour=INK)
    ys = [up(bias) for bias in mean.tolist()]
    ET.SubElement(
        picture,
        "polyline",
        {"points": _points(xs, ys), "fill": "none", "stroke": INK, "stroke-width": "1.6"},
    )
    for first, last in _stretches(told):
        points = _points(xs[first : last + 1], ys[first : last + 1])
        style = {"fill": "none", "stroke": TOLD, "stroke-width": "4", "stroke-linecap": "round"}
        ET.SubElement(picture, "polyline", {"points": points} | style)
    return picture


def _stretches(flags: Sequence[bool]) -> list[tuple[int, int]]:
    """First and last place of each run of True."""
    found, first = list[tuple[int, int]](), None
    for place, flag in enumerate([*flags, False]):
        if flag and first is None:
            first = place
        elif not flag and first is not None:
            found.append((first, place - 1))
            first = None
    return found


def interval(low: float, mean: float, high: float, strong: bool) -> ET.Element:
    """One bias and its interval on a scale of an eighth of a ball to either side: thin left, thick right."""
    width, height = 180.0, 16.0
    picture = svg(width, height, "thin left, thick right")

    def across(bias: float) -> float:
        return width / 2 + (width / 2 - 6) * max(-1.0, min(1.0, bias / MOST_BIAS))

    colour = TOLD if strong else INK
    _line(picture, width / 2, 0, width / 2, height, colour=QUIET)
    _line(picture, across(low), height / 2, across(high), height / 2, colour=colour, width=3)
    ET.SubElement(picture, "circle", cx=f"{across(mean):.1f}", cy=f"{height / 2:g}", r="4.5", fill=colour)
    return picture


def days(calendar: Calendar, weeks: Sequence[Week]) -> ET.Element:
    """The days of some weeks, a column a week, the more calls the darker; a ring is a forgiven day."""
    step, left, top = 26.0, 40.0, 22.0
    picture = svg(max(720.0, left + step * len(weeks)), top + 7 * step + 4, "Days with practice")
    for place, name in enumerate(WEEKDAYS):
        _text(picture, left - 8, top + step * (place + 0.5) + 4, name, anchor="end")
    for number, week in enumerate(weeks):
        x = left + step * number
        if number % 4 == 0:
            _text(picture, x + step / 2, top - 8, short_date(week.monday).strip())
        for place in range(7):
            day, played = week.on(place)
            if day > calendar.today and played is None:
                continue
            shade = 0 if played is None else sum(played.calls >= least for least in SHADES)
            y = top + step * place
            at = {"x": f"{x + 1:g}", "y": f"{y + 1:g}", "width": f"{step - 2:g}", "height": f"{step - 2:g}"}
            box = ET.SubElement(picture, "rect", at | {"rx": "3", "fill": DAYS[shade]})
            if played is not None:
                ET.SubElement(box, "title").text = f"{day}: {played.calls} calls, {played.right} right"
                ink = "#ffffff" if shade >= 3 else INK
                _text(picture, x + step / 2, y + step / 2 + 4, str(played.calls), colour=ink)
            elif day in calendar.streak.forgiven:
                middle = {"cx": f"{x + step / 2:g}", "cy": f"{y + step / 2:g}", "r": "5"}
                ET.SubElement(picture, "circle", middle | {"fill": "none", "stroke": QUIET})
    return picture


def trend(weeks: Sequence[Week], style: Style) -> ET.Element | None:
    """Bias with its interval, and scatter, week by week; None where fewer than two weeks say them."""
    known = [week for week in weeks if week.seen is not None]
    if len(known) < 2:
        return None
    width, height, left, right, top, bottom = 720.0, 190.0, 62.0, 712.0, 12.0, 156.0
    picture = svg(width, height, "Average and scatter of the calls, week by week")
    largest = max(max(abs(s.low), abs(s.high), s.noise) for w in known if (s := w.seen))
    most = max(1 / 32, 2.0 ** math.ceil(math.log2(largest)))

    def up(bias: float) -> float:
        return top + (bottom - top) * (1.0 - bias / most) / 2

    for bias in (most, most / 2, 0.0, -most / 2, -most):
        _line(picture, left, up(bias), right, up(bias), colour=GRID if bias else QUIET)
        name = style.one_over(bias) if most / 2 >= 1 / 384 and bias else "0"
        _text(picture, left - 8, up(bias) + 4, name, anchor="end")
    _text(picture, 4, up(most / 4) + 4, "thick", anchor="start", colour=INK)
    _text(picture, 4, up(-most / 4) + 4, "thin", anchor="start", colour=INK)
    step = (right - left) / len(weeks)
    spread = []
    for number, week in enumerate(weeks):
        x = left + step * (number + 0.5)
        if number % max(1, len(weeks) // 8) == 0:
            _text(picture, x, bottom + 18, short_date(week.monday).strip())
        if (seen := week.seen) is None:
            continue
        _line(picture, x, up(seen.low), x, up(seen.high), colour=INK, width=3)
        ET.SubElement(picture, "circle", cx=f"{x:.1f}", cy=f"{up(seen.bias):.1f}", r="4.5", fill=INK)
        spread.append((x, up(seen.noise)))
    dashes = {"fill": "none", "stroke": TOLD, "stroke-width": "1.8", "stroke-dasharray": "5 4"}
    xs, ys = zip(*spread, strict=True)
    ET.SubElement(picture, "polyline", {"points": _points(xs, ys)} | dashes)
    return picture

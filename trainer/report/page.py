"""The report as one page to keep, to print, or to show to a coach: HTML with nothing to fetch, no scripts.

Its charts are SVG, drawn for paper, and readable without their colours.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction
from html import escape
from typing import Any
from xml.etree import ElementTree as ET

import numpy as np

from trainer.drills.words import capital, counted
from trainer.geometry.vectors import Floats
from trainer.history.clock import short_date
from trainer.history.streaks import RULE
from trainer.learner.measured import Measured
from trainer.learner.table_verdict import TableVerdict
from trainer.learner.verdicts import THICK, THIN, KindVerdict, is_sure
from trainer.pictures.charts import scale_of
from trainer.play.game import Game
from trainer.play.measure import change_sentence, measures_of
from trainer.report import wording as words
from trainer.report.notebook import Notebook
from trainer.report.report import change_lines, report, sighting_line
from trainer.report.weeks import Calendar, Week, calendar_of
from trainer.report.wording import SHADES, WEEKDAYS, kind_words, table_words
from trainer.shots.style import Style

MOST_WEEKS = 26
STYLE = """
:root { color-scheme: light; }
body { font: 15px/1.5 system-ui, -apple-system, "Segoe UI", "DejaVu Sans", sans-serif; color: #1d2a25;
  background: #fff; max-width: 46rem; margin: 2rem auto; padding: 0 1.2rem; }
h1 { font-size: 1.6rem; line-height: 1.2; margin: 0 0 .2rem; }
h2 { font-size: 1.1rem; margin: 1.8rem 0 .4rem; border-bottom: 1px solid #d8dfdb; padding-bottom: .2rem; }
p { margin: .3rem 0; }
.quiet { color: #5d6b65; font-size: .9rem; }
.strong { color: #b3470f; font-weight: 600; }
.better { color: #1c6446; font-weight: 600; }
svg { display: block; width: 100%; height: auto; font: 11px system-ui, "DejaVu Sans", sans-serif; }
td svg { width: 180px; }
table { border-collapse: collapse; width: 100%; font-variant-numeric: tabular-nums; }
th, td { text-align: left; padding: .15rem .5rem .15rem 0; border-bottom: 1px solid #eef1ef; }
th { color: #5d6b65; font-weight: 500; font-size: .85rem; }
.number { text-align: right; padding-right: 1.4rem; }
.middle { text-align: center; width: 180px; }
ul { margin: .3rem 0; padding-left: 1.2rem; }
section { break-inside: avoid; }
section.long { break-inside: auto; }
tr { break-inside: avoid; }
thead { display: table-header-group; }
@page { margin: 14mm; }
@media print { body { font-size: 10.5pt; margin: 0; max-width: none; padding: 0; }
  * { -webkit-print-color-adjust: exact; print-color-adjust: exact; } }
"""


def page(game: Game) -> str:
    """The page of a player's report: the same as :func:`~trainer.report.report.report`, drawn."""
    found, calendar, style = report(game), calendar_of(game), game.style
    weeks = calendar.last(min(max(calendar.long, 6), MOST_WEEKS))
    calls, practised = counted(found["attempts"], "call"), counted(found["days"], "day")
    parts = [
        "<h1>How you see the angle</h1>",
        _paragraph(f"Report of {calendar.today}: {calls} on {practised}.", "quiet"),
        _paragraph(found["diagnosis"]["sentence"], "strong" if found["diagnosis"]["causes"] else ""),
        _section("How each cut is seen", _curve(found["belief"], style)),
        _section("Kinds of shot", _kinds(found["bands"], style), long=True),
    ]
    if sighting := sighting_line(game):
        parts.append(_section("The object ball's centre", _paragraph(sighting)))
    if verdicts := (book := Notebook(game)).verdicts():
        through_all = "".join(_paragraph(words.table_cause_words(each), "strong") for each in book.causes())
        parts.append(_section("At the table", through_all + _noted(verdicts, style), long=True))
    settled = len(found["settled"])
    parts.append(
        _section(
            "Days",
            _paragraph(words.streak_words(calendar.streak))
            + _paragraph(RULE, "quiet")
            + _drawn(_days(calendar, weeks))
            + _paragraph(
                "The more calls, the darker; a ring is a day that was missed and is forgiven.", "quiet"
            )
            + _paragraph(words.runs_words(calendar, settled)),
        )
    )
    trend = _trend(weeks, style)
    drawn = (
        ""
        if trend is None
        else _drawn(trend)
        + _paragraph(
            "Dots: how thick or thin the week's shots were called, with a bar that shows how sure it is. "
            "Dashed: how far calls scatter.",
            "quiet",
        )
    )
    rows = [[short_date(week.monday), *words.figures(week, style, wide=True)] for week in weeks if week.calls]
    heads = ("week of", "calls", "right", "time", "thick/thin (balls)", "scatter")
    parts.append(_section("Weeks", drawn + _table(heads, rows, numbers=(1, 2, 3)), long=True))
    if measures := measures_of(game.history):
        parts.append(_section(words.MEASURED, _measured(measures, style)))
    said = "".join(
        f"<li{' class=better' if better else ''}>{escape(line)}</li>" for line, better in change_lines(game)
    )
    parts.append(_section(words.COMPARED, f"<ul>{said}</ul>" + _paragraph(words.POWER, "quiet")))
    parts.append(
        _paragraph(
            "Thick: called fuller than the pot needs. Thin: less full. Sizes are parts of a ball's width. "
            "Left and right: the way the object ball is sent. Nothing is called thick or thin before it is "
            "sure, however often you look. It is about seeing, not about cueing.",
            "quiet",
        )
    )
    title = f"Report of {calendar.today}"
    return (
        f'<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n<title>{escape(title)}</title>\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<style>{STYLE}</style>\n</head>\n<body>\n" + "\n".join(parts) + "\n</body>\n</html>\n"
    )


def _paragraph(text: str, kind: str = "") -> str:
    return f"<p{f' class={kind}' if kind else ''}>{escape(text)}</p>"


def _section(title: str, body: str, *, long: bool = False) -> str:
    return f"<section{' class=long' if long else ''}>\n<h2>{escape(title)}</h2>\n{body}\n</section>"


def _drawn(picture: ET.Element) -> str:
    return ET.tostring(picture, encoding="unicode")


def _curve(belief: Mapping[str, Any], style: Style) -> str:
    offsets, mean, low, high = (np.array(belief[name]) for name in ("offset", "bias", "low", "high"))
    sure = is_sure(mean, (high - low) / (2 * 1.96)).tolist()
    noise = float(np.median(np.array(belief["noise"])))
    return (
        _drawn(_bias_curve(offsets, mean, low, high, sure))
        + _paragraph(
            "From thin cuts to the left over straight shots to thin cuts to the right: above the line too "
            "thick, below it too thin, in parts of a ball. The shaded part shows how far off the curve may "
            "be; it is bold where a fault is sure.",
            "quiet",
        )
        + _paragraph(f"Single calls lie about {style.one_over(noise)} ball off this curve.")
    )


def _kinds(rows: Sequence[Mapping[str, Any]], style: Style) -> str:
    lines, most = [], scale_of([row["bias"] for row in rows if row["attempts"]])
    for row in rows:
        kind = KindVerdict(**{**row, "noise": row["noise"] if row["noise"] is not None else 0.0})
        if not kind.attempts:
            continue
        strong = kind.verdict in (THICK, THIN)
        bar = _drawn(_interval(kind.low, kind.bias, kind.high, strong, most))
        cells = [f"<td>{escape(kind.band)} {kind.side}</td>", f"<td class=number>{kind.attempts}</td>"]
        cells += [
            f"<td>{bar}</td>",
            f"<td{' class=strong' if strong else ''}>{escape(kind_words(kind, style))}</td>",
        ]
        lines.append(f"<tr>{''.join(cells)}<td>{style.one_over(kind.noise)}</td></tr>")
    if not lines:
        return _paragraph("No calls yet.")
    heads = (
        "<th>fullness, side</th><th class=number>calls</th><th>thin | thick</th><th>seen</th><th>scatter</th>"
    )
    return f"<table><thead><tr>{heads}</tr></thead><tbody>{''.join(lines)}</tbody></table>"


def _noted(verdicts: Sequence[TableVerdict], style: Style) -> str:
    rows = [
        (f"{v.kind} {v.side}", v.thick, v.thin, v.potted, capital(table_words(v, style))) for v in verdicts
    ]
    heads = ("fullness, side", "thick", "thin", "potted", "the eye or the stroke?")
    return _table(heads, rows, numbers=(1, 2, 3))


def _measured(measures: Sequence[Measured], style: Style) -> str:
    """The weekly measures: a row each, and how far off its calls were as a bar."""
    rows = []
    shown = measures[-MOST_WEEKS:]
    most = words.measure_scale(shown)
    for mine in shown:
        pots, sure, off, within = map(escape, words.measure_figures(mine, style))
        cells = (
            short_date(mine.day),
            f"{pots} <span class=quiet>({sure})</span>",
            _drawn(_off(mine, most)),
            f"{off} <span class=quiet>({within})</span>",
        )
        rows.append(f"<tr>{''.join(f'<td>{cell}</td>' for cell in cells)}</tr>")
    names = ("", "go in (sure)", f"true | {style.one_over(most)} ball off", "balls off on average (sure)")
    heads = "".join(f"<th>{name}</th>" for name in names)
    table = f"<table><thead><tr>{heads}</tr></thead><tbody>{''.join(rows)}</tbody></table>"
    return _paragraph(words.MEASURE_RULE, "quiet") + table + _paragraph(change_sentence(measures, style))


def _table(heads: Iterable[str], rows: Iterable[Sequence[object]], numbers: Sequence[int] = ()) -> str:
    def line(tag: str, cells: Iterable[object]) -> str:
        found = [
            f"<{tag}{' class=number' if place in numbers else ''}>{escape(str(cell))}</{tag}>"
            for place, cell in enumerate(cells)
        ]
        return f"<tr>{''.join(found)}</tr>"

    body = "".join(line("td", row) for row in rows)
    return f"<table><thead>{line('th', heads)}</thead><tbody>{body}</tbody></table>"


INK, QUIET, GRID, BAND, TOLD = "#1d2a25", "#5d6b65", "#d8dfdb", "#cfe3d8", "#b3470f"
DAYS = ("#f1f4f2", "#cfe3d8", "#8fbfa5", "#4b9472", "#1c6446")  # by shade; the last two want white ink
TICKS = ((-0.875, "1/8 right"), (-0.5, "1/2"), (-0.25, "3/4"), (0.0, "full"))


def _svg(width: float, height: float, about: str) -> ET.Element:
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


def _bias_curve(offsets: Floats, mean: Floats, low: Floats, high: Floats, told: Sequence[bool]) -> ET.Element:
    """The bias over the cut with its 95 % interval: thin cuts to the left at the left, thick is up.

    Parameters
    ----------
    offsets, mean, low, high : (n,) float
        Signed offsets in ball widths, + left, rising; the bias and its interval in balls, + thick.
    told : (n,) bool
        Where a bias is sure.
    """
    width, height, left, right, top, bottom = 720.0, 260.0, 62.0, 712.0, 14.0, 226.0
    picture = _svg(width, height, "How thick or thin each cut is seen, and how sure that is")

    def across(offset: float) -> float:
        return left + (right - left) * (1.0 - offset) / 2

    most = scale_of(mean.tolist())

    def up(bias: float) -> float:
        return top + (bottom - top) * (1.0 - max(-1.0, min(1.0, bias / most))) / 2

    xs = [across(offset) for offset in offsets.tolist()]
    edge = _points(xs + xs[::-1], [up(b) for b in high.tolist()] + [up(b) for b in low.tolist()][::-1])
    ET.SubElement(picture, "polygon", points=edge, fill=BAND)
    for offset, name in (*TICKS, (0.25, "3/4"), (0.5, "1/2"), (0.875, "1/8 left")):
        _line(picture, across(offset), top, across(offset), bottom)
        _text(picture, across(offset), bottom + 18, name)
    for bias in (most, most / 2, -most / 2, -most):
        named = str(Fraction(abs(bias)))
        _line(picture, left, up(bias), right, up(bias))
        _text(picture, left - 8, up(bias) + 4, named, anchor="end")
    _line(picture, left, up(0), right, up(0), colour=QUIET)
    _text(picture, left - 8, up(0) + 4, "0", anchor="end")
    _text(picture, 4, up(most / 4) + 4, "thick", anchor="start", colour=INK)
    _text(picture, 4, up(-most / 4) + 4, "thin", anchor="start", colour=INK)
    ys = [up(bias) for bias in mean.tolist()]
    ET.SubElement(
        picture, "polyline", {"points": _points(xs, ys), "fill": "none", "stroke": INK, "stroke-width": "1.6"}
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


def _interval(low: float, mean: float, high: float, strong: bool, most: float) -> ET.Element:
    """One bias and its interval on a scale of so many balls to either side: thin left, thick right."""
    width, height = 180.0, 16.0
    picture = _svg(width, height, "thin left, thick right")

    def across(bias: float) -> float:
        return width / 2 + (width / 2 - 6) * max(-1.0, min(1.0, bias / most))

    colour = TOLD if strong else INK
    _line(picture, width / 2, 0, width / 2, height, colour=QUIET)
    _line(picture, across(low), height / 2, across(high), height / 2, colour=colour, width=3)
    ET.SubElement(picture, "circle", cx=f"{across(mean):.1f}", cy=f"{height / 2:g}", r="4.5", fill=colour)
    return picture


def _off(mine: Measured, most: float) -> ET.Element:
    """How far off the calls of a measure were, from none at the left, with its interval."""
    width, height, (low, high) = 180.0, 16.0, mine.typical_range
    picture = _svg(width, height, "how far off, none at the left")

    def across(size: float) -> float:
        return 6 + (width - 12) * min(size / most, 1.0)

    _line(picture, 6, 0, 6, height, colour=QUIET)
    _line(picture, across(low), height / 2, across(high), height / 2, colour=INK, width=3)
    ET.SubElement(
        picture, "circle", cx=f"{across(mine.typical):.1f}", cy=f"{height / 2:g}", r="4.5", fill=INK
    )
    return picture


def _days(calendar: Calendar, weeks: Sequence[Week]) -> ET.Element:
    """The days of some weeks, a column a week, the more calls the darker; a ring is a forgiven day."""
    step, left, top = 26.0, 40.0, 22.0
    picture = _svg(max(720.0, left + step * len(weeks)), top + 7 * step + 4, "Days with practice")
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


def _trend(weeks: Sequence[Week], style: Style) -> ET.Element | None:
    """Bias with its interval, and scatter, week by week; None where fewer than two weeks say them."""
    known = [week for week in weeks if week.seen is not None]
    if len(known) < 2:
        return None
    width, height, left, right, top, bottom = 720.0, 190.0, 62.0, 712.0, 12.0, 156.0
    picture = _svg(width, height, "Average and scatter of the calls, week by week")
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

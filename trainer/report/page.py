"""The report as one page to keep, to print, or to show to a coach: HTML with nothing to fetch, no scripts."""

from collections.abc import Iterable, Mapping, Sequence
from html import escape
from typing import Any
from xml.etree import ElementTree as ET

import numpy as np

from trainer.drills.words import capital, counted
from trainer.history.streaks import RULE
from trainer.learner.table_verdict import TableVerdict
from trainer.learner.verdicts import THICK, THIN, KindVerdict, is_sure
from trainer.play.game import Game
from trainer.report import page_charts as charts
from trainer.report import wording as words
from trainer.report.notebook import Notebook
from trainer.report.report import change_lines, report, sighting_line
from trainer.report.weeks import calendar_of
from trainer.report.wording import kind_words, table_words
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
        _section("How each cut is seen", _curve(found["belief"], style)),
        _section("Kinds of shot", _kinds(found["bands"], style), long=True),
    ]
    if sighting := sighting_line(game):
        parts.append(_section("The object ball's centre", _paragraph(sighting)))
    if verdicts := Notebook(game).verdicts():
        parts.append(_section("At the table", _noted(verdicts, style), long=True))
    settled = len(found["settled"])
    parts.append(
        _section(
            "Days",
            _paragraph(words.streak_words(calendar.streak))
            + _paragraph(RULE, "quiet")
            + _drawn(charts.days(calendar, weeks))
            + _paragraph(
                "The more calls, the darker; a ring is a day that was missed and is forgiven.", "quiet"
            )
            + _paragraph(words.runs_words(calendar, settled)),
        )
    )
    trend = charts.trend(weeks, style)
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
    rows = [
        [words.short_date(week.monday), *words.figures(week, style, wide=True)]
        for week in weeks
        if week.calls
    ]
    heads = ("week of", "calls", "right", "time", "thick/thin (balls)", "scatter")
    parts.append(_section("Weeks", drawn + _table(heads, rows, numbers=(1, 2, 3)), long=True))
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
        _drawn(charts.bias_curve(offsets, mean, low, high, sure))
        + _paragraph(
            "From thin cuts to the left over straight shots to thin cuts to the right: above the line too "
            "thick, below it too thin, in parts of a ball. The shaded part shows how far off the curve may "
            "be; it is bold where a fault is sure.",
            "quiet",
        )
        + _paragraph(f"Single calls lie about {style.one_over(noise)} ball off this curve.")
    )


def _kinds(rows: Sequence[Mapping[str, Any]], style: Style) -> str:
    lines = []
    for row in rows:
        kind = KindVerdict(**{**row, "noise": row["noise"] if row["noise"] is not None else 0.0})
        if not kind.attempts:
            continue
        strong = kind.verdict in (THICK, THIN)
        bar = _drawn(charts.interval(kind.low, kind.bias, kind.high, strong))
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


def _table(heads: Iterable[str], rows: Iterable[Sequence[object]], numbers: Sequence[int] = ()) -> str:
    def line(tag: str, cells: Iterable[object]) -> str:
        found = [
            f"<{tag}{' class=number' if place in numbers else ''}>{escape(str(cell))}</{tag}>"
            for place, cell in enumerate(cells)
        ]
        return f"<tr>{''.join(found)}</tr>"

    body = "".join(line("td", row) for row in rows)
    return f"<table><thead>{line('th', heads)}</thead><tbody>{body}</tbody></table>"

"""Weeks: which days had practice, the streak and its rule, each week's figures, and what has changed."""

from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.content import Content
from textual.widgets import Static

from trainer.app.keys import Page, bound
from trainer.app.screens.base import TrainerScreen, ends, interval
from trainer.app.theme import hex_of
from trainer.drills.words import counted
from trainer.history.clock import short_date
from trainer.history.streaks import RULE
from trainer.learner.measured import Measured, trend
from trainer.pictures import colours
from trainer.pictures.colours import Colour
from trainer.pictures.terminal import Depth
from trainer.play.measure import LEVEL as MEASURE
from trainer.play.measure import change_sentence, measures_of
from trainer.report import wording as words
from trainer.report.report import change_lines, game_kinds
from trainer.report.weeks import LEAST_WEEKS, Calendar, WeekBias, calendar_of
from trainer.report.wording import DayCell, Row

MOST_WEEKS = 26
AROUND = 19  # rows of the page that are not weeks
LARGE = 36  # rows of the terminal from which a week is two rows high
DRAWN = 110  # columns from which there is room for how sure an average is, drawn
WIDE = 160  # and said
CELLS = ((WIDE, 10), (DRAWN, 6), (0, 4))  # columns of the terminal from which a day is so wide
GAP = 1  # columns between two days
DATE = 7  # columns of a date
MOST_MEASURES = 12  # in a large terminal
WIDEST_BAR = 60  # columns of the bar of a measure, from none to the farthest
BESIDE = "   "  # between a week's figures and their drawing
# Ink and paper of a day with practice, by its shade: from the cloth in the dark to chalk.
SHADES: tuple[tuple[Colour, Colour], ...] = (
    (colours.MARK, colours.CLOTH_DARK),
    (colours.MARK, colours.CLOTH),
    (colours.MARK, colours.CUSHION),
    (colours.MARK_DARK, colours.CLOTH_LINE),
)
FILLS = " ░▒▓█"  # the same where there are few colours or none; and with plain characters
PLAIN_FILLS = " .:+#"


class WeeksScreen(TrainerScreen):
    """The calendar of weeks."""

    BINDINGS: ClassVar[list[BindingType]] = [
        bound("weekly_measure", "measure", "Weekly measure"),
        bound("keep_page", "keep_page", "Save as a web page"),
        bound("back", "home", "Home"),
        *[bound(name, "home", "Home", show=False) for name in ("choose", "go_on")],
    ]
    HELP_TEXT = (
        "Each row is a week from Monday to Sunday, each block a day with the number of its calls: the more "
        "calls, the brighter. A dot is a day without practice, ~ one that is forgiven. Beside it stand the "
        "week's calls, how many were right, your usual time for a call, how thick or thin the shots "
        "were called, and how far calls scatter; the last two take thirty calls. "
        "The weekly measure is 24 shots that are as hard every week: how many go in, and how far off the "
        "calls are on average, each with how sure that is; a call more than 1/8 ball off counts as that. "
        "A day is the one it was where you were: no journey, clock or setting changes it afterwards."
    )

    def body(self) -> ComposeResult:
        """One page, all of it text."""
        with Page(id="page"):
            yield Static(id="weeks")

    def on_mount(self) -> None:
        """Look at the history once."""
        game = self.trainer.game
        calls, days = game.history.count(), game.history.days()
        self._head = f"{counted(calls, 'call')} on {counted(len(days), 'day')}"
        self._calendar = calendar_of(game, MOST_WEEKS)
        self._settled = sum(kind.settled for kind in game_kinds(game))
        self._changes = change_lines(game)
        self._measures = measures_of(game.history)
        self.show_weeks()

    def on_resize(self, event: events.Resize) -> None:
        """More room shows more weeks, and larger days."""
        super().on_resize(event)
        self.show_weeks()

    def show_weeks(self) -> None:
        """Write the page for the room there is."""
        columns, rows = self.size
        wide, high = columns >= WIDE, 2 if rows >= LARGE else 1
        measured = self._measured(rows)
        room = (rows - AROUND - len(self._changes) - len(measured)) // (high + (high > 1))
        weeks = max(LEAST_WEEKS, min(room, MOST_WEEKS, self._calendar.long))
        lines = [
            Content.assemble(("Weeks", "bold $head"), f"   {self._head}"),
            Content(""),
            Content.styled(words.streak_words(self._calendar.streak), "bold $good"),
            Content.styled(RULE, "$quiet"),
            Content(""),
            *self._drawn(self._calendar, weeks, wide=wide, high=high),
            Content(""),
            Content(words.runs_words(self._calendar, self._settled)),
            Content(""),
            *measured,
            Content.styled(words.COMPARED, "bold $head"),
            *[Content.styled(said, "$good" if better else "$quiet") for said, better in self._changes],
            Content.styled(words.POWER, "$quiet"),
        ]
        self.query_one("#weeks", Static).update(Content("\n").join(lines))

    def action_measure(self) -> None:
        """Take this week's measure."""
        self.trainer.play_level(MEASURE)

    def _measured(self, rows: int) -> list[Content]:
        """The chart of weekly measures, a row a week; nothing before the first."""
        if not self._measures:
            return []
        style, sizes = self.trainer.game.style, words.MEASURE_SIZES
        shown = self._measures[-MOST_MEASURES if rows >= LARGE else -LEAST_WEEKS :]
        most = words.measure_scale(shown)
        room = min(self.size.width - 2 - DATE - sum(sizes) - len(BESIDE) - 1, WIDEST_BAR)
        heads = "".join(f"{head:>{size}}" for head, size in zip(words.MEASURE_HEADS, sizes, strict=True))
        end = f"{style.one_over(most)} ball off"
        lines = [Content.styled(f"{'':{DATE}}{heads}{BESIDE}true{end:>{room - len('true')}}", "$quiet")]
        for mine in shown:
            figures = zip(words.measure_figures(mine, style), sizes, strict=True)
            pots, sure, off, within = (f"{text:>{size}}" for text, size in figures)
            date = (f"{short_date(mine.day):{DATE}}", "$quiet")
            parts = (pots, (sure, "$quiet"), off, (within, "$quiet"))
            lines.append(Content.assemble(date, *parts, BESIDE, _bar(mine, room, most)))
        found = trend(self._measures)
        tone = "$quiet" if found is None or not found.sure else "bold $good" if found.better else "bold"
        return [
            Content.styled(words.MEASURED, "bold $head"),
            *lines,
            Content.styled(change_sentence(self._measures, style), tone),
            Content(""),
        ]

    def _drawn(self, calendar: Calendar, weeks: int, *, wide: bool, high: int) -> list[Content]:
        """The calendar: heads, then the weeks, each ``high`` rows."""
        cell = next(size for least, size in CELLS if self.size.width >= least)
        sizes = words.WIDE if wide else words.NARROW
        heads = "".join(f"{head:>{size}}" for head, size in zip(words.HEADS, sizes, strict=True))
        names = (" " * GAP).join(f"{name:^{cell}}" for name in words.WEEKDAYS)
        taken = 2 + 7 + len(names) + len(heads) + len(BESIDE)  # with the page's padding
        half = (self.size.width - taken - 1) // 2 if self.size.width >= DRAWN else 0
        beside = Content.assemble(BESIDE, ends(half)) if half else Content("")
        lines = [Content.assemble((f"{'':7}{names}{heads}", "$quiet"), beside)]
        for row in words.calendar_rows(calendar, weeks, self.trainer.game.style, wide=wide):
            lines.append(Content.assemble(self._week(row, cell, sizes), _drawn(row.seen, half)))
            if high > 1:
                lines += [self._week(_blank(row), cell, sizes), Content("")]
        return lines

    def _week(self, row: Row, cell: int, sizes: tuple[int, ...]) -> Content:
        days = Content(" " * GAP).join([self._day(day, cell) for day in row.cells])
        figures = "".join(f"{text:>{size}}" for text, size in zip(row.figures, sizes, strict=True))
        return Content.assemble((f"{row.label:6} ", "$quiet"), days, figures)

    def _day(self, day: DayCell, cell: int) -> Content:
        few = self.trainer.colours in (Depth.FEW, Depth.NONE)
        fills = PLAIN_FILLS if self.trainer.glyphs == "plain" else FILLS
        text = f"{day.text:^{cell}}"
        if few and day.shade:
            text = f"{day.text:{fills[day.shade]}>{cell}}"
        if few or not day.shade:
            tone = "$foreground" if day.shade else "$head" if day.today else "$quiet"
        else:
            tone = "{} on {}".format(*map(hex_of, SHADES[day.shade - 1]))
        return Content.styled(text, f"bold underline {tone}" if day.today else tone)


def _bar(mine: Measured, room: int, most: float) -> str:
    """How far off the calls of a measure were, from none at the left, with how sure that is."""
    ends = (mine.typical_range[0], mine.typical, mine.typical_range[1])
    low, middle, high = (round(min(size / most, 1.0) * (room - 1)) for size in ends)
    cells = ["│", *" " * (room - 1)]
    cells[low : high + 1] = "─" * (high + 1 - low)
    cells[middle] = "●"
    return "".join(cells)


def _drawn(seen: WeekBias | None, half: int) -> str:
    """How thick or thin a week was seen, if there is room for it."""
    return BESIDE + interval(seen.low, seen.bias, seen.high, half) if seen and half else ""


def _blank(row: Row) -> Row:
    """The second row of a week: its shades alone."""
    cells = tuple(DayCell("", cell.shade, False) for cell in row.cells)
    return Row("", cells, ("",) * len(row.figures), None)

"""Weeks, the streak and what has changed, as they are said to a player."""

from dataclasses import dataclass
from datetime import date

from trainer.drills.words import counted
from trainer.history.streaks import Streak
from trainer.learner.change import THEN
from trainer.learner.verdicts import TRUE
from trainer.play.game import Game
from trainer.report.report import game_changes
from trainer.report.weeks import Calendar, Seen, Week
from trainer.report.words import change_words
from trainer.shots.style import Style

WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
SHADES = (1, 20, 40, 80)  # calls from which a day is a shade stronger; 40 are a day's dose
COMPARED = "Compared with a month ago"  # the head of what has changed
MISSED, FORGIVEN, TODAY = "·", "~", "now"
HEADS = ("calls", "right", "time", "thick/thin", "scatter")
NARROW = (5, 6, 6, 11, 8)  # characters of each of these; the wide ones have room for how sure it is
WIDE = (5, 6, 7, 32, 9)
# How often a change that is there is told: tests/benchmarks/bench_change.py, rounded.
POWER = (
    "A change is told only when it is sure. With 20 calls a day that takes about four weeks where a fault of "
    "1/10 ball halves, and longer where it is smaller."
)
MOST_CALLS = 9999  # that a cell can say


@dataclass(frozen=True)
class DayCell:
    """What a cell of the calendar says, how strong its shade is (0: no practice), and whether it is today."""

    text: str
    shade: int
    today: bool


@dataclass(frozen=True)
class Row:
    """A week of the calendar: the date of its Monday, seven cells, its figures, and how it was seen."""

    label: str
    cells: tuple[DayCell, ...]
    figures: tuple[str, ...]
    seen: Seen | None


def short_date(day: str) -> str:
    """``" 2 Mar"``."""
    when = date.fromisoformat(day)
    return f"{when.day:>2} {MONTHS[when.month - 1]}"


def calendar_rows(calendar: Calendar, weeks: int, style: Style, *, wide: bool = False) -> list[Row]:
    """The last weeks, the present one at the end; ``wide``: with how sure the average is."""
    first = calendar.weeks[0].days[0].day if calendar.weeks else calendar.today
    return [
        Row(
            short_date(week.monday),
            tuple(_cell(calendar, week, place, first) for place in range(7)),
            figures(week, style, wide=wide),
            week.seen if week.calls else None,
        )
        for week in calendar.last(weeks)
    ]


def _cell(calendar: Calendar, week: Week, place: int, first: str) -> DayCell:
    day, played = week.on(place)
    is_today = day == calendar.today
    if played is not None:
        shade = sum(played.calls >= least for least in SHADES)
        return DayCell(str(min(played.calls, MOST_CALLS)), shade, is_today)
    if day in calendar.streak.forgiven:
        return DayCell(FORGIVEN, 0, is_today)
    if is_today:
        return DayCell(TODAY, 0, is_today)
    return DayCell(MISSED if first <= day < calendar.today else "", 0, is_today)


def figures(week: Week, style: Style, *, wide: bool = False) -> tuple[str, ...]:
    """Calls, share of right ones, response time, bias and scatter of a week; nothing without calls."""
    if not week.calls:
        return ("",) * len(HEADS)
    share, seconds = week.share_right or 0.0, week.seconds
    if week.seen is None:
        seen = (f"{week.missing} to go", "")
    else:
        seen = seen_words(week.seen, style, wide=wide), style.one_over(week.seen.noise)
    return (
        str(week.calls),
        f"{100 * share:.0f} %",
        "" if seconds is None else f"{seconds:.1f} s",
        *seen,
    )


def seen_words(seen: Seen, style: Style, *, wide: bool = True) -> str:
    """``1/32 thick, sure within 1/96``, or ``true, within 1/64`` where it may be none."""
    if seen.low <= 0 <= seen.high:
        return f"{TRUE}, within {style.one_over(max(-seen.low, seen.high))}" if wide else TRUE
    said = f"{style.one_over(seen.bias)} {'thick' if seen.bias > 0 else 'thin'}"
    return f"{said}, sure within {style.one_over((seen.high - seen.low) / 2)}" if wide else said


def streak_words(streak: Streak) -> str:
    """``12 days in a row, one missed day forgiven. Practise today to keep it, or it goes on from 5.``"""
    if not streak.days:
        return "Practise today, and days in a row begin to count."
    said = f"{counted(streak.days, 'day')} in a row"
    if streak.forgiven:
        said += f", {counted(len(streak.forgiven), 'missed day')} forgiven"
    if streak.tomorrow >= streak.days:
        return f"{said}."
    if not streak.tomorrow:
        return f"{said}. Practise today to keep it."
    return f"{said}. Practise today to keep it, or it goes on from {streak.tomorrow}."


def runs_words(calendar: Calendar, settled: int) -> str:
    """``Longest run of pots 14, this week 9; 3 kinds of shot settled.``"""
    (week,) = calendar.last(1)
    said = f"Longest run of pots {calendar.best_run_of_pots}"
    if week.calls:
        said += f", this week {week.best_run_of_pots}"
    return f"{said}; {counted(settled, 'kind')} of shot settled."


def change_lines(game: Game) -> list[tuple[str, bool]]:
    """What has become of the faults of a month ago, each with whether it is better."""
    found = game_changes(game)
    if found:
        return [(change_words(each, game.style), each.better) for each in found]
    today = date.fromisoformat(game.history.today)
    ago = [(today - date.fromisoformat(day)).days for day in game.digest.days]
    if not any(THEN[0] <= days <= THEN[1] for days in ago):
        left = THEN[0] - max(ago, default=0)
        when = f"in {counted(left, 'day')}" if left > 0 else "three weeks from now"
        return [(f"Too early to compare: look again {when}.", False)]
    return [("No kind of shot was surely thick or thin a month ago: nothing to compare yet.", False)]


def calendar_lines(calendar: Calendar, weeks: int, style: Style) -> list[str]:
    """The calendar as plain text, its heads first."""
    heads = "".join(f"{head:>{size}}" for head, size in zip(HEADS, WIDE, strict=True))
    lines = [f"  {'':6} {''.join(f'{name:>5}' for name in WEEKDAYS)} {heads}"]
    for row in calendar_rows(calendar, weeks, style, wide=True):
        days = "".join(f"{cell.text:>5}" for cell in row.cells)
        told = "".join(f"{text:>{size}}" for text, size in zip(row.figures, WIDE, strict=True))
        lines.append(f"  {row.label:6} {days} {told}".rstrip())
    return lines

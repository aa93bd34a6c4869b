"""The report: what the history says of a player, as data for scripts and for the pages."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import asdict
from datetime import date, timedelta
from typing import Any

import numpy as np

from trainer.drills import ANGLE, DRILLS
from trainer.drills.words import counted
from trainer.history.attempt import Attempt
from trainer.history.streaks import streak_days
from trainer.learner.centre import CentreSeen
from trainer.learner.change import DAYS, SHORTEST, Change, changes
from trainer.learner.measured import Measured
from trainer.learner.table_cause import TableCause
from trainer.learner.table_verdict import TableVerdict
from trainer.learner.verdicts import NOT_YET, KindVerdict, kind_verdicts
from trainer.play.answered import centre_of, sighting_words
from trainer.play.calls import call_of, skill_of
from trainer.play.diagnosis import Diagnosis, by_view, kinds_by_view
from trainer.play.game import Game
from trainer.play.measure import measures_of
from trainer.play.pair import LATELY, TwoLooks, pairs_in, two_looks, without_seconds
from trainer.report.carried import Carried, carried
from trainer.report.notebook import Notebook
from trainer.report.weeks import Week, calendar_of
from trainer.report.wording import (
    change_words,
    open_words,
    table_cause_words,
    table_counts,
    table_words,
)

CURVE_SINES = np.linspace(-0.98, 0.98, 99)
DIGITS = 9


def report(game: Game) -> dict[str, Any]:
    """The JSON object of a report; biases in ball widths, + thick."""
    mean, sd = game.belief.curve(CURVE_SINES)
    rows, seen, book = game_kinds(game), game_sighting(game), Notebook(game)
    return {
        **_counts(game),
        "belief": {
            "offset": _rounded(CURVE_SINES),
            "bias": _rounded(mean),
            "low": _rounded(mean - 1.96 * sd),
            "high": _rounded(mean + 1.96 * sd),
            "noise": _rounded(game.belief.noise(CURVE_SINES)),
        },
        "diagnosis": diagnosis_object(game.diagnosis),
        "bands": [_plain(row) for row in rows],
        "bands_by_view": {
            view: [_plain(row) for row in kinds] for view, kinds in kinds_by_view(game.model).items()
        },
        "routine": routine_object(game),
        "settled": [{"band": row.band, "side": row.side} for row in rows if row.settled],
        "changes": [_plain(change) for change in game_changes(game)],
        "sighting": None if seen is None else _plain(seen),
        "weeks": [_plain_week(week) for week in calendar_of(game).weeks],
        "measures": [measure_object(each) for each in measures_of(game.history)],
        "table": table_object(book.verdicts()),
        "table_causes": table_object(book.causes()),
        "carried": [_plain(each) for each in carried(book)],
    }


def diagnosis_object(diagnosis: Diagnosis) -> dict[str, Any]:
    """What is wrong with this eye: the causes surely there, the most costly first, and a sentence."""
    return {
        "sentence": diagnosis.said,
        "causes": [
            {
                "cause": found.cause,
                "size": _number(found.size),
                "low": _number(found.low),
                "high": _number(found.high),
                "chance": _number(found.chance),
                "since_call": found.since_call,
                "costs": _number(found.cost),
                "does": found.does,
                "cure": found.cure.name,
                **({"kinds": [kind._asdict() for kind in found.kinds]} if found.kinds else {}),
            }
            for found in diagnosis.causes
        ],
        "calls_to_go": diagnosis.calls_to_go,
    }


def measure_object(mine: Measured) -> dict[str, Any]:
    """A weekly measure; ``low`` and ``high`` are the 95 % interval of the share of pots."""
    return {
        "day": mine.day,
        "shots": mine.shots,
        "potted": mine.potted,
        **_ends("", mine.share),
        "typical_error": _number(mine.typical),
        **_ends("typical_error_", mine.typical_range),
        "error": _number(mine.error),
        **_ends("error_", mine.error_range),
    }


def _ends(of: str, interval: tuple[float, float]) -> dict[str, float | None]:
    return {f"{of}low": _number(interval[0]), f"{of}high": _number(interval[1])}


def table_object(verdicts: Sequence[TableVerdict | TableCause]) -> list[dict[str, Any]]:
    """Seeing or cueing, of each kind of shot noted at the table, or of what runs through all of them.

    Biases in ball widths, + thick.
    """
    return [_plain(row) for row in verdicts]


def table_lines(book: Notebook) -> list[str]:
    """The same in words: what runs through all kinds, or how much is missing; then each kind."""
    style, rows = book.game.style, book.verdicts()
    said = [table_cause_words(found) for found in book.causes()]
    lines = [f"  {each}" for each in said or [open_words(rows, book.more_misses)] if each]
    for row in rows:
        lines.append(f"  {row.kind} {row.side}: {table_counts(row)}")
        if row.table != NOT_YET or row.verdict != NOT_YET:
            lines.append(f"    {table_words(row, style)}")
    return lines + [f"  {each.words}" for each in carried(book) if book.notes]


def _counts(game: Game) -> dict[str, int]:
    days = game.history.days()
    return {
        "attempts": game.history.count(),
        "days": len(days),
        "streak_days": streak_days(days, game.history.today),
    }


def headline(game: Game) -> str:
    """Calls, days and streak in words."""
    found = _counts(game)
    calls, days = counted(found["attempts"], "call"), counted(found["days"], "day")
    row = f", {counted(found['streak_days'], 'day')} in a row" if found["streak_days"] > 1 else ""
    return f"{calls} on {days}{row}."


def game_kinds(game: Game) -> list[KindVerdict]:
    """Every band and side of this player."""
    return kind_verdicts(game.belief, game.skill().tally)


def game_changes(game: Game) -> list[Change]:
    """What became of the kinds of shot that were surely seen thick or thin."""
    today = date.fromisoformat(game.history.today).toordinal()
    mine = without_seconds(attempts_lately(game))
    looks = game.skill().looks
    known = {cause.split()[0] for cause in (*looks.since, *looks.healed)}
    return changes([call_of(a) for a in mine if skill_of(a.drill) == ANGLE], today, known)


def change_lines(game: Game) -> list[tuple[str, bool]]:
    """What became of faults, in words, each with whether it is better."""
    found = game_changes(game)
    if found:
        return [(change_words(each, game.style), each.better) for each in found]
    today = date.fromisoformat(game.history.today)
    ago = [(today - date.fromisoformat(day)).days for day in game.history.days()]
    lately = [days for days in ago if days <= DAYS]
    left = SHORTEST - (max(lately, default=0) - min(lately, default=0))
    if left > 0:
        return [(f"Too early to compare: look again in {counted(left, 'day')}.", False)]
    return [("No kind of shot was surely thick or thin: nothing to compare yet.", False)]


def attempts_lately(game: Game) -> Iterator[Attempt]:
    """The attempts of the weeks that a change is told from."""
    last = game.history.today
    first = (date.fromisoformat(last) - timedelta(days=DAYS)).isoformat()
    return game.history.attempts_of_days(first, last)


def game_sighting(game: Game) -> CentreSeen | None:
    """Where this player sees the centre of the object ball, if the calls can say."""
    return centre_of(game.model)


def view_lines(game: Game) -> list[str]:
    """How each view differs from the first, in words."""
    return by_view(game.model, game.style)


def game_looks(game: Game) -> TwoLooks | None:
    """What the shots come to that were called standing and then down of late, where fullness was called."""
    lately = game.history.last_attempts(LATELY, [name for name in DRILLS if skill_of(name) == ANGLE])
    return two_looks(pairs_in(lately))


def routine_object(game: Game) -> dict[str, int | float] | None:
    """The same for JSON; null where no shot was called twice."""
    looks = game_looks(game)
    return None if looks is None else looks.plain()


def looks_line(game: Game) -> str:
    """The same in words; nothing where no shot was called twice."""
    looks = game_looks(game)
    return "" if looks is None else looks.of_a_player(game.style)


def sighting_line(game: Game) -> str:
    """The same in words, nothing before the first call."""
    return sighting_words(game_sighting(game), len(game.model.sighted), game.style)


def _plain(row: KindVerdict | Change | CentreSeen | TableVerdict | TableCause | Carried) -> dict[str, Any]:
    """Numbers rounded; null for none."""
    return {
        name: _number(value) if isinstance(value, float) else value for name, value in asdict(row).items()
    }


def _number(value: float) -> float | None:
    return round(value, DIGITS) if math.isfinite(value) else None


def _plain_week(week: Week) -> dict[str, Any]:
    """A week's days and figures; its ``seen`` spread over ``bias``, ``low``, ``high`` and ``noise``."""
    plain = asdict(week) | {"share_right": week.share_right}
    seen = plain.pop("seen") or dict.fromkeys(("bias", "low", "high", "noise"))
    plain["days"] = list(plain["days"])
    return {k: round(v, DIGITS) if isinstance(v, float) else v for k, v in (plain | seen).items()}


def _rounded(values: np.ndarray) -> list[float]:
    return [round(float(v), DIGITS) for v in values]

"""What one set showed: its figures, its calls, and each kind of shot."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from trainer.drills import DRILLS, Drill
from trainer.drills.words import kind_name
from trainer.geometry.fullness import EVERY_KIND, Kind, band_of, kind_of, side_of
from trainer.history.attempt import Attempt
from trainer.play.calls import call_of
from trainer.play.first_look import LEVEL as FIRST
from trainer.play.set_in_play import SetInPlay
from trainer.shots.style import Style

TRUE = 1 / 32  # balls: a mean error below this is called true
FEWEST = 3  # calls that make a chart
RIGHT, WRONG = "✓", "✗"
IN_A_LINE = 20  # calls


@dataclass(frozen=True)
class KindSummary:
    """A kind of shot in one set: how many calls, how many right, the mean signed error in balls.

    ``error`` is None where the calls don't tell how full the shots were seen.
    """

    band: str
    side: str
    calls: int
    right: int
    error: float | None

    @property
    def kind(self) -> Kind:
        """Its band and side as one."""
        return Kind(self.band, self.side)

    @property
    def well(self) -> bool:
        """Every call right, or as many thick as thin and three of four right."""
        return self.right == self.calls or (self._is_even and 4 * self.right >= 3 * self.calls)

    @property
    def seen_wrong(self) -> bool:
        """Whether it looks thick or thin: one call alone doesn't tell."""
        return not self.well and self.error is not None and not self._is_even and self.calls > 1

    @property
    def _is_even(self) -> bool:
        """About as many thick as thin."""
        return self.error is not None and abs(self.error) < TRUE

    def words(self, style: Style) -> str:
        """The mean error in words."""
        if self.error is None:
            return ""
        said = style.thick_or_thin(self.error)
        return said + (" on average" if self.calls > 1 else "")


@dataclass(frozen=True)
class Errors:
    """How full the shots of a set were seen, one value for each call that tells it.

    ``sines`` of the signed cuts, + left; ``errors`` in balls, + thick; ``forgiven`` the lowest and the
    highest of these with which each pot goes in.
    """

    sines: tuple[float, ...]
    errors: tuple[float, ...]
    forgiven: tuple[tuple[float, float], ...]

    @property
    def enough(self) -> bool:
        """Whether there are enough for a chart."""
        return len(self.errors) >= FEWEST


def errors_in(attempts: Sequence[Attempt]) -> Errors:
    """The errors of the calls that tell how full a shot was seen."""
    mine = [a for a in attempts if _tells(a)]
    return Errors(
        sines=tuple(math.sin(math.radians(a.cut_deg)) for a in mine),
        errors=tuple(a.error for a in mine),
        forgiven=tuple((a.margin_low - a.fullness, a.margin_high - a.fullness) for a in mine),
    )


def figures(played: SetInPlay) -> str:
    """``9 of 12 right, best run 5. As called, 10 go in.``"""
    said = f"{sum(played.rights)} of {len(played.rights)} right, best run {played.best_run}."
    return f"{said} {as_called(played)}".strip()


def as_called(played: SetInPlay) -> str:
    """``As called, 10 go in.``; nothing before a call, or where it isn't the call that is played."""
    drill = DRILLS.get(played.level.drill)  # the primer has many
    if not played.attempts or (drill is not None and drill.played != Drill.played):
        return ""
    one, more = (drill or Drill).done
    return f"As called, {played.potted or 'none'} {more if played.potted > 1 else one}."


def grouped(attempts: Sequence[Attempt]) -> list[tuple[str, list[KindSummary]]]:
    """The kinds of shot that came up often enough to say something of, under how they were called."""
    rows = [row for row in kind_summaries(attempts) if row.calls >= FEWEST]
    groups = (
        ("Called well", [r for r in rows if r.well]),
        ("Called thick", [r for r in rows if r.seen_wrong and (r.error or 0.0) > 0]),
        ("Called thin", [r for r in rows if r.seen_wrong and (r.error or 0.0) <= 0]),
        ("To look at again", [r for r in rows if not r.well and not r.seen_wrong]),
    )
    return [(heading, chosen) for heading, chosen in groups if chosen]


def was_about(played: SetInPlay) -> str:
    """What kind of shot a set was about, and how those went; '' where they were about nothing by itself.

    ``It was about 3/8 to the right: 3 of 5 right.``
    """
    if played.level.about is None:
        return ""
    low, high = played.level.about
    mine = [a.right for a in played.attempts if low <= math.sin(math.radians(a.cut_deg)) <= high]
    kind = kind_name(kind_of((low + high) / 2))
    return f"It was about {kind}: {sum(mine)} of {len(mine)} right." if mine else f"It was about {kind}."


def worth_reading(played: SetInPlay) -> str:
    """How a set went beside those before it, or to which side its calls went, as a sentence; or ''."""
    rights = played.rights
    if played.level.passed is not None and len(rights) == played.of:
        *earlier, _ = played.game.history.sets_of_level(played.level.name) or [[]]
        best = max((sum(each) for each in earlier if len(each) == len(rights)), default=None)
        if best is not None and sum(rights) > best:
            return f"Your best at this level: {sum(rights)} right, and {best} before."
    missed = [a.error for a in played.attempts if _tells(a) and not a.right]
    thick = sum(error > 0 for error in missed)
    thin = len(missed) - thick
    (more, way), (fewer, other) = sorted([(thick, "thick"), (thin, "thin")], reverse=True)
    if len(missed) >= FEWEST and more >= 3 * fewer:
        return f"Of the misses {more} were too {way} and {fewer or 'none'} too {other}."
    if len(missed) >= 2 * FEWEST:
        both = f"{thick} thick and {thin} thin"
        return f"The misses go both ways, {both}: that is scatter, and no side to mend."
    return ""


def to_show(played: SetInPlay, day: str) -> str:
    """The set in a few lines of text, to show to somebody; ``day`` is when it was played."""
    style = played.game.style
    marks = "".join(RIGHT if right else WRONG for right in played.rights)
    lines = [
        f"{played.level.title}, {day}",
        *(marks[i : i + IN_A_LINE] for i in range(0, len(marks), IN_A_LINE)),
    ]
    if played.level is FIRST:
        return "\n".join([*lines, *played.findings])
    lines += [figures(played), *played.findings]
    for heading, rows in grouped(played.attempts):
        kinds = ", ".join(kind_name(r.kind) + ("" if r.well else f" ({r.words(style)})") for r in rows)
        lines.append(f"{heading}: {kinds}")
    return "\n".join(lines)


def kind_summaries(attempts: Sequence[Attempt]) -> list[KindSummary]:
    """The kinds of shot that came up, thick to thin, left before right."""
    of_kind = dict[Kind, list[Attempt]]()
    for a in attempts:
        kind = Kind(band_of(a.fullness).name, side_of(a.cut_deg))
        of_kind.setdefault(kind, []).append(a)
    rows = []
    for kind in EVERY_KIND:
        mine = of_kind.get(kind, [])
        errors = [a.error for a in mine if _tells(a)]
        if mine:
            rows.append(
                KindSummary(
                    band=kind.band,
                    side=kind.side,
                    calls=len(mine),
                    right=sum(a.right for a in mine),
                    error=sum(errors) / len(errors) if errors else None,
                )
            )
    return rows


def _tells(attempt: Attempt) -> bool:
    """Whether a call tells that its shot was seen thick or thin."""
    return call_of(attempt).tells

"""The aim inset: the object ball straight on, as the cue ball sees it, and where to aim on it.

And one large ball alone, to see whether it comes out round.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from trainer.pictures import colours
from trainer.pictures.canvas import Canvas
from trainer.pictures.colours import linear
from trainer.pictures.marks import FAINT
from trainer.pictures.painted import Painted, Text
from trainer.pictures.projection import Viewport

WIDE_ENOUGH = 12.0  # cells across the object ball: fine enough to judge a sixteenth of it
APART = 2.0  # cells between neighbouring candidates
SHRINK = 0.8  # how far the ball may shrink to put every candidate in the middle of a cell
SIDE = 1.5  # cells kept free beside the row of candidates
CUT_OFF = 0.08  # ball widths of the ball that may be cut off for the same
BEYOND = 0.12  # ball widths shown beyond the thinnest graze where there are no candidates
LINE, DASH = 2.0, 8.0  # quarters of a cell's width
TICK = 0.5  # rows: half of a candidate's mark, where it is painted
BRIGHT = float(linear(165.0))  # mean light of a ground on which a light mark can't be seen


@dataclass(frozen=True)
class Hit:
    """What is shown of a hit; offsets of the cue ball's middle in ball widths, + right.

    Parameters
    ----------
    reach : float
        The largest offset that still touches. Both balls rest on the cloth, so the cue ball is ``reach ** 2``
        times as large as the object ball.
    candidates : sequence of float
        Where the cue ball may go.
    labels : sequence of str
        One a candidate, in the bottom row.
    selected : int, optional
        The candidate that is considered: its mark is bright.
    outlined : sequence of float
        Where the cue ball is outlined.
    edge : float, optional
        Where an upright line stands: the cue ball's edge.
    called, true : float, optional
        After the call: dashed outline, and half-transparent cue ball.
    first : float, optional
        What was called first, where a shot is called twice: faint outline.

    Raises
    ------
    ValueError
        For labels that aren't as many as the candidates.
    """

    reach: float
    candidates: Sequence[float] = ()
    labels: Sequence[str] = ()
    selected: int | None = None
    outlined: Sequence[float] = ()
    edge: float | None = None
    called: float | None = None
    true: float | None = None
    first: float | None = None

    def __post_init__(self) -> None:
        if self.labels and len(self.labels) != len(self.candidates):
            raise ValueError(f"{len(self.labels)} labels for {len(self.candidates)} candidates")


@dataclass(frozen=True)
class InsetView:
    """Where the inset lays things in its viewport, in widths of a pixel.

    ``scale`` is a ball width, (``x``, ``y``) the object ball's middle; ``labels`` and ``marks`` are
    the rows of cells of the labels and of the candidates' marks, ``columns`` those of each candidate.
    """

    viewport: Viewport
    scale: float
    x: float
    y: float
    labels: int
    marks: int
    columns: tuple[int, ...]

    def across(self, offset: float) -> float:
        """Where an offset (ball widths, + right) lies."""
        return self.x + offset * self.scale

    def offset(self, column: float) -> float:
        """The offset (ball widths) in the middle of a column of cells."""
        return ((column + 0.5) * self.viewport.cell[0] - self.x) / self.scale


def inset_view(hit: Hit, viewport: Viewport) -> InsetView:
    """Choose the scale: the whole row of candidates, and the ball as large as that leaves room for.

    Evenly spaced candidates come to lie in the middles of cells if that costs little.
    """
    (cols, rows), cell_aspect = viewport.size, viewport.cell_aspect
    labels = rows - 1
    height = max(1.0, labels - (1.0 if rows >= 8 else 0.0))  # rows the ball may take
    candidates, edge = hit.candidates, hit.reach + BEYOND
    low, high = (min(candidates), max(candidates)) if candidates else (-edge, edge)
    wide = max(1.0, cols - 2 * SIDE)
    # Candidates first: what they need; then, if that lets it, the whole ball as well.
    fits_row = wide / max(high - low, 1e-9) if candidates else wide
    ordered = sorted(candidates)
    gap = min((b - a for a, b in pairwise(ordered)), default=0.0)
    needs = min(max(WIDE_ENOUGH, APART / gap if gap > 0 else 0.0), fits_row)
    # The cue ball is drawn wherever it is called, so there is half of it beyond the row's ends.
    wing = 0.5 if candidates else 0.0
    span = max(high + wing, 0.5) - min(low - wing, -0.5)
    comfort = min(wide / span, 0.92 * height * cell_aspect)
    scale = max(comfort, needs)
    snapped = None
    if gap > 0 and all(abs(b - a - gap) < 1e-6 for a, b in pairwise(ordered)):
        most = min((cols - 1) / (span - CUT_OFF), wide / (high - low))
        most = min(most, 0.96 * height * cell_aspect)
        cells = int(gap * max(most, scale) + 1e-9)
        if cells >= APART and cells / gap >= min(needs, SHRINK * scale):
            snapped = scale = cells / gap
    side = SIDE / scale if candidates else 0.0
    if (span + 2 * side) * scale > cols:
        wing = 0.0  # no room for that
    x = cols / 2 - _middle(low - wing - side, high + wing + side, cols / scale) * scale
    if snapped is not None:
        first = x + low * scale
        x += round(first - 0.5) + 0.5 - first
    across = viewport.cell[0]
    x, scale = x * across, scale * across
    columns = [int((x + candidate * scale) // across) for candidate in candidates]
    return InsetView(
        viewport,
        scale,
        x,
        y=height / 2 * across * cell_aspect,
        labels=labels,
        marks=min(int(height / 2), rows - 1),
        columns=tuple(min(max(column, 0), cols - 1) for column in columns),
    )


def _middle(low: float, high: float, wide: float) -> float:
    """Middle of a stretch ``wide`` ball widths that holds the row, and of the ball what it can."""
    all_low, all_high = min(low, -0.5), max(high, 0.5)
    if all_high - all_low <= wide:
        return (all_low + all_high) / 2
    # Not all of the ball: keep the row in, and come as near to the ball's middle as that allows.
    slack = max(0.0, (wide - (high - low)) / 2)
    row = (low + high) / 2
    return min(max(0.0, row - slack), row + slack)


def painted_inset(hit: Hit, viewport: Viewport) -> Painted:
    """The object ball as the cue ball sees it.

    Parameters
    ----------
    hit : Hit
        What is shown on it.
    viewport : Viewport
        1 x 1 at least.
    """
    view, selected = inset_view(hit, viewport), hit.selected
    canvas, high = paint_inset(hit, view), viewport.cell[1] * viewport.step
    if hit.labels:  # on plain ground, whatever hangs down there
        canvas.rectangle(0.0, view.labels * high, canvas.width, canvas.height, colours.CLOTH_DARK)
    texts = []
    for i, (offset, column) in enumerate(zip(hit.candidates, view.columns, strict=True)):
        mark, ink, wide = "│", viewport.scheme.quiet, 0.7
        if i == selected:
            mark, ink, wide = "┃", colours.MARK, 1.4
        if viewport.mean(canvas, (column, view.marks)) > BRIGHT:
            ink = colours.MARK_DARK
        if viewport.is_fine:
            x, y = view.across(offset), (view.marks + 0.5) * high
            canvas.line((x, y - TICK * high), (x, y + TICK * high), wide * viewport.unit, ink)
        else:
            texts.append(Text(column, view.marks, mark, ink))
    for i, (column, label) in enumerate(zip(view.columns, hit.labels, strict=False)):
        first = min(max(column - (len(label) - 1) // 2, 0), max(viewport.size[0] - len(label), 0))
        ink = colours.MARK if i == selected or selected is None else viewport.scheme.quiet
        texts.append(Text(first, view.labels, label, ink))
    return Painted(canvas, texts)


def paint_inset(hit: Hit, view: InsetView) -> Canvas:
    """The pixels of :func:`painted_inset`, without marks and labels."""
    canvas, unit = view.viewport.canvas(colours.CLOTH_DARK), view.viewport.unit
    scheme = view.viewport.scheme
    radius = view.scale / 2
    cue_radius = radius * hit.reach**2
    cue_y = view.y + radius - cue_radius  # both rest on the cloth
    canvas.shadow(view.x, view.y + 0.97 * radius, 1.15 * radius, 0.16 * radius, 0.5)
    canvas.ball(view.x, view.y, radius, colours.OBJECT_BALL)
    for end in (-1, 1):  # the ball's middle, faintly
        tip = view.y + end * radius
        canvas.line((view.x, tip), (view.x, tip - end * 0.16 * radius), 1.3 * unit, colours.MARK, 0.45)
    if hit.true is not None:
        canvas.ball(view.across(hit.true), cue_y, cue_radius, colours.CUE_BALL, 0.5)
    width = min(LINE * unit, cue_radius)
    for offset in hit.outlined:
        at = view.across(offset)
        canvas.disc(at, cue_y, cue_radius, colours.CUE_BALL, 0.12)
        canvas.ring(at, cue_y, cue_radius - width / 2, width, colours.CUE_BALL, 0.9)
    if hit.edge is not None:
        at = view.across(hit.edge)
        canvas.line((at, view.y - radius), (at, view.y + radius), LINE * unit, colours.CUE_BALL, 0.9)
    if hit.first is not None:
        at, ring = view.across(hit.first), min(1.25 * LINE * unit, cue_radius)
        canvas.ring(at, cue_y, cue_radius - ring / 2, ring, scheme.chalk, FAINT)
    if hit.called is not None:
        at = view.across(hit.called)
        width = min(1.25 * LINE * unit, cue_radius)
        canvas.ring(at, cue_y, cue_radius - width / 2, width, scheme.chalk, dash=DASH * unit)
    return canvas


FILLED = 0.92  # of the narrower way through the picture


def painted_ball(viewport: Viewport) -> Painted:
    """A ball in the middle of the cloth, as large as there is room in a viewport of 1 x 1 at least."""
    canvas = viewport.canvas(colours.CLOTH_DARK)
    radius = FILLED * min(canvas.width, canvas.height) / 2
    canvas.ball(canvas.width / 2, canvas.height / 2, radius, colours.OBJECT_BALL)
    return Painted(canvas)

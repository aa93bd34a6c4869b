"""Seeing or cueing: the table's misses beside what the eye gets wrong.

Three things are told of a kind of shot, and what follows for the player is put together from them.

*The table.* Are misses thick as often as thin? Against all chances of a half or less, for a miss to be thick,
stands a mixture of chances above it; the ratio of the two likelihoods grows beyond ``1 / a`` for no more than
a part ``a`` of even players, at whatever moment one looks: J. Ville, *Etude critique de la notion de
collectif* (1939); mixtures in H. Robbins, "Statistical methods related to the law of the iterated
logarithm", Annals of Mathematical Statistics 41 (1970), 1397-1409; as bets in G. Shafer, "Testing by
betting", Journal of the Royal Statistical Society A 184 (2021), 407-431. (All from memory.)

*The eye.* The belief's own verdict over the kind (``report``).

*The stroke.* A shot at the table goes wrong by

    what the eye sees wrong + what the stroke adds + scatter

in balls of fullness, + thick, and is missed thick or thin where that leaves the shot's margin. The eye's
part is averaged over the posterior, the scatter over some multiples of that of the calls. The likelihood of
the misses if the stroke adds something, over that if it adds nothing, is a Bayes factor: of players
whose stroke adds nothing, with eyes as the belief thinks, no more than a part ``a`` ever see it grow beyond
``1 / a`` (the same sources; A. Hendriksen, R. de Heide, P. Grunwald, "Optional stopping with Bayes
factors", Bayesian Analysis 16 (2021), from memory).

Of notes only misses count: between frames pots are noted less faithfully. Of a card every try is ticked, so
there pots count too; a few tries may go anywhere. That misses alone can't tell a large fault from a small
scatter is why the eye's own part must come from the drills.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from trainer.geometry.fullness import SIDES, SIGNS, Kind, bands
from trainer.geometry.vectors import Floats
from trainer.learner.belief import Belief
from trainer.learner.censored import log_cdf
from trainer.learner.priors import log_sum_exp
from trainer.learner.tally import Tally
from trainer.learner.verdicts import NOT_YET, SAMPLES, THICK, THIN, forgiven, to_go, verdict

# Kinds that are coarse enough to get anywhere: two or three bands each, by the least fullness.
KINDS = (("full to 7/8", 13 / 16), ("3/4 and 5/8", 9 / 16), ("1/2 and 3/8", 5 / 16), ("1/4 and thinner", 0.0))
FALSE = 0.05  # of players without such a fault so many may ever be told of one, over all kinds and both ways
LOG_THRESHOLD = math.log(2 * len(KINDS) * len(SIDES) / FALSE)
CHANCES = np.linspace(0.55, 0.95, 9)  # of a miss to be thick, for a table that isn't even
ADDED = np.array([0.02, 0.05, 0.09, 0.14])  # balls that a stroke may add
# The table's, in terms of that of the calls: a stroke adds to it, and a real shot is seen a little better.
SCATTERS = np.array([0.7, 0.85, 1.0, 1.4, 2.0, 3.0])
_NODES, _WEIGHTS = np.polynomial.hermite_e.hermegauss(9)
ODD = 0.03  # of all tries, which go anywhere: a kick, a slip
FIRST = (
    0.85,
    4.0,
)  # the part of a fault's misses that go its way, as thought beforehand, and its worth in misses
MOST_TO_GO = 100  # misses: more is as good as never

STROKE, SEEING, ALL, MADE_UP = "stroke", "seeing", "both", "made up for"


@dataclass(frozen=True)
class TableShot:
    """A shot of real play: the sine of its signed cut, its ``margin`` (balls, either way), what came of it.

    ``result`` is ``potted``, ``thick`` or ``thin``. ``ticked``: it was a try at a card's layout, all of which
    are ticked, pots too.
    """

    sine: float
    margin: float
    result: str
    ticked: bool = False


@dataclass(frozen=True)
class TableVerdict:
    """A kind of shot at the table, and whether it is the eye or the stroke; biases in balls, + thick.

    ``table`` is the way the table surely misses, ``eye`` the belief's verdict on the kind with ``bias``,
    ``low`` and ``high`` (95 %), ``stroke`` the way in which the stroke surely adds to what is seen; each may
    be ``not enough yet``. ``expected`` is the part of the misses that the eye alone would make thick, None
    without a miss. ``verdict`` is ``stroke``, ``seeing``, ``both``, ``made up for`` or ``not enough yet``.
    ``to_go`` is about how many more misses it takes until the table's way, or after that the stroke, is sure:
    0 where nothing more waits for misses, None where they can't do it. ``calls_to_go`` is how many calls
    more it takes until the eye is known, 0 where it is, None where they are more than anybody plays.
    """

    kind: str
    side: str
    potted: int
    thick: int
    thin: int
    table: str
    eye: str
    bias: float
    low: float
    high: float
    stroke: str
    expected: float | None
    verdict: str
    to_go: int | None
    calls_to_go: int | None

    @property
    def misses(self) -> int:
        """How often it was missed."""
        return self.thick + self.thin


def kind_of(fullness: float) -> str:
    """The kind that a fullness belongs to; an edge goes to the thicker one."""
    return next(name for name, least in KINDS if fullness >= least or not least)


def table_verdicts(belief: Belief, tally: Tally, played: Sequence[TableShot]) -> list[TableVerdict]:
    """The kinds of shot that were played at the table, thick to thin, left before right."""
    found = []
    for name, _ in KINDS:
        for side, sign in SIGNS.items():
            mine = [one for one in played if _is(one.sine, name, sign)]
            if mine:
                named = [band.name for band in bands() if kind_of(band.value) == name]
                called = sum(tally.kinds[Kind(band, side)].attempts for band in named)
                found.append(_verdict(belief, called, mine, name, side, sign))
    return found


def _is(sine: float, name: str, sign: float) -> bool:
    # A full ball may be one to the right, too: its sine is -0.
    return math.copysign(1.0, sine) == sign and kind_of(1.0 - abs(sine)) == name


def places_of(name: str, sign: float) -> Floats:
    """Sines of signed cuts spread over a kind, as far as its bands are played: (SAMPLES,)."""
    least = [edge for _, edge in KINDS]
    i = [kind for kind, _ in KINDS].index(name)
    high = 1.0 if i == 0 else least[i - 1]
    return sign * (1.0 - np.linspace(high, max(least[i], 1 / 16), SAMPLES))


def _verdict(
    belief: Belief, called: int, played: Sequence[TableShot], name: str, side: str, sign: float
) -> TableVerdict:
    places = places_of(name, sign)
    whole = belief.average(places)
    eye_mean, covariance = belief.joint(places)
    spread, room = float(belief.noise([places[SAMPLES // 2]])[0]), forgiven(places)
    eye = verdict(eye_mean, covariance, called, room)
    misses = [one for one in played if one.result in (THICK, THIN)]
    thick = sum(one.result == THICK for one in misses)
    thin = len(misses) - thick
    table = way_of(table_evidence(thick, thin))
    stroke, expected, seen = NOT_YET, None, None
    if misses:
        seen = Misses(belief, misses, spread)
        stroke = way_of(seen.evidence())
        expected = seen.expected
    said = conclusion(table, eye, stroke)
    more: int | None = 0
    if table == NOT_YET and said == NOT_YET:
        more = _to_go_table(thick, thin)
    elif said == NOT_YET and eye != NOT_YET and seen is not None:
        more = seen.to_go(table == THICK)
    return TableVerdict(
        kind=name,
        side=side,
        potted=len(played) - len(misses),
        thick=thick,
        thin=thin,
        table=table,
        eye=eye,
        bias=whole.mean,
        low=whole.low,
        high=whole.high,
        stroke=stroke,
        expected=expected,
        verdict=said,
        to_go=more,
        calls_to_go=0 if eye != NOT_YET else to_go(eye_mean, covariance, spread, called, room),
    )


def conclusion(table: str, eye: str, stroke: str, ways: Sequence[str] = (THICK, THIN)) -> str:
    """What follows from the way the table misses, the eye's verdict, and what the stroke surely adds.

    ``ways`` are the two that each of them may be.
    """
    if stroke != NOT_YET and table == stroke:
        return ALL if eye == stroke else STROKE
    if table != NOT_YET and table == eye:
        return SEEING
    if stroke != NOT_YET and eye in ways and eye != stroke:
        return MADE_UP
    return NOT_YET


def table_evidence(thick: ArrayLike, thin: ArrayLike) -> Floats:
    """Logarithm of the evidence that misses go more thick than even, and more thin: (..., 2)."""
    thick, thin = np.asarray(thick, float)[..., None], np.asarray(thin, float)[..., None]
    up, down = np.log(2 * CHANCES), np.log(2 * (1 - CHANCES))
    ways = [thick * up + thin * down, thin * up + thick * down]
    return np.stack([log_sum_exp(way) - math.log(len(CHANCES)) for way in ways], axis=-1)


class Misses:
    """Some shots, in the order they were played, held against what the eye makes of them.

    Parameters
    ----------
    belief : Belief
    played : sequence of TableShot
        One miss at least. A pot counts only where it was ticked.
    spread : float or (n,) float
        What calls of such shots scatter by, balls.
    signs : (n,) float, optional
        The way that counts as thick, of shots that may have one cause: -1 where that makes them thin.
    threshold : float
        Logarithm of the evidence from which something is told.
    """

    def __init__(
        self,
        belief: Belief,
        played: Sequence[TableShot],
        spread: ArrayLike,
        signs: ArrayLike = 1.0,
        threshold: float = LOG_THRESHOLD,
    ) -> None:
        sines = np.array([one.sine for one in played])
        ways = np.broadcast_to(np.asarray(signs, float), sines.shape)
        pots = np.array([one.result not in (THICK, THIN) for one in played])
        self.thick = (np.array([one.result == THICK for one in played]) == (ways > 0)) & ~pots
        self.outcome = np.where(pots, 2, self.thick)
        self._threshold = threshold
        seen = ways * belief.curve(sines)[0]
        margins = [max(round(one.margin, 4), 1e-4) for one in played]
        spreads = np.broadcast_to(np.round(np.asarray(spread, float), 6), sines.shape)
        ticked = [one.ticked for one in played]
        # Shots share few places and distances; each is worked out once.
        cells, self.cell = np.unique(
            np.column_stack([np.round(seen, 4), margins, spreads, ticked]), axis=0, return_inverse=True
        )
        self.cell = self.cell.ravel()
        added = np.concatenate([[0.0], ADDED, -ADDED])
        sd = _sd_of_average(belief, sines, ways)
        off = cells[:, 0, None, None, None] + sd * _NODES[:, None, None] + added  # cell, eye, scatter, added
        wide = cells[:, 2, None, None, None] * SCATTERS[:, None]
        over = log_cdf((off - cells[:, 1, None, None, None]) / wide)
        under = log_cdf((-off - cells[:, 1, None, None, None]) / wide)
        either = np.logaddexp(over, under)
        # (which way, cell, added, eye and scatter)
        self._missed = _in_order(np.stack([under - either, over - either]))
        every = np.exp(np.stack([under, over, np.log1p(-np.exp(np.minimum(either, -1e-12)))]))
        logs = np.log((1.0 - ODD) * every + ODD / 3.0)
        whole = cells[:, 3] > 0
        self._logs = _in_order(logs)
        self._logs[:2, ~whole], self._logs[2, ~whole] = self._missed[:, ~whole], 0.0
        weights = np.repeat(_WEIGHTS / _WEIGHTS.sum(), len(SCATTERS)) / len(SCATTERS)
        self._log_weights = np.log(weights)

    @property
    def expected(self) -> float:
        """The part of these misses that the eye alone would make thick."""
        alone = np.exp(self._missed[1, :, 0] + self._log_weights).sum(axis=-1)
        return float(alone[self.cell[self.outcome < 2]].mean())

    def evidence(self) -> Floats:
        """Logarithm of the evidence that the stroke adds to what is seen, thick and thin, (2,)."""
        return self._ratio(self._likelihood())

    def to_go(self, leads_thick: bool) -> int | None:
        """About how many more misses it takes until the stroke is told, if they go on so; None: never."""
        misses = self.cell[self.outcome < 2]
        thick = int(self.thick.sum())
        part = _part(thick if leads_thick else len(misses) - thick, len(misses))
        part = part if leads_thick else 1.0 - part
        share = np.bincount(misses, minlength=self._logs.shape[1]) / len(misses)
        step = np.tensordot(share, part * self._missed[1] + (1.0 - part) * self._missed[0], 1)
        more = np.arange(1.0, MOST_TO_GO + 1)
        ahead = self._ratio(self._likelihood() + more[:, None, None] * step)
        said = ahead[:, 0 if leads_thick else 1] >= self._threshold
        return int(more[said.argmax()]) if said.any() else None

    def _likelihood(self) -> Floats:
        counts = np.zeros(self._logs.shape[:2])
        np.add.at(counts, (self.outcome, self.cell), 1.0)
        return np.asarray(np.tensordot(counts, self._logs, 2))

    def _ratio(self, logs: Floats) -> Floats:
        """From the log-likelihoods (..., added, eye and scatter) to both ratios (..., 2)."""
        each, many = log_sum_exp(logs + self._log_weights), len(ADDED)
        ways = [each[..., 1 : 1 + many], each[..., 1 + many :]]
        return np.stack([log_sum_exp(way) - math.log(many) - each[..., 0] for way in ways], axis=-1)


def _in_order(logs: Floats) -> Floats:
    """From (outcome, cell, eye, scatter, added) to (outcome, cell, added, eye and scatter)."""
    turned = logs.transpose(0, 1, 4, 2, 3)
    return turned.reshape(*turned.shape[:3], -1)


def _sd_of_average(belief: Belief, sines: Floats, ways: Floats) -> float:
    """Standard deviation of the mean of a bias at sines (n,), each taken one way or the other (n,)."""
    places, place = np.unique(sines, return_inverse=True)
    weight = np.bincount(place.ravel(), ways) / len(sines)
    return math.sqrt(max(float(weight @ belief.joint(places)[1] @ weight), 0.0))


def way_of(evidence: Floats, threshold: float = LOG_THRESHOLD, ways: Sequence[str] = (THICK, THIN)) -> str:
    """The one of two ways whose evidence (2,) is enough, or ``not enough yet``."""
    return ways[0] if evidence[0] >= threshold else ways[1] if evidence[1] >= threshold else NOT_YET


def _part(most: int, of: int) -> float:
    """The part of the misses to come that go the way of most up to now."""
    return (most + FIRST[0] * FIRST[1]) / (of + FIRST[1])


def _to_go_table(thick: int, thin: int) -> int | None:
    """About how many more misses it takes until the table surely misses one way, if they go on so."""
    most, least = max(thick, thin), min(thick, thin)
    part, more = _part(most, thick + thin), np.arange(1.0, MOST_TO_GO + 1)
    said = table_evidence(most + part * more, least + (1.0 - part) * more)[:, 0] >= LOG_THRESHOLD
    return int(more[said.argmax()]) if said.any() else None

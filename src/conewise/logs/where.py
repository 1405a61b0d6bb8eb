"""Where a run lost time when its recording cannot tell by what: one place that stands out among the driver's own."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.special import ndtr

from conewise.logs.focus_candidate import LEAST_LOSS
from conewise.quantities import OF_MEDIAN

if TYPE_CHECKING:
    from conewise.logs.breakdown import Breakdown, FeatureGap
    from conewise.logs.measures import Measures

MORE = 0.15  # a place stands out where it costs this much more than the driver's others of its kind [s]
LEAST_CHANCE = 0.95  # that it costs more than they do by `LEAST_LOSS`, as of a place chosen beforehand
LEAST_OTHERS = 2  # places beside it, of whatever kind: one other tells nothing that is usual


@dataclass(frozen=True, slots=True, kw_only=True)
class Where:
    """One place at which time was lost, by the line or by the speed.

    seconds: behind the best run there [s]
    more: of them, beyond what the driver loses at the places that it was held against, by the time that each takes [s]
    chance: that more than `LEAST_LOSS` is lost beyond them, 0 to 1, as of a place chosen beforehand
    beside: the kind of the places that it was held against; "" for all others of the course
    n_beside: how many these are
    """

    feature: str
    seconds: float
    more: float
    chance: float
    beside: str
    n_beside: int


def standing_out(breakdown: Breakdown, measures: Measures) -> Where | None:
    """The place that stands out most; None where none does, and on a course that has fewer than two others.

    Parameters
    ----------
    breakdown : Breakdown
        Of the driven run.
    measures : Measures
        Of the driven run: how sure the time of every feature is.

    Notes
    -----
    A driver who leaves some room at every cone and some grip everywhere loses more at a slalom of six seconds than at a
    gate, and has no one place to work on. A feature is held against the median of the others of its kind, as shares of
    the best times there; one that is alone of its kind against all others. The one other slalom of a course is a better
    measure of a slalom than all gates: against these, drivers who leave the same room everywhere are told a slalom.
    """
    if len(breakdown.features) <= LEAST_OTHERS:
        return None
    doubts = {row.result.id: row.time_deviation for row in measures.features}
    found = [_held(gap, breakdown, doubts) for gap in breakdown.features]
    clear = [one for one in found if one.more >= MORE and one.chance >= LEAST_CHANCE]
    return max(clear, key=lambda one: one.more, default=None)


def _held(gap: FeatureGap, breakdown: Breakdown, doubts: dict[str, float]) -> Where:
    """One feature beside the others."""
    beside = [other for other in breakdown.features if other.id != gap.id]
    alike = [other for other in beside if other.kind == gap.kind]
    others = alike or beside
    lost = gap.measured - gap.best
    usual = np.array([(other.measured - other.best) / other.best for other in others])
    doubt = np.array([doubts[other.id] / other.best for other in others])
    more = lost - float(np.median(usual)) * gap.best
    of_usual = gap.best * float(np.sqrt(np.mean(doubt**2) / len(others))) * (OF_MEDIAN if len(others) > 2 else 1.0)
    deviation = max(float(np.hypot(doubts[gap.id], of_usual)), 1e-9)
    return Where(
        feature=gap.id,
        seconds=lost,
        more=more,
        chance=float(ndtr((more - LEAST_LOSS) / deviation)),
        beside=gap.kind if alike else "",
        n_beside=len(others),
    )

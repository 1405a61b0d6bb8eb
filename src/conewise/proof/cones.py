"""Cones and finishes before and after a change, beside the raw times and never mixed with them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy import special

from conewise.proof.times import DNF, FINISHED

if TYPE_CHECKING:
    from conewise.proof.comparison import Question
    from conewise.proof.times import Times

_DRAWS = 400  # points of the integral over one share; the error is below 1e-4


@dataclass(frozen=True, slots=True, kw_only=True)
class Share:
    """How many of some runs had something, with the exact interval of the share behind it."""

    n_hits: int
    n_runs: int
    low: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ConeCount:
    """Cones of the judged drivers on one set-up: `n_cones` in the runs where they were noted.

    hit: finished runs with at least one cone; unfinished: attempts that were not finished
    """

    n_cones: int
    hit: Share
    unfinished: Share


@dataclass(frozen=True, slots=True, kw_only=True)
class Cones:
    """Both set-ups, and the probability that runs with cones became rarer; None where cones were not noted on both."""

    before: ConeCount
    after: ConeCount
    probability_fewer: float | None


def share_of(n_hits: int, n_runs: int, level: float) -> Share:
    """The exact interval of a share.

    References
    ----------
    Clopper and Pearson, The Use of Confidence or Fiducial Limits Illustrated in the Case of the Binomial, Biometrika
    26(4), 1934.

    Examples
    --------
    >>> round(share_of(0, 10, 0.95).high, 4)
    0.3085
    """
    tail = (1.0 - level) / 2.0
    low = float(special.betaincinv(n_hits, n_runs - n_hits + 1, tail)) if n_hits else 0.0
    high = float(special.betaincinv(n_hits + 1, n_runs - n_hits, 1.0 - tail)) if n_hits < n_runs else 1.0
    return Share(n_hits=n_hits, n_runs=n_runs, low=low, high=high)


def probability_fewer(before: Share, after: Share) -> float:
    """Probability that the share behind `after` is the smaller one, with Jeffreys' prior on both.

    References
    ----------
    Gelman et al., Bayesian Data Analysis, 3rd ed. 2013, sections 2.4 and 2.8.
    """
    quantiles = (np.arange(_DRAWS) + 0.5) / _DRAWS
    shares = special.betaincinv(before.n_hits + 0.5, before.n_runs - before.n_hits + 0.5, quantiles)
    return float(np.mean(special.betainc(after.n_hits + 0.5, after.n_runs - after.n_hits + 0.5, shares)))


def cones_of(times: Times, question: Question, *, level: float = 0.9) -> Cones:
    """Cones and finishes of the judged drivers on both set-ups."""
    both = {
        driver
        for driver in dict.fromkeys(times.driver.tolist())
        if {question.before, question.after} <= set(times.setup[times.driver == driver].tolist())
    }
    judged = both & set(question.drivers) if question.drivers else both
    rows = np.isin(times.driver, list(judged or set(times.driver.tolist())))
    before, after = (
        _count(times.where(rows & (times.setup == name)), level) for name in (question.before, question.after)
    )
    known = before.hit.n_runs > 0 and after.hit.n_runs > 0
    return Cones(
        before=before, after=after, probability_fewer=probability_fewer(before.hit, after.hit) if known else None
    )


def _count(times: Times, level: float) -> ConeCount:
    """Cones and finishes of these runs."""
    noted = (times.outcome == FINISHED) & np.isfinite(times.cones)
    is_dnf = times.outcome == DNF
    n_attempts = int(np.sum(is_dnf | (times.outcome == FINISHED)))
    return ConeCount(
        n_cones=int(times.cones[noted].sum()),
        hit=share_of(int(np.sum(times.cones[noted] > 0)), int(noted.sum()), level),
        unfinished=share_of(int(is_dnf.sum()), n_attempts, level),
    )

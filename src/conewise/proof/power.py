"""Before a test: how small a change it can show, and how many runs a change of a given size needs."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from scipy import optimize, special

from conewise.proof.regression import Design, TooFewRowsError, fit
from conewise.proof.same_day import FADE_RATES

if TYPE_CHECKING:
    from collections.abc import Sequence

Array = NDArray[np.float64]

TYPICAL_SPREAD = 0.008  # standard deviation of a run over its time, common practice, no source: 0.4 s of 50 s
DRIFT_SPREAD = (
    0.08  # of the drift from day to day, over the spread of a run and per run: the scale of `same_day`'s prior
)
FEWEST, MOST = 4, 16  # runs of a day; on a single day one more is needed
MOST_DAYS = 20
MOST_SWITCHES = 4  # changes of the car in a day
LONG_DAY = 10  # runs that a day hardly has more of
_CERTAIN = 30.0  # standard errors; beyond them the power is 1 from 2 degrees of freedom on


@dataclass(frozen=True, slots=True, kw_only=True)
class Planned:
    """Orders of runs for a test, and what they can show.

    orders: one word a day, "A" on the old set-up and "B" on the new one
    scale: standard error of the effect over the standard deviation of a run; freedom: degrees of freedom behind it
    """

    orders: tuple[str, ...]
    scale: float
    freedom: int

    @property
    def n_runs(self) -> int:
        """Runs of all days."""
        return sum(map(len, self.orders))

    def power(self, effect: float, *, certainty: float = 0.9) -> float:
        """Probability that the interval leaves zero out. `effect` over the standard deviation of a run."""
        return t_power(effect / self.scale, self.freedom, certainty=certainty)

    def least_difference(self, *, power: float = 0.8, certainty: float = 0.9) -> float:
        """The smallest effect, over the standard deviation of a run, that shows with probability `power`."""
        return self.scale * least_noncentrality(self.freedom, power=power, certainty=certainty)


def t_power(noncentrality: float, freedom: float, *, certainty: float) -> float:
    """Power of the two-sided t test.

    Parameters
    ----------
    noncentrality : float
        The true value over its standard error. [-]
    freedom : float
        Degrees of freedom.
    certainty : float
        One less the level of the test. [-]

    References
    ----------
    Cohen, Statistical Power Analysis for the Behavioral Sciences, 2nd ed. 1988, chapter 2.

    Examples
    --------
    >>> round(t_power(0.5 * (64 / 2) ** 0.5, 126, certainty=0.95), 2)  # Cohen 1988: d 0.5, 64 in each group, 0.80
    0.8
    """
    noncentrality = min(noncentrality, _CERTAIN)
    critical = special.stdtrit(freedom, 0.5 + certainty / 2.0)
    wrong_way = special.nctdtr(freedom, noncentrality, -critical)  # NaN where it is below the smallest number
    return float(1.0 - special.nctdtr(freedom, noncentrality, critical) + np.nan_to_num(wrong_way))


def least_noncentrality(freedom: float, *, power: float, certainty: float) -> float:
    """The true value over its standard error at which the t test has this power. [-]"""
    return float(optimize.brentq(lambda value: t_power(value, freedom, certainty=certainty) - power, 0.0, _CERTAIN))


def planned(orders: Sequence[str]) -> Planned:
    """What a test with these orders of runs can tell, with the model that will judge it.

    Raises
    ------
    conewise.proof.regression.TooFewRowsError
        If they are too few for the model.

    Notes
    -----
    As `same_day`: levels of days, learning that fades, drift of the days. The rate at which learning fades is not known
    beforehand: the one counts at which the change is told worst.
    """
    position = np.concatenate([np.arange(len(word), dtype=float) for word in orders])
    after = np.array([letter == "B" for letter in "".join(orders)], dtype=float)
    day = np.repeat(np.arange(len(orders)), [len(word) for word in orders])
    drift = position - position.mean()
    worst, freedom = 0.0, 1
    for rate in FADE_RATES:
        columns = [after, rate**position] + ([drift] if len(orders) > 1 else [])
        design = Design(
            response=np.zeros(after.size), columns=np.column_stack(columns), group=day, varying=drift[:, None]
        )
        found = fit(design, np.array([[DRIFT_SPREAD]]))
        factor = found.factor[0]
        direction = np.eye(factor.shape[0])[0]
        worst = max(worst, float(np.linalg.norm(np.linalg.solve(factor.T, direction))))
        freedom = found.freedom
    if freedom < 2:
        raise TooFewRowsError(after.size, after.size - freedom)
    return Planned(orders=tuple(orders), scale=worst, freedom=freedom)


def best_plan(n_runs: int, n_days: int = 1, *, switches: int = 2) -> Planned:
    """The order of runs that tells a change best, with at most so many changes of the car a day.

    Parameters
    ----------
    n_runs : int
        Of one day, FEWEST + 1 to MOST where there is one day.
    n_days : int, default 1
        Days; every second one begins with the new set-up.
    switches : int, default 2
        Changes of the car in a day, at least 2 on a single day.

    Raises
    ------
    conewise.proof.regression.TooFewRowsError
        If they are too few for the model.
    """
    best: Planned | None = None
    for word in _words(n_runs, switches):
        turned = word.translate(str.maketrans("AB", "BA"))
        found = planned([word if day % 2 == 0 else turned for day in range(n_days)])
        if best is None or found.scale < best.scale - 1e-9:
            best = found
    if best is None:
        raise TooFewRowsError(n_runs, FEWEST)
    return best


def runs_needed(effect: float, *, power: float = 0.8, certainty: float = 0.9, switches: int = 2) -> Planned | None:
    """The shortest plan that shows an effect: more runs on one day first, then more days; None where none does.

    Parameters
    ----------
    effect : float
        Over the standard deviation of a run. [-]
    power : float, default 0.8
        Probability of showing it.
    certainty : float, default 0.9
        Probability of the interval that then leaves zero out.
    switches : int, default 2
        Changes of the car in a day.
    """
    for n_runs in range(FEWEST + 1, LONG_DAY + 1):
        found = best_plan(n_runs, switches=switches)
        if found.power(abs(effect), certainty=certainty) >= power:
            return found
    for n_days in range(2, MOST_DAYS + 1):
        for n_runs in (4, 6, 8):
            found = planned(best_orders(n_runs, n_days, switches))
            if found.power(abs(effect), certainty=certainty) >= power:
                return found
    return None


def best_orders(n_runs: int, n_days: int, switches: int) -> tuple[str, ...]:
    """The best order of one day, or of a pair of days, repeated with the set-ups exchanged on every second day."""
    pair = best_plan(n_runs, min(n_days, 2), switches=switches).orders
    return tuple(pair[day % len(pair)] for day in range(n_days))


def _words(n_runs: int, switches: int) -> list[str]:
    """Orders that begin on the old set-up, with at least two runs on each and 2 to `switches` changes."""
    found = []
    for n_switches in range(2, switches + 1):
        for places in combinations(range(1, n_runs), n_switches):
            letters = [sum(place <= run for place in places) % 2 for run in range(n_runs)]
            if 2 <= sum(letters) <= n_runs - 2:
                found.append("".join("AB"[letter] for letter in letters))
    return found

"""A mixture of t distributions: what is known of one number once everything uncertain has been weighed."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import optimize, special

Array = NDArray[np.float64]

_REACH = 1e-9  # share of each component that a bracket for quantiles leaves outside


@dataclass(frozen=True, slots=True, kw_only=True)
class TMixture:
    """Weights sum to 1; arrays have shape (n_components,); a scale of zero is a certain value."""

    weight: Array
    mean: Array
    scale: Array  # of each t distribution, in the number's own unit
    freedom: Array  # degrees of freedom

    def probability_below(self, value: float) -> float:
        """Probability that the number is below `value`. [-]"""
        away = value - self.mean
        standard = away / np.maximum(self.scale, np.finfo(float).tiny)
        return float(np.sum(self.weight * special.stdtr(self.freedom, standard)))

    def quantile(self, probability: float) -> float:
        """The value below which the number lies with this probability.

        Parameters
        ----------
        probability : float
            Above 0 and below 1. [-]

        Examples
        --------
        >>> one = np.ones(1)
        >>> round(TMixture(weight=one, mean=0 * one, scale=one, freedom=10 * one).quantile(0.95), 4)  # tables: 1.812
        1.8125
        """
        reach = np.abs(special.stdtrit(self.freedom, _REACH)) * self.scale
        low, high = float(np.min(self.mean - reach)), float(np.max(self.mean + reach))
        if high <= low:
            return low
        found = optimize.brentq(lambda value: self.probability_below(value) - probability, low, high, xtol=1e-12)
        return float(found)

    def interval(self, level: float) -> tuple[float, float]:
        """The interval that leaves the same probability on both sides. `level` such as 0.9."""
        return self.quantile(0.5 - level / 2), self.quantile(0.5 + level / 2)

    @property
    def median(self) -> float:
        """The value that is as likely too high as too low."""
        return self.quantile(0.5)

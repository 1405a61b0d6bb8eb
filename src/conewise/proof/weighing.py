"""A regression whose drivers scatter differently: each driver's rows weigh by that driver's scatter."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from conewise.proof.mixture import TMixture
from conewise.proof.robust import TUNING, robust_fit

if TYPE_CHECKING:
    from collections.abc import Sequence

    from conewise.proof.regression import Design
    from conewise.proof.robust import RobustFit

Array = NDArray[np.float64]
Indices = NDArray[np.intp]

PRIOR_FREEDOM = (
    1.0  # rows' worth of the drivers' common scatter that each one's own is pulled to; see docs/models/proof.md
)
FEW_ROWS = 3.0  # over the rows left to tell the scatter from: by so much further a row counts in full
_FARTHEST = 3.0  # standard deviations beyond which a row tells no more of a driver's scatter
_ROUNDS = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """One form of the model: its design, how much its varying coefficients may vary, and the prior of that.

    spreads: shape (n_settings, n_varying); log_prior: shape (n_settings,)
    """

    design: Design
    spreads: Array
    log_prior: Array

    def fit(self, tuning: float) -> RobustFit:
        """Its fit; see `robust_fit`."""
        return robust_fit(self.design, self.spreads, self.log_prior, tuning=tuning)


@dataclass(frozen=True, slots=True, kw_only=True)
class Weighed:
    """The fits of several forms of one model, each as likely as the rows make it.

    variance: shape (n_drivers,), of a row of each driver over that of a row of weight 1
    freedom: shape (n_drivers,), degrees of freedom that each driver's variance rests on
    """

    fits: tuple[RobustFit, ...]
    driver: Indices
    variance: Array
    freedom: Array

    @property
    def best(self) -> RobustFit:
        """The fit of the likeliest form."""
        return max(self.fits, key=lambda found: float(found.fit.log_evidence.max()))

    def combination(self, direction: Array) -> TMixture:
        """What is known of a combination of the coefficients. `direction`: shape (n_columns,) or (n_fits, n_columns).

        Notes
        -----
        The degrees of freedom are those of Satterthwaite: the variance is a sum over drivers, each with its own.

        References
        ----------
        Satterthwaite, An Approximate Distribution of Estimates of Variance Components, Biometrics Bulletin 2, 1946.
        """
        own = np.broadcast_to(direction, (len(self.fits), self.fits[0].fit.coefficients.shape[1]))
        parts = [found.fit.combination(one) for found, one in zip(self.fits, own, strict=True)]
        evidence = np.concatenate([found.fit.log_evidence for found in self.fits])
        weight = np.exp(evidence - evidence.max())
        freedom = [
            np.full(evidence.size // len(own), self._freedom(one, fit)) for one, fit in zip(own, self.fits, strict=True)
        ]
        return TMixture(
            weight=weight / weight.sum(),
            mean=np.concatenate([part.mean for part in parts]),
            scale=np.concatenate([part.scale for part in parts]),
            freedom=np.concatenate(freedom),
        )

    def coefficient(self, column: int) -> TMixture:
        """What is known of one coefficient."""
        return self.combination(np.eye(self.fits[0].fit.coefficients.shape[1])[column])

    def _freedom(self, direction: Array, found: RobustFit) -> float:
        share = np.bincount(self.driver, (direction @ found.fit.pull) ** 2, self.variance.size) * self.variance
        if self.variance.size == 1 or not share.any():
            return float(found.fit.freedom)
        return float(min(share.sum() ** 2 / np.sum(share**2 / self.freedom), found.fit.freedom))


def weighed_fit(settings: Sequence[Setting], driver: Indices, *, tuning: float = TUNING) -> Weighed:
    """The fits, with every driver's rows weighed by that driver's scatter.

    Parameters
    ----------
    settings : sequence of Setting
        Forms of the model on the same rows.
    driver : Indices, shape (n_rows,)
        Whose row it is, from 0.
    tuning : float, optional
        See `robust_fit`; infinite where the rows are robust already. With few rows it is raised: the covariance of
        an M-estimate is asymptotic, and too small then.

    Raises
    ------
    conewise.proof.regression.DependentColumnsError, conewise.proof.regression.TooFewRowsError
        As `regression.fit`.

    Notes
    -----
    A driver's variance is a mean of that driver's own and of the common one, weighed by their degrees of freedom.

    References
    ----------
    Smyth, Linear Models and Empirical Bayes Methods for Assessing Differential Expression, Statistical Applications in
    Genetics and Molecular Biology 3(1), 2004, equation 6 (the moderated variance).
    """
    tuning = tuning * (1.0 + FEW_ROWS / max(_left_over(settings[0].design), 1))
    n_drivers = int(driver.max()) + 1
    rows = np.bincount(driver, minlength=n_drivers).astype(float)
    variance = np.ones(n_drivers)
    middle = settings[len(settings) // 2]
    own: Array = np.zeros(n_drivers)
    for _ in range(_ROUNDS if n_drivers > 1 else 0):
        found = robust_fit(
            replace(middle.design, weight=1.0 / variance[driver]), middle.spreads, middle.log_prior, tuning=tuning
        )
        own = np.asarray(rows - np.bincount(driver, found.fit.leverage, n_drivers))
        left = np.clip(found.away, -_FARTHEST, _FARTHEST) ** 2 * variance[driver]
        sums = np.bincount(driver, left, n_drivers)
        common = sums.sum() / own.sum()
        variance = (sums / common + PRIOR_FREEDOM) / (own + PRIOR_FREEDOM)
    weight = 1.0 / variance[driver]
    fits = [
        robust_fit(replace(one.design, weight=weight), one.spreads, one.log_prior, tuning=tuning) for one in settings
    ]
    return Weighed(fits=tuple(fits), driver=driver, variance=variance, freedom=own + PRIOR_FREEDOM)


def _left_over(design: Design) -> int:
    """Rows beyond the coefficients and levels."""
    n_levels = 0 if design.group is None else int(design.group.max()) + 1
    return int(design.response.size) - int(design.columns.shape[1]) - n_levels

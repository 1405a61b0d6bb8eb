"""Runs that went wrong count little: a regression on pseudo-values."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from conewise.proof.regression import fit

if TYPE_CHECKING:
    from conewise.proof.regression import Design, Fit

Array = NDArray[np.float64]

TUNING = 1.345  # standard deviations beyond which a run counts less: 95% efficient on normal errors; Huber 1981
_NORMAL_MEDIAN = 0.6744897501960817  # of the absolute value of a standard normal number
_MOST_ROUNDS = 60
_CLOSE = 1e-7  # change of the fitted values over their scatter


@dataclass(frozen=True, slots=True, kw_only=True)
class RobustFit:
    """A fit on pseudo-values, and how far every row is from it.

    away: shape (n_rows,), residuals over the robust standard deviation of their row; beyond the tuning they count less
    spread: the robust standard deviation of a row of weight 1
    """

    fit: Fit
    away: Array
    spread: float


def robust_fit(
    design: Design, spreads: Array | None = None, log_prior: Array | None = None, *, tuning: float = TUNING
) -> RobustFit:
    """As `regression.fit`, with gross errors bounded in their influence: beyond `tuning` standard deviations.

    Raises
    ------
    DependentColumnsError, TooFewRowsError
        As `regression.fit`.

    Notes
    -----
    Huber's proposal: with r the residuals, s their spread and psi(u) = clip(u, -c, c), the pseudo-values
    fitted + s psi(r/s) / mean(psi') make the M-estimate a least squares estimate, and the usual covariance of that
    the asymptotic one of the M-estimate. s is the median of the largest n - p absolute residuals over 0.6745, since p
    residuals are small whatever the scatter.

    References
    ----------
    Huber, Robust Statistics, 1981, sections 7.6 to 7.8. DuMouchel and O'Brien, Integrating a Robust Option into a
    Multiple Regression Computing Environment, 21st Symposium on the Interface of Computer Science and Statistics,
    1989 (the scale).
    """
    start = fit(design, spreads, log_prior)
    setting = int(start.weight.argmax())
    only = None if spreads is None else spreads[setting : setting + 1]
    if np.isfinite(tuning) and tuning > TUNING:  # from the tighter fit, so that no gross error sets the start
        start = replace(start, fitted=_settled(design, only, start, TUNING)[0])
    fitted, spread, pseudo = _settled(design, only, start, tuning)
    found = fit(replace(design, response=pseudo), spreads, log_prior)
    return RobustFit(fit=found, away=(design.response - fitted) / (spread * _row_scale(design)), spread=spread)


def _settled(design: Design, spreads: Array | None, start: Fit, tuning: float) -> tuple[Array, float, Array]:
    """Fitted values, their spread and the pseudo-values, once they no longer change."""
    row_scale = _row_scale(design)
    fitted = start.fitted
    spread, pseudo = 0.0, design.response
    for _ in range(_MOST_ROUNDS):
        left = (design.response - fitted) / row_scale
        spread = scatter(left, start.freedom)
        pseudo = fitted + row_scale * pseudo_residuals(left, spread, freedom=start.freedom, tuning=tuning)
        found = fit(replace(design, response=pseudo), spreads)
        change = float(np.max(np.abs(found.fitted - fitted) / row_scale))
        fitted = found.fitted
        if change <= _CLOSE * spread:
            break
    return fitted, spread, pseudo


def _row_scale(design: Design) -> Array:
    return np.ones(design.response.size) if design.weight is None else np.asarray(1.0 / np.sqrt(design.weight))


def scatter(residuals: Array, freedom: int) -> float:
    """Standard deviation from the median of the largest `freedom` absolute residuals, shape (n_rows,)."""
    sizes = np.sort(np.abs(residuals))[-freedom:]
    floor = 1e-12 * float(np.max(sizes)) + np.finfo(float).tiny
    return max(float(np.median(sizes)) / _NORMAL_MEDIAN, floor)


def pseudo_residuals(residuals: Array, spread: float, *, freedom: int, tuning: float) -> Array:
    """Residuals, shape (n_rows,), bounded and stretched so that their mean square is that of the M-estimate."""
    standard = residuals / spread
    inside = max(float(np.mean(np.abs(standard) <= tuning)), 0.3)
    correction = 1.0 + (residuals.size - freedom) / residuals.size * (1.0 - inside) / inside
    return np.clip(standard, -tuning, tuning) * spread * correction / inside

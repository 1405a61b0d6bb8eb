"""Regression with groups: coefficients for all, coefficients that vary from group to group, and levels of the groups.

Given how much the coefficients vary, everything is linear and exact; how much they vary is weighed on a grid.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from conewise.errors import InfeasibleError
from conewise.proof.mixture import TMixture

Array = NDArray[np.float64]
Indices = NDArray[np.intp]

DEPENDENT = 1e-13  # share of a column that must be left after the columns before it: double precision carries 16 digits


class DependentColumnsError(InfeasibleError):
    """A column of a regression that the columns before it explain."""

    code = "dependent-columns"
    default_hint = "Leave out the column, or add rows in which it goes its own way."

    def __init__(self, column: int) -> None:
        self.column = column
        super().__init__("A column of the regression is explained by those before it.", where=f"column {column + 1}")


class TooFewRowsError(InfeasibleError):
    """A regression with no more rows than coefficients."""

    code = "too-few-rows"
    default_hint = "Add rows, or leave out columns."

    def __init__(self, n_rows: int, n_coefficients: int) -> None:
        super().__init__(f"{n_rows} rows cannot tell {n_coefficients} coefficients and what is left over.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Design:
    """Rows of a regression.

    response: shape (n_rows,)
    columns: shape (n_rows, n_columns); their coefficients are the same in all groups, with a flat prior
    group: shape (n_rows,), from 0; every group has its own level with a flat prior. None: no levels
    varying: shape (n_rows, n_varying); deviations of these coefficients from group to group
    weight: shape (n_rows,), one over the variance of a row relative to the others
    """

    response: Array
    columns: Array
    group: Indices | None = None
    varying: Array | None = None
    weight: Array | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit:
    """The regression for each of n_settings settings of how much coefficients vary.

    weight: shape (n_settings,), posterior, sums to 1; log_evidence is its logarithm before that
    coefficients: shape (n_settings, n_columns)
    factor: shape (n_settings, n_columns, n_columns), upper triangular R with (R'R)^-1 the unscaled covariance
    variance: shape (n_settings,), of a row of weight 1
    freedom: degrees of freedom of the residuals
    fitted: shape (n_rows,), at the likeliest setting, deviations of the groups included
    pull: shape (n_columns, n_rows), change of each coefficient with each row's response, at the likeliest setting
    leverage: shape (n_rows,), the share of a row that columns and levels take up by itself, at the likeliest setting
    """

    weight: Array
    log_evidence: Array
    coefficients: Array
    factor: Array
    variance: Array
    freedom: int
    fitted: Array
    pull: Array
    leverage: Array

    def combination(self, direction: Array) -> TMixture:
        """What is known of a linear combination of the coefficients. `direction` has shape (n_columns,)."""
        spread = np.linalg.solve(
            np.swapaxes(self.factor, 1, 2), np.broadcast_to(direction, self.coefficients.shape)[..., None]
        )
        return TMixture(
            weight=self.weight,
            mean=self.coefficients @ direction,
            scale=np.sqrt(self.variance * np.sum(spread[..., 0] ** 2, axis=1)),
            freedom=np.full(self.weight.shape, float(self.freedom)),
        )

    def coefficient(self, column: int) -> TMixture:
        """What is known of one coefficient."""
        return self.combination(np.eye(self.coefficients.shape[1])[column])


def fit(design: Design, spreads: Array | None = None, log_prior: Array | None = None) -> Fit:
    """The regression, for every setting of how much the varying coefficients vary.

    Parameters
    ----------
    design : Design
        The rows.
    spreads : Array, shape (n_settings, n_varying), optional
        Standard deviations of the groups' deviations over that of a row of weight 1. One setting without
        deviations where left out.
    log_prior : Array, shape (n_settings,), optional
        Logarithm of the prior of each setting; all alike where left out.

    Returns
    -------
    Fit

    Raises
    ------
    DependentColumnsError
        If a column is explained by the levels and the columns before it.
    TooFewRowsError
        If nothing is left over to tell the scatter from.

    Notes
    -----
    y = X b + level of the group + W u + e, e ~ N(0, s^2), u ~ N(0, s^2 S^2). The levels are projected out, X is made
    orthonormal by Householder's QR (so that no precision is lost in normal equations), and (I + W S^2 W')^-1 follows
    group by group from (I + S W'W S)^-1. With flat priors on b, the levels and log s, b given S is a multivariate t
    about the generalised least squares estimate, and the evidence of S is its restricted likelihood.

    References
    ----------
    Gelman et al., Bayesian Data Analysis, 3rd ed. 2013, sections 14.2 and 15.1. Harville, Maximum Likelihood
    Approaches to Variance Component Estimation and to Related Problems, JASA 72, 1977 (restricted likelihood).
    """
    rows = _Rows(design)
    n_varying = rows.varying.shape[1]
    spreads = np.zeros((1, n_varying)) if spreads is None else np.asarray(spreads, dtype=float)
    sandwich, evidence = rows.within_groups(spreads)
    n_columns = rows.basis.shape[1]
    gram = np.eye(n_columns + 1)
    gram[:n_columns, -1] = gram[-1, :n_columns] = rows.basis.T @ rows.response
    gram[-1, -1] = rows.response @ rows.response
    gram = gram - sandwich
    lower = np.linalg.cholesky(gram[:, :n_columns, :n_columns])
    half = np.linalg.solve(lower, gram[:, :n_columns, -1:])[..., 0]
    left = np.maximum(gram[:, -1, -1] - np.sum(half**2, axis=1), 0.0)
    left = np.maximum(left, np.finfo(float).tiny)
    evidence = evidence - np.log(np.diagonal(lower, axis1=1, axis2=2)).sum(axis=1) - rows.freedom / 2 * np.log(left)
    if log_prior is not None:
        evidence = evidence + log_prior
    upper = np.swapaxes(lower, 1, 2)
    rotated = np.linalg.solve(upper, half[..., None])[..., 0]
    weight = np.exp(evidence - evidence.max())
    best = int(evidence.argmax())
    pull, leverage = rows.pull(lower[best], spreads[best])
    return Fit(
        weight=weight / weight.sum(),
        log_evidence=evidence,
        coefficients=np.linalg.solve(np.broadcast_to(rows.triangle, upper.shape), (rows.start + rotated)[..., None])[
            ..., 0
        ],
        factor=upper @ rows.triangle,
        variance=left / rows.freedom,
        freedom=rows.freedom,
        fitted=rows.fitted(rotated[best], spreads[best]),
        pull=pull,
        leverage=leverage,
    )


class _Rows:
    """The rows of a design, scaled by their weights, without the levels of the groups, the columns orthonormal."""

    def __init__(self, design: Design) -> None:
        self.n_rows = design.response.size
        self.scale = np.ones(self.n_rows) if design.weight is None else np.sqrt(design.weight)
        self.group = np.zeros(self.n_rows, dtype=np.intp) if design.group is None else design.group
        self.n_groups = int(self.group.max()) + 1
        self.has_levels = design.group is not None
        self._level_size = self._summed(self.scale**2)
        response = design.response * self.scale
        columns = design.columns * self.scale[:, None]
        varying = np.zeros((self.n_rows, 0)) if design.varying is None else design.varying * self.scale[:, None]
        self.levels = self._levels(response)
        response = response - self.levels
        size = np.linalg.norm(columns, axis=0)
        inner = columns - self._levels(columns)
        self.varying = varying - self._levels(varying)
        self.basis, self.triangle = np.linalg.qr(inner)
        self.start = self.basis.T @ response  # coefficients without deviations; what they explain is set aside first
        self.response = response - self.basis @ self.start
        n_levels = self.n_groups if self.has_levels else 0
        self.freedom = self.n_rows - columns.shape[1] - n_levels
        if self.freedom < 1:
            raise TooFewRowsError(self.n_rows, columns.shape[1] + n_levels)
        left = np.abs(np.diagonal(self.triangle)) <= DEPENDENT * size
        if left.any():
            raise DependentColumnsError(int(np.argmax(left)))
        everything = np.column_stack([self.basis, self.response])
        self.inner = self._summed(self.varying[:, :, None] * self.varying[:, None, :])
        self.outer = self._summed(self.varying[:, :, None] * everything[:, None, :])

    def _summed(self, values: Array) -> Array:
        """Sums over the rows of each group; the first axis becomes that of the groups."""
        out = np.zeros((self.n_groups, *values.shape[1:]))
        np.add.at(out, self.group, values)
        return out

    def _levels(self, values: Array) -> Array:
        """The part of values that the levels of the groups explain, row by row."""
        if not self.has_levels:
            return np.zeros_like(values)
        shape = (-1,) + (1,) * (values.ndim - 1)
        scale, size = self.scale.reshape(shape), self._level_size.reshape(shape)
        return np.asarray((self._summed(values * scale) / size)[self.group] * scale)

    def within_groups(self, spreads: Array) -> tuple[Array, Array]:
        """What deviations take off the cross products, shape (n_settings, n+1, n+1), and their part of the evidence."""
        n_varying = self.varying.shape[1]
        both = spreads[:, None, :, None] * self.outer
        middle = np.eye(n_varying) + spreads[:, None, :, None] * self.inner * spreads[:, None, None, :]
        taken = np.einsum("kgmi,kgmj->kij", both, np.linalg.solve(middle, both))
        return taken, -0.5 * np.log(np.linalg.det(middle)).sum(axis=1)

    def fitted(self, rotated: Array, spread: Array) -> Array:
        """Values that one setting gives to the rows, in the unit of the response."""
        left = self.outer[:, :, -1] - self.outer[:, :, :-1] @ rotated
        middle = np.eye(spread.size) + spread[:, None] * self.inner * spread
        deviation = spread * np.linalg.solve(middle, (spread * left)[..., None])[..., 0]
        inner = self.basis @ (self.start + rotated) + np.sum(self.varying * deviation[self.group], axis=1)
        return np.asarray((self.levels + inner) / self.scale)

    def pull(self, lower: Array, spread: Array) -> tuple[Array, Array]:
        """Change of the coefficients with the response of each row, and leverage of the rows, at one setting."""
        middle = np.eye(spread.size) + spread[:, None] * self.inner * spread
        deviation = spread[:, None] * np.linalg.solve(middle, spread[:, None] * self.outer[:, :, :-1])
        inner = self.basis - np.einsum("rm,rmj->rj", self.varying, deviation[self.group])
        rotated = np.linalg.solve(lower.T, np.linalg.solve(lower, inner.T))
        of_level = self.scale**2 / self._level_size[self.group] if self.has_levels else np.zeros(self.n_rows)
        leverage = of_level + np.sum(self.basis * rotated.T, axis=1)
        return np.linalg.solve(self.triangle, rotated) * self.scale, leverage

"""Primal-dual interior point with a filter line search, on the chain of nodes.

The method of Wächter and Biegler with the linear algebra of `riccati`: the slacks of the limits are eliminated, the
chain is solved node by node, and the Hessian is regularised until every node has a minimum.

References
----------
Wächter and Biegler, On the implementation of an interior-point filter line-search algorithm for large-scale nonlinear
programming, Mathematical Programming 106, 2006, sections 2 and 3. Constants below carry its names.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from conewise.solver.chain import Chain, Step
from conewise.solver.transcription import Multipliers, Program, Rows, Slopes

Array = NDArray[np.float64]

KAPPA_EPSILON, KAPPA_MU, THETA_MU = 10.0, 0.2, 1.5  # when and how the barrier falls
TAU_LEAST = 0.99  # least fraction to the boundary
S_MAX = 100.0  # multipliers larger than this scale the error
KAPPA_SIGMA = 1e10  # bound multipliers stay within this factor of the barrier's
GAMMA_THETA, GAMMA_PHI, GAMMA_ALPHA = 1e-5, 1e-8, 0.05
S_THETA, S_PHI, DELTA, ETA_PHI = 1.1, 2.3, 1.0, 1e-8
KAPPA_SOC, MOST_CORRECTIONS = 0.99, 4
THETA_LARGE, THETA_SMALL = 1e4, 1e-4  # filter bounds over the first infeasibility
RELAX = 1e-8  # bounds are relaxed by this share
MOST_RESTORATIONS = 30


@dataclass(frozen=True, slots=True, kw_only=True)
class Options:
    """How a solve starts and when it ends."""

    tolerance: float = 1e-6
    barrier: float = 1.0
    most_iterations: int = 400
    warm: bool = False  # start from the given multipliers, close to the bounds
    push: float = 1e-2  # distance to the bounds that a start is given at least
    watch: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """Where the iterations ended."""

    z: Array  # shape (n_nodes, N_VARIABLES)
    multipliers: Multipliers
    bounds: Array  # multipliers of the unknowns' bounds, upper less lower, shape (n_nodes, N_VARIABLES)
    iterations: int
    status: str  # "solved", or why not
    error: float


class _Failed(Exception):
    def __init__(self, status: str) -> None:
        super().__init__(status)
        self.status = status


class _Point:
    """Unknowns and slacks with their bounds; w is both, flat."""

    def __init__(self, low: Array, high: Array) -> None:
        self.low, self.high = low, high
        self.with_low, self.with_high = np.flatnonzero(np.isfinite(low)), np.flatnonzero(np.isfinite(high))

    def inside(self, w: Array, push: float) -> Array:
        """Moved at least a little inside the bounds."""
        low, high = self.low, self.high
        room = np.where(np.isfinite(high - low), high - low, np.inf)
        from_low = np.minimum(push * np.maximum(1.0, np.abs(np.where(np.isfinite(low), low, 0.0))), push * room)
        from_high = np.minimum(push * np.maximum(1.0, np.abs(np.where(np.isfinite(high), high, 0.0))), push * room)
        return np.minimum(np.maximum(w, low + from_low), high - from_high)

    def barrier(self, w: Array) -> float:
        """Sum of the logarithms of the distances to the bounds."""
        below, above = w[self.with_low] - self.low[self.with_low], self.high[self.with_high] - w[self.with_high]
        if below.min(initial=1.0) <= 0.0 or above.min(initial=1.0) <= 0.0:
            return -np.inf
        return float(np.log(below).sum() + np.log(above).sum())


def _longest(value: Array, step: Array, tau: float) -> float:
    """Largest share of a step that leaves (1 - tau) of every value."""
    falling = step < 0.0
    if not falling.any():
        return 1.0
    return float(min(1.0, (tau * value[falling] / -step[falling]).min()))


class InteriorPoint:
    """One solve of a program.

    Parameters
    ----------
    program : Program
    low, high : Array, shape (n_nodes, N_VARIABLES)
        Bounds of the unknowns; equal where one is fixed.
    options : Options
    """

    def __init__(self, program: Program, low: Array, high: Array, options: Options) -> None:
        self.program, self.options = program, options
        fixed = low == high
        limit_low, limit_high = program.limit_bounds
        low = np.concatenate([np.where(fixed, -np.inf, low).ravel(), limit_low])
        high = np.concatenate([np.where(fixed, np.inf, high).ravel(), limit_high])
        self.size = fixed.size
        self.fixed = fixed
        self.point = _Point(low - RELAX * np.maximum(1.0, np.abs(low)), high + RELAX * np.maximum(1.0, np.abs(high)))
        self.chain = Chain(program)

    def solve(self, start: Array, multipliers: Multipliers | None = None, bounds: Array | None = None) -> Outcome:
        """Iterate from `start`, shape (n_nodes, N_VARIABLES)."""
        self._begin(start, multipliers, bounds)
        status = "iteration limit"
        try:
            for self.iteration in range(self.options.most_iterations + 1):
                self.slopes = self.program.slopes(self.z, self.y)
                if self._is_done():
                    status = "solved"
                    break
                if self.iteration < self.options.most_iterations:
                    self._iterate()
        except _Failed as failed:
            status = failed.status
        return Outcome(
            z=self.z,
            multipliers=self.y,
            bounds=(self.v_high - self.v_low)[: self.size].reshape(self.z.shape),
            iterations=self.iteration,
            status=status,
            error=self._error(0.0),
        )

    @property
    def z(self) -> Array:
        """Unknowns, shape (n_nodes, N_VARIABLES)."""
        return self.w[: self.size].reshape(self.fixed.shape)

    @property
    def s(self) -> Array:
        """Slacks of the limits."""
        return self.w[self.size :]

    def _begin(self, start: Array, multipliers: Multipliers | None, bounds: Array | None) -> None:
        point, options = self.point, self.options
        self.mu, self.delta_last, self.iteration = options.barrier, 0.0, 0
        self.restorations = 0
        z = np.where(self.fixed, start, point.inside(np.concatenate([start.ravel(), np.zeros(point.low.size - self.size)]), options.push)[: self.size].reshape(start.shape))
        self.rows = self.program.rows(z)
        self.w = point.inside(np.concatenate([z.ravel(), self.rows.limits]), options.push)
        self.w[: self.size] = z.ravel()
        n = point.low.size
        if multipliers is not None and bounds is not None:
            self.y = multipliers
            signed = np.concatenate([bounds.ravel(), multipliers.limits])
            self.v_low, self.v_high = np.maximum(-signed, 0.0), np.maximum(signed, 0.0)
            below, above = self.w - point.low, point.high - self.w
            self.v_low = np.where(np.isfinite(point.low), np.maximum(self.v_low, self.mu / np.maximum(below, 1e-3)), 0.0)
            self.v_high = np.where(np.isfinite(point.high), np.maximum(self.v_high, self.mu / np.maximum(above, 1e-3)), 0.0)
        else:
            self.v_low = np.where(np.isfinite(point.low), 1.0, 0.0)
            self.v_high = np.where(np.isfinite(point.high), 1.0, 0.0)
            self.y = self._first_multipliers(n)
        self._new_filter()

    def _first_multipliers(self, n: int) -> Multipliers:
        """Least-squares multipliers; none where they are large."""
        shape = self.program.shape
        nothing = Multipliers(
            defects=np.zeros((shape.n_nodes - 1, 9)), algebraic=np.zeros((shape.n_nodes, 2)), launch=0.0,
            limits=np.zeros(shape.n_limits),
        )
        slopes = self.program.slopes(self.z, nothing)
        pull = self.v_high - self.v_low
        y = self.chain.least_squares(slopes, pull[: self.size].reshape(self.z.shape), pull[self.size :])
        return y if y is not None and y.greatest() <= 1e3 else nothing

    def _new_filter(self) -> None:
        theta = self._theta(self.rows, self.s)
        if not hasattr(self, "theta_first"):
            self.theta_first = max(theta, 1.0)
        self.filter: list[tuple[float, float]] = [(THETA_LARGE * self.theta_first, -np.inf)]

    def _theta(self, rows: Rows, s: Array) -> float:
        return float(
            np.abs(rows.defects).sum() + np.abs(rows.algebraic).sum() + abs(rows.launch) + np.abs(rows.limits - s).sum()
        )

    def _phi(self, rows: Rows, w: Array) -> float:
        return rows.cost - self.mu * self.point.barrier(w)

    def _stationarity(self) -> tuple[Array, Array]:
        """Gradient of the Lagrangian by unknowns and by slacks."""
        by_z = self.slopes.gradient + self.chain.transposed(self.slopes, self.y)
        by_z[0, 0] += self.y.launch
        pull = self.v_high - self.v_low
        by_z += pull[: self.size].reshape(by_z.shape)
        by_z[self.fixed] = 0.0
        return by_z, pull[self.size :] - self.y.limits

    def _error(self, mu: float) -> float:
        """The optimality error E_mu, equation 5."""
        point = self.point
        below, above = (self.w - point.low)[point.with_low], (point.high - self.w)[point.with_high]
        v_low, v_high = self.v_low[point.with_low], self.v_high[point.with_high]
        duals = np.abs(v_low).sum() + np.abs(v_high).sum()
        y = self.y
        others = np.abs(y.defects).sum() + np.abs(y.algebraic).sum() + np.abs(y.limits).sum()
        n_bounds, n_rows = below.size + above.size, y.defects.size + y.algebraic.size + y.limits.size
        s_d = max(S_MAX, (others + duals) / (n_bounds + n_rows)) / S_MAX
        s_c = max(S_MAX, duals / n_bounds) / S_MAX
        by_z, by_s = self._stationarity()
        rows = self.rows
        self.dual = max(np.abs(by_z).max(), np.abs(by_s).max())
        self.primal = max(np.abs(rows.defects).max(), np.abs(rows.algebraic).max(), abs(rows.launch), np.abs(rows.limits - self.s).max())
        self.gap = max(np.abs(below * v_low - mu).max(), np.abs(above * v_high - mu).max())
        return float(max(self.dual / s_d, self.primal, self.gap / s_c))

    def _is_done(self) -> bool:
        """Whether the error is small enough; lowers the barrier as far as the point allows."""
        tolerance = self.options.tolerance
        error = self._error(0.0)
        if self.options.watch:
            print(
                f"{self.iteration:4d} {self.rows.cost:.7f} pr {self.primal:.2e} du {self.dual:.2e} mu {self.mu:.1e} "
                f"err {error:.1e} " + getattr(self, "note", "")
            )
        if error <= tolerance and self.primal <= 1e-4 and self.dual <= 1.0:
            return True
        least = tolerance / 10.0
        while self.mu > least and self._error(self.mu) <= KAPPA_EPSILON * self.mu:
            self.mu = max(least, min(KAPPA_MU * self.mu, self.mu**THETA_MU))
            self._new_filter()
        return False

    def _iterate(self) -> None:
        """One step: direction, line search, update."""
        step = self._direction(self.rows)
        tau = max(TAU_LEAST, 1.0 - self.mu)
        moved = self._line_search(step, tau)
        if moved is None:
            raise _Failed("no step along the direction")
        step, alpha, w, rows = moved
        point = self.point
        dual = min(
            _longest(self.v_low[point.with_low], step.v_low[point.with_low], tau),
            _longest(self.v_high[point.with_high], step.v_high[point.with_high], tau),
        )
        self.note = f"delta {self.delta:.0e} a_pr {alpha:.2e} a_du {dual:.2e} |d| {np.abs(step.w).max():.1e}"
        self.w, self.rows = w, rows
        self.y = self.y.towards(step.multipliers, alpha)
        self.v_low, self.v_high = self.v_low + dual * step.v_low, self.v_high + dual * step.v_high
        below, above = w - point.low, point.high - w
        self.v_low = np.clip(self.v_low, self.mu / (KAPPA_SIGMA * below), KAPPA_SIGMA * self.mu / below)
        self.v_high = np.clip(self.v_high, self.mu / (KAPPA_SIGMA * above), KAPPA_SIGMA * self.mu / above)

    def _direction(self, rows: Rows) -> Step:
        """The primal-dual step, with as much regularisation as the chain asks for."""
        point = self.point
        below, above = self.w - point.low, point.high - self.w
        sigma = self.v_low / below + self.v_high / above
        gradient = self.mu / above - self.mu / below
        self.sigma, self.pull = sigma, gradient
        self.delta = 0.0
        if not self.chain.factorise(self.slopes, sigma, 0.0, self.fixed.shape):
            self.delta = 1e-4 if self.delta_last == 0.0 else max(1e-20, self.delta_last / 3.0)
            while not self.chain.factorise(self.slopes, sigma, self.delta, self.fixed.shape):
                self.delta *= 100.0 if self.delta_last == 0.0 else 8.0
                if self.delta > 1e20:
                    raise _Failed("no regularisation gives a minimum")
            self.delta_last = self.delta
        return self._complete(rows, below, above)

    def _complete(self, rows: Rows, below: Array, above: Array) -> Step:
        step = self.chain.step(self.slopes, self.pull, rows, self.s)
        step.v_low = self.mu / below - self.v_low - self.v_low / below * step.w
        step.v_high = self.mu / above - self.v_high + self.v_high / above * step.w
        return step

    def _line_search(self, step: Step, tau: float) -> tuple[Step, float, Array, Rows] | None:
        point = self.point
        theta, phi = self._theta(self.rows, self.s), self._phi(self.rows, self.w)
        slope = float(self.slopes.gradient.ravel() @ step.w[: self.size] + self.pull @ step.w)
        longest = self._longest_primal(step, tau)
        alpha, least = longest, self._least_step(theta, slope)
        first = True
        while alpha >= least or first:
            w = self.w + alpha * step.w
            rows = self.program.rows(w[: self.size].reshape(self.fixed.shape))
            new_theta, new_phi = self._theta(rows, w[self.size :]), self._phi(rows, w)
            if np.isfinite(new_theta) and np.isfinite(new_phi):
                if self._accept(theta, phi, slope, alpha, new_theta, new_phi):
                    return step, alpha, w, rows
                if first and new_theta >= theta:
                    corrected = self._corrected(step, alpha, rows, w, theta, phi, slope, tau)
                    if corrected is not None:
                        return corrected
            first = False
            alpha /= 2.0
        return None

    def _longest_primal(self, step: Step, tau: float) -> float:
        point = self.point
        return min(
            _longest((self.w - point.low)[point.with_low], step.w[point.with_low], tau),
            _longest((point.high - self.w)[point.with_high], -step.w[point.with_high], tau),
        )

    def _least_step(self, theta: float, slope: float) -> float:
        """Equation 23."""
        if slope < 0.0:
            candidates = [GAMMA_THETA, GAMMA_PHI * theta / -slope]
            if theta <= THETA_SMALL * self.theta_first:
                candidates.append(DELTA * theta**S_THETA / (-slope) ** S_PHI)
            return GAMMA_ALPHA * min(candidates)
        return GAMMA_ALPHA * GAMMA_THETA

    def _accept(self, theta: float, phi: float, slope: float, alpha: float, new_theta: float, new_phi: float) -> bool:
        """Filter and sufficient progress; extends the filter where the step was no step of the objective."""
        slack = 10.0 * np.finfo(float).eps * abs(phi)
        if any(new_theta > t and new_phi > f + slack for t, f in self.filter[1:]) or new_theta > self.filter[0][0]:
            return False
        switching = slope < 0.0 and alpha * (-slope) ** S_PHI > DELTA * theta**S_THETA
        if theta <= THETA_SMALL * self.theta_first and switching:
            return bool(new_phi - phi - slack <= ETA_PHI * alpha * slope)
        if new_theta <= (1.0 - GAMMA_THETA) * theta or new_phi - slack <= phi - GAMMA_PHI * theta:
            if not (switching and new_phi - phi - slack <= ETA_PHI * alpha * slope):
                self.filter.append(((1.0 - GAMMA_THETA) * theta, phi - GAMMA_PHI * theta))
            return True
        return False

    def _corrected(
        self, step: Step, alpha: float, rows: Rows, w: Array, theta: float, phi: float, slope: float, tau: float
    ) -> tuple[Step, float, Array, Rows] | None:
        """Second-order corrections, section 2.4."""
        point = self.point
        below, above = self.w - point.low, point.high - self.w
        defects = alpha * self.rows.defects + rows.defects
        algebraic = alpha * self.rows.algebraic + rows.algebraic
        launch = alpha * self.rows.launch + rows.launch
        off = alpha * (self.rows.limits - self.s) + rows.limits - w[self.size :]
        last = theta
        for _ in range(MOST_CORRECTIONS):
            wanted = Rows(cost=0.0, defects=defects, algebraic=algebraic, launch=launch, limits=off + self.s)
            answer = self._complete(wanted, below, above)
            share = self._longest_primal(answer, tau)
            moved = self.w + share * answer.w
            new = self.program.rows(moved[: self.size].reshape(self.fixed.shape))
            new_theta, new_phi = self._theta(new, moved[self.size :]), self._phi(new, moved)
            if not (np.isfinite(new_theta) and np.isfinite(new_phi)):
                return None
            if self._accept(theta, phi, slope, alpha, new_theta, new_phi):
                return answer, share, moved, new
            if new_theta > KAPPA_SOC * last:
                return None
            last = new_theta
            defects = share * defects + new.defects
            algebraic = share * algebraic + new.algebraic
            launch = share * launch + new.launch
            off = share * off + new.limits - moved[self.size :]
        return None

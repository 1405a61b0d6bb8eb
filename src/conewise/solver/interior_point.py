"""Primal-dual interior point with a filter line search, on the chain of nodes.

The method of Wächter and Biegler with the linear algebra of `riccati`. Three things are our own: the slacks of the
limits are eliminated and the chain is solved node by node; far from the constraints negative curvature is taken out
of each node by itself, and only near them by one number for all; and the problem itself may change while the
barrier falls (a continuation), so that a cold solve needs no stages.

References
----------
Wächter and Biegler, On the implementation of an interior-point filter line-search algorithm for large-scale nonlinear
programming, Mathematical Programming 106, 2006, sections 2 and 3. Constants carry its names.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from conewise.solver.barrier import Box, longest
from conewise.solver.chain import Chain, Step
from conewise.solver.line_search import Filter, Progress
from conewise.solver.transcription import Multipliers, Program, Rows

Array = NDArray[np.float64]
Continuation = Callable[[float, Array], Program | None]  # (barrier, unknowns) -> another program, or None: the same

KAPPA_EPSILON, KAPPA_MU, THETA_MU = 10.0, 0.2, 1.5  # when and how the barrier falls
TAU_LEAST = 0.99  # least fraction to the boundary
S_MAX = 100.0  # multipliers larger than this scale the error
KAPPA_SIGMA = 1e10  # bound multipliers stay within this factor of the barrier's
KAPPA_SOC, MOST_CORRECTIONS = 0.99, 4
DELTA_FIRST, DELTA_LEAST, DELTA_MOST = 1e-4, 1e-20, 1e20
DELTA_FALL, DELTA_RISE_FIRST, DELTA_RISE = 1.0 / 3.0, 100.0, 8.0
FAR = 0.1  # rows further than this from zero: negative curvature is taken out node by node
LARGE_MULTIPLIERS = 1e3  # a first guess of the multipliers with larger ones is not used
RESTORED, MOST_RESTORING = 0.9, 40  # infeasibility to reach over that where the line search failed
RESTORING = 1e-3  # barrier in the metric of its steps: what is near a bound moves little
PRIMAL_TOLERANCE, DUAL_TOLERANCE = 1e-4, 1.0
MOST_ITERATIONS = 400
KNOWN_SLACK = 1e-3  # of a warm start: a distance to a bound smaller than this says nothing about its multiplier


@dataclass(frozen=True, slots=True, kw_only=True)
class Options:
    """How a solve starts and when it ends."""

    tolerance: float = 1e-6
    barrier: float = 1.0
    most_iterations: int = MOST_ITERATIONS
    push: float = 1e-2  # how far inside its bounds a start is put at least


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """Where the iterations ended."""

    z: Array  # shape (n_nodes, N_VARIABLES)
    multipliers: Multipliers
    bounds: Array  # multipliers of the unknowns' bounds, upper less lower, shape (n_nodes, N_VARIABLES)
    iterations: int
    stopped: str  # why there is no solution; empty where there is one


class _StoppedError(Exception):
    """The iterations cannot go on; the text says why."""


class InteriorPoint:
    """One solve of a program.

    Parameters
    ----------
    program : Program
    low, high : Array, shape (n_nodes, N_VARIABLES)
        Bounds of the unknowns; equal where one is fixed.
    options : Options
    continuation : callable, optional
        Asked whenever the barrier falls; the last program is that of the answer.
    """

    def __init__(
        self,
        program: Program,
        *,
        low: Array,
        high: Array,
        options: Options,
        continuation: Continuation | None = None,
    ) -> None:
        self.program, self.options, self.continuation = program, options, continuation
        self.chain = Chain(program)
        self.fixed = low == high
        limit_low, limit_high = program.limit_bounds
        self.box = Box(
            np.concatenate([np.where(self.fixed, -np.inf, low).ravel(), limit_low]),
            np.concatenate([np.where(self.fixed, np.inf, high).ravel(), limit_high]),
        )
        self.mu, self.delta, self.iteration = options.barrier, 0.0, 0

    def solve(self, start: Array, known: tuple[Multipliers, Array] | None = None) -> Outcome:
        """Iterate from `start`, shape (n_nodes, N_VARIABLES); `known` multipliers of rows and bounds make it warm."""
        self._begin(start, known)
        stopped = "the iteration limit is reached"
        try:
            while True:
                self.slopes = self.program.slopes(self.z, self.y)
                if self._is_solved():
                    stopped = ""
                    break
                if self.iteration >= self.options.most_iterations:
                    break
                self._iterate()
                self.iteration += 1
        except _StoppedError as reason:
            stopped = str(reason)
        return Outcome(
            z=self.z.copy(),
            multipliers=self.y,
            bounds=(self.v_high - self.v_low)[: self.fixed.size].reshape(self.fixed.shape),
            iterations=self.iteration,
            stopped=stopped,
        )

    @property
    def z(self) -> Array:
        """Unknowns, shape (n_nodes, N_VARIABLES)."""
        return self._unknowns(self.w)

    def _unknowns(self, w: Array) -> Array:
        return w[: self.fixed.size].reshape(self.fixed.shape)

    def _slacks(self, w: Array) -> Array:
        return w[self.fixed.size :]

    def _begin(self, start: Array, known: tuple[Multipliers, Array] | None) -> None:
        box, push = self.box, self.options.push
        w = np.concatenate([start.ravel(), np.zeros(self.box.low.size - start.size)])
        w[: start.size] = box.inside(w, push)[: start.size]
        self.rows = self.program.rows(self._unknowns(w))
        w[start.size :] = self.rows.limits
        self.w = box.inside(w, push)
        with_low, with_high = np.isfinite(box.low), np.isfinite(box.high)
        if known is None:
            self.v_low, self.v_high = with_low.astype(float), with_high.astype(float)
            self.y = self._first_multipliers()
        else:
            self.y, bounds = known
            signed = np.concatenate([bounds.ravel(), self.y.limits])
            below, above = box.distances(self.w)
            central = self.mu / np.maximum(below, KNOWN_SLACK), self.mu / np.maximum(above, KNOWN_SLACK)
            self.v_low = np.where(with_low, np.maximum(-signed, central[0]), 0.0)
            self.v_high = np.where(with_high, np.maximum(signed, central[1]), 0.0)
        self.filter = Filter(self._progress(self.rows, self.w).infeasibility)

    def _first_multipliers(self) -> Multipliers:
        """Least-squares multipliers; zero where those are large."""
        nothing = Multipliers.zero(self.program.shape)
        slopes = self.program.slopes(self.z, nothing)
        y = self.chain.least_squares(slopes, self.v_high - self.v_low)
        return y if y is not None and y.greatest() <= LARGE_MULTIPLIERS else nothing

    def _progress(self, rows: Rows, w: Array) -> Progress:
        """Infeasibility and barrier objective of a point."""
        return Progress(
            infeasibility=rows.infeasibility(self._slacks(w)), objective=rows.cost - self.mu * self.box.logarithms(w)
        )

    def _take_stock(self) -> None:
        """How far the point is from stationary and feasible, whatever the barrier."""
        pull = self.v_high - self.v_low
        by_z = self.slopes.gradient + self.chain.transposed(self.slopes, self.y) + self._unknowns(pull)
        by_z[self.fixed] = 0.0
        self.dual = float(max(np.abs(by_z).max(), np.abs(self._slacks(pull) - self.y.limits).max()))
        self.primal = self.rows.worst(self._slacks(self.w))

    def _error(self, mu: float) -> float:
        """The optimality error E_mu, equation 5."""
        box, y = self.box, self.y
        below, above = box.distances(self.w)
        v_low, v_high = self.v_low[box.with_low], self.v_high[box.with_high]
        gap = max(np.abs(below[box.with_low] * v_low - mu).max(), np.abs(above[box.with_high] * v_high - mu).max())
        duals, n_duals = v_low.sum() + v_high.sum(), v_low.size + v_high.size
        s_d = max(S_MAX, (y.total() + duals) / (n_duals + y.count())) / S_MAX
        s_c = max(S_MAX, duals / n_duals) / S_MAX
        return float(max(self.dual / s_d, self.primal, gap / s_c))

    def _is_solved(self) -> bool:
        """Whether the error is small enough; lowers the barrier as far as the point allows."""
        tolerance = self.options.tolerance
        least = tolerance / 10.0
        self._take_stock()
        while self._error(0.0) > tolerance or self.primal > PRIMAL_TOLERANCE or self.dual > DUAL_TOLERANCE:
            if self.mu <= least or self._error(self.mu) > KAPPA_EPSILON * self.mu:
                return False
            self.mu = max(least, min(KAPPA_MU * self.mu, self.mu**THETA_MU))
            self._go_on()
        return self.mu <= least or not self._go_on(barrier=least)

    def _go_on(self, barrier: float | None = None) -> bool:
        """Take the program of this barrier; whether it is another one."""
        if barrier is not None:
            self.mu = barrier
        changed = self.continuation(self.mu, self.z) if self.continuation else None
        if changed is not None:
            self.program = self.chain.program = changed
            self.rows = changed.rows(self.z)
            self.slopes = changed.slopes(self.z, self.y)
            self._take_stock()
        self.filter = self.filter.emptied()
        return changed is not None

    def _iterate(self) -> None:
        """One step: direction, line search, update."""
        tau = max(TAU_LEAST, 1.0 - self.mu)
        step = self._direction()
        moved = self._line_search(step, tau)
        if moved is None and self.delta > 0.0:  # once more without any negative curvature
            step = self._direction(convex=True)
            moved = self._line_search(step, tau)
        if moved is None:
            self._restore(tau)
            return
        step, alpha, self.w, self.rows = moved
        box = self.box
        dual = min(
            longest(self.v_low[box.with_low], step.low_pull[box.with_low], tau),
            longest(self.v_high[box.with_high], step.high_pull[box.with_high], tau),
        )
        self.y = self.y.towards(step.multipliers, alpha)
        self._take_duals(self.v_low + dual * step.low_pull, self.v_high + dual * step.high_pull)

    def _take_duals(self, v_low: Array, v_high: Array) -> None:
        """Bound multipliers, kept near the barrier's own, equation 16."""
        below, above = self.box.distances(self.w)
        self.v_low = np.clip(v_low, self.mu / (KAPPA_SIGMA * below), KAPPA_SIGMA * self.mu / below)
        self.v_high = np.clip(v_high, self.mu / (KAPPA_SIGMA * above), KAPPA_SIGMA * self.mu / above)

    def _direction(self, *, convex: bool = False) -> Step:
        """The primal-dual step, with as much regularisation as the chain asks for (their algorithm IC)."""
        below, above = self.box.distances(self.w)
        sigma = self.v_low / below + self.v_high / above
        self.pull = self.mu / above - self.mu / below
        factorise, slopes = self.chain.factorise, self.slopes
        if convex or not factorise(slopes, sigma, 0.0):
            if (convex or self.primal > FAR) and factorise(slopes, sigma, 0.0, convex=True):
                return self._step(self.rows)
            first = self.delta == 0.0
            delta = DELTA_FIRST if first else max(DELTA_LEAST, DELTA_FALL * self.delta)
            while not factorise(slopes, sigma, delta):
                delta *= DELTA_RISE_FIRST if first else DELTA_RISE
                if delta > DELTA_MOST:
                    msg = "no regularisation gives a minimum"
                    raise _StoppedError(msg)
            self.delta = delta
        return self._step(self.rows)

    def _step(self, rows: Rows) -> Step:
        """The step of the factors at hand towards these rows' zero."""
        below, above = self.box.distances(self.w)
        step = self.chain.step(self.slopes, self.pull, rows, slacks=self._slacks(self.w))
        return replace(
            step,
            low_pull=self.mu / below - self.v_low - self.v_low / below * step.move,
            high_pull=self.mu / above - self.v_high + self.v_high / above * step.move,
        )

    def _longest(self, step: Step, tau: float) -> float:
        below, above = self.box.distances(self.w)
        return min(longest(below, step.move, tau), longest(above, -step.move, tau))

    def _line_search(self, step: Step, tau: float) -> tuple[Step, float, Array, Rows] | None:
        """A share of the step that the filter accepts, with the point it leads to."""
        now = self._progress(self.rows, self.w)
        descent = self.pull * step.move  # summed by NumPy: BLAS would start threads for it, which takes most of a solve
        descent[: self.fixed.size] += self.slopes.gradient.ravel() * step.move[: self.fixed.size]
        slope = float(descent.sum())
        alpha = full = self._longest(step, tau)
        least = self.filter.least_step(now.infeasibility, slope)
        while alpha == full or alpha >= least:
            w = self.w + alpha * step.move
            rows = self.program.rows(self._unknowns(w))
            then = self._progress(rows, w)
            if self.filter.takes(now, then, slope=slope, alpha=alpha):
                return step, alpha, w, rows
            if alpha == full and then.infeasibility >= now.infeasibility:
                corrected = self._corrected(alpha, rows, w, now=now, slope=slope, tau=tau)
                if corrected is not None:
                    return corrected
            alpha /= 2.0
        return None

    def _corrected(
        self, alpha: float, rows: Rows, w: Array, *, now: Progress, slope: float, tau: float
    ) -> tuple[Step, float, Array, Rows] | None:
        """Second-order corrections, section 2.4."""
        wanted, last, share = self.rows, now.infeasibility, alpha
        for _ in range(MOST_CORRECTIONS):
            wanted = wanted.corrected(rows, share, slack=self._slacks(self.w), moved=self._slacks(w))
            step = self._step(wanted)
            share = self._longest(step, tau)
            w = self.w + share * step.move
            rows = self.program.rows(self._unknowns(w))
            then = self._progress(rows, w)
            if self.filter.takes(now, then, slope=slope, alpha=alpha):
                return step, share, w, rows
            if not then.infeasibility <= KAPPA_SOC * last:
                return None
            last = then.infeasibility
        return None

    def _restore(self, tau: float) -> None:
        """Steps towards the constraints alone, each the shortest in the barrier's metric, until one is taken."""
        start = self._progress(self.rows, self.w)
        self.filter.add(start)
        for _ in range(MOST_RESTORING):
            below, above = self.box.distances(self.w)
            metric = 1.0 + RESTORING * (1.0 / below**2 + 1.0 / above**2)
            step = self.chain.towards_rows(self.slopes, metric, self.rows, slacks=self._slacks(self.w))
            if step is None:
                break
            theta, alpha = self._progress(self.rows, self.w).infeasibility, self._longest(step, tau)
            while alpha > 1e-6:
                w = self.w + alpha * step.move
                rows = self.program.rows(self._unknowns(w))
                if self._progress(rows, w).infeasibility < (1.0 - 1e-4 * alpha) * theta:
                    break
                alpha /= 2.0
            else:
                break
            self.w, self.rows = w, rows
            then = self._progress(rows, w)
            self.slopes = self.program.slopes(self.z, Multipliers.zero(self.program.shape))
            if then.infeasibility <= RESTORED * start.infeasibility and self.filter.allows(then):
                self._take_duals(self.v_low, self.v_high)
                self.y = self._first_multipliers()
                return
        msg = "no step leads nearer to a run"
        raise _StoppedError(msg)

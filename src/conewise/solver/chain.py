"""The step of the interior-point method on a chain of nodes: what `riccati` needs, and what follows from its answer."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from conewise.solver import riccati
from conewise.solver.node import HEADING, N_STATES, N_VARIABLES, OFFSET
from conewise.solver.small_matrices import convexify
from conewise.solver.transcription import FIRST_LIMIT, N_LIMITS, Multipliers, Rows, Slopes

if TYPE_CHECKING:
    from conewise.solver.transcription import Program

Array = NDArray[np.float64]

PLACE = np.array([OFFSET, HEADING])
FLOOR = 1e-8  # least curvature left in a node whose negative curvature is taken out


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """A step of unknowns and slacks, and where the multipliers go."""

    move: Array  # of unknowns, then slacks
    multipliers: Multipliers  # the new ones, not the change
    low_pull: Array = field(default_factory=lambda: np.zeros(0))  # change of the lower bounds' multipliers
    high_pull: Array = field(default_factory=lambda: np.zeros(0))


class Chain:
    """Arrays for the linear algebra of one program, used again in every iteration."""

    def __init__(self, program: Program) -> None:
        n, z = program.shape.n_nodes, N_VARIABLES
        self.program = program
        self.H = np.empty((n, z, z))
        self.E_inv, self.M, self.Y = np.empty((n, 2, 2)), np.empty((n, 9, 9)), np.zeros((n, z, 9))
        self.Z0, self.P, self.R = np.empty((z, 4)), np.empty((n, 9, 9)), np.empty((n, 2, 2))
        self.S, self.R0 = np.zeros((n, 2, 9)), np.empty((4, 4))
        self.eliminated: Slopes | None = None
        self.weight = np.zeros(0)

    def factorise(self, slopes: Slopes, sigma: Array, delta: float, *, convex: bool = False) -> bool:
        """Whether the chain has a minimum.

        Parameters
        ----------
        slopes : Slopes
        sigma : Array
            Second derivatives of the barrier terms by unknowns, then slacks.
        delta : float
            Added to all of them.
        convex : bool, default False
            Take the negative curvature out of every node first.
        """
        if self.eliminated is not slopes:
            if not riccati.eliminate(slopes.jacobian, self.E_inv, self.M, self.Y, self.Z0):
                return False
            self.eliminated = slopes
        shape = slopes.gradient.shape
        size, n_limits = slopes.gradient.size, shape[0] * N_LIMITS
        self.weight = sigma[size:] + delta
        pair_node = self.program.shape.pair_node
        riccati.assemble(self.H, slopes.hessian, *self.program.hessian_places, sigma[:size].reshape(shape), delta)
        riccati.add_limits(self.H, slopes.jacobian, self.weight[:n_limits].reshape(shape[0], N_LIMITS))
        riccati.add_pairs(self.H, pair_node, PLACE, slopes.pair_hessian, slopes.pair_gradient, self.weight[n_limits:])
        if convex:
            convexify(self.H, FLOOR)
        return bool(riccati.factor(self.H, slopes.jacobian, self.Y, self.Z0, self.P, self.R, self.S, self.R0))

    def step(self, slopes: Slopes, pull: Array, rows: Rows, *, slacks: Array) -> Step:
        """The step that the factors give for these rows; `pull` is the gradient of the barrier terms."""
        size = slopes.gradient.size
        off = rows.limits - slacks
        push = self.weight * off + pull[size:]
        q = slopes.gradient + pull[:size].reshape(slopes.gradient.shape) + self._limits_transposed(slopes, push)
        dz, y, mu, launch = self._solved(slopes, q, rows)
        ds = self._limits_along(slopes, dz) + off
        # slack row: -y + weight ds + pull = 0 at the new multipliers
        limits = self.weight * ds + pull[size:]
        return Step(
            move=np.concatenate([dz.ravel(), ds]),
            multipliers=Multipliers(defects=y, algebraic=mu, launch=launch, limits=limits),
        )

    def _solved(self, slopes: Slopes, q: Array, rows: Rows) -> tuple[Array, Array, Array, float]:
        n = len(q)
        dz, y, mu = np.empty_like(q), np.empty((n - 1, N_STATES)), np.empty((n, 2))
        factors = (self.H, self.E_inv, self.M, self.Y, self.Z0, self.P, self.R, self.S, self.R0)
        wanted = (rows.defects, rows.algebraic, rows.launch)
        launch = riccati.substitute(factors, slopes.jacobian, wanted, q, (dz, y, mu))
        return dz, y, mu, launch

    def least_squares(self, slopes: Slopes, pull: Array) -> Multipliers | None:
        """Multipliers that leave the least of the Lagrangian's gradient; `pull` is that of the bounds' multipliers."""
        plain = slopes.without_curvature()
        if not self.factorise(plain, np.ones_like(pull), 0.0):
            return None
        still = np.zeros(self.program.shape.n_limits)
        return self.step(plain, pull, Rows.zero(self.program.shape), slacks=still).multipliers

    def towards_rows(self, slopes: Slopes, metric: Array, rows: Rows, *, slacks: Array) -> Step | None:
        """The shortest step to the zero of the linearised rows; `metric` weighs its unknowns and slacks."""
        plain = slopes.without_curvature(cost=False)
        if not self.factorise(plain, metric, 0.0):
            return None
        return self.step(plain, np.zeros_like(metric), rows, slacks=slacks)

    def transposed(self, slopes: Slopes, y: Multipliers) -> Array:
        """Jacobian transposed times multipliers, shape (n_nodes, N_VARIABLES)."""
        out = np.matmul(y.per_node().T[:, None, :], slopes.jacobian)[:, 0, :]
        out[0, 0] += y.launch
        return self._with_pairs(out, slopes, y.pairs())

    def _limits_transposed(self, slopes: Slopes, push: Array) -> Array:
        n = len(slopes.gradient)
        own = push[: n * N_LIMITS].reshape(n, 1, N_LIMITS)
        out = np.matmul(own, slopes.jacobian[:, FIRST_LIMIT:])[:, 0, :]
        return self._with_pairs(out, slopes, push[n * N_LIMITS :])

    def _with_pairs(self, out: Array, slopes: Slopes, weights: Array) -> Array:
        pair_node = self.program.shape.pair_node
        for row, variable in zip(slopes.pair_gradient, (OFFSET, HEADING), strict=True):
            out[:, variable] += np.bincount(pair_node, weights=row * weights, minlength=len(out))
        return out

    def _limits_along(self, slopes: Slopes, dz: Array) -> Array:
        pair_node = self.program.shape.pair_node
        own = np.matmul(slopes.jacobian[:, FIRST_LIMIT:], dz[:, :, None])[:, :, 0]
        pairs = slopes.pair_gradient[0] * dz[pair_node, OFFSET] + slopes.pair_gradient[1] * dz[pair_node, HEADING]
        return np.concatenate([own.ravel(), pairs])

"""The step of the interior-point method on a chain of nodes: what `riccati` needs, and what follows from its answer."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from conewise.solver import riccati
from conewise.solver.node import HEADING, N_STATES, N_VARIABLES, OFFSET
from conewise.solver.transcription import FIRST_LIMIT, N_LIMITS, Multipliers, Rows, Slopes

if TYPE_CHECKING:
    from conewise.solver.transcription import Program

Array = NDArray[np.float64]


@dataclass(slots=True, kw_only=True)
class Step:
    """A step of unknowns and slacks, and where the multipliers go."""

    w: Array  # unknowns, then slacks
    multipliers: Multipliers  # the new ones, not the change
    v_low: Array = field(default_factory=lambda: np.zeros(0))
    v_high: Array = field(default_factory=lambda: np.zeros(0))


class Chain:
    """Arrays for the linear algebra of one program, used again in every iteration."""

    def __init__(self, program: Program) -> None:
        n, z = program.shape.n_nodes, N_VARIABLES
        self.program = program
        self.H, self.condensed = np.empty((n, z, z)), np.empty((n, z, z))
        self.E_inv, self.M, self.Y = np.empty((n, 2, 2)), np.empty((n, 9, 9)), np.zeros((n, z, 9))
        self.Z0, self.P, self.R = np.empty((z, 4)), np.empty((n, 9, 9)), np.empty((n, 2, 2))
        self.S, self.R0 = np.zeros((n, 2, 9)), np.empty((4, 4))
        self.eliminated: Slopes | None = None
        self.weight = np.zeros(0)

    def factorise(self, slopes: Slopes, sigma: Array, delta: float, shape: tuple[int, int]) -> bool:
        """Whether the chain has a minimum with this much regularisation."""
        if self.eliminated is not slopes:
            if not riccati.eliminate(slopes.jacobian, self.E_inv, self.M, self.Y, self.Z0):
                return False
            self.eliminated = slopes
        size = shape[0] * shape[1]
        self.weight = sigma[size:] + delta
        n_limits = shape[0] * N_LIMITS
        riccati.assemble(
            self.H, slopes.hessian, *self.program.hessian_places, sigma[:size].reshape(shape), delta, slopes.jacobian,
            FIRST_LIMIT, self.weight[:n_limits].reshape(shape[0], N_LIMITS), self.program.shape.pair_node,
            np.array([OFFSET, HEADING]), slopes.pair_hessian, slopes.pair_gradient, self.weight[n_limits:],
        )  # fmt: skip
        self.condensed[:] = self.H
        return int(riccati.factor(self.H, slopes.jacobian, self.Y, self.Z0, self.P, self.R, self.S, self.R0)) < 0

    def step(self, slopes: Slopes, pull: Array, rows: Rows, s: Array) -> Step:
        """The step that the factors give for these rows; `pull` is the gradient of the barrier terms."""
        size = slopes.gradient.size
        off = rows.limits - s
        push = self.weight * off + pull[size:]
        q = slopes.gradient + pull[:size].reshape(slopes.gradient.shape) + self._limits_transposed(slopes, push)
        dz, y, mu, launch = self._solved(slopes, q, rows)
        ds = self._limits_along(slopes, dz) + off
        # slack row: -y + weight ds + pull = 0 at the new multipliers
        limits = self.weight * ds + pull[size:]
        return Step(
            w=np.concatenate([dz.ravel(), ds]),
            multipliers=Multipliers(defects=y, algebraic=mu, launch=launch, limits=limits),
        )

    def _solved(self, slopes: Slopes, q: Array, rows: Rows) -> tuple[Array, Array, Array, float]:
        n = len(q)
        dz, y, mu = np.empty_like(q), np.empty((n - 1, N_STATES)), np.empty((n, 2))
        launch = riccati.substitute(
            self.H, slopes.jacobian, self.E_inv, self.M, self.Y, self.Z0, self.P, self.R, self.S, self.R0, q,
            rows.defects, rows.algebraic, rows.launch, dz, y, mu,
        )  # fmt: skip
        return dz, y, mu, launch

    def least_squares(self, slopes: Slopes, pull: Array, slack_pull: Array) -> Multipliers | None:
        """Multipliers that leave the least of the Lagrangian's gradient."""
        n, z = pull.shape
        plain = Slopes(
            gradient=slopes.gradient,
            jacobian=slopes.jacobian,
            hessian=np.zeros_like(slopes.hessian),
            pair_gradient=slopes.pair_gradient,
            pair_hessian=np.zeros_like(slopes.pair_hessian),
        )
        ones = np.ones(n * z + len(slack_pull))
        if not self.factorise(plain, ones, 0.0, (n, z)):
            return None
        nothing = Rows(
            cost=0.0, defects=np.zeros((n - 1, N_STATES)), algebraic=np.zeros((n, 2)), launch=0.0, limits=np.zeros_like(slack_pull)
        )
        step = self.step(plain, np.concatenate([pull.ravel(), slack_pull]), nothing, np.zeros_like(slack_pull))
        return step.multipliers

    def transposed(self, slopes: Slopes, y: Multipliers) -> Array:
        """Jacobian transposed times multipliers, without the launch, shape (n_nodes, N_VARIABLES)."""
        out = np.matmul(y.per_node().T[:, None, :], slopes.jacobian)[:, 0, :]
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

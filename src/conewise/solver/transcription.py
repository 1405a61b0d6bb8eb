"""The minimum-time problem as a chain of nodes, with its own exact derivatives.

A trapezoid in the station domain with the mean curvature of each interval: node k gives A_k = x + h/2 f and
B_k = x - h/2 f, and the defect A_k - B_{k+1} vanishes; so every row depends on one node at a time and the Hessian
is block diagonal. Course, mesh, gears and parameters are data; nothing is rebuilt when they change.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from conewise.solver.node import (
    HEADING,
    LIMITS,
    LIMITS_HIGH,
    LIMITS_LOW,
    N_STATES,
    N_VARIABLES,
    OFFSET,
    NodeCode,
    node_code,
    node_functions,
)

Array = NDArray[np.float64]
Index = NDArray[np.int64]

N_ALGEBRAIC, N_LIMITS = 2, len(LIMITS)
N_NODE_ROWS = 2 * N_STATES + N_ALGEBRAIC + N_LIMITS  # rows of a node's own function: A, B, algebraic, limits
FIRST_LIMIT = 2 * N_STATES + N_ALGEBRAIC
ONE = np.ones(1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Shape:
    """Nodes, and which cone is tested at which of them."""

    n_nodes: int
    pair_node: Index  # node of each tested pair, shape (n_pairs,)
    pair_cone: Index  # cone of each tested pair, shape (n_pairs,)
    n_cones: int

    @property
    def n_limits(self) -> int:
        """Rows with bounds: limits node by node, then pairs."""
        return self.n_nodes * N_LIMITS + len(self.pair_node)


@dataclass(frozen=True, slots=True, kw_only=True)
class Rows:
    """Values of the rows at some unknowns."""

    cost: float  # time and smoothing [s]
    defects: Array  # shape (n_nodes - 1, N_STATES)
    algebraic: Array  # shape (n_nodes, 2)
    launch: float  # speed at the first node less that of the launch
    limits: Array  # shape (n_limits,)

    @classmethod
    def zero(cls, shape: Shape) -> Rows:
        """All rows met, all limits at zero."""
        return cls(
            cost=0.0,
            defects=np.zeros((shape.n_nodes - 1, N_STATES)),
            algebraic=np.zeros((shape.n_nodes, N_ALGEBRAIC)),
            launch=0.0,
            limits=np.zeros(shape.n_limits),
        )

    def infeasibility(self, slacks: Array) -> float:
        """Sum of the sizes of all that should vanish."""
        parts = (self.defects, self.algebraic, self.limits - slacks)
        return float(sum(np.abs(part).sum() for part in parts) + abs(self.launch))

    def worst(self, slacks: Array) -> float:
        """Greatest size of all that should vanish."""
        parts = (self.defects, self.algebraic, self.limits - slacks)
        return float(max(*(np.abs(part).max() for part in parts), abs(self.launch)))

    def corrected(self, rows: Rows, share: float, *, slack: Array, moved: Array) -> Rows:
        """What a second-order correction aims at: a share of these rows and the rows where the step led.

        slack: the slacks here; moved: those where the step led. The answer is to be read against `slack`.
        """
        off = share * (self.limits - slack) + rows.limits - moved
        return Rows(
            cost=rows.cost,
            defects=share * self.defects + rows.defects,
            algebraic=share * self.algebraic + rows.algebraic,
            launch=share * self.launch + rows.launch,
            limits=off + slack,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Multipliers:
    """Multipliers of the rows; the Lagrangian is the cost plus multiplier times row."""

    defects: Array  # shape (n_nodes - 1, N_STATES)
    algebraic: Array  # shape (n_nodes, 2)
    launch: float
    limits: Array  # shape (n_limits,); negative where a row is at its lower bound

    def per_node(self) -> Array:
        """Of each node's own rows, shape (N_NODE_ROWS, n_nodes)."""
        n = len(self.algebraic)
        out = np.zeros((N_NODE_ROWS, n))
        out[:N_STATES, :-1] = self.defects.T
        out[N_STATES : 2 * N_STATES, 1:] = -self.defects.T
        out[2 * N_STATES : FIRST_LIMIT] = self.algebraic.T
        out[FIRST_LIMIT:] = self.limits[: n * N_LIMITS].reshape(n, N_LIMITS).T
        return out

    def pairs(self) -> Array:
        """Of the tested pairs, shape (n_pairs,)."""
        return self.limits[len(self.algebraic) * N_LIMITS :]

    def towards(self, other: Multipliers, share: float) -> Multipliers:
        """A share of the way to other multipliers."""
        return Multipliers(
            defects=self.defects + share * (other.defects - self.defects),
            algebraic=self.algebraic + share * (other.algebraic - self.algebraic),
            launch=self.launch + share * (other.launch - self.launch),
            limits=self.limits + share * (other.limits - self.limits),
        )

    @classmethod
    def zero(cls, shape: Shape) -> Multipliers:
        """None at all."""
        return cls(
            defects=np.zeros((shape.n_nodes - 1, N_STATES)),
            algebraic=np.zeros((shape.n_nodes, N_ALGEBRAIC)),
            launch=0.0,
            limits=np.zeros(shape.n_limits),
        )

    def total(self) -> float:
        """Sum of the sizes of all."""
        return float(np.abs(self.defects).sum() + np.abs(self.algebraic).sum() + np.abs(self.limits).sum())

    def count(self) -> int:
        """How many there are."""
        return self.defects.size + self.algebraic.size + self.limits.size

    def greatest(self) -> float:
        """Largest size of any."""
        return float(max(np.abs(self.defects).max(), np.abs(self.algebraic).max(), np.abs(self.limits).max()))


@dataclass(frozen=True, slots=True, kw_only=True)
class Slopes:
    """First and second derivatives at some unknowns."""

    gradient: Array  # of the cost, shape (n_nodes, N_VARIABLES)
    jacobian: Array  # of each node's rows, shape (n_nodes, N_NODE_ROWS, N_VARIABLES)
    hessian: Array  # nonzeros of the upper triangles, shape (n_nonzeros, n_nodes)
    pair_gradient: Array  # by lateral offset and heading, shape (2, n_pairs)
    pair_hessian: Array  # upper triangles, shape (3, n_pairs)

    def without_curvature(self, *, cost: bool = True) -> Slopes:
        """First derivatives alone; without those of the cost as well."""
        return replace(
            self,
            gradient=self.gradient if cost else np.zeros_like(self.gradient),
            hessian=np.zeros_like(self.hessian),
            pair_hessian=np.zeros_like(self.pair_hessian),
        )


class Program:
    """The rows of one problem and their derivatives.

    Parameters
    ----------
    shape : Shape
    p : Array, shape (n_parameters,)
    margins : Array, shape (n_cones,)
        [m]
    nodes : Array, shape (n_data, n_nodes)
        See `node.NODE_DATA`.
    pairs : Array, shape (4, n_pairs)
        See `node.CONE_DATA`.
    extra : float
        How far the car has rolled beyond the start beam at the first node. [m]
    """

    def __init__(self, shape: Shape, *, p: Array, margins: Array, nodes: Array, pairs: Array, extra: float) -> None:
        self.shape, self.p, self.nodes, self.pairs, self.extra = shape, p, nodes, pairs, extra
        self.margins = margins[shape.pair_cone][None, :]
        self.code: NodeCode = node_code()
        speed, time = node_functions().launch(p, extra)
        self.launch_speed, self.launch_time = float(speed), float(time)

    @cached_property
    def limit_bounds(self) -> tuple[Array, Array]:
        """Lower and upper bounds of limits and pairs, shape (n_limits,) each."""
        n, pairs = self.shape.n_nodes, len(self.shape.pair_node)
        low = np.concatenate([np.tile(LIMITS_LOW, n), np.zeros(pairs)])
        return low, np.concatenate([np.tile(LIMITS_HIGH, n), np.full(pairs, np.inf)])

    def rows(self, z: Array) -> Rows:
        """Values at unknowns of shape (n_nodes, N_VARIABLES)."""
        values, _, cost = self.code.value(z.T, self.nodes, self.p)
        limits = [values[FIRST_LIMIT:].T.ravel()]
        if len(self.shape.pair_node):
            limits.append(self.code.cone_value(self._places(z), self.pairs, self.p, self.margins)[0][0])
        return Rows(
            cost=float(cost.sum()) + self.launch_time,
            defects=(values[:N_STATES, :-1] - values[N_STATES : 2 * N_STATES, 1:]).T.copy(),
            algebraic=values[2 * N_STATES : FIRST_LIMIT].T.copy(),
            launch=float(z[0, 0]) - self.launch_speed,
            limits=np.concatenate(limits),
        )

    def slopes(self, z: Array, multipliers: Multipliers, weight: float = 1.0) -> Slopes:
        """Derivatives at unknowns of shape (n_nodes, N_VARIABLES); `weight` is that of the cost in the Hessian."""
        jacobian, hessian, gradient = self.code.derivatives(
            z.T, self.nodes, self.p, multipliers.per_node(), weight * ONE
        )
        row, col = self.jacobian_places
        dense = np.zeros((self.shape.n_nodes, N_NODE_ROWS, N_VARIABLES))
        dense[:, row, col] = jacobian.T
        if len(self.shape.pair_node):
            pair_gradient, pair_hessian = self.code.cone_derivatives(
                self._places(z), self.pairs, self.p, self.margins, multipliers.pairs()[None, :]
            )
        else:
            pair_gradient, pair_hessian = np.zeros((2, 0)), np.zeros((3, 0))
        return Slopes(
            gradient=np.ascontiguousarray(gradient.T),
            jacobian=dense,
            hessian=np.ascontiguousarray(hessian),
            pair_gradient=np.ascontiguousarray(pair_gradient),
            pair_hessian=np.ascontiguousarray(pair_hessian),
        )

    def lagrangian(self, z: Array, multipliers: Multipliers) -> float:
        """Cost plus multiplier times row. [s]"""
        rows = self.rows(z)
        parts = (
            (multipliers.defects, rows.defects),
            (multipliers.algebraic, rows.algebraic),
            (multipliers.limits, rows.limits),
        )
        return rows.cost + multipliers.launch * rows.launch + sum(float((y * r).sum()) for y, r in parts)

    def times(self, z: Array) -> Array:
        """Share of each node in the time, without smoothing and launch, shape (n_nodes,). [s]"""
        return np.array(self.code.value(z.T, self.nodes, self.p)[1][0])

    def by_parameter(self, z: Array, multipliers: Multipliers) -> Array:
        """Gradient of the Lagrangian by the model's parameters: by the envelope theorem that of the time."""
        total = self.code.by_parameter(z.T, self.nodes, self.p, multipliers.per_node(), ONE)[0].sum(axis=1)
        if len(self.shape.pair_node):
            arguments = self._places(z), self.pairs, self.p, self.margins, multipliers.pairs()[None, :]
            total = total + self.code.cone_by_parameter(*arguments)[0].sum(axis=1)
        launch = node_functions().launch_by_parameter(self.p, self.extra, multipliers.launch)
        return np.asarray(total + np.asarray(launch, dtype=float).ravel())

    @cached_property
    def jacobian_places(self) -> tuple[Index, Index]:
        """Row and column of each nonzero of a node's Jacobian."""
        row, col = node_functions().jacobian_pattern.get_triplet()
        return np.array(row), np.array(col)

    @cached_property
    def hessian_places(self) -> tuple[Index, Index]:
        """Row and column of each nonzero of a node's Hessian, upper triangle."""
        row, col = node_functions().hessian_pattern.get_triplet()
        return np.array(row), np.array(col)

    def _places(self, z: Array) -> Array:
        return z[self.shape.pair_node][:, [OFFSET, HEADING]].T

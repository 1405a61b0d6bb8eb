"""The minimum-time problem as a sparse nonlinear program with its own exact derivatives.

A trapezoid in the station domain with the mean curvature of each interval: node k gives A_k = x + h/2 f and
B_k = x - h/2 f, and the defect A_k - B_{k+1} vanishes; so every row depends on one node at a time and the Hessian
is block diagonal. Node functions are mapped and their nonzeros put in place by index.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from conewise.solver.node import (
    CONE_DATA,
    HEADING,
    LIMITS,
    LIMITS_HIGH,
    LIMITS_LOW,
    N_STATES,
    N_VARIABLES,
    NODE_DATA,
    OFFSET,
    NodeFunctions,
    node_functions,
)
from conewise.solver.symbols import casadi as ca
from conewise.vehicle.parameters import ModelParameters

Array = NDArray[np.float64]
Index = NDArray[np.int64]

N_ROWS = 2 * N_STATES + 2 + len(LIMITS)  # rows of a node's own function: A, B, algebraic, limits
N_LOCAL = 2 + len(LIMITS)  # rows of the program that belong to one node


@dataclass(frozen=True, slots=True, kw_only=True)
class Shape:
    """What decides the sparsity of a program: nodes, and which cone is tested at which node."""

    n_nodes: int
    pair_node: Index  # node of each tested pair, shape (n_pairs,)
    pair_cone: Index  # cone of each tested pair, shape (n_pairs,)
    n_cones: int

    @property
    def n_variables(self) -> int:
        """Unknowns of the program."""
        return self.n_nodes * N_VARIABLES

    @property
    def n_defects(self) -> int:
        """Rows of the defects."""
        return (self.n_nodes - 1) * N_STATES

    @property
    def n_rows(self) -> int:
        """Rows of the program: defects, local rows node by node, pairs, start speed."""
        return self.n_defects + self.n_nodes * N_LOCAL + len(self.pair_node) + 1

    @property
    def pair_rows(self) -> slice:
        """The rows of the tested pairs."""
        start = self.n_defects + self.n_nodes * N_LOCAL
        return slice(start, start + len(self.pair_node))


class Program:
    """A compiled program of one `Shape`; parameters, course and mesh are data."""

    def __init__(self, shape: Shape) -> None:
        self.shape = shape
        self.functions = node_functions()
        self._assemble()
        self._solvers: dict[tuple[tuple[str, Any], ...], Any] = {}

    def data(self, p: Array, margins: Array, nodes: Array, cones: Array, extra: float) -> Array:
        """The parameter vector: model, margins, node data (n_data, n_nodes), pair data (4, n_pairs), launch."""
        return np.concatenate([p, margins, nodes.ravel(order="F"), cones.ravel(order="F"), [extra]])

    def bounds(self) -> tuple[Array, Array]:
        """Lower and upper bounds of the rows."""
        local_low = np.concatenate([[0.0, 0.0], LIMITS_LOW])
        local_high = np.concatenate([[0.0, 0.0], LIMITS_HIGH])
        n_pairs, zeros = len(self.shape.pair_node), np.zeros(self.shape.n_defects)
        low = np.concatenate([zeros, np.tile(local_low, self.shape.n_nodes), np.zeros(n_pairs), [0.0]])
        high = np.concatenate([zeros, np.tile(local_high, self.shape.n_nodes), np.full(n_pairs, np.inf), [0.0]])
        return low, high

    def solver(self, options: dict[str, Any]) -> Any:
        """IPOPT on this program with these options."""
        key = tuple(sorted(options.items()))
        if key not in self._solvers:
            fixed: dict[str, Any] = {f"ipopt.{name}": value for name, value in options.items()}
            self._solvers[key] = ca.nlpsol(
                "run",
                "ipopt",
                {"x": self._x, "p": self._p, "f": self._f, "g": self._g},
                fixed
                | {
                    "grad_f": self._grad_f,
                    "jac_g": self._jac_g,
                    "hess_lag": self._hess_lag,
                    "no_nlp_grad": True,
                    "calc_lam_p": False,
                    "calc_lam_x": False,
                    "print_time": False,
                    "record_time": True,
                    "error_on_fail": False,
                },
            )
        return self._solvers[key]

    def _symbols(self) -> tuple[Any, ...]:
        shape = self.shape
        n_pairs = len(shape.pair_node)
        x = ca.MX.sym("x", shape.n_variables)
        sizes = [ModelParameters.size(), shape.n_cones, len(NODE_DATA) * shape.n_nodes, len(CONE_DATA) * n_pairs, 1]
        p = ca.MX.sym("p", sum(sizes))
        model, margins, nodes, cones, extra = ca.vertsplit(p, [0, *np.cumsum(sizes).tolist()])
        z = ca.reshape(x, N_VARIABLES, shape.n_nodes)
        d = ca.reshape(nodes, len(NODE_DATA), shape.n_nodes)
        c = ca.reshape(cones, len(CONE_DATA), n_pairs)
        place = z[[OFFSET, HEADING], shape.pair_node.tolist()]
        return x, p, model, z, d, place, c, margins[shape.pair_cone.tolist()].T, extra

    def _assemble(self) -> None:
        f, shape = self.functions, self.shape
        N, n_pairs = shape.n_nodes, len(shape.pair_node)
        x, p, model, z, d, place, c, margin, extra = self._symbols()
        node = f.first.map("nodes", "serial", N, [2], [])
        cone = f.cone_first.map("cones", "serial", n_pairs, [2], [])
        value = f.value.map("values", "serial", N, [2], [])
        cost = f.cost.map("costs", "serial", N, [2], [])
        launch_speed, launch_time = f.launch(model, extra)

        def rows(values: Any, pairs: Any) -> Any:
            A, B = values[:N_STATES, :-1], values[N_STATES : 2 * N_STATES, 1:]
            return ca.vertcat(ca.vec(A - B), ca.vec(values[2 * N_STATES :, :]), ca.vec(pairs), x[0] - launch_speed)

        plain, _ = value(z, d, model)
        pair_rows, _ = cone(place, c, model, margin)
        g = rows(plain, pair_rows)
        costs, gradient = cost(z, d, model)
        total = ca.sum2(costs) + launch_time
        values, jacobian = node(z, d, model)
        pair_value, pair_jacobian = cone(place, c, model, margin)
        pattern, order = self._jacobian_places(f)
        jac = ca.MX(
            pattern, ca.vertcat(ca.vec(jacobian), -ca.vec(jacobian), ca.vec(pair_jacobian), 1.0)[order.tolist()]
        )
        g_full = rows(values, pair_value)
        self._x, self._p, self._f, self._g = x, p, total, g
        self._grad_f = ca.Function("grad_f", [x, p], [total, ca.vec(gradient)], ["x", "p"], ["f", "grad_f_x"])
        self._jac_g = ca.Function("jac_g", [x, p], [g_full, jac], ["x", "p"], ["g", "jac_g_x"])
        self._assemble_hessian(f, x, p, model, z, d, place, c, margin)
        self._assemble_parameter_gradient(f, x, p, model, z, d, place, c, margin, extra)

    def _jacobian_places(self, f: NodeFunctions) -> tuple[Any, Index]:
        """Sparsity of the Jacobian, and for each of its nonzeros the place among the mapped ones."""
        shape = self.shape
        N = shape.n_nodes
        local_row, local_col = (np.array(part, dtype=int) for part in f.jacobian_pattern.get_triplet())
        nnz = len(local_row)
        rows, cols, places = [], [], []
        node = np.arange(N)[:, None]
        position = node * nnz + np.arange(nnz)[None, :]
        is_a, is_b = local_row < N_STATES, (local_row >= N_STATES) & (local_row < 2 * N_STATES)
        is_local = local_row >= 2 * N_STATES
        for mask, nodes, offset, sign in (
            (is_a, slice(0, N - 1), 0, 0),
            (is_b, slice(1, N), -N_STATES - N_STATES, 1),
            (is_local, slice(0, N), 0, 0),
        ):
            k = node[nodes]
            if mask is is_local:
                row = shape.n_defects + k * N_LOCAL + local_row[mask] - 2 * N_STATES
            else:
                row = k * N_STATES + local_row[mask] + offset
            rows.append(row.ravel())
            cols.append((k * N_VARIABLES + local_col[mask]).ravel())
            places.append((position[nodes][:, mask] + sign * N * nnz).ravel())
        pair = np.arange(len(shape.pair_node))
        base = 2 * N * nnz
        for j, variable in enumerate((OFFSET, HEADING)):
            rows.append(shape.pair_rows.start + pair)
            cols.append(shape.pair_node * N_VARIABLES + variable)
            places.append(base + 2 * pair + j)
        rows.append(np.array([shape.n_rows - 1]))
        cols.append(np.array([0]))
        places.append(np.array([base + 2 * len(pair)]))
        return _in_order(shape.n_rows, shape.n_variables, rows, cols, places)

    def _multipliers(self, lam_g: Any) -> tuple[Any, Any]:
        """Multipliers of each node's own rows, and of the pairs."""
        shape = self.shape
        defects = ca.reshape(lam_g[: shape.n_defects], N_STATES, shape.n_nodes - 1)
        local = ca.reshape(lam_g[shape.n_defects : shape.pair_rows.start], N_LOCAL, shape.n_nodes)
        none = ca.MX.zeros(N_STATES, 1)
        per_node = ca.vertcat(ca.horzcat(defects, none), ca.horzcat(none, -defects), local)
        return per_node, lam_g[shape.pair_rows].T

    def _assemble_hessian(self, f: NodeFunctions, x: Any, p: Any, *parts: Any) -> None:
        model, z, d, place, c, margin = parts
        shape = self.shape
        N, n_pairs = shape.n_nodes, len(shape.pair_node)
        lam_f, lam_g = ca.MX.sym("lam_f"), ca.MX.sym("lam_g", shape.n_rows)
        per_node, pairs = self._multipliers(lam_g)
        node = f.second.map("nodes", "serial", N, [2, 4], [])(z, d, model, per_node, lam_f)
        cone = f.cone_second.map("cones", "serial", n_pairs, [2], [])(place, c, model, margin, pairs)
        local_row, local_col = (np.array(part, dtype=int) for part in f.hessian_pattern.get_triplet())
        nnz = len(local_row)
        k = np.arange(N)[:, None] * N_VARIABLES
        pattern, order = _in_order(
            shape.n_variables,
            shape.n_variables,
            [(k + local_row).ravel()],
            [(k + local_col).ravel()],
            [np.arange(N * nnz)],
        )
        inverse = np.empty(N * nnz, dtype=int)
        inverse[order] = np.arange(N * nnz)
        into = []
        for i, j in ((OFFSET, OFFSET), (OFFSET, HEADING), (HEADING, HEADING)):
            local = int(np.flatnonzero((local_row == i) & (local_col == j))[0])
            into.append(inverse[shape.pair_node * nnz + local])
        scatter = ca.DM.triplet(
            np.concatenate(into).tolist(),
            np.concatenate([3 * np.arange(n_pairs) + j for j in range(3)]).tolist(),
            ca.DM.ones(3 * n_pairs),
            N * nnz,
            3 * n_pairs,
        )
        nonzeros = ca.vec(node)[order.tolist()] + scatter @ ca.vec(cone)
        self._hess_lag = ca.Function(
            "hess_lag",
            [x, p, lam_f, lam_g],
            [ca.MX(pattern, nonzeros)],
            ["x", "p", "lam_f", "lam_g"],
            ["triu_hess_gamma_x_x"],
        )

    def _assemble_parameter_gradient(self, f: NodeFunctions, x: Any, p: Any, *parts: Any) -> None:
        """Gradient of the Lagrangian by the model's parameters: by the envelope theorem that of the time."""
        model, z, d, place, c, margin, extra = parts
        shape = self.shape
        lam_g = ca.MX.sym("lam_g", shape.n_rows)
        per_node, pairs = self._multipliers(lam_g)
        node = f.by_parameter.map("nodes", "serial", shape.n_nodes, [2, 4], [])(z, d, model, per_node, 1.0)
        cone = f.cone_by_parameter.map("cones", "serial", len(shape.pair_node), [2], [])(place, c, model, margin, pairs)
        launch = f.launch_by_parameter(model, extra, lam_g[shape.n_rows - 1])
        total = ca.sum2(node) + ca.sum2(cone) + launch
        self.by_parameter = ca.Function("by_parameter", [x, p, lam_g], [total])
        time = f.value.map("values", "serial", shape.n_nodes, [2], [])(z, d, model)[1]
        self.time = ca.Function("time", [x, p], [ca.sum2(time) + f.launch(model, extra)[1], time])
        self.g = ca.Function("g", [x, p], [self._g])


def _in_order(n_rows: int, n_cols: int, rows: Any, cols: Any, places: Any) -> tuple[Any, Index]:
    """Column-compressed sparsity of triplets, and the given place of each nonzero in its order."""
    row, col, place = (np.concatenate(part) for part in (rows, cols, places))
    order = np.lexsort((row, col))
    starts = np.concatenate([[0], np.cumsum(np.bincount(col, minlength=n_cols))])
    return ca.Sparsity(n_rows, n_cols, starts.tolist(), row[order].tolist()), place[order]

"""The linear system of an interior-point step, solved node by node from the last to the first.

At every node the unknowns are nine states x, two accelerations a and two slopes u. The algebraic rows give a from x,
the trapezoid gives x from what the node before hands over, so only u is free: a Riccati recursion carries the cost of
all later nodes back as a quadratic in what is handed over. The system has the inertia of a minimum exactly where the
small matrix of every node's free unknowns is positive definite.

Notation: rows of a node's Jacobian J are A (9, to the next node), B (9, from the node before), the algebraic rows E
(2) and limits. Between nodes k and k + 1 the rows are A dz_k + c_k = B dz_{k+1}; what is handed over is their left
side, zeta.

References
----------
Rao, Wright, Rawlings, Application of interior-point methods to model predictive control, 1998, section 3 (Riccati
recursion within an interior-point method); the elimination of the implicit trapezoid is worked out in
docs/models/transient.md.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from conewise.solver.small_matrices import cholesky, inverse, kernel, solve_factored

Array = NDArray[np.float64]
Index = NDArray[np.int64]

NX, NA, NU = 9, 2, 2  # states, accelerations, slopes of a node
NZ, NXA = NX + NA + NU, NX + NA
# of the first node: lateral offset, command, slopes; its speed is given, the rest is fixed
FREE = np.array([5, 8, 11, 12])


@kernel
def assemble(H: Array, hessian: Array, row: Index, col: Index, sigma: Array, delta: float) -> None:
    """Write the Hessian of every node, shape (n_nodes, 13, 13), and add sigma + delta to the diagonal."""
    H[:] = 0.0
    for k in range(H.shape[0]):
        for t in range(row.shape[0]):
            H[k, row[t], col[t]] = hessian[t, k]
            H[k, col[t], row[t]] = hessian[t, k]
        for i in range(NZ):
            H[k, i, i] += sigma[k, i] + delta


@kernel
def add_limits(H: Array, J: Array, weight: Array) -> None:
    """Add what the eliminated slacks of the limits, J's last rows, leave: J' weight J. weight: (n_nodes, n_limits)."""
    first = J.shape[1] - weight.shape[1]
    for k in range(H.shape[0]):
        for m in range(weight.shape[1]):
            for i in range(NZ):
                a = weight[k, m] * J[k, first + m, i]
                if a != 0.0:
                    for j in range(NZ):
                        H[k, i, j] += a * J[k, first + m, j]


@kernel
def add_pairs(H: Array, node: Index, place: Index, curvature: Array, gradient: Array, weight: Array) -> None:
    """Add the cones tested at the nodes: their curvature and their eliminated slacks."""
    i, j = place
    for t in range(node.shape[0]):
        k, a, b = node[t], gradient[0, t], gradient[1, t]
        cross = curvature[1, t] + weight[t] * a * b
        H[k, i, i] += curvature[0, t] + weight[t] * a * a
        H[k, j, j] += curvature[2, t] + weight[t] * b * b
        H[k, i, j] += cross
        H[k, j, i] += cross


@kernel
def eliminate(J: Array, E_inv: Array, M: Array, Y: Array, Z0: Array) -> bool:
    """What the constraints alone decide. False where they decide nothing, a matrix being singular.

    Filled: E_inv (n_nodes, 2, 2), inverse of the algebraic rows' part of the accelerations; M (n_nodes, 9, 9), states
    from what is handed over; Y (n_nodes, 13, 9), all unknowns from it; Z0 (13, 4), the first node's from its free ones.
    """
    E, G, W = np.empty((NA, NA)), np.empty((NA, NX)), np.empty((NX, NX))
    for k in range(J.shape[0]):
        for i in range(NA):
            for j in range(NA):
                E[i, j] = J[k, 2 * NX + i, NX + j]
        if not inverse(E, E_inv[k]):
            return False
        for i in range(NA):
            for j in range(NX):  # accelerations from states
                G[i, j] = -E_inv[k, i, 0] * J[k, 2 * NX, j] - E_inv[k, i, 1] * J[k, 2 * NX + 1, j]
        if k == 0:
            _first_node(G, Z0)
            continue
        for i in range(NX):
            for j in range(NX):
                W[i, j] = J[k, NX + i, j] + J[k, NX + i, NX] * G[0, j] + J[k, NX + i, NX + 1] * G[1, j]
        if not inverse(W, M[k]):
            return False
        for i in range(NX):
            for j in range(NX):
                Y[k, i, j] = M[k, i, j]
        for i in range(NA):
            for j in range(NX):
                Y[k, NX + i, j] = 0.0
            for t in range(NX):
                for j in range(NX):
                    Y[k, NX + i, j] += G[i, t] * M[k, t, j]
    return True


@kernel
def _first_node(G: Array, Z0: Array) -> None:
    Z0[:, :] = 0.0
    for j in range(FREE.shape[0]):
        Z0[FREE[j], j] = 1.0
        if FREE[j] < NX:
            for i in range(NA):
                Z0[NX + i, j] = G[i, FREE[j]]


@kernel
def factor(H: Array, J: Array, Y: Array, Z0: Array, P: Array, R: Array, S: Array, R0: Array) -> bool:
    """Backward recursion; whether there is a minimum.

    H gains the cost of all later nodes. Filled: P (n_nodes, 9, 9), that cost as a quadratic of what is handed over; R
    (n_nodes, 2, 2) and R0 (4, 4), factors of the free unknowns' matrices; S (n_nodes, 2, 9), their coupling.
    """
    n = H.shape[0]
    PA, HY, x = np.empty((NX, NZ)), np.empty((NZ, NX)), np.empty(NU)
    for k in range(n - 1, 0, -1):
        if k < n - 1:
            _add_later_cost(H[k], P[k + 1], J[k], PA)
        _handed_over(H[k], Y[k], HY, P[k])
        if k == n - 1:  # its slopes are fixed
            continue
        for i in range(NU):
            for j in range(NU):
                R[k, i, j] = H[k, NXA + i, NXA + j]
            for j in range(NX):
                S[k, i, j] = HY[NXA + i, j]
        if not cholesky(R[k]):
            return False
        for j in range(NX):
            x[0], x[1] = S[k, 0, j], S[k, 1, j]
            solve_factored(R[k], x)
            for i in range(NX):
                P[k, i, j] -= S[k, 0, i] * x[0] + S[k, 1, i] * x[1]
        for i in range(NX):
            for j in range(i):
                P[k, i, j] = P[k, j, i] = 0.5 * (P[k, i, j] + P[k, j, i])
    _add_later_cost(H[0], P[1], J[0], PA)
    R0[:, :] = Z0.T @ (H[0] @ Z0)
    return cholesky(R0)


@kernel
def _add_later_cost(H: Array, P: Array, J: Array, PA: Array) -> None:
    """H += A' P A; PA is room for P A."""
    for i in range(NX):
        for j in range(NZ):
            PA[i, j] = 0.0
        for t in range(NX):
            for j in range(NZ):
                PA[i, j] += P[i, t] * J[t, j]
    for t in range(NX):
        for i in range(NZ):
            a = J[t, i]
            if a != 0.0:
                for j in range(NZ):
                    H[i, j] += a * PA[t, j]


@kernel
def _handed_over(H: Array, Y: Array, HY: Array, P: Array) -> None:
    """Write H Y into HY and Y' H Y into P; slopes do not follow from what is handed over."""
    for i in range(NZ):
        for j in range(NX):
            HY[i, j] = 0.0
        for t in range(NXA):
            for j in range(NX):
                HY[i, j] += H[i, t] * Y[t, j]
    P[:, :] = 0.0
    for t in range(NXA):
        for i in range(NX):
            for j in range(NX):
                P[i, j] += Y[t, i] * HY[t, j]


@kernel
def substitute(
    factors: tuple[Array, Array, Array, Array, Array, Array, Array, Array, Array],
    J: Array,
    rows: tuple[Array, Array, float],
    q: Array,
    answer: tuple[Array, Array, Array],
) -> float:
    """One right-hand side; the multiplier of the launch row.

    factors: H, E_inv, M, Y, Z0, P, R, S, R0 as `eliminate` and `factor` left them. rows: defects c (n_nodes - 1, 9),
    algebraic rows (n_nodes, 2), start speed. q: gradient (n_nodes, 13). answer: filled with the step (n_nodes, 13) and
    the new multipliers of defects and algebraic rows.
    """
    H, E_inv, M, Y, Z0, P, R, S, R0 = factors
    c, e, launch = rows
    dz, y, mu = answer
    n = q.shape[0]
    total = q.copy()  # gradient with later nodes' share
    still = np.zeros((n, NZ))  # unknowns where nothing is handed over
    p, u0, t = np.zeros((n, NX)), np.zeros((n, NU)), np.empty(NZ)
    for k in range(n - 1, -1, -1):
        if k < n - 1:
            for i in range(NX):
                w = p[k + 1, i]
                for j in range(NX):
                    w += P[k + 1, i, j] * c[k, j]
                for j in range(NZ):
                    total[k, j] += J[k, i, j] * w
        _stand(k, J, E_inv, M, e, launch, still)
        for i in range(NZ):
            t[i] = total[k, i]
            for j in range(NXA):
                t[i] += H[k, i, j] * still[k, j]
        if k > 0:
            for i in range(NXA):
                for j in range(NX):
                    p[k, j] += Y[k, i, j] * t[i]
            if k < n - 1:
                u0[k, 0], u0[k, 1] = t[NXA], t[NXA + 1]
                solve_factored(R[k], u0[k])
                for i in range(NX):
                    p[k, i] -= S[k, 0, i] * u0[k, 0] + S[k, 1, i] * u0[k, 1]
    free = -(Z0.T @ t)
    solve_factored(R0, free)
    dz[0] = still[0] + Z0 @ free
    _forward(J, (P, Y, R, S), c, (p, u0, still), dz, y)
    return _algebraic_multipliers(H, J, E_inv, total, dz, y, mu)


@kernel
def _stand(k: int, J: Array, E_inv: Array, M: Array, e: Array, launch: float, still: Array) -> None:
    """A node's unknowns where nothing is handed over: what its own rows ask for."""
    g0, g1 = e[k, 0], e[k, 1]
    if k == 0:
        still[0, 0] = -launch
    else:
        w0 = E_inv[k, 0, 0] * g0 + E_inv[k, 0, 1] * g1
        w1 = E_inv[k, 1, 0] * g0 + E_inv[k, 1, 1] * g1
        for j in range(NX):
            v = J[k, NX + j, NX] * w0 + J[k, NX + j, NX + 1] * w1
            for i in range(NX):
                still[k, i] += M[k, i, j] * v
    for j in range(NX):
        g0 += J[k, 2 * NX, j] * still[k, j]
        g1 += J[k, 2 * NX + 1, j] * still[k, j]
    still[k, NX] = -E_inv[k, 0, 0] * g0 - E_inv[k, 0, 1] * g1
    still[k, NX + 1] = -E_inv[k, 1, 0] * g0 - E_inv[k, 1, 1] * g1


@kernel
def _forward(
    J: Array,
    factors: tuple[Array, Array, Array, Array],
    c: Array,
    stands: tuple[Array, Array, Array],
    dz: Array,
    y: Array,
) -> None:
    """The step from the first node on, and the multipliers of the defects."""
    P, Y, R, S = factors
    p, u0, still = stands
    n = dz.shape[0]
    zeta, u = np.empty(NX), np.empty(NU)
    for k in range(n - 1):
        for i in range(NX):
            zeta[i] = c[k, i]
            for j in range(NZ):
                zeta[i] += J[k, i, j] * dz[k, j]
        for i in range(NX):
            y[k, i] = p[k + 1, i]
            for j in range(NX):
                y[k, i] += P[k + 1, i, j] * zeta[j]
        for i in range(NXA):
            dz[k + 1, i] = still[k + 1, i]
            for j in range(NX):
                dz[k + 1, i] += Y[k + 1, i, j] * zeta[j]
        u[:] = 0.0
        if k + 1 < n - 1:
            for j in range(NX):
                u[0] += S[k + 1, 0, j] * zeta[j]
                u[1] += S[k + 1, 1, j] * zeta[j]
            solve_factored(R[k + 1], u)
        for i in range(NU):
            dz[k + 1, NXA + i] = -u[i] - u0[k + 1, i]


@kernel
def _algebraic_multipliers(H: Array, J: Array, E_inv: Array, total: Array, dz: Array, y: Array, mu: Array) -> float:
    """From the stationarity of the accelerations; and the launch row's from that of the first node's speed."""
    t = np.empty(NA)
    for k in range(dz.shape[0]):
        for i in range(NA):
            t[i] = total[k, NX + i]
            for j in range(NZ):
                t[i] += H[k, NX + i, j] * dz[k, j]
            if k > 0:
                for j in range(NX):
                    t[i] -= J[k, NX + j, NX + i] * y[k - 1, j]
        for i in range(NA):
            mu[k, i] = -E_inv[k, 0, i] * t[0] - E_inv[k, 1, i] * t[1]
    start = total[0, 0] + J[0, 2 * NX, 0] * mu[0, 0] + J[0, 2 * NX + 1, 0] * mu[0, 1]
    for j in range(NZ):
        start += H[0, 0, j] * dz[0, j]
    return float(-start)

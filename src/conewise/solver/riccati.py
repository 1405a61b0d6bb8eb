"""The linear system of an interior-point step, solved node by node from the last to the first.

At every node the unknowns are nine states x, two accelerations a and two slopes u. The algebraic rows give a from x, the
trapezoid gives x from the node before, so only u is free: a Riccati recursion carries the cost of all later nodes
back as a quadratic in what the node before hands over. The system has the inertia of a minimum exactly where the
small matrix of every node's free unknowns is positive definite.

References
----------
Rao, Wright, Rawlings, Application of interior-point methods to model predictive control, 1998, section 3 (Riccati
recursion within an interior-point method); the elimination of the implicit trapezoid is worked out in
docs/models/transient.md.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from numba import njit
from numpy.typing import NDArray

Array = NDArray[np.float64]

NX, NA, NU = 9, 2, 2  # states, accelerations, slopes of a node
NZ = NX + NA + NU
FREE = np.array([5, 8, 11, 12])  # of the first node: lateral offset, command, slopes; its speed is given, the rest fixed
_FAST = {"contract", "reassoc", "arcp", "nsz"}
_kernel: Callable[[Any], Any] = njit(cache=True, fastmath=_FAST)


@_kernel
def assemble(H, hessian, row, col, sigma, delta, J, first_limit, weight, pair_node, pair_at, pair_H, pair_J, pair_weight):
    """Hessian of every node with barrier terms, the eliminated slacks of its limits, and its cones. H is overwritten."""
    n = H.shape[0]
    n_limits = weight.shape[1]
    for k in range(n):
        for i in range(NZ):
            for j in range(NZ):
                H[k, i, j] = 0.0
        for t in range(row.shape[0]):
            i, j = row[t], col[t]
            H[k, i, j] += hessian[t, k]
            if i != j:
                H[k, j, i] += hessian[t, k]
        for i in range(NZ):
            H[k, i, i] += sigma[k, i] + delta
        for m in range(n_limits):
            w = weight[k, m]
            for i in range(NZ):
                a = w * J[k, first_limit + m, i]
                if a != 0.0:
                    for j in range(NZ):
                        H[k, i, j] += a * J[k, first_limit + m, j]
    for t in range(pair_node.shape[0]):
        k = pair_node[t]
        i, j = pair_at[0], pair_at[1]
        w = pair_weight[t]
        a, b = pair_J[0, t], pair_J[1, t]
        cross = pair_H[1, t] + w * a * b
        H[k, i, i] += pair_H[0, t] + w * a * a
        H[k, j, j] += pair_H[2, t] + w * b * b
        H[k, i, j] += cross
        H[k, j, i] += cross


@_kernel
def _inverse(M, out):
    """Inverse of a small matrix by elimination with row exchange; M is overwritten. False where it is singular."""
    n = M.shape[0]
    for i in range(n):
        for j in range(n):
            out[i, j] = 1.0 if i == j else 0.0
    for i in range(n):
        best, at = abs(M[i, i]), i
        for r in range(i + 1, n):
            if abs(M[r, i]) > best:
                best, at = abs(M[r, i]), r
        if not best > 1e-14:
            return False
        if at != i:
            for j in range(n):
                M[i, j], M[at, j] = M[at, j], M[i, j]
                out[i, j], out[at, j] = out[at, j], out[i, j]
        scale = 1.0 / M[i, i]
        for j in range(n):
            M[i, j] *= scale
            out[i, j] *= scale
        for r in range(n):
            if r != i:
                f = M[r, i]
                if f != 0.0:
                    for j in range(n):
                        M[r, j] -= f * M[i, j]
                        out[r, j] -= f * out[i, j]
    return True


@_kernel
def _cholesky(M):
    """Lower factor in place; False where M is not positive definite."""
    n = M.shape[0]
    for j in range(n):
        d = M[j, j]
        for k in range(j):
            d -= M[j, k] * M[j, k]
        if not d > 1e-12 * abs(M[j, j]):
            return False
        M[j, j] = np.sqrt(d)
        for i in range(j + 1, n):
            t = M[i, j]
            for k in range(j):
                t -= M[i, k] * M[j, k]
            M[i, j] = t / M[j, j]
    return True


@_kernel
def _solved(L, b, n):
    """Solve L L' x = b in place."""
    for i in range(n):
        t = b[i]
        for k in range(i):
            t -= L[i, k] * b[k]
        b[i] = t / L[i, i]
    for i in range(n - 1, -1, -1):
        t = b[i]
        for k in range(i + 1, n):
            t -= L[k, i] * b[k]
        b[i] = t / L[i, i]


@_kernel
def eliminate(J, E_inv, M, Y, Z0):
    """What the constraints alone decide: how a node's unknowns follow from what the node before hands over.

    J: shape (n_nodes, n_rows, 13), rows A (9), B (9), algebraic (2), limits. Filled: E_inv (n_nodes, 2, 2), the inverse of
    the accelerations' part of the algebraic rows; M (n_nodes, 9, 9), states from what is handed over; Y (n_nodes, 13, 9),
    all unknowns from it; Z0 (13, 4), the first node's unknowns from its free ones. False where a matrix is singular.
    """
    n = J.shape[0]
    E, W = np.empty((NA, NA)), np.empty((NX, NX))
    G = np.empty((NA, NX))
    for k in range(n):
        for i in range(NA):
            for j in range(NA):
                E[i, j] = J[k, 2 * NX + i, NX + j]
        if not _inverse(E, E_inv[k]):
            return False
        for i in range(NA):  # G = -E_a^-1 E_x: accelerations from states
            for j in range(NX):
                G[i, j] = -(E_inv[k, i, 0] * J[k, 2 * NX, j] + E_inv[k, i, 1] * J[k, 2 * NX + 1, j])
        if k == 0:
            for i in range(NZ):
                for j in range(4):
                    Z0[i, j] = 0.0
            for j in range(4):
                Z0[FREE[j], j] = 1.0
                if FREE[j] < NX:
                    for i in range(NA):
                        Z0[NX + i, j] = G[i, FREE[j]]
            continue
        for i in range(NX):
            for j in range(NX):
                W[i, j] = J[k, NX + i, j] + J[k, NX + i, NX] * G[0, j] + J[k, NX + i, NX + 1] * G[1, j]
        if not _inverse(W, M[k]):
            return False
        for i in range(NX):
            for j in range(NX):
                Y[k, i, j] = M[k, i, j]
        for i in range(NA):
            for j in range(NX):
                Y[k, NX + i, j] = 0.0
            for t in range(NX):
                g = G[i, t]
                for j in range(NX):
                    Y[k, NX + i, j] += g * M[k, t, j]
        for i in range(NU):
            for j in range(NX):
                Y[k, NX + NA + i, j] = 0.0
    return True


@_kernel
def factor(H, J, Y, Z0, P, R, S, R0):
    """Backward recursion. H (n_nodes, 13, 13) gains the cost of the nodes after it; P (n_nodes, 9, 9) is that cost as a
    quadratic of what is handed over; R (n_nodes, 2, 2) and R0 (4, 4) are the factors of the free unknowns, S
    (n_nodes, 2, 9) their coupling. The number of the node whose free unknowns have no minimum, -1 where all have one.
    """
    n = H.shape[0]
    PA, HY = np.empty((NX, NZ)), np.empty((NZ, NX))
    x = np.empty(NU)
    for k in range(n - 1, 0, -1):
        if k < n - 1:
            _add_cost(H[k], P[k + 1], J[k], PA)
        for i in range(NZ):  # H Y; Y has no slope rows
            for j in range(NX):
                HY[i, j] = 0.0
            for t in range(NX + NA):
                h = H[k, i, t]
                for j in range(NX):
                    HY[i, j] += h * Y[k, t, j]
        for i in range(NX):
            for j in range(NX):
                P[k, i, j] = 0.0
        for t in range(NX + NA):
            for i in range(NX):
                y = Y[k, t, i]
                for j in range(NX):
                    P[k, i, j] += y * HY[t, j]
        if k < n - 1:  # the last node's slopes are fixed
            for i in range(NU):
                for j in range(NU):
                    R[k, i, j] = H[k, NX + NA + i, NX + NA + j]
                for j in range(NX):
                    S[k, i, j] = HY[NX + NA + i, j]
            if not _cholesky(R[k]):
                return k
            for j in range(NX):
                x[0], x[1] = S[k, 0, j], S[k, 1, j]
                _solved(R[k], x, NU)
                for i in range(NX):
                    P[k, i, j] -= S[k, 0, i] * x[0] + S[k, 1, i] * x[1]
        for i in range(NX):
            for j in range(i):
                mean = 0.5 * (P[k, i, j] + P[k, j, i])
                P[k, i, j] = mean
                P[k, j, i] = mean
    _add_cost(H[0], P[1], J[0], PA)
    HZ = H[0] @ Z0
    R0[:, :] = Z0.T @ HZ
    return -1 if _cholesky(R0) else 0


@_kernel
def _add_cost(H, P, J, PA):
    """H += A' P A with A the first nine rows of J."""
    for i in range(NX):
        for j in range(NZ):
            PA[i, j] = 0.0
        for t in range(NX):
            w = P[i, t]
            for j in range(NZ):
                PA[i, j] += w * J[t, j]
    for t in range(NX):
        for i in range(NZ):
            a = J[t, i]
            if a != 0.0:
                for j in range(NZ):
                    H[i, j] += a * PA[t, j]


@_kernel
def substitute(H, J, E_inv, M, Y, Z0, P, R, S, R0, q, c, e, launch, dz, y, mu):
    """One right-hand side. Returns the multiplier of the launch row.

    q (n_nodes, 13): gradient; c (n_nodes - 1, 9): defects; e (n_nodes, 2): algebraic rows; launch: start speed row. Filled:
    dz (n_nodes, 13), y (n_nodes - 1, 9) and mu (n_nodes, 2): the step and the new multipliers. H is that of `factor`.
    """
    n = H.shape[0]
    p, qt, y0 = np.zeros((n, NX)), np.zeros((n, NZ)), np.zeros((n, NZ))
    ru = np.zeros((n, NU))
    t9, tz = np.empty(NX), np.empty(NZ)
    for k in range(n - 1, -1, -1):
        for i in range(NZ):
            qt[k, i] = q[k, i]
        if k < n - 1:
            for i in range(NX):
                v = p[k + 1, i]
                for j in range(NX):
                    v += P[k + 1, i, j] * c[k, j]
                for j in range(NZ):
                    qt[k, j] += J[k, i, j] * v
        w0 = E_inv[k, 0, 0] * e[k, 0] + E_inv[k, 0, 1] * e[k, 1]
        w1 = E_inv[k, 1, 0] * e[k, 0] + E_inv[k, 1, 1] * e[k, 1]
        if k == 0:
            y0[0, 0] = -launch
        else:
            for i in range(NX):
                t9[i] = J[k, NX + i, NX] * w0 + J[k, NX + i, NX + 1] * w1
            for i in range(NX):
                v = 0.0
                for j in range(NX):
                    v += M[k, i, j] * t9[j]
                y0[k, i] = v
        g0, g1 = e[k, 0], e[k, 1]
        for j in range(NX):
            g0 += J[k, 2 * NX, j] * y0[k, j]
            g1 += J[k, 2 * NX + 1, j] * y0[k, j]
        y0[k, NX] = -(E_inv[k, 0, 0] * g0 + E_inv[k, 0, 1] * g1)
        y0[k, NX + 1] = -(E_inv[k, 1, 0] * g0 + E_inv[k, 1, 1] * g1)
        for i in range(NZ):
            v = qt[k, i]
            for j in range(NX + NA):
                v += H[k, i, j] * y0[k, j]
            tz[i] = v
        if k == 0:
            break
        for i in range(NX):
            v = 0.0
            for t in range(NX + NA):
                v += Y[k, t, i] * tz[t]
            p[k, i] = v
        if k < n - 1:
            ru[k, 0], ru[k, 1] = tz[NX + NA], tz[NX + NA + 1]
            _solved(R[k], ru[k], NU)
            for i in range(NX):
                p[k, i] -= S[k, 0, i] * ru[k, 0] + S[k, 1, i] * ru[k, 1]
    free = -(Z0.T @ tz)
    _solved(R0, free, 4)
    dz[0] = y0[0] + Z0 @ free
    u = np.empty(NU)
    for k in range(n - 1):  # forward
        for i in range(NX):
            v = c[k, i]
            for j in range(NZ):
                v += J[k, i, j] * dz[k, j]
            t9[i] = v
        for i in range(NX):
            v = p[k + 1, i]
            for j in range(NX):
                v += P[k + 1, i, j] * t9[j]
            y[k, i] = v
        for i in range(NX + NA):
            v = y0[k + 1, i]
            for j in range(NX):
                v += Y[k + 1, i, j] * t9[j]
            dz[k + 1, i] = v
        dz[k + 1, NX + NA] = 0.0
        dz[k + 1, NX + NA + 1] = 0.0
        if k + 1 < n - 1:
            for i in range(NU):
                v = 0.0
                for j in range(NX):
                    v += S[k + 1, i, j] * t9[j]
                u[i] = v
            _solved(R[k + 1], u, NU)
            dz[k + 1, NX + NA] = -u[0] - ru[k + 1, 0]
            dz[k + 1, NX + NA + 1] = -u[1] - ru[k + 1, 1]
    start = 0.0
    for k in range(n):  # multipliers of the algebraic rows from the accelerations' own stationarity
        for i in range(NX, NX + NA):
            v = qt[k, i]
            for j in range(NZ):
                v += H[k, i, j] * dz[k, j]
            if k > 0:
                for j in range(NX):
                    v -= J[k, NX + j, i] * y[k - 1, j]
            tz[i] = -v
        mu[k, 0] = E_inv[k, 0, 0] * tz[NX] + E_inv[k, 1, 0] * tz[NX + 1]
        mu[k, 1] = E_inv[k, 0, 1] * tz[NX] + E_inv[k, 1, 1] * tz[NX + 1]
        if k == 0:
            v = qt[0, 0] + J[0, 2 * NX, 0] * mu[0, 0] + J[0, 2 * NX + 1, 0] * mu[0, 1]
            for j in range(NZ):
                v += H[0, 0, j] * dz[0, j]
            start = -v
    return start

"""The minimum-time program written out as one graph, as CasADi and IPOPT take it: the other road to the same run."""

import casadi as ca
import numpy as np

from conewise.solver.node import HEADING, N_STATES, N_VARIABLES, OFFSET, node_functions


def graph(program):
    """Unknowns, cost, equality rows (defects, algebraic, launch) and limits as symbols; parameters are numbers."""
    shape, f, n = program.shape, node_functions(), program.shape.n_nodes
    x = ca.MX.sym("x", n * N_VARIABLES)
    z = ca.reshape(x, N_VARIABLES, n)
    values, _, cost = f.value.map(n)(z, program.nodes, np.repeat(program.p[:, None], n, axis=1))
    defects = values[:N_STATES, :-1] - values[N_STATES : 2 * N_STATES, 1:]
    algebraic, limits = values[2 * N_STATES : 2 * N_STATES + 2, :], values[2 * N_STATES + 2 :, :]
    n_pairs = len(shape.pair_node)
    place = z[[OFFSET, HEADING], shape.pair_node.tolist()]
    p = np.repeat(program.p[:, None], n_pairs, axis=1)
    pairs = f.cone_value.map(n_pairs)(place, program.pairs, p, program.margins)
    equal = ca.vertcat(ca.vec(defects), ca.vec(algebraic), x[0] - program.launch_speed)
    return x, ca.sum2(cost) + program.launch_time, equal, ca.vertcat(ca.vec(limits), ca.vec(pairs))


def flat(multipliers):
    """Multipliers of the equality rows and of the limits in the order of `graph`."""
    equal = [multipliers.defects.ravel(), multipliers.algebraic.ravel(), [multipliers.launch]]
    return np.concatenate(equal), multipliers.limits


def by_ipopt(program, low, high, start):
    """Unknowns and cost that IPOPT finds from a start, with CasADi's derivatives."""
    x, cost, equal, limits = graph(program)
    limit_low, limit_high = program.limit_bounds
    zeros = np.zeros(equal.numel())
    # expanded into scalar operations, which takes seconds once and makes every derivative eight times as quick
    options = {"expand": True, "print_time": False, "ipopt.print_level": 0, "ipopt.sb": "yes", "ipopt.tol": 1e-8}
    solver = ca.nlpsol("plain", "ipopt", {"x": x, "f": cost, "g": ca.vertcat(equal, limits)}, options)
    answer = solver(
        x0=start.ravel(),
        lbx=low.ravel(),
        ubx=high.ravel(),
        lbg=np.concatenate([zeros, limit_low]),
        ubg=np.concatenate([zeros, limit_high]),
    )
    assert solver.stats()["success"]
    return np.asarray(answer["x"], dtype=float).reshape(start.shape), float(answer["f"])

"""Machine code against CasADi's own evaluation of the same functions."""

import casadi as ca
import numpy as np
import pytest

from conewise.solver.machine import LANES, MachineFunction, UnwrittenOperationError, _Writer
from conewise.solver.node import NODE_DATA, SCALE, VARIABLES, node_code, node_functions
from tests.cars import DEMO_NAMES, demo_car
from tests.solved import build


def agree(function, code, arguments, broadcast, n):
    """Every output of both, column by column."""
    found = code(*arguments)
    for k in range(n):
        column = [a if i in broadcast else a[:, k] for i, a in enumerate(arguments)]
        wanted = function.call([ca.DM(c) for c in column])
        for here, there in zip(found, wanted, strict=True):
            assert here[:, k] == pytest.approx(np.array(there.nonzeros()), rel=1e-9, abs=1e-9)


@pytest.mark.parametrize("n", [1, LANES - 1, LANES, 2 * LANES + 1])
def test_every_operation_of_the_model_is_that_of_casadi(rng, n):
    x, y, p = ca.SX.sym("x", 2), ca.SX.sym("y"), ca.SX.sym("p", 2)
    out = [
        ca.sin(x[0]) + ca.cos(p[0]) * ca.tan(y), ca.atan(x[1] / p[1]) - ca.tanh(x[0] * x[1]),
        ca.exp(-x[0]) + ca.log(p[1]),
        ca.sqrt(x[0] ** 2 + 1.0) + ca.fabs(y), ca.fmax(x[0], x[1]) * ca.fmin(y, p[0]), ca.sign(x[1]) + 2.0 * x[0],
        (x[0] <= y) + 3.0 * (x[1] < 0.0), 1.0 / (1.0 + x[0] * x[0]) - x[1] * x[1], ca.sqrt(p[1]) * ca.tanh(p[0]),
    ]  # fmt: skip
    function = ca.Function("f", [x, y, p], [ca.vertcat(*out), ca.vertcat(x[1] + x[1], p[0])])
    code = MachineFunction(function, broadcast={2})
    agree(function, code, [rng.normal(size=(2, n)), rng.normal(size=(1, n)), np.array([0.4, 1.7])], {2}, n)


def test_what_occurs_twice_is_written_once():
    x, y = ca.SX.sym("x"), ca.SX.sym("y")
    text = _Writer(ca.Function("f", [x, y], [ca.sin(x + y) / y + ca.sin(y + x) * (x / y)]), set()).text()
    assert text.count(" call double @sin(") == LANES
    assert text.count(" fdiv ") == 1
    once = _Writer(ca.Function("f", [x, y], [x - y + (y - x)]), set()).text()
    assert once.count(" fsub ") == 2  # an order that matters is kept


def test_an_operation_that_is_not_written_is_named():
    x = ca.SX.sym("x")
    with pytest.raises(UnwrittenOperationError, match="ASIN"):
        MachineFunction(ca.Function("f", [x], [ca.asin(x)]), broadcast=set())


@pytest.mark.parametrize("name", DEMO_NAMES)
def test_the_model_in_machine_code_is_the_model(rng, name):
    n = 7
    p = build.model_parameters(demo_car(name)).vector()
    middle = {"v_x": 14.0, "roll": 0.02, "specific_y": 5.0, "yaw_rate": 0.4}
    z = np.array([middle.get(v, 0.05) for v in VARIABLES])[:, None] / SCALE[:, None] + 0.1 * rng.normal(size=(13, n))
    facts = {"drive": 1.0, "friction": 0.9, "gear_2": 1.0, "smoothing": 1e-4, "curvature_left": 0.05}
    d = np.repeat(
        np.array([facts.get(k, 0.6 if "step" in k or "time" in k else 0.02) for k in NODE_DATA])[:, None], n, 1
    )
    functions, code = node_functions(), node_code()
    multipliers, one = rng.normal(size=(functions.value.size1_out(0), n)), np.ones(1)
    agree(functions.value, code.value, [z, d, p], {2}, n)
    agree(functions.derivatives, code.derivatives, [z, d, p, multipliers, one], {2, 4}, n)
    agree(functions.by_parameter, code.by_parameter, [z, d, p, multipliers, one], {2, 4}, n)
    agree(functions.motion, code.motion, [z, d, p], {2}, n)
    place = rng.normal(size=(2, n))
    cones = np.vstack([rng.uniform(-3.0, 3.0, (2, n)), rng.choice([-1.0, 1.0], (1, n)), np.full((1, n), 0.14)])
    margin, weight = np.full((1, n), 0.1), rng.normal(size=(1, n))
    agree(functions.cone_value, code.cone_value, [place, cones, p, margin], {2}, n)
    agree(functions.cone_derivatives, code.cone_derivatives, [place, cones, p, margin, weight], {2}, n)
    agree(functions.cone_by_parameter, code.cone_by_parameter, [place, cones, p, margin, weight], {2}, n)


def test_columns_that_follow_each_other_are_a_recursion(rng):
    y, u, p = ca.SX.sym("y", 2), ca.SX.sym("u"), ca.SX.sym("p")
    after = ca.vertcat(ca.sin(y[0]) + u, p * y[1] - y[0])
    code = MachineFunction(ca.Function("f", [y, u, p], [after]), broadcast={2})
    inputs, state, wanted = rng.normal(size=(1, 9)), np.array([0.3, -0.2]), []
    for k in range(9):
        state = np.array([np.sin(state[0]) + inputs[0, k], 0.7 * state[1] - state[0]])
        wanted.append(state)
    found = code.following([np.array([0.3, -0.2])], [inputs], np.array([0.7]))
    assert found == pytest.approx(np.array(wanted).T, rel=1e-12, abs=1e-12)

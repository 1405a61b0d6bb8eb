"""The program put together by index, against CasADi's own derivatives; and what a stopped solve says."""

import casadi as ca
import numpy as np
import pytest

from conewise.solver import node
from conewise.solver.node import CONE_DATA, N_VARIABLES, NODE_DATA, SCALE, VARIABLES
from conewise.solver.problem import COLD, Problem, SolverStoppedError, first_guess
from conewise.solver.transcription import Program, Shape
from tests.model_cars import rear_drive
from tests.solved import TIGHT, short_run

N_NODES = 4
SHAPE = Shape(n_nodes=N_NODES, pair_node=np.array([0, 1, 1, 3]), pair_cone=np.array([0, 0, 1, 1]), n_cones=2)


@pytest.fixture(scope="module")
def plain():
    """A program whose node functions are interpreted: CasADi cannot differentiate compiled ones."""
    patch = pytest.MonkeyPatch()
    patch.setenv("CONEWISE_COMPILE", "0")
    node.node_functions.cache_clear()
    yield Program(SHAPE)
    patch.undo()
    node.node_functions.cache_clear()


@pytest.fixture
def somewhere(rng):
    """Unknowns, data and multipliers of the small program."""
    middle = {"v_x": 12.0, "roll": 0.02, "specific_y": 4.0, "yaw_rate": 0.3}
    z = np.array([middle.get(n, 0.1) for n in VARIABLES]) / SCALE
    x = np.tile(z, N_NODES) + 0.1 * rng.normal(size=N_NODES * N_VARIABLES)
    facts = {"drive": 1.0, "friction": 1.0, "gear_2": 1.0, "smoothing": 1e-3, "curvature_left": 0.05}
    nodes = np.stack([np.full(N_NODES, facts.get(n, 0.7 if "step" in n or "time" in n else 0.02)) for n in NODE_DATA])
    cones = np.vstack([rng.uniform(-3.0, 3.0, (2, 4)), [[1.0, -1.0, 1.0, -1.0]], np.full((1, 4), 0.14)])
    assert len(cones) == len(CONE_DATA)
    return x, rear_drive().vector(), np.array([0.1, 0.2]), nodes, cones, rng.normal(size=SHAPE.n_rows)


def test_rows_and_unknowns_are_as_many_as_the_shape_says(plain):
    assert plain._g.shape == (SHAPE.n_rows, 1)
    assert plain._x.shape == (SHAPE.n_variables, 1)
    low, high = plain.bounds()
    assert low.shape == high.shape == (SHAPE.n_rows,)
    assert np.all(low <= high)


def test_the_jacobian_is_casadis(plain, somewhere):
    x, p, margins, nodes, cones, _ = somewhere
    data = plain.data(p, margins, nodes, cones, 0.3)
    reference = ca.Function("j", [plain._x, plain._p], [plain._g, ca.jacobian(plain._g, plain._x)])
    g, jacobian = reference(x, data)
    ours_g, ours = plain._jac_g(x, data)
    assert np.asarray(ours_g) == pytest.approx(np.asarray(g), rel=1e-12, abs=1e-12)
    assert np.asarray(ca.densify(ours)) == pytest.approx(np.asarray(ca.densify(jacobian)), rel=1e-9, abs=1e-10)


def test_the_hessian_is_casadis(plain, somewhere):
    x, p, margins, nodes, cones, multipliers = somewhere
    data = plain.data(p, margins, nodes, cones, 0.3)
    weight, symbol = 0.8, ca.MX.sym("lam", SHAPE.n_rows)
    lagrangian = weight * plain._f + ca.dot(symbol, plain._g)
    reference = ca.Function("h", [plain._x, plain._p, symbol], [ca.hessian(lagrangian, plain._x)[0]])
    wanted = np.triu(np.asarray(ca.densify(reference(x, data, multipliers))))
    found = np.asarray(ca.densify(plain._hess_lag(x, data, weight, multipliers)))
    assert np.array_equal(found, np.triu(found))
    assert found == pytest.approx(wanted, rel=1e-8, abs=1e-9)


def test_the_gradients_by_unknowns_and_parameters_are_casadis(plain, somewhere):
    x, p, margins, nodes, cones, multipliers = somewhere
    data = plain.data(p, margins, nodes, cones, 0.3)
    value, gradient = plain._grad_f(x, data)
    f = ca.Function("f", [plain._x, plain._p], [plain._f, ca.gradient(plain._f, plain._x)])(x, data)
    assert float(value) == pytest.approx(float(f[0]), rel=1e-12)
    assert np.asarray(gradient) == pytest.approx(np.asarray(f[1]), rel=1e-9, abs=1e-12)
    symbol = ca.MX.sym("lam", SHAPE.n_rows)
    by_p = ca.gradient(plain._f + ca.dot(symbol, plain._g), plain._p)
    wanted = np.asarray(ca.Function("b", [plain._x, plain._p, symbol], [by_p])(x, data, multipliers)).ravel()
    assert np.asarray(plain.by_parameter(x, data, multipliers)).ravel() == pytest.approx(
        wanted[: len(p)], rel=1e-8, abs=1e-9
    )


def test_the_time_is_without_the_smoothing(plain, somewhere):
    x, p, margins, nodes, cones, _ = somewhere
    quiet = nodes.copy()
    quiet[NODE_DATA.index("smoothing")] = 0.0
    loud = float(plain.time(x, plain.data(p, margins, nodes, cones, 0.3))[0])
    assert loud == float(plain.time(x, plain.data(p, margins, quiet, cones, 0.3))[0])
    assert loud == pytest.approx(float(plain._grad_f(x, plain.data(p, margins, quiet, cones, 0.3))[0]))


def test_a_solution_solved_again_is_the_same():
    run = short_run()
    again = run.problem.warm(run.point, tol=TIGHT)
    assert again.time == pytest.approx(run.point.time, abs=5e-4)
    assert again.iterations < 30
    low, high = run.problem.program.bounds()
    g = np.asarray(run.problem.program.g(again.x, run.problem.data(again.smoothing))).ravel()
    assert np.all(g > low - 1e-6)
    assert np.all(g < high + 1e-6)


def test_a_stopped_solve_names_the_feature_where_it_got_stuck():
    run = short_run()
    gates = run.problem.geometry.passes
    margins = np.where([c.feature == gates[6].feature for c in gates], 3.0, 0.0)
    tight: Problem = run.problem.changed(margins=margins)
    with pytest.raises(SolverStoppedError) as caught:
        tight.solve(run.point.x, 1e-3, options=COLD | {"max_iter": 60})
    assert caught.value.feature == gates[6].feature
    assert gates[6].feature in str(caught.value)
    assert caught.value.iterations <= 60
    assert caught.value.last is not None


def test_the_first_guess_follows_the_path_slowly():
    problem = short_run().problem
    z = first_guess(problem.mesh, np.full(len(problem.mesh.station), 10.0), problem.p).reshape(-1, N_VARIABLES) * SCALE
    assert z[:, 0] == pytest.approx(8.5)
    assert np.all(z[:, VARIABLES.index("lateral_offset")] == 0.0)


def test_a_station_belongs_to_the_feature_that_ends_after_it():
    geometry = short_run().problem.geometry
    assert geometry.span_at(-1.0).id == geometry.spans[0].id
    assert geometry.span_at(1e4).id == geometry.spans[-1].id

"""The chain of nodes against CasADi's own derivatives of the whole problem; and what a stopped solve says."""

import casadi as ca
import numpy as np
import pytest

from conewise.solver.chain import Chain
from conewise.solver.interior_point import Options
from conewise.solver.node import CONE_DATA, HEADING, N_VARIABLES, NODE_DATA, OFFSET, SCALE, VARIABLES
from conewise.solver.problem import Problem, SolverStoppedError, first_guess
from conewise.solver.transcription import FIRST_LIMIT, N_LIMITS, Multipliers, Program, Shape
from tests.model_cars import rear_drive
from tests.plain_program import flat, graph
from tests.solved import TIGHT, short_run

N_NODES = 4
SHAPE = Shape(n_nodes=N_NODES, pair_node=np.array([0, 1, 1, 3]), pair_cone=np.array([0, 0, 1, 1]), n_cones=2)


@pytest.fixture
def somewhere(rng):
    """A small program, unknowns and multipliers."""
    middle = {"v_x": 12.0, "roll": 0.02, "specific_y": 4.0, "yaw_rate": 0.3}
    z = np.array([middle.get(n, 0.1) for n in VARIABLES]) / SCALE + 0.1 * rng.normal(size=(N_NODES, N_VARIABLES))
    facts = {"drive": 1.0, "friction": 1.0, "gear_2": 1.0, "smoothing": 1e-3, "curvature_left": 0.05}
    nodes = np.stack([np.full(N_NODES, facts.get(n, 0.7 if "step" in n or "time" in n else 0.02)) for n in NODE_DATA])
    cones = np.vstack([rng.uniform(-3.0, 3.0, (2, 4)), [[1.0, -1.0, 1.0, -1.0]], np.full((1, 4), 0.14)])
    assert len(cones) == len(CONE_DATA)
    program = Program(SHAPE, p=rear_drive().vector(), margins=np.array([0.1, 0.2]), nodes=nodes, pairs=cones, extra=0.3)
    return program, z, drawn_multipliers(rng)


def drawn_multipliers(rng):
    return Multipliers(
        defects=rng.normal(size=(N_NODES - 1, 9)),
        algebraic=rng.normal(size=(N_NODES, 2)),
        launch=float(rng.normal()),
        limits=rng.normal(size=SHAPE.n_limits),
    )


def evaluated(x, z, *parts):
    return [np.asarray(ca.densify(p), dtype=float) for p in ca.Function("parts", [x], parts).call([ca.DM(z.ravel())])]


def dense_hessian(program, slopes):
    """Hessian of the Lagrangian, node by node and with the cones, as one matrix."""
    out = np.zeros((N_NODES * N_VARIABLES,) * 2)
    row, col = program.hessian_places
    for k in range(N_NODES):
        block = np.zeros((N_VARIABLES, N_VARIABLES))
        block[row, col] = slopes.hessian[:, k]
        out[k * 13 : k * 13 + 13, k * 13 : k * 13 + 13] = block + np.triu(block, 1).T
    for k, (a, b, c) in zip(SHAPE.pair_node, slopes.pair_hessian.T, strict=True):
        i, j = 13 * k + OFFSET, 13 * k + HEADING
        out[i, i] += a
        out[i, j] += b
        out[j, i] += b
        out[j, j] += c
    return out


def dense_jacobian(slopes):
    """Jacobians of the equality rows and of the limits as matrices."""
    n, J = N_NODES * N_VARIABLES, slopes.jacobian
    equal, limits = [], []
    for k in range(N_NODES - 1):
        rows = np.zeros((9, n))
        rows[:, 13 * k : 13 * k + 13], rows[:, 13 * k + 13 : 13 * k + 26] = J[k, :9], -J[k + 1, 9:18]
        equal.append(rows)
    for k in range(N_NODES):
        rows = np.zeros((2 + N_LIMITS, n))
        rows[:, 13 * k : 13 * k + 13] = J[k, 18:]
        equal.append(rows[:2])
        limits.append(rows[2:])
    launch = np.zeros((1, n))
    launch[0, 0] = 1.0
    for k, (a, b) in zip(SHAPE.pair_node, slopes.pair_gradient.T, strict=True):
        row = np.zeros((1, n))
        row[0, 13 * k + OFFSET], row[0, 13 * k + HEADING] = a, b
        limits.append(row)
    return np.concatenate([*equal, launch]), np.concatenate(limits)


def test_the_rows_are_those_of_the_whole_graph(somewhere):
    program, z, _ = somewhere
    x, cost, equal, limits = graph(program)
    wanted = evaluated(x, z, cost, equal, limits)
    rows = program.rows(z)
    found = np.concatenate([rows.defects.ravel(), rows.algebraic.ravel(), [rows.launch]])
    assert rows.cost == pytest.approx(float(wanted[0][0, 0]), rel=1e-12)
    assert found == pytest.approx(wanted[1].ravel(), rel=1e-10, abs=1e-12)
    assert rows.limits == pytest.approx(wanted[2].ravel(), rel=1e-10, abs=1e-12)


def test_the_derivatives_are_casadis_of_the_whole_graph(somewhere):
    program, z, y = somewhere
    x, cost, equal, limits = graph(program)
    on_equal, on_limits = flat(y)
    lagrangian = 0.8 * cost + ca.dot(on_equal, equal) + ca.dot(on_limits, limits)
    wanted = evaluated(
        x, z, ca.gradient(cost, x), ca.jacobian(equal, x), ca.jacobian(limits, x), ca.hessian(lagrangian, x)[0]
    )
    slopes = program.slopes(z, y, weight=0.8)
    assert slopes.gradient.ravel() == pytest.approx(wanted[0].ravel(), rel=1e-9, abs=1e-12)
    on_rows, on_bounds = dense_jacobian(slopes)
    assert on_rows == pytest.approx(wanted[1], rel=1e-9, abs=1e-10)
    assert on_bounds == pytest.approx(wanted[2], rel=1e-9, abs=1e-10)
    assert dense_hessian(program, slopes) == pytest.approx(wanted[3], rel=1e-8, abs=1e-9)


def test_the_step_is_that_of_the_whole_system(somewhere, rng):
    """Node by node against one dense solve of the same equations, slacks and all."""
    program, z, y = somewhere
    slopes, rows, slacks = program.slopes(z, y), program.rows(z), rng.normal(size=SHAPE.n_limits)
    sigma = rng.uniform(0.5, 2.0, size=z.size + SHAPE.n_limits)
    pull, delta = rng.normal(size=z.size + SHAPE.n_limits), 300.0  # enough for a minimum
    chain = Chain(program)
    assert chain.factorise(slopes, sigma, delta)
    step = chain.step(slopes, pull, rows, slacks=slacks)
    on_rows, on_limits = dense_jacobian(slopes)
    n, m, e = z.size, SHAPE.n_limits, len(on_rows)
    fixed = [1, 2, 3, 4, 6, 7, n - 2, n - 1]  # first and last node
    H = dense_hessian(program, slopes) + np.diag(sigma[:n] + delta)
    zero = np.zeros
    pin = np.eye(n)[fixed]
    system = np.block(
        [
            [H, zero((n, m)), on_rows.T, on_limits.T, pin.T],
            [zero((m, n)), np.diag(sigma[n:] + delta), zero((m, e)), -np.eye(m), zero((m, len(fixed)))],
            [on_rows, zero((e, m)), zero((e, e)), zero((e, m)), zero((e, len(fixed)))],
            [on_limits, -np.eye(m), zero((m, e)), zero((m, m)), zero((m, len(fixed)))],
            [pin, zero((len(fixed), m + e + m + len(fixed)))],
        ]
    )
    off = np.concatenate([rows.defects.ravel(), rows.algebraic.ravel(), [rows.launch]])
    right = np.concatenate([slopes.gradient.ravel() + pull[:n], pull[n:], off, rows.limits - slacks, zero(len(fixed))])
    wanted = np.linalg.solve(system, -right)
    found = np.concatenate([step.move, *flat(step.multipliers)])
    assert found == pytest.approx(wanted[: n + m + e + m], rel=1e-6, abs=1e-7)


def test_a_chain_with_negative_curvature_has_no_minimum_until_it_is_taken_out(somewhere):
    program, z, y = somewhere
    slopes = program.slopes(z, y.towards(y, 0.0))
    small = np.full(z.size + SHAPE.n_limits, 1e-9)
    chain = Chain(program)
    on_rows, _ = dense_jacobian(slopes)
    free = np.vstack([on_rows, np.eye(z.size)[[1, 2, 3, 4, 6, 7, z.size - 2, z.size - 1]]])
    _, singular, basis = np.linalg.svd(free)
    null = basis[np.count_nonzero(singular > 1e-10) :].T
    J = dense_jacobian(slopes)[1]
    least = np.linalg.eigvalsh(null.T @ (dense_hessian(program, slopes) + 1e-9 * (np.eye(z.size) + J.T @ J)) @ null)[0]
    assert chain.factorise(slopes, small, 0.0) == (least > 0.0)
    assert chain.factorise(slopes, small, 0.0, convex=True)


def test_least_squares_multipliers_leave_the_least(somewhere):
    program, z, _ = somewhere
    slopes = program.slopes(z, Multipliers.zero(SHAPE))
    pull = np.zeros(z.size + SHAPE.n_limits)
    y = Chain(program).least_squares(slopes, pull)
    on_rows, on_limits = dense_jacobian(slopes)
    keep = np.setdiff1d(np.arange(z.size), [1, 2, 3, 4, 6, 7, z.size - 2, z.size - 1])
    system = np.vstack(
        [
            np.hstack([on_rows.T, on_limits.T])[keep],
            np.hstack([np.zeros((len(on_limits), len(on_rows))), -np.eye(len(on_limits))]),
        ]
    )
    right = -np.concatenate([slopes.gradient.ravel()[keep], np.zeros(len(on_limits))])
    wanted = np.linalg.lstsq(system, right, rcond=None)[0]
    assert np.concatenate(flat(y)) == pytest.approx(wanted, rel=1e-6, abs=1e-8)
    assert FIRST_LIMIT == 20


def test_a_solution_solved_again_is_the_same():
    run = short_run()
    again = run.problem.warm(run.point, tol=TIGHT)
    assert again.time == pytest.approx(run.point.time, abs=5e-4)
    assert again.iterations < 30
    program = run.problem.program(again.smoothing)
    low, high = program.limit_bounds
    limits = program.rows(again.z).limits
    assert np.all(limits > low - 1e-6)
    assert np.all(limits < high + 1e-6)


def test_a_stopped_solve_names_the_feature_where_it_got_stuck():
    run = short_run()
    gates = run.problem.geometry.passes
    margins = np.where([c.feature == gates[6].feature for c in gates], 3.0, 0.0)
    tight: Problem = run.problem.changed(margins=margins)
    with pytest.raises(SolverStoppedError) as caught:
        tight.cold(run.point.z, lambda same, _speed: same, options=Options(most_iterations=60))
    assert caught.value.feature == gates[6].feature
    assert gates[6].feature in str(caught.value)
    assert caught.value.iterations <= 60
    assert caught.value.last is not None


def test_the_first_guess_follows_the_path_slowly():
    problem = short_run().problem
    z = first_guess(problem.mesh, np.full(len(problem.mesh.station), 10.0), problem.p) * SCALE
    assert z[:, 0] == pytest.approx(8.5)
    assert np.all(z[:, VARIABLES.index("lateral_offset")] == 0.0)


def test_a_station_belongs_to_the_feature_that_ends_after_it():
    geometry = short_run().problem.geometry
    assert geometry.span_at(-1.0).id == geometry.spans[0].id
    assert geometry.span_at(1e4).id == geometry.spans[-1].id

"""The node's functions against finite differences: every number that the solver takes for a derivative is one."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from conewise.solver.node import (
    CONE_DATA,
    N_STATES,
    N_VARIABLES,
    NODE_DATA,
    SCALE,
    VARIABLES,
    node_functions,
)
from conewise.vehicle.drivetrain import launch_acceleration
from conewise.vehicle.parameters import ModelParameters
from tests.cars import DEMO_NAMES, demo_car
from tests.model_cars import rear_drive
from tests.solved import build

F = node_functions()
CARS = (rear_drive(), *(build.model_parameters(demo_car(name)) for name in DEMO_NAMES))
STEP = 1e-5
LOW = np.array([4.0, -3.0, -1.5, -0.08, -0.8, -3.0, -0.9, -0.5, -0.9, -9.0, -11.0, -0.4, -0.8])
DATA = {
    "curvature_left": 0.06, "curvature_right": -0.03, "step_left": 0.7, "step_right": 0.9, "time_left": 0.7,
    "time_right": 0.9, "drive": 1.0, "friction": 0.9, "ground_along": 0.1, "ground_across": -0.15, "smoothing": 1e-4,
}  # fmt: skip

SEEDS = st.integers(0, 2**31)


def drawn(seed):
    """A node anywhere in the model's range: scaled unknowns, data, parameters, multipliers."""
    rng = np.random.default_rng(seed)
    z = rng.uniform(LOW, np.where(LOW > 0.0, 30.0, -LOW)) / SCALE
    data = DATA | {f"gear_{rng.integers(1, 5)}": 1.0}
    p = CARS[rng.integers(len(CARS))].vector()
    return z, np.array([data.get(name, 0.0) for name in NODE_DATA]), p, rng


def dense(pattern, values):
    rows, cols = pattern.get_triplet()
    matrix = np.zeros(pattern.shape)
    matrix[rows, cols] = np.asarray(values, dtype=float).ravel()
    return matrix


def differences(function, x, steps):
    """Central differences of a vector function, shape (n_out, n_x)."""
    columns = []
    for i, h in enumerate(steps):
        e = np.zeros(len(x))
        e[i] = h
        columns.append((function(x + e) - function(x - e)) / (2.0 * h))
    return np.stack(columns, axis=-1)


def rows_of(z, d, p):
    return np.asarray(F.value(z, d, p)[0], dtype=float).ravel()


def derivatives(z, d, p, multipliers=None, weight=1.0):
    multipliers = np.zeros(F.value.size1_out(0)) if multipliers is None else multipliers
    return [np.asarray(part, dtype=float).ravel() for part in F.derivatives(z, d, p, multipliers, weight)]


def near(found, wanted, tolerance=2e-5):
    scale = np.maximum(np.abs(wanted).max(axis=-1, keepdims=True), 1.0)
    worst = np.max(np.abs(found - wanted) / scale)
    assert worst < tolerance, f"{worst:.2g} of the row's size away"


@given(SEEDS)
def test_the_jacobian_is_that_of_the_rows(seed):
    z, d, p, _ = drawn(seed)
    nonzeros = derivatives(z, d, p)[0]
    found = dense(F.jacobian_pattern, nonzeros)
    near(found, differences(lambda x: rows_of(x, d, p), z, np.full(N_VARIABLES, STEP)))


@given(SEEDS)
def test_the_hessian_is_that_of_the_lagrangian(seed):
    z, d, p, rng = drawn(seed)
    multipliers, weight = rng.normal(size=F.value.size1_out(0)), 0.7

    def gradient(x):
        jacobian = dense(F.jacobian_pattern, derivatives(x, d, p)[0])
        return multipliers @ jacobian + weight * derivatives(x, d, p)[2]

    upper = dense(F.hessian_pattern, derivatives(z, d, p, multipliers, weight)[1])
    full = upper + np.triu(upper, 1).T
    wanted = differences(gradient, z, np.full(N_VARIABLES, STEP))
    assert np.max(np.abs(full - wanted)) < 2e-4 * max(1.0, float(np.abs(wanted).max()))


@given(SEEDS)
def test_the_gradient_of_the_cost_is_one(seed):
    z, d, p, _ = drawn(seed)
    found = derivatives(z, d, p)[2]
    wanted = differences(lambda x: np.asarray(F.value(x, d, p)[2], dtype=float).ravel(), z, np.full(N_VARIABLES, STEP))
    near(found[None], wanted)


@settings(max_examples=15)
@given(SEEDS)
def test_the_gradient_by_every_parameter_is_one(seed):
    z, d, p, rng = drawn(seed)
    multipliers = rng.normal(size=F.value.size1_out(0))

    def lagrangian(x):
        return np.array([multipliers @ rows_of(z, d, x) + float(F.value(z, d, x)[2])])

    steps = 1e-6 * np.maximum(np.abs(p), 0.02)
    found = np.asarray(F.by_parameter(z, d, p, multipliers, 1.0), dtype=float).ravel()
    wanted = differences(lagrangian, p, steps)[0]
    worst = np.abs(found - wanted) * np.maximum(np.abs(p), 0.02)  # effect of a whole parameter
    name = ModelParameters.names()[int(np.argmax(worst))]
    assert worst.max() < 2e-4 * max(1.0, float(np.abs(found * p).max())), name


@given(SEEDS)
def test_the_derivatives_of_a_cone_are_true(seed):
    rng = np.random.default_rng(seed)
    place = np.array([rng.uniform(-3.0, 3.0), rng.uniform(-0.8, 0.8) / 0.2])
    data = np.array([rng.uniform(-4.0, 4.0), rng.uniform(-4.0, 4.0), rng.choice([-1.0, 1.0]), 0.14])
    p, margin = CARS[0].vector(), 0.1
    assert len(data) == len(CONE_DATA)

    def row(x, vector=p):
        return np.asarray(F.cone_value(x, data, vector, margin), dtype=float).ravel()

    def slope(x):
        return np.asarray(F.cone_derivatives(x, data, p, margin, 1.0)[0], dtype=float).ravel()

    near(slope(place)[None], differences(row, place, [STEP, STEP]))
    a, b, c = np.asarray(F.cone_derivatives(place, data, p, margin, 1.0)[1], dtype=float).ravel()
    near(np.array([[a, b], [b, c]]), differences(slope, place, [STEP, STEP]), 1e-4)
    found = np.asarray(F.cone_by_parameter(place, data, p, margin, 1.0), dtype=float).ravel()
    steps = 1e-6 * np.maximum(np.abs(p), 0.02)
    assert found == pytest.approx(differences(lambda x: row(place, x), p, steps)[0], abs=2e-5)


@pytest.mark.parametrize("extra", [0.0, 0.3])
def test_the_launch_is_that_of_constant_acceleration(extra):
    # v2 = 2 a s from rest; the clock runs from the beam on (closed form)
    p = CARS[1]
    speed, time = (float(v) for v in F.launch(p.vector(), extra))
    a, staging = float(launch_acceleration(p)), p.staging
    assert speed * SCALE[0] == pytest.approx(np.sqrt(2.0 * a * (staging + extra)), rel=1e-9)
    assert time == pytest.approx(np.sqrt(2.0 * (staging + extra) / a) - np.sqrt(2.0 * staging / a), abs=1e-6)
    steps = 1e-6 * np.maximum(np.abs(p.vector()), 0.02)
    wanted = differences(
        lambda x: np.array([float(F.launch(x, extra)[1] - 0.4 * F.launch(x, extra)[0])]), p.vector(), steps
    )
    found = np.asarray(F.launch_by_parameter(p.vector(), extra, 0.4), dtype=float).ravel()
    assert found == pytest.approx(wanted[0], abs=1e-6, rel=1e-4)


def test_a_cone_beside_the_body_asks_for_width_radius_and_margin():
    p = CARS[0]
    n = 1.0

    def row(ahead, left, side=1.0, margin=0.0):
        return float(F.cone_value([n, 0.0], [ahead, left, side, 0.14], p.vector(), margin))

    touching = n + p.body_width / 2.0 + 0.14
    assert row(p.body_middle, touching) == pytest.approx(0.0, abs=1e-2)
    assert row(p.body_middle, touching + 0.5, margin=0.5) == pytest.approx(0.0, abs=1e-2)
    assert row(p.body_middle, 2.0 * n - touching, side=-1.0) == pytest.approx(0.0, abs=1e-2)
    beyond = p.body_middle + p.body_length / 2.0
    assert row(beyond + 0.3, touching) > 0.02 > row(beyond, touching) > -0.01  # the demand falls beyond the ends


def test_a_straight_drive_moves_the_states_as_it_should():
    p = CARS[0]
    z = dict.fromkeys(VARIABLES, 0.0) | {"v_x": 12.0, "specific_x": 2.0}
    d = dict.fromkeys(NODE_DATA, 0.0) | DATA | {
        "curvature_left": 0.0, "curvature_right": 0.0, "ground_along": 0.0, "ground_across": 0.0, "gear_2": 1.0,
    }  # fmt: skip
    rows = rows_of(np.array([z[n] for n in VARIABLES]) / SCALE, [d[n] for n in NODE_DATA], p.vector())
    ahead, behind = rows[:N_STATES] * SCALE[:N_STATES], rows[N_STATES : 2 * N_STATES] * SCALE[:N_STATES]
    assert ahead[0] == pytest.approx(12.0 + 0.45 * 2.0 / 12.0)
    assert behind[0] == pytest.approx(12.0 - 0.35 * 2.0 / 12.0)
    assert float(F.value(np.array([z[n] for n in VARIABLES]) / SCALE, [d[n] for n in NODE_DATA], p.vector())[1]) == (
        pytest.approx(0.8 / 12.0)
    )

"""The envelope theorem against re-solves: a gradient for every number of the model, a price for every cone."""

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
import pytest

from conewise.solver.node import N_STATES, OFFSET, SCALE
from conewise.solver.problem import Problem
from conewise.solver.sensitivity import by_parameter, cone_prices, state_prices
from conewise.solver.transcription import Program
from conewise.vehicle.parameters import ModelParameters
from tests.solved import TIGHT, short_run, slalom_run, tight

NAMES = ModelParameters.names()
STEP = 0.005  # of the parameter, both ways
WITHIN, AT_LEAST = 0.03, 3e-4  # of the difference; seconds per 1%: whichever is larger
# What stands in for 1% of a parameter that is zero in this car.
SIZES = {
    "toe_front": 0.01, "toe_rear": 0.01, "camber_front": 0.05, "camber_rear": 0.05, "front_drive_share": 1.0,
    "abs_share": 1.0, "lift_area_front": 0.5, "lift_area_rear": 0.5,
    "differential_preload_front": 50.0, "differential_preload_rear": 50.0,
    "differential_drive_front": 0.3, "differential_coast_front": 0.3, "differential_drive_rear": 0.3,
    "differential_coast_rear": 0.3, "start_pull": 1.0,
}  # fmt: skip
PARTS = 6


@lru_cache(maxsize=1)
def base():
    """The short run solved tightly, with its gradients."""
    run = short_run()
    point = tight(run)
    # from a neighbour and back: differences need the basin that the neighbours have, should it be the better one
    middle = run.problem.p
    less = replace(middle, friction_lateral_rear=0.99 * middle.friction_lateral_rear)
    there = run.problem.changed(p=less).warm(point, barrier=1e-4)
    back = run.problem.warm(there, barrier=1e-4, tol=TIGHT)
    point = min(point, back, key=lambda found: found.time)
    return run, point, by_parameter(run.problem, point)


def size_of(i, value):
    return abs(value) if value != 0.0 else SIZES[NAMES[i]]


def times_about(i):
    """Times with the parameter STEP more and less, solved from the same point with the same mesh and gears."""
    run, point, _ = base()
    middle = run.problem.p.vector()
    times = []
    for sign in (1.0, -1.0):
        changed = middle.copy()
        changed[i] += sign * STEP * size_of(i, middle[i])
        problem = run.problem.changed(p=ModelParameters.from_vector(changed))
        times.append(problem.warm(point, tol=1e-8).time)
    return times


@pytest.mark.slow
@pytest.mark.parametrize("part", range(PARTS))
def test_gradients_are_central_differences(part):
    # every number of the model, so that none moves the time while its gradient says nothing
    run, _, gradients = base()
    middle, wrong = run.problem.p.vector(), []
    for i in range(part, len(NAMES), PARTS):
        faster, slower = times_about(i)
        measured = (faster - slower) / (2.0 * STEP) / 100.0
        told = gradients[i] * size_of(i, middle[i]) / 100.0
        if abs(measured - told) > max(WITHIN * abs(measured), AT_LEAST):
            wrong.append(f"{NAMES[i]}: {1e3 * measured:.3f} ms per 1%, told {1e3 * told:.3f}")
    assert wrong == []


def test_what_makes_a_car_faster_has_the_sign_it_should():
    # common practice, no source
    _, _, gradients = base()
    at = dict(zip(NAMES, gradients, strict=True))
    faster = (
        # not the rear's lateral friction: where the front gives up first it only holds the car back from turning
        "friction_lateral_front", "friction_longitudinal_rear", "surface", "friction_share",
        "driveline_efficiency", "launch_share", "staging", "start_friction", "start_pull",
        "road_wheel_rate", "pedal_rate", "brake_force_limit",
    )  # fmt: skip
    slower = (
        "mass", "cg_height", "body_width", "drag_area", "engine_inertia", "wheel_inertia_rear", "rolling_resistance",
        "load_sensitivity_front", "yaw_inertia",
    )  # fmt: skip
    assert [name for name in faster if at[name] > 1e-7] == []
    assert [name for name in slower if at[name] < -1e-7] == []


def test_surface_and_share_of_the_friction_are_one_factor():
    _, _, gradients = base()
    at = dict(zip(NAMES, gradients, strict=True))
    assert at["surface"] == pytest.approx(at["friction_share"], rel=1e-9)


def test_scaling_mass_with_everything_that_carries_it_changes_little():
    # Twice the car on twice the tyres with twice the power runs the same: forces and inertias all scale (closed form).
    # The 50 N that keep lifted wheels finite and similar roundings do not scale, hence the tolerance.
    run, _, gradients = base()
    p = dict(zip(NAMES, run.problem.p.vector(), strict=True))
    scaling = (
        "mass", "yaw_inertia", "roll_inertia", "unsprung_mass_front", "unsprung_mass_rear", "roll_stiffness_front",
        "roll_stiffness_rear", "roll_damping_front", "roll_damping_rear", "reference_load_front", "reference_load_rear",
        "engine_drag", "engine_inertia", "wheel_inertia_front", "wheel_inertia_rear", "differential_preload_front",
        "differential_preload_rear", "brake_force_limit", "drag_area", "lift_area_front", "lift_area_rear",
        *(f"torque_{k + 1}" for k in range(10)),
    )  # fmt: skip
    effects = np.array([gradients[NAMES.index(n)] * p[n] for n in scaling])
    assert abs(effects.sum()) < 0.02 * np.abs(effects).sum()


def test_a_price_is_what_ten_centimetres_cost():
    run = slalom_run()
    point = tight(run)
    prices = cone_prices(run.problem, point)
    dear = [i for i in np.argsort(-prices)[:5] if prices[i] > 0.05]
    assert len(dear) >= 3
    for i in dear:
        times = []
        for sign in (1.0, -1.0):
            margins = run.problem.margins.copy()
            margins[i] += sign * 0.05
            times.append(run.problem.changed(margins=margins).warm(point, barrier=1e-4, tol=1e-8).time)
        measured = (times[0] - times[1]) / 0.1
        assert prices[i] == pytest.approx(measured, rel=0.05, abs=2e-3), run.problem.geometry.passes[i].id


def test_a_cone_that_is_not_touched_costs_nothing():
    run, point, _ = base()
    prices = cone_prices(run.problem, point)
    assert prices.min() > -1e-4
    free = int(np.argmin(prices))
    margins = run.problem.margins.copy()
    margins[free] += 0.05
    assert run.problem.changed(margins=margins).warm(point, tol=1e-8).time == pytest.approx(point.time, abs=3e-4)


class Jumped(Program):
    """A program in which one state jumps by `jump` (scaled) on the way to one node."""

    interval, state, jump = 0, 0, 0.0

    def rows(self, z):
        rows = super().rows(z)
        rows.defects[self.interval, self.state] += self.jump
        return rows


@dataclass(frozen=True, kw_only=True)
class JumpedProblem(Problem):
    """A problem whose car is shifted at one node: slower by a little, or off its line."""

    interval: int
    state: int
    jump: float

    def program(self, smoothing):
        program = super().program(smoothing)
        program.__class__ = Jumped
        program.interval, program.state, program.jump = self.interval, self.state, self.jump
        return program


@pytest.mark.parametrize(("state", "size"), [(0, 0.05), (OFFSET, 0.02)], ids=["speed, m/s", "offset, m"])
def test_what_a_slow_or_a_wide_entry_costs_is_what_a_jump_there_costs(state, size):
    """Costates against re-solves with the car 0.05 m/s slower, or 2 cm aside, on the way into a place."""
    run, point, _ = base()
    told = state_prices(point)[state]
    frozen = {name: getattr(run.problem, name) for name in Problem.__dataclass_fields__}
    n = len(run.problem.mesh.station)
    for node in np.linspace(n // 4, 7 * n // 8, 4).astype(int):
        times = []
        for sign in (1.0, -1.0):
            jump = sign * size / SCALE[:N_STATES][state]
            jumped = JumpedProblem(**frozen, interval=node - 1, state=state, jump=jump)
            times.append(jumped.warm(point, barrier=1e-4, tol=TIGHT).time)
        measured = (times[0] - times[1]) / (2.0 * size)
        # s per m/s or per m; nearer to the start than these nodes a limit of the hands lies within the jump (a kink)
        assert told[node] == pytest.approx(measured, rel=0.01, abs=2e-4), run.problem.mesh.station[node]

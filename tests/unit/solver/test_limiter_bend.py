"""Slopes to either side of the limiter: which numbers bend, and that both sides are measured."""

from dataclasses import replace

import numpy as np
import pytest

from conewise.solver import limiter_bend
from conewise.solver.limiter_bend import STEP, beside_the_limiter, numbers_that_bend
from conewise.solver.problem import Problem, SolverStoppedError
from conewise.solver.sensitivity import by_parameter
from conewise.vehicle.parameters import ModelParameters
from conewise.workflows.predict import gradients
from tests.cars import DEMO_NAMES, demo_car
from tests.solved import short_run

NAMES = ModelParameters.names()
ROOMY, AT_LIMITER = DEMO_NAMES[0], DEMO_NAMES[2]  # on the short course


def test_a_run_that_stays_below_the_limiter_bends_nowhere():
    run = short_run(ROOMY)
    slopes = by_parameter(run.problem, run.point)
    sides = beside_the_limiter(run.problem, run.point, slopes)
    assert numbers_that_bend(run.problem, run.point) == ()
    assert np.array_equal(sides.less, slopes)
    assert np.array_equal(sides.more, slopes)


def test_only_what_turns_the_engine_in_the_gear_at_the_limiter_bends():
    run = short_run(AT_LIMITER)
    names = numbers_that_bend(run.problem, run.point)
    assert names == ("engine_speed_limit", "gear_ratios_1", "rolling_radius_front")  # front drive, left in first gear


def test_both_sides_are_what_more_and_less_of_the_number_take():
    run = short_run(AT_LIMITER)
    slopes = by_parameter(run.problem, run.point)
    sides = beside_the_limiter(run.problem, run.point, slopes)
    i = NAMES.index("gear_ratios_1")
    middle = run.problem.p.vector()
    times = []
    for sign in (-1.0, 0.0, 1.0):
        values = middle.copy()
        values[i] *= 1.0 + sign * STEP
        problem = run.problem.changed(p=ModelParameters.from_vector(values))
        times.append(problem.warm(run.point, barrier=1e-3, tol=1e-8).time)
    less, more = np.diff(times) / (STEP * middle[i])
    assert sides.less[i] == pytest.approx(less, abs=3e-4 * 100.0 / middle[i])  # 0.3 ms per 1%
    assert sides.more[i] == pytest.approx(more, abs=3e-4 * 100.0 / middle[i])
    assert sides.more[i] - sides.less[i] > 5e-3 * 100.0 / middle[i]  # and it does bend, by more than 5 ms per 1%
    others = [k for k, name in enumerate(NAMES) if name not in numbers_that_bend(run.problem, run.point)]
    assert np.array_equal(sides.less[others], slopes[others])


def test_the_derivative_stays_where_a_side_is_not_found(monkeypatch):
    run, tried = short_run(AT_LIMITER), []
    slopes = by_parameter(run.problem, run.point)
    solve = Problem.warm

    def stop_beside(problem, near, **options):
        if problem is run.problem:
            return solve(problem, near, **options)
        tried.append(options["barrier"])
        raise SolverStoppedError("for a test", feature="start", station=0.0, violation=1.0, iterations=1)

    monkeypatch.setattr(Problem, "warm", stop_beside)
    sides = beside_the_limiter(run.problem, run.point, slopes)
    assert tried == [*limiter_bend.FIRST_BARRIERS] * 6  # three numbers, two sides
    assert np.array_equal(sides.less, slopes)
    assert np.array_equal(sides.more, slopes)


def test_the_derivative_stays_where_a_side_is_another_run(monkeypatch):
    run = short_run(AT_LIMITER)
    slopes = by_parameter(run.problem, run.point)
    solve = Problem.warm

    def falls_beside(problem, near, **options):
        """Every neighbour is solved 2 ms faster, and the way back from it too: another run lies there."""
        found = solve(problem, near, **options)
        begun_beside = near.iterations < 0
        if problem is run.problem and not begun_beside:
            return found
        return replace(found, time=found.time - 2e-3, iterations=-1)

    monkeypatch.setattr(Problem, "warm", falls_beside)
    sides = beside_the_limiter(run.problem, run.point, slopes)
    assert np.array_equal(sides.less, slopes)
    assert np.array_equal(sides.more, slopes)


def test_numbers_of_the_file_take_each_number_of_the_model_from_the_side_to_which_they_move_it():
    run, car = short_run(ROOMY), demo_car(ROOMY)
    slopes = by_parameter(run.problem, run.point)
    i = NAMES.index("gear_ratios_1")
    steeper = slopes.copy()
    steeper[i] += 0.02  # s per unit of the ratio
    plain = {g.name: g for g in gradients(run, car)}
    sided = {g.name: g for g in gradients(run, car, sides=limiter_bend.SidedSlopes(less=slopes, more=steeper))}
    name = next(n for n in plain if sided[n] != plain[n])
    moved = (sided[name].s_per_unit - plain[name].s_per_unit, sided[name].bend)
    assert plain[name].bend == 0.0
    assert moved[0] == pytest.approx(moved[1])  # the mean moves by half of what one side does
    assert moved[1] > 0.0
    swapped = {g.name: g for g in gradients(run, car, sides=limiter_bend.SidedSlopes(less=steeper, more=slopes))}
    assert swapped[name] == replace(sided[name], bend=pytest.approx(-moved[1]))

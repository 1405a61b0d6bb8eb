"""Predicted runs as traces: the same time, line and features as the solution has."""

from __future__ import annotations

import numpy as np
import pytest

from conewise.course.reference import lay_out
from conewise.runs import feature_results
from conewise.solver.point_mass_course import point_mass_solution
from conewise.solver.quasi_steady import quasi_steady_solution
from conewise.workflows.traces import LineLostError, predicted_trace
from tests.cars import DEMO_NAMES
from tests.solved import crossing_course, model, short_course, slalom_course


def solutions(course):
    geometry = lay_out(course)
    yield geometry, quasi_steady_solution(geometry, model(DEMO_NAMES[0], course), car="demo")
    yield geometry, point_mass_solution(geometry, friction=0.9)


@pytest.mark.parametrize("course", [short_course(), crossing_course()], ids=["short", "crossing"])
def test_a_solution_keeps_its_time_and_its_features(course):
    for geometry, solution in solutions(course):
        trace = predicted_trace(solution, geometry)
        assert trace.run_time == pytest.approx(solution.time, abs=1e-6)
        features = feature_results(geometry, station=trace.front_station, elapsed=trace.time, speed=trace.speed)
        for mine, solved in zip(features, solution.features, strict=True):
            assert mine.time == pytest.approx(
                solved.time, abs=1e-3
            )  # a grid of 0.5 m instead of the solver's own nodes
        inside = trace.station[2:-2]
        assert trace.lateral_offset[2:-2] == pytest.approx(
            np.interp(inside, solution.station, solution.lateral_offset), abs=1e-6
        )


def test_a_solution_of_another_course_is_refused():
    geometry, solution = next(iter(solutions(short_course())))
    with pytest.raises(LineLostError, match="does not follow"):
        predicted_trace(solution, lay_out(slalom_course()))
    assert geometry.path.length > 0.0

"""The speed that is estimated for a quick car, and the wet speed of a known one, against solved runs: never below."""

from __future__ import annotations

from importlib import resources

import numpy as np
import pytest

from conewise import read_car, read_course
from conewise.course.quick_speed import estimated_speed
from conewise.course.reference import lay_out
from conewise.course.stopping import WET
from conewise.solver.line_results import arrival
from conewise.solver.quasi_steady import quasi_steady_solution
from conewise.workflows.predict import parameters
from tests.courses import club_course

CARS = ("boulder", "marigold", "pepper")
COURSES = ("harbour-yard", "old-mill-airfield", 1, 2, 7, 11)


def demo(kind, name):
    with resources.as_file(resources.files("conewise") / "demo" / kind / f"{name}.toml") as file:
        return read_car(file) if kind == "cars" else read_course(file)


@pytest.fixture(scope="module", params=COURSES)
def geometry(request):
    return lay_out(club_course(request.param) if isinstance(request.param, int) else demo("courses", request.param))


@pytest.mark.parametrize("car", CARS)
def test_no_solved_run_is_faster_than_the_estimate_and_none_wetter_than_said(geometry, car):
    """The quasi-steady run is the faster one of the levels; it stands for the transient one, which takes longer."""
    read = demo("cars", car)
    dry, wet = (quasi_steady_solution(geometry, parameters(geometry, read, surface=surface)) for surface in (1.0, WET))
    for run, surface in ((dry, 1.0), (wet, WET)):
        estimate = np.interp(run.station, geometry.path.station, estimated_speed(geometry, surface=surface))
        assert np.max(run.speed / estimate) < 1.0 if surface == 1.0 else run.speed[-1] < estimate[-1]
    assert (
        dry.speed[-1] / np.interp(geometry.path.length, geometry.path.station, estimated_speed(geometry)) > 0.6
    )  # quick, not absurd
    told = arrival(geometry, parameters(geometry, read), float(dry.speed[-1]))
    assert wet.speed[-1] <= told.speed_wet <= dry.speed[-1]
    assert told.speed_wet < 1.2 * wet.speed[-1]

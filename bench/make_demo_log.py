"""Makes the recording of the examples: an invented driver on the first demo course, wide in a slalom.

Writes src/conewise/demo/logs/harbour-yard-evening.csv; the seed is fixed.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import numpy as np

import conewise.demo
from conewise.course.earth import LocalPlane
from conewise.course.reference import lay_out
from conewise.logs.export import csv_text
from conewise.logs.log import Channel
from conewise.logs.simulated import SensorNoise, motion_of, simulated_log
from conewise.solver.min_time import Settings, solve_run
from conewise.solver.on_line import run_on_line
from conewise.solver.solution import transient_solution
from conewise.vehicle import build
from conewise.workflows import predict
from tests.cars import DEMO_NAMES, demo_car
from tests.solved import COURSE_NAMES, demo_course

SEED = 7
WIDE_AT, WIDE, USUAL, PACE = "slalom 1", 0.9, 0.15, 0.93
SENSORS = SensorNoise(receiver_rate=20.0, slow_position=0.03, white_position=0.01, delay=0.05, inertial_rate=50.0)
DIGITS = {"longitude": 9, "latitude": 9, "horizontal_accuracy": 2}
TARGET = Path(conewise.demo.__file__).parent / "logs" / "harbour-yard-evening.csv"

if __name__ == "__main__":
    course, car = demo_course(COURSE_NAMES[0]), demo_car(DEMO_NAMES[0])
    geometry = lay_out(course)
    p = predict.parameters(geometry, car)
    settings = Settings(shift_time=build.gearbox(car).shift_time)
    free = solve_run(geometry, p, settings=settings)
    margins = np.array([WIDE if cone.feature == WIDE_AT else USUAL for cone in geometry.passes])
    wide = solve_run(geometry, p, settings=settings, margins=margins)
    stations = free.problem.mesh.station, wide.problem.mesh.station
    offset = np.interp(*stations, wide.point.variables["lateral_offset"])
    run = run_on_line(free, offset, p=replace(p, friction_share=PACE))
    assert course.site.anchor is not None
    plane = LocalPlane(course.site.anchor, course.site.heading_to_north)
    rng = np.random.default_rng(SEED)
    log = simulated_log(motion_of(transient_solution(run)), rng=rng, noise=SENSORS, plane=plane)
    channels = {
        kind: Channel(kind, np.round(c.time, 3), np.round(c.value, DIGITS.get(kind, 4)), c.source)
        for kind, c in log.channels.items()
    }
    recorded = replace(log, channels=channels, start=datetime(2031, 5, 10, 17, 42, tzinfo=UTC))
    TARGET.parent.mkdir(exist_ok=True)
    TARGET.write_text(csv_text(recorded), encoding="utf-8")
    print(f"{TARGET}: {free.point.time:.3f} s at best, {wide.point.time:.3f} s wide, {run.point.time:.3f} s driven")

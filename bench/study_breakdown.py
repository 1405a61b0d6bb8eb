"""How often the 90% intervals of a breakdown hold the truth: drivers whose line and speed are known, simulated logs.

The car stands where the course says, to 0.15 m. Every driver has a line of his own (room of 0 to 0.8 m at every cone,
drawn) and a pace of 0.80 to 0.95 on it. The truth is the best run on the line that he really drove, by the same solver.
Arguments: first seed, number of drivers, name of the sensors.
"""

from __future__ import annotations

import json
import sys
import time
from dataclasses import replace

import numpy as np

from conewise.course.reference import lay_out
from conewise.logs.breakdown import FrictionFound
from conewise.logs.crossing import STAGING_DEVIATION
from conewise.logs.driven_line import drawn_paths
from conewise.logs.fusion import fuse
from conewise.logs.laid import lay_day
from conewise.logs.simulated import SensorNoise, motion_of, simulated_log
from conewise.solver.min_time import Settings, solve_run
from conewise.solver.on_line import feature_times, run_on_line
from conewise.solver.solution import transient_solution
from conewise.vehicle import build
from conewise.workflows import predict
from conewise.workflows.debrief_runs import (
    FreeRun,
    Solved,
    body_of,
    breakdown_of,
    knowledge,
    on_drivers_line,
    spread_of,
)
from tests.cars import DEMO_NAMES, demo_car
from tests.solved import COURSE_NAMES, demo_course

N_PATHS = 12
WIDEST, PACES = 0.8, (0.80, 0.95)
SENSORS = {
    "25hz-2cm": SensorNoise(receiver_rate=25.0, slow_position=0.02, white_position=0.01, delay=0.05),
    "10hz-50cm": SensorNoise(),
    "10hz-150cm": SensorNoise(slow_position=1.5, correlation_time=60.0),
}
KNOWN = FrictionFound(value=1.0, low=1.0, high=1.0, origin="saturated")


def driver(free, seed):
    """A driver's best run on his own line, and his run on it."""
    rng = np.random.default_rng(seed)
    margins = rng.uniform(0.0, WIDEST, len(free.problem.geometry.passes))
    wide = solve_run(free.problem.geometry, free.problem.p, settings=free.settings, margins=margins)
    stations = free.problem.mesh.station, wide.problem.mesh.station
    best = run_on_line(free, np.interp(*stations, wide.point.variables["lateral_offset"]))
    slow = replace(free.problem.p, friction_share=float(rng.uniform(*PACES)))
    offset = best.point.variables["lateral_offset"]
    driven = run_on_line(free, offset, p=slow, near=best)
    return run_on_line(free, driven.point.variables["lateral_offset"]), driven, rng


def parts(free, best, driven):
    """True line and speed of every feature, and of the whole."""
    rows = [feature_times(run) for run in (free, best, driven)]
    line, speed = rows[1] - rows[0], rows[2] - rows[1]
    return np.append(line, line.sum()), np.append(speed, speed.sum())


def found(free, car, driven, rng, noise):
    """The breakdown of a simulated log of a run."""
    geometry, body = free.problem.geometry, body_of(free.problem.p)
    solution = transient_solution(driven)
    motion = motion_of(solution)
    staged = float(np.hypot(motion.x[0] - solution.x[0], motion.y[0] - solution.y[0]))  # before the first node
    told = max(staged - free.problem.mesh.extra + STAGING_DEVIATION * rng.standard_normal(), 0.0)
    there = replace(geometry, course=geometry.course.changed(staging=told))
    log = simulated_log(motion, rng=rng, noise=noise)
    day = lay_day(fuse(log), there, is_placed=True, front_reach=body.front_reach, half_width=body.width / 2.0)
    base = FreeRun(run=free, laid=replace(day.runs[0], geometry=geometry), car=car)
    draws = drawn_paths(base.laid, rng, N_PATHS)
    known = knowledge(base, draws, frozenset())
    line = on_drivers_line(base, known.most_probable(base.driven.lateral_offset))
    spread = spread_of(base, draws, known, workers=1, until=np.inf, rng=rng)
    solved = Solved(free=base, on_line=line, best=base.solution(free), spread=spread)
    traces = {"on_line": base.trace(line, "line"), "best": base.trace(free, "best")}
    return breakdown_of(solved, friction=KNOWN, **traces)


def judged(value, interval, truth):
    """Estimate, half width, truth."""
    return float(value), interval.width / 2.0, float(truth)


if __name__ == "__main__":
    first, count, name = int(sys.argv[1]), int(sys.argv[2]), sys.argv[3]
    car, course = demo_car(DEMO_NAMES[0]), demo_course(COURSE_NAMES[0])
    geometry = lay_out(course)
    settings = Settings(shift_time=build.gearbox(car).shift_time)
    free = solve_run(geometry, predict.parameters(geometry, car), settings=settings)
    for seed in range(first, first + count):
        began = time.perf_counter()
        best, driven, rng = driver(free, seed)
        line, speed = parts(free, best, driven)
        gap = found(free, car, driven, rng, SENSORS[name])
        rows = {
            "seed": seed,
            "line": [judged(f.line, f.line_interval, t) for f, t in zip(gap.features, line[:-1], strict=True)],
            "speed": [judged(f.speed, f.speed_interval, t) for f, t in zip(gap.features, speed[:-1], strict=True)],
            "total_line": judged(gap.best_on_line - gap.best, gap.line_interval, line[-1]),
            "total_speed": judged(gap.measured - gap.best_on_line, gap.speed_interval, speed[-1]),
            "n_paths": gap.n_paths,
            "seconds": time.perf_counter() - began,
        }
        print(json.dumps(rows), flush=True)

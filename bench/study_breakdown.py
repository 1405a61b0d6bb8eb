"""How often the 90% intervals of a breakdown hold the truth: drivers whose line and speed are known, simulated logs.

The car stands where the course says, to 0.15 m. Every driver has a line of his own (the fastest with 0 to 0.8 m of room
at every cone, drawn) and a pace of 0.80 to 0.95 on it. The truth is the best run on the line that he really drove.

Two ways to time a line: with quasi-steady speeds (milliseconds a line, so that a hundred drivers can be asked: what is
tried is the recording, the line and the draws), or with the solver of the real debrief (a minute a driver).

    python -m bench.study_breakdown FIRST COUNT SENSORS [solved] [FOLDER to keep drivers in]
"""

from __future__ import annotations

import pickle
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
from scipy.stats import beta

from conewise.course.reference import lay_out
from conewise.logs.breakdown import FrictionFound
from conewise.logs.crossing import STAGING_DEVIATION
from conewise.logs.fusion import fuse
from conewise.logs.laid import lay_day
from conewise.logs.simulated import SensorNoise, motion_of, simulated_log
from conewise.runs import feature_results
from conewise.solver.envelope import Envelope
from conewise.solver.line_results import body_of
from conewise.solver.min_time import Settings, followed, solve_run
from conewise.solver.on_line import ROUGH, feature_times, run_on_line
from conewise.solver.problem import NEAR
from conewise.solver.solution import transient_solution
from conewise.vehicle import build
from conewise.workflows import predict
from conewise.workflows.debrief_lines import allowed_lines, best_offset, quasi_steady_times, spread_of
from conewise.workflows.debrief_runs import FreeRun, interval_widths
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
    """A driver's run on his own line, and the best run on it; to the 5 ms of a rough solve, both alike."""
    rng = np.random.default_rng(seed)
    problem = free.problem.changed(margins=rng.uniform(0.0, WIDEST, len(free.problem.geometry.passes)))
    rough = replace(NEAR, tolerance=ROUGH.tolerance)
    _, wide = problem.cold(free.point.z, followed(free.settings), options=rough)
    slow = replace(free.problem.p, friction_share=float(rng.uniform(*PACES)))
    driven = run_on_line(free, wide.variables["lateral_offset"], p=slow, is_rough=True)
    offset = driven.point.variables["lateral_offset"]
    best = run_on_line(free, offset, is_rough=True)
    return {
        "solution": transient_solution(driven),
        "offset": offset,
        "best": feature_times(best),
        "driven": feature_times(driven),
    }


def kept(free, seed, folder):
    """A driver, from the folder where he is there."""
    file = None if folder is None else Path(folder) / f"{seed}.pkl"
    if file is not None and file.exists():
        return pickle.loads(file.read_bytes())
    made = driver(free, seed)
    if file is not None:
        file.write_bytes(pickle.dumps(made))
    return made


def recorded(free, car, made, rng, noise):
    """The run as a simulated log tells it, laid on the course."""
    geometry, body = free.problem.geometry, body_of(free.problem.p)
    run, motion = made["solution"], motion_of(made["solution"])
    staged = float(np.hypot(motion.x[0] - run.x[0], motion.y[0] - run.y[0]))  # before the first node
    told = max(staged - free.problem.mesh.extra + STAGING_DEVIATION * rng.standard_normal(), 0.0)
    there = replace(geometry, course=geometry.course.changed(staging=told))
    track = fuse(simulated_log(motion, rng=rng, noise=noise))
    day = lay_day(track, there, is_placed=True, front_reach=body.front_reach, half_width=body.width / 2.0)
    return FreeRun(run=free, laid=replace(day.runs[0], geometry=geometry), car=car)


def measured_times(base):
    trace = base.driven
    rows = feature_results(base.geometry, station=trace.front_station, elapsed=trace.time, speed=trace.speed)
    return np.array([row.time for row in rows])


def judged(base, made, rng, *, is_solved, envelope):
    """Estimate, half width and truth of line and speed, shape (2, n_features + 1, 3); and what is known of the line."""
    trace, geometry = base.driven, base.geometry
    allowed = allowed_lines(base, rng, N_PATHS, hit=frozenset())
    true_line = np.interp(trace.station, base.run.problem.mesh.station, made["offset"])
    if is_solved:
        spread = spread_of(base, allowed, workers=1, until=np.inf, rng=rng)
        found = feature_times(run_on_line(base.run, base.at_nodes(allowed.line), is_rough=True))
        best, truth = feature_times(base.run), made["best"]
    else:

        def timed(line):
            return quasi_steady_times(geometry, trace, line=line, limits=envelope)

        spread = spread_of(base, allowed, workers=1, until=np.inf, rng=rng, timed=timed)
        found, best, truth = timed(allowed.line), timed(best_offset(base)), timed(true_line)
    widths = interval_widths(spread, KNOWN)
    told = (found - best, measured_times(base) - found)
    true = (truth - best, made["driven"] - truth)
    table = [
        np.column_stack([np.append(t, t.sum()), half, np.append(r, r.sum())])
        for t, half, r in zip(told, widths, true, strict=True)
    ]
    below = np.mean(allowed.drawn < true_line, axis=0)
    line = {
        "error": float(np.sqrt(np.mean((allowed.line - true_line) ** 2))),
        "spread": float(np.sqrt(np.mean((allowed.drawn - allowed.line) ** 2))),
        "held": float(np.mean((below > 0.05) & (below < 0.95))),
    }
    return np.array(table), line


def share(hits):
    """How many of how many, with the 95% limits of Clopper and Pearson."""
    k, n = int(np.sum(hits)), int(np.size(hits))
    low = beta.ppf(0.025, k, n - k + 1) if k else 0.0
    high = beta.ppf(0.975, k + 1, n - k) if k < n else 1.0
    return f"{k} of {n} ({k / n:.2f}; {low:.2f} to {high:.2f})"


def rms(values):
    return f"{1e3 * np.sqrt(np.mean(np.square(values))):.0f} ms"


def report(tables, lines):
    print(f"\n{len(tables)} drivers; line: " + ", ".join(f"{k} {np.mean([r[k] for r in lines]):.3f}" for k in lines[0]))
    print(
        "| part | of features | of the whole | error of a feature, rms | half width | error of the whole | half width |"
    )
    print("|---|---|---|---|---|---|---|")
    for k, name in enumerate(("line", "speed")):
        told, half, true = np.moveaxis(np.array(tables)[:, k], -1, 0)
        hit, off = np.abs(told - true) <= half, told - true
        print(
            f"| {name} | {share(hit[:, :-1])} | {share(hit[:, -1])} | {rms(off[:, :-1])} | {rms(half[:, :-1])} "
            f"| {rms(off[:, -1])} | {rms(half[:, -1])} |",
            flush=True,
        )


def main():
    first, count, name, *more = sys.argv[1:]
    is_solved, folder = "solved" in more, next((m for m in more if m != "solved"), None)
    car, course = demo_car(DEMO_NAMES[0]), demo_course(COURSE_NAMES[0])
    geometry = lay_out(course)
    settings = Settings(shift_time=build.gearbox(car).shift_time)
    free = solve_run(geometry, predict.parameters(geometry, car), settings=settings)
    envelope = Envelope.from_parameters(free.problem.p)
    tables, lines = [], []
    for seed in range(int(first), int(first) + int(count)):
        made, rng = kept(free, seed, folder), np.random.default_rng(10_000 + seed)
        base = recorded(free, car, made, rng, SENSORS[name])
        table, line = judged(base, made, rng, is_solved=is_solved, envelope=envelope)
        tables.append(table)
        lines.append(line)
        if len(tables) % 10 == 0:
            report(tables, lines)
    report(tables, lines)


if __name__ == "__main__":
    main()

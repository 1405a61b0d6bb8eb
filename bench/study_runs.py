"""How well runs and features are timed on recordings with known noise: the table of docs/models/runs.md."""

from __future__ import annotations

import numpy as np

from conewise.course.reference import lay_out
from conewise.logs.align import laid_along
from conewise.logs.laid import lay_day
from conewise.logs.run_finder import find_runs
from conewise.runs import feature_results
from conewise.solver.point_mass_course import point_mass_solution
from tests.driven import FRONT, Drive, day_of
from tests.solved import COURSE_NAMES, demo_course

KINDS = ["complete", "aborted", "complete", "complete"]
LEVELS = (
    (0.02, 0.02, 4.0),
    (0.1, 0.3, 4.0),
    (0.3, 0.5, 4.0),
    (0.5, 1.5, 10.0),
    (1.0, 2.0, 10.0),
)  # noise, shift, memory
N_DAYS = 25


def rms(values):
    return float(np.sqrt(np.mean(np.square(values))))


def feature_times(geometry, trace):
    rows = feature_results(geometry, station=trace.front_station, elapsed=trace.time, speed=trace.speed)
    return np.array([row.time for row in rows])


def simulated_day(geometry):
    best = point_mass_solution(geometry, friction=0.85, half_width=0.95, margin=0.15)

    def offset(station):
        return np.interp(station, best.station, best.lateral_offset)

    drives = [
        Drive(friction=0.75, offset=offset),
        Drive(until=150.0, leave=8.0),
        Drive(friction=0.8, offset=offset),
        Drive(friction=0.85, offset=lambda station: 0.7 * offset(station)),
    ]
    return day_of(geometry, drives)


def pairs_of(geometry, track, *, is_shifted):
    if is_shifted:
        return [(one.run, one.trace) for one in lay_day(track, geometry, is_placed=True, front_reach=FRONT).runs]
    runs = find_runs(track, geometry, front_reach=FRONT)
    return [(run, laid_along(track, run) if run.finish else None) for run in runs]


if __name__ == "__main__":
    geometry = lay_out(demo_course(COURSE_NAMES[0]))
    day = simulated_day(geometry)
    exact = pairs_of(geometry, day.track(np.random.default_rng(0)), is_shifted=False)
    true = [
        (a, b, None if t is None else feature_times(geometry, t))
        for (a, b), (_, t) in zip(day.truth, exact, strict=True)
    ]
    print(
        "| noise, shift, each axis | tries told right | run time rms (worst) "
        "| in its own deviations, rms | feature time rms |"
    )
    print("|---|---|---|---|---|")
    for noise, bias, memory in LEVELS:
        for is_shifted in (False, True):
            right, errors, in_units, in_features = 0, [], [], []
            for seed in range(N_DAYS):
                track = day.track(np.random.default_rng(seed), noise=noise, bias=bias, correlation=memory)
                pairs = pairs_of(geometry, track, is_shifted=is_shifted)
                right += sum(run.kind == kind for (run, _), kind in zip(pairs, KINDS, strict=False))
                for run, trace in pairs:
                    if trace is not None:
                        start, finish, features = min(true, key=lambda t, r=run: abs(t[0] - r.start.time))
                        errors.append(run.time - (finish - start))
                        in_units.append(errors[-1] / run.time_deviation)
                        in_features += list(feature_times(geometry, trace) - features)
            name = f"{noise:g} m, {bias:g} m" + (", taken back" if is_shifted else "")
            worst = max(map(abs, errors))
            print(
                f"| {name} | {right} of {N_DAYS * len(KINDS)} | {1e3 * rms(errors):.0f} ms ({1e3 * worst:.0f} ms) "
                f"| {rms(in_units):.2f} | {1e3 * rms(in_features):.0f} ms |"
            )

"""Fusing: accuracy on simulated logs of a transient solution beside the Cramer-Rao bound, and run time beside filterpy.

`bench_fusion.py [seeds]`: 50 unless said otherwise. `bench_fusion.py changes [seeds]`: other beliefs about changes.
`bench_fusion.py shaken [seeds]`: lateral acceleration of a shaken inertial sensor beside the least error that any
linear smoother can have. `bench_fusion.py channels [seeds]`: the car's own channels at several rates.
"""

import sys
from dataclasses import replace
from statistics import median
from time import process_time

import numpy as np
from scipy.signal import csd

from conewise.logs import motion as m
from conewise.logs.fusion import NO_PATH, fuse
from conewise.logs.passes import backward, filtered_room, forward, smoothed_states
from conewise.logs.simulated import TRUTH_RATE, SensorNoise, motion_of
from conewise.solver.solution import transient_solution
from tests.cars import DEMO_NAMES
from tests.courses import club_course
from tests.known_motions import (
    GRAVITY,
    errors,
    fused_log,
    position_bound,
    position_nees,
    told,
)
from tests.plain_filter import grouped, plain_filter
from tests.solved import COURSE_NAMES, demo_run, solved

PHONE = (
    SensorNoise()
)  # 10 Hz, 0.5 m over 5 s and 0.1 m white, speeds 0.1 m/s, 0.12 s late; 100 Hz inertial, mounted anyhow
ALONE = replace(PHONE, inertial_rate=0.0, delay=0.0)  # a delay that nothing else in the log tells of is a shift in time
CASES = {
    "10 Hz, inertial, 5 s": PHONE,
    "10 Hz, inertial, 20 s": replace(PHONE, correlation_time=20.0),
    "25 Hz, inertial, 5 s": replace(PHONE, receiver_rate=25.0),
    "1 Hz, inertial, 5 s": replace(PHONE, receiver_rate=1.0),
    "1 Hz, inertial, 20 s": replace(PHONE, receiver_rate=1.0, correlation_time=20.0),
    "10 Hz no speeds, inertial": replace(PHONE, received_speed=None),
    "10 Hz, shaken inertial": replace(PHONE, acceleration=1.5, rate=0.03),
    "10 Hz, car's channels": replace(PHONE, inertial_rate=0.0, vehicle_rate=50.0),
    "10 Hz alone": ALONE,
    "1 Hz alone": replace(ALONE, receiver_rate=1.0),
    "1 Hz alone, no speeds": replace(ALONE, receiver_rate=1.0, received_speed=None),
}
COLUMNS = (
    *("case", "horizontal", "bound", "ratio", "after a shift", "speed", "heading", "lateral"),
    *("NEES position", "speed", "heading", "lateral", "NIS position", "speed", "inertial at rest", "moving"),
)

OTHERS = "speed", "heading", "yaw_rate", "lateral_acceleration"


def squared(ratio):
    return float(np.mean(np.square(ratio)))


def of_one(known, case):
    """Mean squares of one log: errors over all of it (positions) or while moving (the rest), and over deviations."""
    wrong, track = errors(known, case.track), case.track
    moving = np.interp(track.time, known.time, known.speed) > 1.0
    out = {"horizontal": squared(wrong["x"]) + squared(wrong["y"]), "bound": position_bound(known, case) ** 2}
    out["shifted"] = sum(float(np.var(wrong[axis][moving])) for axis in "xy")
    out["nees"] = float(np.mean(position_nees(known, track)[moving])) / 2.0
    for name in OTHERS:
        out[name] = squared(wrong[name][moving])
        out[f"{name} nees"] = squared((wrong[name] / getattr(track, f"{name}_deviation"))[moving])
    kind, filtered = case.prepared.problem.kind, case.smoothed.filtered
    step = np.searchsorted(case.prepared.problem.first, np.arange(kind.size), side="right") - 1
    rest, every = case.prepared.rest[step], np.ones(kind.size, dtype=bool)
    inertial = m.SENSOR_X, m.SENSOR_Y, m.SENSOR_RATE
    for name, kinds, part in (
        ("position", (m.AT_X, m.AT_Y), every),
        ("speeds", (m.EAST_SPEED, m.NORTH_SPEED), every),
        ("inertial at rest", inertial, rest),
        ("inertial moving", inertial, ~rest),
    ):
        use = np.isin(kind, kinds) & (filtered.spread > 0.0) & part
        out[f"{name} nis"] = (
            float(np.mean(filtered.innovation[use] ** 2 / filtered.spread[use])) if use.any() else np.nan
        )
    return out


def accuracy(known, n_seeds):
    print(f"| {' | '.join(COLUMNS)} |\n|{'---|' * len(COLUMNS)}")
    for name, noise in CASES.items():
        rows = [of_one(known, fused_log(known, seed, noise)) for seed in range(n_seeds)]
        mean = {key: float(np.mean([row[key] for row in rows])) for key in rows[0]}
        rms = {key: float(np.sqrt(value)) for key, value in mean.items()}
        print(
            f"| {name} | {rms['horizontal']:.3f} m | {rms['bound']:.3f} m | {rms['horizontal'] / rms['bound']:.2f} | "
            f"{rms['shifted']:.3f} m | {rms['speed']:.3f} m/s | {np.degrees(rms['heading']):.2f} deg | "
            f"{rms['lateral_acceleration'] / GRAVITY:.4f} g | "
            + " | ".join(
                f"{mean[key]:.2f}"
                for key in (
                    *("nees", "speed nees", "heading nees", "lateral_acceleration nees"),
                    *("position nis", "speeds nis", "inertial at rest nis", "inertial moving nis"),
                )
            )
            + " |",
            flush=True,
        )


def seconds(call, n_runs=5):
    times = []
    for _ in range(n_runs):
        began = process_time()
        call()
        times.append(process_time() - began)
    return median(times), min(times), max(times)


def run_time(known):
    """One pass of filter and smoother over a log of 60 s and 100 Hz, both ways; and the whole of `fuse`."""
    case = fused_log(known, 0, PHONE)
    problem, restarts = case.prepared.problem, case.smoothed.restarts
    print(f"\nlog of {case.log.duration:.1f} s, {problem.first.size - 1} steps, {problem.kind.size} readings, "
          f"{problem.start.size} states")  # fmt: skip

    n, path, groups = problem.start.size, case.smoothed.state, grouped(problem)

    def own(path, room=None):
        filtered = forward(problem, path, restarts, room or filtered_room(problem))
        return backward(problem, filtered, restarts)

    def general(path, *, at_once=False):
        return plain_filter(problem, groups, path[:, :n] if path.size else None, at_once=at_once)

    for name, at in (("along their own predictions", NO_PATH), ("about a path", path)):
        state, covariance = own(at)
        other_state, other_covariance = general(at)
        differences = np.abs(state[:, :n] - other_state), np.abs(covariance - other_covariance)
        print(f"{name}: greatest difference of states {differences[0].max():.1e}, of covariances "
              f"{differences[1].max():.1e}")  # fmt: skip
    room = filtered_room(problem)

    def states_alone(path):
        return smoothed_states(problem, forward(problem, path, restarts, room), restarts)

    for name, call, n_runs in (
        ("filter and smoother, along their own predictions", lambda: own(NO_PATH), 15),
        ("the same in memory that an earlier pass used", lambda: own(NO_PATH, room), 15),
        ("filter and smoother, about a path", lambda: own(path), 15),
        (
            "filter and smoothed states alone",
            lambda: smoothed_states(problem, forward(problem, path, restarts, room), restarts),
            15,
        ),
        ("filterpy and numpy, along their own predictions", lambda: general(NO_PATH), 5),
        ("filterpy and numpy, about a path", lambda: general(path), 5),
        ("filterpy and numpy, one update a step", lambda: general(NO_PATH, at_once=True), 5),
        ("the whole of fuse", lambda: fuse(case.log, model=told(PHONE)), 5),
    ):
        middle, least, most = seconds(call, n_runs)
        print(f"{name}: {middle * 1e3:.1f} ms ({least * 1e3:.1f} to {most * 1e3:.1f})")


CHANGES = ((0.03, 0.25, 0.35), (0.06, 0.6, 0.6), (0.15, 3.0, 2.4), None)


def changes(known, n_seeds):
    """What is believed of the changes a step of yaw rate and felt accelerations, and what that does."""
    for told_changes in CHANGES:
        for name in ("10 Hz no speeds, inertial", "1 Hz, inertial, 5 s", "10 Hz, shaken inertial"):
            model = replace(told(CASES[name]), changes=told_changes)
            rows = [of_one(known, fused_log(known, seed, CASES[name], model)) for seed in range(n_seeds)]
            mean = {key: float(np.mean([row[key] for row in rows])) for key in rows[0]}
            lateral, still = np.sqrt(mean["lateral_acceleration"]) / GRAVITY, mean["inertial at rest nis"]
            print(
                f"{told_changes or 'found'}, {name}: speed {np.sqrt(mean['speed']):.3f} m/s, NEES "
                f"{mean['speed nees']:.2f}, lateral {lateral:.4f} g, NEES {mean['lateral_acceleration nees']:.2f}, "
                f"inertial NIS at rest {still:.2f}, moving {mean['inertial moving nis']:.2f}",
                flush=True,
            )


def least_lateral(known, noise):
    """Least RMS error of lateral acceleration of any linear smoother that knows the spectra of this run.

    Wiener's bound for a stationary motion with the run's own spectra, of lateral acceleration and of speed times yaw
    rate, which go together; read by accelerometer and gyroscope, and by the change of received velocities. [m/s2]
    """
    moving = known.speed > 1.0
    forward = (known.speed * np.cos(known.heading - known.yaw))[moving]
    signals = known.body_acceleration[moving, 1], known.yaw_rate[moving] * forward
    frequency, _ = csd(*signals, TRUTH_RATE, nperseg=1024)
    spectra = np.array([[csd(a, b, TRUTH_RATE, nperseg=1024)[1] for b in signals] for a in signals])[:, :, 1:]
    turning = 2.0 * np.pi * frequency[1:]
    by_sensor = 2.0 * noise.acceleration**2 / noise.inertial_rate  # one-sided densities
    by_velocity = 2.0 * noise.received_speed**2 / noise.receiver_rate * turning**2
    gyroscope = 2.0 * noise.rate**2 * np.mean(forward**2) / noise.inertial_rate
    left = 0.0
    for k in range(turning.size):
        spectrum = spectra[:, :, k]
        read = spectrum + np.diag([1.0 / (1.0 / by_sensor + 1.0 / by_velocity[k]), gyroscope])
        left += (spectrum[0, 0] - spectrum[0] @ np.linalg.solve(read, spectrum[:, 0])).real
    return float(np.sqrt(left * frequency[1]))


def several_runs():
    """Solved runs of the demo cars on both demo courses, and random courses on which nothing was tuned."""
    for course in COURSE_NAMES:
        for name in DEMO_NAMES:
            yield f"{course}, {name}", motion_of(transient_solution(demo_run(course, name), car=name, gradients=()))
    for seed, name in zip((5, 17, 23, 29), (*DEMO_NAMES, DEMO_NAMES[1]), strict=True):
        run = solved(club_course(seed, length=400.0), name)
        yield f"random course {seed}, {name}", motion_of(transient_solution(run, car=name, gradients=()))


def mean_rows(known, noise, n_seeds):
    rows = [of_one(known, fused_log(known, seed, noise)) for seed in range(n_seeds)]
    return {key: float(np.mean([row[key] for row in rows])) for key in rows[0]}


def shaken(n_seeds):
    noise = CASES["10 Hz, shaken inertial"]
    for name, known in several_runs():
        mean = mean_rows(known, noise, n_seeds)
        lateral = np.sqrt(mean["lateral_acceleration"]) / GRAVITY
        least, ratio = least_lateral(known, noise) / GRAVITY, mean["lateral_acceleration nees"]
        print(f"{name}: lateral {lateral:.4f} g, least {least:.4f} g, NEES {ratio:.2f}", flush=True)


def channels(n_seeds):
    for rate in (10.0, 20.0, 50.0, 100.0):
        for name, known in several_runs():
            mean = mean_rows(known, replace(PHONE, inertial_rate=0.0, vehicle_rate=rate), n_seeds)
            told_of = [f"{key} {np.sqrt(mean[key]):.4f}, NEES {mean[f'{key} nees']:.2f}" for key in OTHERS]
            print(f"{rate:.0f} Hz, {name}: {'; '.join(told_of)}", flush=True)


STUDIES = {"changes": (changes, 20), "shaken": (shaken, 6), "channels": (channels, 3)}

if __name__ == "__main__":
    words = sys.argv[1:]
    study, n_seeds = STUDIES.get(words[0] if words else "", (None, 50))
    n_seeds = next((int(word) for word in words if word.isdigit()), n_seeds)
    if study in (shaken, channels):
        study(n_seeds)
        sys.exit()
    known_motion = motion_of(transient_solution(demo_run(COURSE_NAMES[0]), car="marigold", gradients=()))
    print(f"{COURSE_NAMES[0]}, log of {known_motion.time[-1]:.1f} s")
    if study:
        study(known_motion, n_seeds)
    else:
        run_time(known_motion)
        print()
        accuracy(known_motion, n_seeds)

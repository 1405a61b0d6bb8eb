"""Run and feature times from simulated sensors through fusing: the second table of docs/models/runs.md."""

from __future__ import annotations

import numpy as np
from bench.study_runs import KINDS, feature_times, pairs_of, rms

from conewise.course.reference import lay_out
from conewise.logs.fusion import fuse
from conewise.logs.simulated import SensorNoise, simulated_log
from tests.agreement.test_recorded_runs import known_motion
from tests.driven import Drive, day_of
from tests.solved import COURSE_NAMES, demo_course

N_DAYS = 4
SENSORS = {
    "25 Hz to 2 cm": SensorNoise(receiver_rate=25.0, slow_position=0.02, white_position=0.01, delay=0.05),
    "10 Hz to 0.5 m": SensorNoise(),
    "10 Hz to 1.5 m, a minute's memory": SensorNoise(slow_position=1.5, correlation_time=60.0),
    "1 Hz to 2 m, receiver only": SensorNoise(
        receiver_rate=1.0, slow_position=2.0, white_position=0.3, correlation_time=60.0, inertial_rate=0.0
    ),
    "1 Hz to 3 m": SensorNoise(receiver_rate=1.0, slow_position=3.0, white_position=0.3, correlation_time=60.0),
}
DRIVES = [
    Drive(friction=0.75),
    Drive(until=150.0, leave=8.0),
    Drive(friction=0.8, offset=lambda station: 0.3 * np.sin(station / 10.0)),
    Drive(friction=0.85, offset=lambda station: 0.3 * np.cos(station / 14.0)),
]

if __name__ == "__main__":
    geometry = lay_out(demo_course(COURSE_NAMES[0]))
    day = day_of(geometry, DRIVES)
    known = known_motion(day)
    exact = [t for _, t in pairs_of(geometry, day.track(np.random.default_rng(0)), is_shifted=False)]
    for name, noise in SENSORS.items():
        right, errors, in_features, sideways = 0, [], [], []
        for seed in range(N_DAYS):
            track = fuse(simulated_log(known, rng=np.random.default_rng(seed), noise=noise))
            pairs = pairs_of(geometry, track, is_shifted=True)
            right += sum(run.kind == kind for (run, _), kind in zip(pairs, KINDS, strict=False))
            for run, trace in pairs:
                k = int(np.argmin([abs(start - run.start.time) for start, _ in day.truth]))
                if trace is not None and exact[k] is not None:
                    start, finish = day.truth[k]
                    errors.append(run.time - (finish - start))
                    in_features += list(feature_times(geometry, trace) - feature_times(geometry, exact[k]))
                    sideways += list(trace.lateral_offset - exact[k].lateral_offset)
        print(
            f"| {name} | {right} of {N_DAYS * len(KINDS)} | {1e3 * rms(errors):.0f} ms "
            f"| {1e3 * rms(in_features):.0f} ms | {rms(sideways):.2f} m |"
        )

"""How often the 90% intervals of a breakdown hold the truth: drivers whose line and speed are known, simulated logs.

Every run is solved by the transient solver, as in the debrief itself. What is worked out is kept in a folder, so that
a study that was stopped goes on where it was; the table is of all that is there.

    python -m bench.study_breakdown SENSORS FOLDER FIRST COUNT
"""

from __future__ import annotations

import pickle
import sys
from pathlib import Path
from time import process_time

import numpy as np
from scipy.stats import beta

from conewise.course.reference import lay_out
from conewise.errors import ConvergenceError
from conewise.solver.min_time import Settings, solve_run
from conewise.sweeps import base_of
from conewise.vehicle import build
from conewise.workflows import predict
from tests.cars import DEMO_NAMES, demo_car
from tests.known_drivers import SENSORS, judged, known_driver, recorded_driver
from tests.solved import COURSE_NAMES, demo_course


def kept(file, made):
    """What a file holds; made and written where it is not there."""
    if not file.exists():
        file.write_bytes(pickle.dumps(made()))
    return pickle.loads(file.read_bytes())


def free_base(car):
    geometry = lay_out(demo_course(COURSE_NAMES[0]))
    settings = Settings(shift_time=build.gearbox(car).shift_time)
    return base_of(solve_run(geometry, predict.parameters(geometry, car), settings=settings))


def one(free, car, folder, *, seed, sensors):
    """The debrief of one driver beside the truth."""
    driver = kept(folder / f"driver-{seed}.pkl", lambda: known_driver(free, seed))
    rng = np.random.default_rng(10_000 + seed)
    return judged(recorded_driver(free, car, driver, rng=rng, noise=SENSORS[sensors]), driver, rng)


def share(hits):
    """How many of how many, with the 95% limits of Clopper and Pearson."""
    k, n = int(np.sum(hits)), int(np.size(hits))
    low = beta.ppf(0.025, k, n - k + 1) if k else 0.0
    high = beta.ppf(0.975, k + 1, n - k) if k < n else 1.0
    return f"{k} of {n} ({k / n:.2f}; {low:.2f} to {high:.2f})"


def rms(values):
    return f"{1e3 * np.sqrt(np.mean(np.square(values))):.0f} ms"


def report(found):
    parts, holds = np.array([one.parts for one in found]), np.array([one.holds for one in found])
    error, spread = (np.sqrt(np.mean([getattr(one, f"line_{k}") ** 2 for one in found])) for k in ("error", "spread"))
    print(f"\n{len(found)} drivers; lines err by {error:.3f} m, drawn ones scatter by {spread:.3f} m;", end=" ")
    print(f"parts miss the gap by {1e3 * max(abs(one.off) for one in found):.4f} ms at most;", end=" ")
    print(f"least line of a whole run {parts[:, 0, -1, 0].min():+.3f} s")
    print(
        "| part | of features | of the whole | a feature: error, half width | the whole: error, its mean, half width |"
    )
    print("|---|---|---|---|---|")
    for k, name in enumerate(("line", "speed")):
        told, half, true = np.moveaxis(parts[:, k], -1, 0)
        off = told - true
        feature = f"{rms(off[:, :-1])}, {rms(half[:, :-1])}"
        whole = f"{rms(off[:, -1])}, {1e3 * off[:, -1].mean():+.0f} ms, {rms(half[:, -1])}"
        row = [name, share(holds[:, k, :-1]), share(holds[:, k, -1]), feature, whole]
        print("| " + " | ".join(row) + " |", flush=True)


def main():
    sensors, folder, first, count = sys.argv[1], Path(sys.argv[2]), int(sys.argv[3]), int(sys.argv[4])
    car = demo_car(DEMO_NAMES[0])
    free = kept(folder / "free.pkl", lambda: free_base(car)).run()
    for seed in range(first, first + count):
        file, began = folder / f"{sensors}-{seed}.pkl", process_time()
        if file.exists():
            continue
        try:
            kept(file, lambda seed=seed: one(free, car, folder, seed=seed, sensors=sensors))
            print(f"{seed}: {process_time() - began:.1f} s", flush=True)
        except ConvergenceError as stopped:
            print(f"{seed}: {stopped.message}", flush=True)
    report([pickle.loads(file.read_bytes()) for file in sorted(folder.glob(f"{sensors}-*.pkl"))])


if __name__ == "__main__":
    main()

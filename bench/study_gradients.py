"""Every gradient of the model against central differences (plus and minus 0.5%, warm, to 1e-8), demo courses and cars.

PYTHONPATH=. python bench/study_gradients.py [--courses NAME ...] [--cars NAME ...]
"""

import numpy as np
from bench.demo_runs import demo_runs

from conewise.errors import ConewiseError
from conewise.solver.sensitivity import by_parameter
from conewise.vehicle.parameters import ModelParameters
from tests.solved import TIGHT, tight

NAMES = ModelParameters.names()
STEP, WITHIN, AT_LEAST = 0.005, 0.03, 3e-4
CLOSER = 1e-4  # a base that is faster by less is the same one [s]


def compare(problem, base):
    """Rows of name, told and measured seconds per 1% (NaN where a re-solve stopped), and the runs on the way."""
    told, middle = by_parameter(problem, base), problem.p.vector()
    rows, sides = [], []
    for i, name in enumerate(NAMES):
        if middle[i] == 0.0:
            continue
        times = []
        for sign in (1.0, -1.0):
            values = middle.copy()
            values[i] *= 1.0 + sign * STEP
            try:
                point = problem.changed(p=ModelParameters.from_vector(values)).warm(base, tol=TIGHT)
            except ConewiseError:
                times.append(np.nan)
                continue
            times.append(point.time)
            sides.append((name, point))
        rows.append((name, told[i] * middle[i] / 100.0, (times[0] - times[1]) / (2.0 * STEP) / 100.0))
    return rows, sides


def outside(rows):
    """Rows whose told value is not within the tolerance of the measured one."""
    return [r for r in rows if not abs(r[1] - r[2]) <= max(WITHIN * abs(r[2]), AT_LEAST)]


def better_base(problem, base, sides, names):
    """The fastest run without a change that a way back finds; None where none is faster by more than solves differ.

    A re-solve that fell into a better optimum beside the base's measures the way there as well as the slope.
    """
    back = []
    for name, point in sides:
        if name in names:
            try:
                back.append(problem.warm(point, tol=TIGHT))
            except ConewiseError:
                continue
    fastest = min(back, key=lambda point: point.time, default=base)
    return fastest if fastest.time < base.time - CLOSER else None


def show(title, rows):
    wrong = outside(rows)
    print(f"{title}: {len(rows) - len(wrong)} of {len(rows)} within", flush=True)
    for name, told, measured in sorted(rows, key=lambda r: -abs(r[1]))[:12]:
        print(f"    {name:32s} told {1e3 * told:9.3f}  measured {1e3 * measured:9.3f} ms per 1%")
    for name, told, measured in wrong:
        print(f"  ! {name:32s} told {1e3 * told:9.3f}  measured {1e3 * measured:9.3f} ms per 1%")


def main():
    for course, car, run in demo_runs(__doc__):
        base = tight(run)
        rows, sides = compare(run.problem, base)
        show(f"{course}, {car}", rows)
        better = better_base(run.problem, base, sides, {name for name, _, _ in outside(rows)})
        if better is not None:
            rows, _ = compare(run.problem, better)
            show(f"{course}, {car}, from a run {1e3 * (base.time - better.time):.2f} ms faster", rows)


if __name__ == "__main__":
    main()

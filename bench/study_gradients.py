"""Every gradient of the model against central differences (plus and minus 0.5%, warm, to 1e-8), demo courses and cars.

PYTHONPATH=. python bench/study_gradients.py [--courses NAME ...] [--cars NAME ...]

Numbers that bend at the limiter are told from re-solves themselves, begun at another barrier than those here; their
derivatives are listed beside.
"""

import numpy as np
from bench.demo_runs import demo_runs

from conewise.solver.limiter_bend import FIRST_BARRIERS, beside_the_limiter, numbers_that_bend, tightly
from conewise.solver.sensitivity import by_parameter
from conewise.vehicle.parameters import ModelParameters
from tests.solved import tight

NAMES = ModelParameters.names()
STEP, WITHIN, AT_LEAST = 0.005, 0.03, 3e-4
CLOSER = 1e-4  # a base that is faster by less is the same one [s]


def compare(problem, base):
    """Rows of name, told and measured seconds per 1% (NaN where a re-solve stopped), and the runs on the way."""
    middle, slopes = problem.p.vector(), by_parameter(problem, base)
    both = beside_the_limiter(problem, base, slopes)
    told = (both.less + both.more) / 2.0
    bends = numbers_that_bend(problem, base)
    rows, sides = [], []
    for i, name in enumerate(NAMES):
        if middle[i] == 0.0:
            continue
        times = []
        for sign in (1.0, -1.0):
            values = middle.copy()
            values[i] *= 1.0 + sign * STEP
            order = FIRST_BARRIERS[::-1] if name in bends else FIRST_BARRIERS
            point = tightly(problem.changed(p=ModelParameters.from_vector(values)), base, barriers=order)
            times.append(point.time if point else np.nan)
            if point:
                sides.append((name, point))
        rows.append((name, told[i] * middle[i] / 100.0, (times[0] - times[1]) / (2.0 * STEP) / 100.0))
        if name in bends:
            less, at, more = (1e3 * s[i] * middle[i] / 100.0 for s in (both.less, slopes, both.more))
            print(f"    {name:32s} bends: less {less:8.3f}  derivative {at:8.3f}  more {more:8.3f} ms per 1%")
    return rows, sides


def outside(rows):
    """Rows whose told value is not within the tolerance of the measured one."""
    return [r for r in rows if not abs(r[1] - r[2]) <= max(WITHIN * abs(r[2]), AT_LEAST)]


def better_base(problem, base, sides, names):
    """The fastest run without a change that a way back finds; None where none is faster by more than solves differ.

    A re-solve that fell into a better optimum beside the base's measures the way there as well as the slope.
    """
    back = [tightly(problem, point) for name, point in sides if name in names]
    back = [point for point in back if point]
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

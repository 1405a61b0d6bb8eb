"""Every cone's price over 0.05 s/m against re-solves with 5 cm less and 5 cm more margin at that cone alone.

    PYTHONPATH=. python bench/study_prices.py [--courses NAME ...] [--cars NAME ...]

Warm, on the frozen finer mesh that prices are taken from, with frozen gears, to 1e-8. Where a difference is
far off, the same with 1 cm tells a price that was told wrong from one that changes within 10 cm.
"""

import numpy as np
from bench.demo_runs import demo_runs

from conewise.errors import ConewiseError
from conewise.solver.fine_prices import finer
from conewise.solver.sensitivity import cone_prices
from tests.solved import TIGHT, tight

DEAR = 0.05  # [s/m]
WITHIN = 0.05
STEP, SMALL_STEP = 0.05, 0.005  # margin either way [m]


def measured(problem, base, cone, step):
    """Central difference of the time by the margin of one pass; NaN where a re-solve stopped. [s/m]"""
    times = []
    for side in (1.0, -1.0):
        margins = problem.margins.copy()
        margins[cone] += side * step
        try:
            times.append(problem.changed(margins=margins).warm(base, tol=TIGHT).time)
        except ConewiseError:
            return np.nan
    return (times[0] - times[1]) / (2.0 * step)


def main():
    for course, car, delivered in demo_runs(__doc__):
        run = finer(delivered)  # from which prices are delivered
        base = tight(run)
        prices = cone_prices(run.problem, base)
        dear = np.flatnonzero(prices > DEAR)
        rows = [(k, prices[k], measured(run.problem, base, k, STEP)) for k in dear]
        wrong = [row for row in rows if not abs(row[1] / row[2] - 1.0) < WITHIN]
        print(f"{course}, {car}: {len(rows) - len(wrong)} of {len(rows)} within {WITHIN:.0%}", flush=True)
        for k, told, found in wrong:
            cone, near = run.problem.geometry.passes[k], measured(run.problem, base, k, SMALL_STEP)
            print(f"  ! {cone.id:12s} told {told:7.4f}, 10 cm {found:7.4f}, 1 cm {near:7.4f} s/m", flush=True)


if __name__ == "__main__":
    main()

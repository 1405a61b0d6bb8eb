"""What halving the mesh does to the time and to every price over 0.05 s/m, with the gears changed where they were.

    PYTHONPATH=. python bench/study_mesh.py [--seeded 20 | --seeds 12 14]

The halved mesh starts from the delivered run. A gear plan is a choice of its own: with `--anew` the fine run is solved
from nothing and may choose another.
"""

import argparse
from dataclasses import replace

import numpy as np

from conewise.errors import ConewiseError
from conewise.solver.fine_prices import finely_priced, finer
from conewise.solver.solution import transient_solution
from tests.cars import DEMO_NAMES
from tests.courses import club_course
from tests.solved import COURSE_NAMES, demo_course, settings_of, solved

HALF = 0.5


def row(name, course, car, *, anew):
    """One line of the table."""
    try:
        coarse = solved(course, car)
        fine = solved(course, car, settings=replace(settings_of(car), refine=HALF)) if anew else finer(coarse, HALF)
    except ConewiseError as error:
        return f"{name:20s} {car:10s} stopped: {error}"
    change = fine.point.time / coarse.point.time - 1.0
    first, second = (priced(run) for run in (coarse, fine))
    dear = {key for key, price in second.items() if price > 0.05}
    off = max((abs(first.get(key, 0.0) / second[key] - 1.0) for key in dear), default=0.0)
    within = np.mean([abs(first.get(key, 0.0) / second[key] - 1.0) < 0.05 for key in dear])
    verdict = "" if abs(change) < 1e-3 and off < 0.05 else "  !"
    return (
        f"{name:20s} {car:10s} {coarse.point.time:8.3f} s  {change:+.3%}  prices: {len(dear)} over 0.05 s/m, "
        f"{within:.0%} within 5%, worst {off:.1%}{verdict}"
    )


def priced(run):
    """Price by cone and crossing, as they are delivered: from a finer mesh."""
    told = finely_priced(transient_solution(run)).cones
    passes = run.problem.geometry.passes
    return {(c.id, c.feature, c.crossing): cone.price for c, cone in zip(passes, told, strict=True)}


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seeded", type=int, default=20)
    parser.add_argument("--seeds", type=int, nargs="*")
    parser.add_argument("--anew", action="store_true")
    parser.add_argument("--cars", nargs="*", default=DEMO_NAMES)
    asked = parser.parse_args()
    courses = [] if asked.seeds else [(name, demo_course(name)) for name in COURSE_NAMES]
    courses += [(f"seed {seed}", club_course(seed)) for seed in asked.seeds or range(asked.seeded)]
    for name, course in courses:
        for car in asked.cars:
            print(row(name, course, car, anew=asked.anew), flush=True)


if __name__ == "__main__":
    main()

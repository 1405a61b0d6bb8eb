"""Whether less is never faster: friction, power and room taken away on the demo courses and seeded ones, three cars.

    PYTHONPATH=. python bench/study_order.py [--seeded 20]

Every lesser problem is solved on the path and mesh of the full one. Where it comes out faster, the full one is started
again from it (design section 7) and has to be as fast.
"""

import argparse
from dataclasses import replace

from conewise.errors import ConewiseError
from conewise.solver.min_time import rerun
from tests.cars import DEMO_NAMES
from tests.courses import club_course
from tests.solved import COURSE_NAMES, demo_course, solved

CLOSES = 1e-3  # what two solves of one problem may differ by [s]
ROOM = 0.02  # [m]


def less_friction(p):
    return replace(p, surface=0.99 * p.surface)


def less_power(p):
    return replace(p, torque=tuple(0.98 * t for t in p.torque))


LESSER = {"1% friction": less_friction, "2% power": less_power, "2 cm of room": None}


def lesser(run, change):
    """The run with less."""
    if change is None:
        return rerun(run, run.problem.p, margins=run.problem.margins + ROOM)
    return rerun(run, change(run.problem.p))


def verdict(run, name):
    """How much slower the lesser run is, in words, and whether the order holds."""
    try:
        less = lesser(run, LESSER[name])
    except ConewiseError as error:
        return f"{name}: stopped ({error})", False
    slower = less.point.time - run.point.time
    if slower >= -CLOSES:
        return f"{name} {slower:+.4f} s", True
    again = rerun(less, run.problem.p, margins=run.problem.margins)
    gained = less.point.time - again.point.time
    return f"{name} {slower:+.4f} s, the full one from there {-gained:+.4f} s", gained >= -CLOSES


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seeded", type=int, default=20)
    asked = parser.parse_args()
    courses = [(name, demo_course(name)) for name in COURSE_NAMES]
    courses += [(f"seed {seed}", club_course(seed)) for seed in range(asked.seeded)]
    n_held = n_all = 0
    for name, course in courses:
        for car in DEMO_NAMES:
            answers = [verdict(run, what) for run in [solved(course, car)] for what in LESSER]
            n_held, n_all = n_held + sum(holds for _, holds in answers), n_all + len(answers)
            mark = "" if all(holds for _, holds in answers) else "  !"
            print(f"{name:18s} {car:10s} {'; '.join(words for words, _ in answers)}{mark}", flush=True)
    print(f"\nthe order holds in {n_held} of {n_all}")


if __name__ == "__main__":
    main()

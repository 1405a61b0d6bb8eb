"""How many seeded courses, with how many cars, are solved and pass every check; whatever does not is listed.

PYTHONPATH=. python bench/study_fleet.py --courses 200 --cars 3 [--odd | --oddest] [--processes 2] [--first 0]

`--odd` adds three cars that nobody would build, each made of the demo car that is nearest to it; `--oddest` makes all
of them of all demo cars.
"""

import argparse
from dataclasses import replace
from statistics import median
from time import perf_counter

from joblib import Parallel, delayed

from conewise.course.reference import lay_out
from conewise.errors import ConewiseError
from conewise.solver.min_time import solve_run
from tests.cars import DEMO_NAMES
from tests.courses import club_course
from tests.solved import model, settings_of

ODD = {"very stiff rear": "pepper", "70% front weight": "pepper", "400 kW": "marigold"}  # each made of a car like it


def odd(p, kind):
    """A car that nobody would build."""
    if kind == "very stiff rear":
        return replace(p, roll_stiffness_rear=5.0 * p.roll_stiffness_rear)
    if kind == "70% front weight":
        return replace(p, cg_to_front=0.3 * p.wheelbase)
    speed = p.engine_speed_limit * 0.8
    factor = 400e3 / (max(p.torque) * speed)
    return replace(p, torque=tuple(factor * t for t in p.torque))


def outcome(seed, car, kind):
    """Seed, car, seconds, time, nodes, iterations, what failed."""
    course = club_course(seed)
    p = model(car, course)
    p = p if kind is None else odd(p, kind)
    name, began = car if kind is None else f"{car}, {kind}", perf_counter()
    try:
        run = solve_run(lay_out(course), p, settings=settings_of(car))
    except ConewiseError as error:
        return seed, name, perf_counter() - began, float("nan"), 0, 0, f"{type(error).__name__}: {error}"
    failed = "; ".join(f"{c.name} {c.value:.4g} (limit {c.limit:.4g}) at {c.where}" for c in run.checks if not c.ok)
    iterations = run.iterations
    return seed, name, perf_counter() - began, run.point.time, len(run.problem.mesh.station), iterations, failed


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--courses", type=int, default=200)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--cars", type=int, default=3)
    parser.add_argument("--odd", action="store_true")
    parser.add_argument("--oddest", action="store_true")
    parser.add_argument("--processes", type=int, default=2)
    asked = parser.parse_args()
    cars = [(car, None) for car in DEMO_NAMES[: asked.cars]]
    if asked.odd:
        cars += [(car, kind) for kind, car in ODD.items()]
    if asked.oddest:
        cars += [(car, kind) for kind in ODD for car in DEMO_NAMES]
    tasks = [(seed, *car) for seed in range(asked.first, asked.first + asked.courses) for car in cars]
    answers = []
    for answer in Parallel(n_jobs=asked.processes, return_as="generator")(delayed(outcome)(*task) for task in tasks):
        answers.append(answer)
        seed, name, seconds, time, nodes, iterations, failed = answer
        print(
            f"{seed:4d}  {name:28s} {seconds:6.1f} s  run {time:7.3f} s  {nodes:4d} nodes  {iterations:4d} iterations  "
            f"{failed or 'passed'}",
            flush=True,
        )
    passed = sum(not answer[-1] for answer in answers)
    stopped = sum(answer[4] == 0 for answer in answers)
    print(f"\n{passed} of {len(answers)} passed every check ({passed / len(answers):.1%}); {stopped} stopped unsolved")
    print(f"median {median(answer[2] for answer in answers):.1f} s a run, layout included")


if __name__ == "__main__":
    main()

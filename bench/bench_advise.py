"""Advice on 40 changes and 3 courses: the linear table after the base solves, every change solved, the packages.

PYTHONPATH=. python bench/bench_advise.py [--changes N] [--workers N]

With one worker the time stated is processor time; two workers take half of it where two cores are free.
"""

import argparse
import datetime as dt
import os
import resource
import time
from decimal import Decimal
from pathlib import Path

import conewise.demo
from conewise.advisor.rows import Row
from conewise.cars.car_file import read_car
from conewise.cars.change import Change, Edit
from conewise.cars.driver import typical_driver
from conewise.course.files import read_course
from conewise.course.reference import lay_out
from conewise.money import Money
from conewise.quantities import Origin, Sourced
from conewise.solver.min_time import Settings, solve_run
from conewise.sweeps import base_of, slopes_and_lean
from conewise.vehicle import build
from conewise.vehicle.staging import staged
from conewise.workflows import effects
from conewise.workflows.directions import Work
from conewise.workflows.packages import PackageSearch, Wanted
from tests.courses import club_course

DEMO = Path(conewise.demo.__file__).parent
FIELDS = (
    ("tyre", ("front.tyre.friction", "rear.tyre.friction"), (1.02, 1.04)),
    ("tyre", ("front.tyre.section_width", "rear.tyre.section_width"), (1.05, 1.10)),
    ("tyre", ("front.tyre.cornering_coefficient", "rear.tyre.cornering_coefficient"), (0.95, 1.05)),
    ("wheel", ("front.wheel.mass", "rear.wheel.mass"), (0.85, 0.92)),
    ("spring", ("front.spring_rate",), (0.9, 1.1, 1.25)),
    ("spring", ("rear.spring_rate",), (0.9, 1.1, 1.25)),
    ("bar", ("front.bar_diameter",), (0.92, 1.04, 1.08)),
    ("bar", ("rear.bar_diameter",), (0.92, 1.08, 1.15)),
    ("damper", ("front.damping",), (0.8, 1.25)),
    ("damper", ("rear.damping",), (0.8, 1.25)),
    ("camber", ("front.camber",), (0.8, 1.2)),
    ("camber", ("rear.camber",), (0.8, 1.2)),
    ("power", ("engine.torque_scale",), (1.03, 1.06)),
    ("gearing", ("transmission.final_drive",), (0.95, 1.05)),
    ("brake", ("front.brake.pad_friction",), (0.95, 1.06)),
    ("differential", ("rear.differential.preload",), (0.5, 1.6)),
    ("mass", ("mass.total",), (0.97, 0.99)),
    ("other", ("body.cg_height",), (0.97,)),
    ("other", ("steering.ratio",), (0.9,)),
)


def generated(n):
    """The first n changes of the list, priced by their place."""
    found = [
        Change(
            name=f"{' and '.join(fields)} x {factor}",
            kind=kind,
            price=Money(Decimal(100 + 37 * ((7 * k) % 23)), "EUR"),
            hours=float(1 + k % 6),
            edits=(Edit(fields=fields, action="scale", value=amount(factor)),),
        )
        for k, (kind, fields, factor) in enumerate(
            (kind, fields, factor) for kind, fields, factors in FIELDS for factor in factors
        )
    ]
    return tuple(found[:n])


def amount(factor):
    return Sourced(value=factor, uncertainty=0.1 * abs(factor - 1.0), origin=Origin.SPEC_SHEET)


def spent():
    """Processor time of this process and of its children. [s]"""
    children = resource.getrusage(resource.RUSAGE_CHILDREN)
    return time.process_time() + children.ru_utime + children.ru_stime


def timed(what, run):
    cpu, wall = spent(), time.perf_counter()
    answer = run()
    print(f"{what:44s} {spent() - cpu:7.1f} s of processor, {time.perf_counter() - wall:7.1f} s of wall", flush=True)
    return answer


def solved_bases(work):
    """The runs without a change, as they come first: what `line` compares them with is not part of this bench."""
    found = effects.Bases(bases=[], slopes=[], leans=[])
    for course in work.courses:
        geometry = lay_out(course)
        settings = Settings(shift_time=build.gearbox(work.car).shift_time)
        run = solve_run(geometry, staged(work.parameters(work.car), geometry), settings=settings)
        slopes, lean = slopes_and_lean(run)
        found.bases.append(base_of(run))
        found.slopes.append(slopes)
        found.leans.append(lean)
    return found


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--changes", type=int, default=40)
    parser.add_argument("--solved", type=int, default=1000, help="how many of the changes are solved")
    parser.add_argument("--workers", type=int, default=os.cpu_count())
    told = parser.parse_args()
    courses = [read_course(path) for path in sorted((DEMO / "courses").glob("*.toml"))] + [club_course(3, length=400.0)]
    work = Work(
        courses=tuple(courses),
        car=read_car(DEMO / "cars" / "marigold.toml"),
        changes=generated(told.changes),
        driver=typical_driver("expert"),
        pace=0.97,
        surface=1.0,
        workers=told.workers,
        day=dt.date(2026, 5, 1),
    )
    print(f"{told.changes} changes, {len(courses)} courses, {told.workers} workers, load {os.getloadavg()[0]:.1f}")
    bases = timed("base solves, one side and one use of the gears", lambda: solved_bases(work))
    print([f"{base.point.time:.3f} s, {len(base.mesh.station)} nodes" for base in bases.bases], flush=True)

    def linear():
        found = work.directions()
        return found, effects.by_derivatives(work, bases, found)

    directions, _ = timed("directions and linear table", linear)
    directions = directions[:: max(1, len(directions) // told.solved)]
    evaluation = effects.Evaluation(work=work, bases=bases, directions=directions, step=None)
    print(f"{len(directions)} of them are solved", flush=True)
    found = timed("every change on every course", evaluation.effects)
    rows = {d.option.name: Row(option=d.option, effects=e) for d, e in zip(directions, found, strict=True)}
    solved = [effect for row in rows.values() for effect in row.solved]
    open_ones = [abs(effect.closure) for effect in solved if abs(effect.closure) > 1e-3]
    own = sum(effect.own_mesh for effect in solved)
    print(f"solved {len(solved)} of {len(directions) * len(courses)}, on a mesh of its own {own}")
    print(f"round trips open by more than 1 ms: {len(open_ones)}, worst {1e3 * max(open_ones, default=0.0):.1f} ms")
    if len(directions) <= told.changes:
        return
    search = PackageSearch(
        work=work, evaluation=evaluation, rows=rows, wanted=Wanted(budget=Money(Decimal(1500), "EUR"), hours=None)
    )
    answer = timed("five packages, solved as wholes and by steps", search.answer)
    for package in answer.packages:
        names = ", ".join(package.names)
        print(f"  {package.row.gain:.3f} s (expected {package.expected:.3f}), {package.price}: {names}")


if __name__ == "__main__":
    main()

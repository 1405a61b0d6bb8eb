"""Sign and size of every kind of change on a slalom-heavy, a fast and a tight course, beside bands of common practice.

PYTHONPATH=. python bench/study_changes.py [--courses NAME ...] [--car NAME]

A gain is in percent of the time without the change; above zero is faster. Bands are common practice, no source.
"""

import argparse

from conewise import sweeps
from conewise.cars.car import DifferentialKind
from conewise.cars.change import Change, Edit, MovedMass, changed_car
from conewise.course.reference import lay_out
from conewise.errors import ConewiseError
from conewise.quantities import Origin, Sourced
from conewise.solver.min_time import Settings, solve_run
from conewise.vehicle import build
from conewise.vehicle.staging import staged, staged_like
from tests.cars import DEMO_NAMES, demo_car
from tests.courses import fast_course, slalom_heavy_course, tight_course

COURSES = {"slalom-heavy": slalom_heavy_course, "fast": fast_course, "tight": tight_course}
DEG = 0.017453292519943295
BOTH = ("front", "rear")
KIND = "rear.differential.kind"
OPEN, LOCKED = DifferentialKind.OPEN.value, DifferentialKind.LOCKED.value
LIFT = ("body.lift_area_front", "body.lift_area_rear")


def amount(value):
    return Sourced(value=value, uncertainty=0.0, origin=Origin.SPEC_SHEET)


def edited(action, value, *fields):
    return Edit(fields=fields, action=action, value=value if isinstance(value, str) else amount(value))


def on_both(action, value, field):
    return edited(action, value, *(f"{axle}.{field}" for axle in BOTH))


# name, kind, edits, least and greatest gain that common practice expects on any of the courses [% of the time]
CHANGES = (
    ("20 kg out, at the centre of gravity", "mass", (MovedMass(mass=amount(-20.0)),), 0.05, 0.5),
    ("friction +2%", "tyre", (on_both("scale", 1.02, "tyre.friction"),
                              on_both("scale", 1.02, "tyre.friction_longitudinal")), 0.4, 1.1),
    ("tyres 20 mm wider", "tyre", (on_both("add", 0.02, "tyre.section_width"),), -0.2, 1.0),
    ("treadwear 200 to 140", "tyre", (on_both("set", 140.0, "tyre.treadwear"),), 0.3, 2.5),
    ("wheels 2.4 kg lighter each", "wheel", (on_both("add", -2.4, "wheel.mass"),), 0.05, 0.5),
    ("wheels 8 mm further out", "wheel", (on_both("add", -0.008, "wheel.offset"),), -0.1, 0.3),
    ("springs +25%", "spring", (on_both("scale", 1.25, "spring_rate"),), -0.2, 0.5),
    ("front springs +25%", "spring", (edited("scale", 1.25, "front.spring_rate"),), -0.4, 0.4),
    ("rear springs +25%", "spring", (edited("scale", 1.25, "rear.spring_rate"),), -0.4, 0.4),
    ("front bar 2 mm thicker", "bar", (edited("add", 0.002, "front.bar_diameter"),), -0.3, 0.3),
    ("rear bar 2 mm thicker", "bar", (edited("add", 0.002, "rear.bar_diameter"),), -0.3, 0.3),
    ("dampers +30%", "damper", (on_both("scale", 1.3, "damping"),), -0.2, 0.3),
    ("front camber 1 deg more negative", "camber", (edited("add", -DEG, "front.camber"),), -0.4, 0.4),
    ("front toe-out 0.15 deg a wheel", "alignment", (edited("add", -0.15 * DEG, "front.toe"),), -0.1, 0.1),
    ("power +10%", "power", (edited("scale", 1.1, "engine.torque_scale"),), 0.1, 0.8),
    ("final drive 5% shorter", "gearing", (edited("scale", 1.05, "transmission.final_drive"),), -0.5, 0.5),
    ("differential open", "differential", (edited("set", OPEN, KIND),), -1.5, 1.5),
    ("differential locked", "differential", (edited("set", LOCKED, KIND),), -1.5, 1.5),
    ("front pads +8%", "brake", (edited("scale", 1.08, "front.brake.pad_friction"),), -0.2, 0.2),
    ("drag area −10%", "air", (edited("scale", 0.9, "body.drag_area"),), 0.0, 0.1),
    ("downforce area 0.3 m2 on each axle", "air", (edited("add", 0.3, *LIFT),), 0.0, 0.8),
    ("centre of gravity 20 mm lower", "other", (edited("add", -0.02, "body.cg_height"),), 0.0, 0.5),
    ("steering 10% quicker", "other", (edited("scale", 0.9, "steering.ratio"),), 0.0, 0.3),
)  # fmt: skip


def change_of(name, kind, entries):
    edits = tuple(entry for entry in entries if isinstance(entry, Edit))
    return Change(name=name, kind=kind, edits=edits, masses=tuple(e for e in entries if isinstance(e, MovedMass)))


def study(course_name, car_name):
    car, geometry = demo_car(car_name), lay_out(COURSES[course_name]())
    settings = Settings(shift_time=build.gearbox(car).shift_time)
    run = solve_run(geometry, staged(build.model_parameters(car), geometry), settings=settings)
    failed = [check.name for check in run.checks if not check.ok]
    print(f"{course_name}, {car_name}: {run.point.time:.3f} s, failed checks: {failed or 'none'}", flush=True)
    base = sweeps.base_of(run)
    for name, kind, entries, low, high in CHANGES:
        try:
            p = staged_like(build.model_parameters(changed_car(car, change_of(name, kind, entries))), base.p)
        except ConewiseError as error:
            print(f"  {name:36s} {error}", flush=True)
            continue
        asked = sweeps.Question(course=0, name=name, p=p, shift_time=settings.shift_time)
        found = sweeps.resolved(base, asked)
        if found.stopped:
            print(f"  {name:36s} not solved: {found.stopped}", flush=True)
            continue
        before = found.reference if found.own_mesh else min(base.point.time, found.back)
        gain = 100.0 * (before - found.time) / base.point.time
        mark = "" if low <= gain <= high else "  outside"
        print(f"  {name:36s} {gain:+7.3f} %  band {low:+.2f} to {high:+.2f}{mark}", flush=True)


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--courses", nargs="*", default=list(COURSES))
    parser.add_argument("--car", default=DEMO_NAMES[0])
    asked = parser.parse_args()
    for name in asked.courses:
        study(name, asked.car)


if __name__ == "__main__":
    main()

"""Courses made by hand and solves that several tests look at; a process solves each of them once."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import numpy as np

import conewise
from conewise.course.files import read_course
from conewise.course.layout import Cone, ConePass, Course, CourseFeature, FeatureKind, PassSide
from conewise.course.reference import lay_out
from conewise.solver.min_time import Settings, solve_run
from conewise.vehicle import build
from tests.cars import DEMO_NAMES, demo_car
from tests.courses import club_course

DEMO_COURSES = Path(conewise.__file__).parent / "demo" / "courses"
COURSE_NAMES = ("harbour-yard", "old-mill-airfield")
SHORT_SEED, SHORT_LENGTH = 2, 120.0  # gates, an offset gate and a sweeper on 159 m
TIGHT = 1e-8  # what both ends of a difference are solved to


def model(name, course, **edits):
    """The numbers of a demo car on a course."""
    return replace(build.model_parameters(demo_car(name)), staging=course.staging, **edits)


def settings_of(name, **others):
    """Settings with the gearbox of a demo car."""
    return Settings(shift_time=build.gearbox(demo_car(name)).shift_time, **others)


def solved(course, name, *, margins=None, settings=None, **edits):
    """A run of a demo car, solved anew."""
    return solve_run(
        lay_out(course), model(name, course, **edits), settings=settings or settings_of(name), margins=margins
    )


def short_course():
    """The shortest course with something of everything."""
    return club_course(SHORT_SEED, length=SHORT_LENGTH, n_features=3)


@lru_cache(maxsize=3)
def short_run(name=DEMO_NAMES[0]):
    """A demo car on the short course."""
    return solved(short_course(), name)


@lru_cache(maxsize=1)
def slalom_run():
    """The front-drive demo car through a row of four cones, the first passed on its right."""
    return solved(slalom_course(pass_side=PassSide.RIGHT), DEMO_NAMES[2])


def demo_course(name):
    """One of the two courses that come with the program."""
    return read_course(DEMO_COURSES / f"{name}.toml")


@lru_cache(maxsize=1)
def demo_run(course=COURSE_NAMES[0], name=DEMO_NAMES[0]):
    """A demo car on a demo course."""
    return solved(demo_course(course), name)


def tight(run, **edits):
    """The run's problem with other parameters or margins, solved to `TIGHT` on the frozen mesh with frozen gears."""
    return run.problem.changed(**edits).warm(run.point, smoothing=run.point.smoothing, barrier=1e-4, tol=TIGHT)


def gate(name, place, heading, width):
    """Two cones and how they are passed."""
    aside = width / 2.0 * np.array([-np.sin(heading), np.cos(heading)])
    left, right = np.asarray(place) + aside, np.asarray(place) - aside
    cones = (Cone(id=f"{name}l", x=left[0], y=left[1]), Cone(id=f"{name}r", x=right[0], y=right[1]))
    passes = (
        ConePass(cone=f"{name}l", pass_side=PassSide.RIGHT),
        ConePass(cone=f"{name}r", pass_side=PassSide.LEFT),
    )
    return cones, passes


def gates_along(name, places, *, width):
    """A course of one gate after the other; `places` holds x, y and heading of each."""
    cones, features = [], []
    for k, (x, y, heading) in enumerate(places):
        kind = FeatureKind.START if k == 0 else FeatureKind.FINISH if k == len(places) - 1 else FeatureKind.GATE
        pair, passes = gate(f"g{k}", (x, y), heading, width)
        cones += pair
        features.append(CourseFeature(id=f"{kind.value}-{k}", kind=kind, crossings=(passes,)))
    return Course(name=name, cones=tuple(cones), features=tuple(features))


def straight_course(length, *, spacing=30.0):
    """Gates on a straight line."""
    stations = np.linspace(0.0, length, max(2, round(length / spacing) + 1))
    return gates_along("straight", [(s, 0.0, 0.0) for s in stations], width=5.0)


def crossing_course(radius=16.0):
    """Straight in, three quarters round to the left, across the way in close behind one of its gates, out."""
    crossing, loop = 0.0, radius
    places = [(-35.0, 0.0, 0.0), (-2.0, 0.0, 0.0)]
    turns = np.linspace(0.0, 1.5 * np.pi, 6)
    places += [(loop + radius * np.sin(a), radius * (1.0 - np.cos(a)), a) for a in turns]
    places += [(crossing, -14.0, 1.5 * np.pi), (crossing, -40.0, 1.5 * np.pi)]
    return gates_along("crossing", places, width=5.0)


def slalom_course(n_cones=4, gap=18.0, *, pass_side=PassSide.EITHER):
    """A start gate, single cones in a row, a finish gate; `pass_side` is that of the first cone."""
    first, start = gate("s", (0.0, 0.0), 0.0, 5.0)
    last, finish = gate("f", (25.0 + gap * (n_cones + 0.5), 0.0), 0.0, 6.0)
    row = tuple(Cone(id=f"c{k}", x=25.0 + gap * k, y=0.0) for k in range(n_cones))
    other = {PassSide.LEFT: PassSide.RIGHT, PassSide.RIGHT: PassSide.LEFT}.get(pass_side, pass_side)
    sides = (pass_side, other)
    crossings = tuple((ConePass(cone=c.id, pass_side=sides[k % 2]),) for k, c in enumerate(row))
    return Course(
        name="slalom",
        cones=(*first, *row, *last),
        features=(
            CourseFeature(id="start", kind=FeatureKind.START, crossings=(start,)),
            CourseFeature(id="slalom", kind=FeatureKind.SLALOM, crossings=crossings),
            CourseFeature(id="finish", kind=FeatureKind.FINISH, crossings=(finish,)),
        ),
    )

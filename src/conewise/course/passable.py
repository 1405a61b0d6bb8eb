"""Gates and slaloms through which a car cannot get at all: whatever the rules say, such a course is not run."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from conewise.course.layout import FeatureKind
from conewise.course.layout_checks import gate_widths, place_of
from conewise.course.passes import ordered_crossings, sides_of
from conewise.findings import Finding, Sentence, Value

if TYPE_CHECKING:
    from collections.abc import Mapping

    from conewise.course.layout import Course, CourseFeature
    from conewise.course.passes import Crossing

# Common practice, no source: no car that is entered is narrower or turns more tightly, whatever it may be.
SMALLEST_WIDTH = 1.4  # over the body [m]
SMALLEST_RADIUS = 3.0  # of the middle of the rear axle at full lock [m]


def impassable(course: Course, *, car_width: float | None = None, turning_radius: float | None = None) -> list[Finding]:
    """Gates narrower than the car, and slaloms that ask for more lock than it has.

    Parameters
    ----------
    course : Course
    car_width : float, optional
        Over the body; of the smallest plausible car where left out. [m]
    turning_radius : float, optional
        Smallest, of the middle of the rear axle; of the smallest plausible car where left out. [m]

    Notes
    -----
    What gets through on paper may not on the lot: no room to spare and no overhang is asked for.
    """
    return [*_gates(_driven(course), car_width), *_slaloms(course, (car_width, turning_radius))]


def _driven(course: Course, choices: Mapping[str, str] | None = None) -> list[Crossing]:
    """All crossings with a side for every open feature."""
    return ordered_crossings(course, {f.id: sides_of(f)[0] for f in course.features if f.is_open} | dict(choices or {}))


def _gates(crossings: list[Crossing], car_width: float | None) -> list[Finding]:
    whose = "the car is {} wide" if car_width else "no car was named, and the smallest plausible one is {} wide"
    needed = car_width or SMALLEST_WIDTH
    return [
        Finding(
            "stop",
            "gate-below-car",
            Sentence(
                f"The gate is {{}} wide between the bases; {whose}.",
                Value(width, "length", 2),
                Value(needed, "length", 2),
            ),
            place_of(crossing),
        )
        for crossing, width in gate_widths(crossings)
        if 0.0 < width < needed
    ]


def _slaloms(course: Course, car: tuple[float | None, float | None]) -> list[Finding]:
    """The tightest place of each slalom that is too tight from whichever side it is begun."""
    width, lock = car[0] or SMALLEST_WIDTH, car[1] or SMALLEST_RADIUS
    whose = "the car turns on {}" if car[1] else "no car was named, and the smallest plausible one turns on {}"
    found = []
    for feature in course.features:
        if feature.kind is not FeatureKind.SLALOM or len(feature.crossings) < 3:
            continue
        ways = [_radii(course, feature, side, width) for side in sides_of(feature) or ("",)]
        radii = max(ways, key=min)
        tightest = int(np.argmin(radii))
        if radii[tightest] < lock:
            told = Sentence(
                f"From cone to cone a car has to turn on a radius of {{}} or less; {whose} at full lock.",
                Value(radii[tightest], "length", 1),
                Value(lock, "length", 1),
            )
            where = f"feature '{feature.id}', cones {tightest + 1} and {tightest + 2}"
            found.append(Finding("stop", "slalom-below-car", told, where))
    return found


def _radii(course: Course, feature: CourseFeature, side: str, width: float) -> list[float]:
    """Largest radius round every cone that has one before and one behind it. [m]"""
    own = [one for one in _driven(course, {feature.id: side} if side else None) if one.feature == feature.id]
    return [weaving_radius(own[k - 1 : k + 2], width) for k in range(1, len(own) - 1)]


def weaving_radius(three: list[Crossing], width: float) -> float:
    """Largest radius on which a car gets round the middle of three slalom cones; infinite where it goes straight. [m]

    Parameters
    ----------
    three : list of Crossing
        Passed on alternate sides.
    width : float
        Over the body. [m]

    Notes
    -----
    Arcs from side to side, each over half the way to either neighbour (chord d, the mean gap) with a sagitta A:
    r = (d^2 / 4 + A^2) / (2 A). A is half the width and half a base, and half of what the cone stands out of the line
    of its neighbours towards the car. The wheel is turned in no time: a driver needs more room than this.
    """
    before, here, after = (np.asarray(crossing.middle()) for crossing in three)
    chord = after - before
    reach = float(np.hypot(*chord))
    if reach == 0.0:
        return np.inf
    side = three[1].passes[0].side
    if any(crossing.passes[0].side == side for crossing in (three[0], three[2])):
        return np.inf
    left = np.array([-chord[1], chord[0]]) / reach
    out = -side * float((here - before) @ left)
    bases = np.mean([crossing.passes[0].cone.base for crossing in three])
    sagitta = 0.5 * (width + float(bases) + out)
    gap = float(np.mean([np.hypot(*(b - a)) for a, b in pairwise((before, here, after))]))
    return np.inf if sagitta <= 0.0 else (gap**2 / 4.0 + sagitta**2) / (2.0 * sagitta)

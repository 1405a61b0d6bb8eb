"""Is the course safe to run and within its rules: every check, each with a place and a reason."""

from __future__ import annotations

from typing import TYPE_CHECKING

from conewise.course.layout_checks import check_layout
from conewise.course.passable import impassable
from conewise.course.path_checks import check_path
from conewise.course.reference import lay_out
from conewise.course.rules import load
from conewise.course.said import Said
from conewise.errors import InfeasibleError
from conewise.findings import Finding, by_severity, in_system

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from conewise.course.geometry import CourseGeometry
    from conewise.course.layout import Course
    from conewise.course.path_checks import Speeds
    from conewise.course.rules import Rules
    from conewise.quantities import System


def check(
    course: Course,
    geometry: CourseGeometry | None = None,
    *,
    rules: Rules | None = None,
    car_width: float | None = None,
    turning_radius: float | None = None,
    speed: Speeds | tuple[NDArray[np.float64], NDArray[np.float64]] | None = None,
    system: System = "metric",
) -> list[Finding]:
    """All findings about a course, stops first. Local rules and the event's officials decide.

    Parameters
    ----------
    course : Course
        The course.
    geometry : CourseGeometry or None
        As it was laid out; laid out here where it is left out.
    rules : Rules or None
        Limits; by default the rule set that the course names.
    car_width : float or None
        Body width with mirrors, for gates and slaloms; that of the smallest plausible car where left out. [m]
    turning_radius : float or None
        Smallest radius that the car can drive; for slaloms that of the smallest plausible car where left out. [m]
    speed : Speeds, tuple[Array, Array] or None
        Stations [m] and predicted speeds [m/s], and how each car comes over the finish line; without it an estimate
        for a quick car serves for stopping and run-off, and the top speed is not judged.
    system : str, default "metric"
        Units of the messages: "metric" or "us".

    Raises
    ------
    conewise.rule_set.UnknownRulesError
        If the course names a rule set that is not there.

    Notes
    -----
    A course through which no path leads gets that as a finding, beside all that can be told without a path.
    """
    say = Said(system)
    limits = rules if rules is not None else load(course.rules)
    found = [
        *impassable(course, car_width=car_width, turning_radius=turning_radius),
        *check_layout(course, rules=limits, say=say),
    ]
    try:
        laid = geometry if geometry is not None else lay_out(course)
    except InfeasibleError as error:
        found.append(Finding("stop", error.code, error.message, error.where))
    else:
        found += check_path(laid, rules=limits, turning_radius=turning_radius, speed=speed, say=say)
    return by_severity(list(in_system(found, system)))

"""What every level says of a run along a course: cones with clearance, room to stop."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline

from conewise.course.quick_speed import Pace
from conewise.course.stopping import STREET, WET, Arrival, arrival_of
from conewise.course.stopping import stop_findings as course_stop_findings
from conewise.runs import FINE, Body, body_clearances
from conewise.solver.result import ConeResult
from conewise.vehicle.drivetrain import LEAST_LAUNCH, launch_acceleration, rough_power

if TYPE_CHECKING:
    from conewise.course.geometry import CourseGeometry, PassedCone
    from conewise.findings import Finding
    from conewise.vehicle.parameters import ModelParameters

Array = NDArray[np.float64]

NEAR = 8.0  # a line passes a cone within this of the cone's station [m]
WIDER = 1.3  # a line turns this much wider than the path


def body_of(p: ModelParameters) -> Body:
    """The outline of a car."""
    return Body(length=float(p.body_length), width=float(p.body_width), front_reach=float(p.front_reach))


def centre_cone_results(
    geometry: CourseGeometry,
    *,
    station: Array,
    line: Array,
    half_width: float,
    margin: float,
    prices: Array | None = None,
) -> tuple[ConeResult, ...]:
    """Cones beside a line driven by the car's centre.

    Parameters
    ----------
    geometry : CourseGeometry
    station : Array, shape (n,)
        Along the reference path. [m]
    line : Array, shape (n, 2)
        East and north of the centre. [m]
    half_width : float
        Of the body. [m]
    margin : float
        Asked for at every cone. [m]
    prices : Array, shape (n_passes,), optional
        Time lost per metre of margin; zeros where left out. [s/m]

    Returns
    -------
    tuple[ConeResult, ...]
        The clearance is that of the centre less half the width: body length and heading are not looked at.
    """
    arc = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    fine = np.arange(0.0, arc[-1], FINE)
    path = CubicSpline(arc, line)(fine)
    about = np.interp(fine, arc, station)
    answers = []
    for k, cone in enumerate(geometry.passes):
        near = np.abs(about - np.clip(cone.station, about[0], about[-1])) < NEAR
        away = np.min(np.hypot(*(path[near] - np.array([cone.x, cone.y])).T))
        price = 0.0 if prices is None else float(prices[k])
        clearance = float(away - cone.radius - half_width)
        answers.append(cone_result(cone, margin=margin, clearance=clearance, price=price))
    return tuple(answers)


def body_cone_results(
    geometry: CourseGeometry, p: ModelParameters, *, station: Array, pose: Array, margin: float
) -> tuple[ConeResult, ...]:
    """Cones beside a body that moves along a line.

    Parameters
    ----------
    geometry : CourseGeometry
    p : ModelParameters
        The body's length, width and place about the centre of gravity.
    station : Array, shape (n,)
        Of the centre of gravity along the reference path. [m]
    pose : Array, shape (n, 3)
        East and north of the centre of gravity, heading of the body. [m], [rad]
    margin : float
        Asked for at every cone. [m]
    """
    clearances = body_clearances(geometry, body_of(p), station=station, pose=pose)
    return tuple(
        cone_result(cone, margin=margin, clearance=float(clearance))
        for cone, clearance in zip(geometry.passes, clearances, strict=True)
    )


def cone_result(cone: PassedCone, *, margin: float, clearance: float, price: float = 0.0) -> ConeResult:
    """One pass of one cone with what a run says of it. [m], [m], [s/m]"""
    return ConeResult(
        id=cone.id,
        feature=cone.feature,
        is_left=cone.side > 0,
        is_standing=cone.is_standing,
        x=cone.x,
        y=cone.y,
        station=cone.station,
        price=price,
        margin=margin,
        clearance=clearance,
    )


def arrival(geometry: CourseGeometry, p: ModelParameters, speed: float) -> Arrival:
    """How a car comes over the finish line at a speed, for `conewise.course.stopping.stop_findings`. [m/s]"""
    friction = min(float(p.friction_longitudinal_front), float(p.friction_longitudinal_rear), STREET)
    surface = float(p.surface)
    wet = min(surface, WET)
    return arrival_of(
        geometry,
        speed,
        dry=_pace(p),
        wet=_pace(replace(p, surface=wet)),
        friction=surface * friction,
        friction_wet=wet * friction,
        brakes=float(p.brake_force_limit / p.mass),
    )


def _pace(p: ModelParameters) -> Pace:
    """What the car can do, roughly, for how much the wet takes from its speed."""
    grip = float(p.surface * p.friction_share * min(p.friction_lateral_front, p.friction_lateral_rear))
    launch = max(float(launch_acceleration(p)), LEAST_LAUNCH)
    return Pace(grip=WIDER * grip * float(p.gravity), launch=launch, power=rough_power(p) / float(p.mass))


def stop_findings(geometry: CourseGeometry, p: ModelParameters, speed: float) -> list[Finding]:
    """Whether the car stops in the stop area, as the course is and in the wet; speed over the finish line. [m/s]"""
    return course_stop_findings(geometry, (arrival(geometry, p, speed),), words="predicted")

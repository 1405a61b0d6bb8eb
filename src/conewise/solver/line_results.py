"""What every level says of a run along a course: cones with clearance, room to stop."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline

from conewise.course.stopping import stopping_distance
from conewise.findings import Finding
from conewise.quantities import show
from conewise.runs import FINE, Body, body_clearances
from conewise.solver.result import ConeResult

if TYPE_CHECKING:
    from conewise.course.geometry import CourseGeometry, PassedCone
    from conewise.findings import Severity
    from conewise.quantities import Dimension
    from conewise.vehicle.parameters import ModelParameters

Array = NDArray[np.float64]

NEAR = 8.0  # a line passes a cone within this of the cone's station [m]
STOP_SHARE = 0.5  # share of the available deceleration used after the finish
WET = 0.6  # friction on a wet lot over dry, low end of common practice (no source)
WALKING = 1.5  # speed at the end of a slow-down lane [m/s]


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


def _both(value: float, dimension: Dimension) -> str:
    """A value in metric and in US units, for whoever reads it."""
    return f"{show(value, dimension, 'metric', 3)} ({show(value, dimension, 'us', 3)})"


def stop_findings(geometry: CourseGeometry, p: ModelParameters, speed: float) -> list[Finding]:
    """Whether the car stops in the stop area with half of the deceleration there is along it, dry and wet."""
    stop = geometry.course.stop
    if stop is None:
        return []
    least = WALKING if stop.kind == "lane" else 0.0
    surface, brakes = float(p.surface), float(p.brake_force_limit / p.mass)
    friction = min(float(p.friction_longitudinal_front), float(p.friction_longitudinal_rear))
    cases: tuple[tuple[Severity, str, str, float], ...] = (
        ("stop", "stop-short", "", surface),
        ("warning", "stop-short-wet", " in the wet", min(surface, WET)),
    )
    for severity, code, words, share in cases:
        needed = stopping_distance(
            geometry, speed, share=STOP_SHARE, friction=share * friction, most=brakes, least=least
        )
        if needed > stop.length:
            way = f"needs {_both(needed, 'length')}" if np.isfinite(needed) else "cannot stop down this slope"
            message = (
                f"At {_both(speed, 'speed')} over the finish line the car {way}{words} with half "
                f"of its deceleration; the stop {stop.kind} ends after {_both(stop.length, 'length')}."
            )
            return [Finding(severity, code, message, "finish")]
    return []

"""What every level says of a run along a course: the features with their times, the cones with their clearance."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline

from conewise.solver.result import ConeResult, FeatureResult

if TYPE_CHECKING:
    from conewise.course.geometry import CourseGeometry

Array = NDArray[np.float64]

FINE = 0.05  # points of the line at which the clearance is taken [m]
NEAR = 8.0  # a line passes a cone within this of the cone's station [m]


def feature_results(
    geometry: CourseGeometry, *, station: Array, elapsed: Array, speed: Array
) -> tuple[FeatureResult, ...]:
    """Time and speeds of every feature. Arrays have shape (n_stations,). [m], [s], [m/s]"""
    answers = []
    for span in geometry.spans:
        inside = station[(station > span.start) & (station < span.end)]
        places = np.concatenate([[span.start], inside, [span.end]])
        speeds = np.interp(places, station, speed)
        slowest = int(np.argmin(speeds))
        enter, leave = np.interp([span.start, span.end], station, elapsed)
        answers.append(
            FeatureResult(
                id=span.id,
                kind=span.kind.value,
                start=span.start,
                end=span.end,
                time=float(leave - enter),
                entry_speed=float(speeds[0]),
                slowest_speed=float(speeds[slowest]),
                slowest_station=float(places[slowest]),
                exit_speed=float(speeds[-1]),
            )
        )
    return tuple(answers)


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
        answers.append(
            ConeResult(
                id=cone.id,
                feature=cone.feature,
                is_left=cone.side > 0,
                is_standing=cone.is_standing,
                x=cone.x,
                y=cone.y,
                station=cone.station,
                price=0.0 if prices is None else float(prices[k]),
                margin=margin,
                clearance=float(away - cone.radius - half_width),
            )
        )
    return tuple(answers)

"""The quasi-steady run of a car on a given line: the second engine, and the named fallback of the first."""

from __future__ import annotations

from dataclasses import dataclass
from time import perf_counter
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline

from conewise.findings import Finding
from conewise.runs import feature_results
from conewise.solver.corridor_problem import course_corridor
from conewise.solver.envelope import known_envelope
from conewise.solver.line_results import body_cone_results, stop_findings
from conewise.solver.point_mass import PointMassProblem, solve_point_mass
from conewise.solver.result import Check, Solution
from conewise.solver.speed_profile import speed_profile
from conewise.vehicle.drivetrain import LEAST_LAUNCH, launch_acceleration
from conewise.vehicle.motion import CarState, wheel_loads
from conewise.vehicle.steady_state import pulling_gear, steady_roll

if TYPE_CHECKING:
    from conewise.course.geometry import CourseGeometry
    from conewise.solver.envelope import Envelope
    from conewise.solver.result import Fallback
    from conewise.solver.speed_profile import SpeedProfile
    from conewise.vehicle.parameters import ModelParameters

Array = NDArray[np.float64]

STEP = 0.5  # of the line [m]
BODY_ALLOWANCE = 0.1  # the corners of a long body come nearer to a cone than its middle does [m]
CLEARANCE_TOLERANCE = 0.03  # [m]
LENGTHENED = 8.0  # most that a line may lack at either end [m]
WINDOW = 12.0  # the line runs beside the reference path by at most this much of its length [m]


@dataclass(frozen=True, slots=True, kw_only=True)
class CarLine:
    """The path of the centre of gravity, front of the car at the start beam to front at the finish beam; shape (n,)."""

    distance: Array  # along the line itself [m]
    station: Array  # along the reference path [m]
    x: Array  # east [m]
    y: Array  # north [m]
    heading: Array  # of the line [rad]
    curvature: Array  # left positive [1/m]
    lateral_offset: Array  # [m]


def quasi_steady_solution(
    geometry: CourseGeometry,
    p: ModelParameters,
    *,
    line: Array | None = None,
    margin: float = 0.0,
    car: str = "",
    fallback: Fallback | None = None,
) -> Solution:
    """The fastest run of a car that is in balance everywhere, on a line that stays as it is.

    Parameters
    ----------
    geometry : CourseGeometry
    p : ModelParameters
    line : Array, shape (n, 2), optional
        East and north of the centre of gravity from about the start to about the finish; the point mass's line with
        the car's grip and power where left out. [m]
    margin : float, default 0.0
        Room to leave at every cone, for the point mass's line and for the check. [m]
    car : str, default ""
        Name of the car.
    fallback : Fallback, optional
        Why this run stands in for the optimum.

    Returns
    -------
    Solution
        Level "quasi-steady". The heading is that of the line; prices and gradients are empty.

    Raises
    ------
    NoEnvelopeError
        Where the car cannot hold even a straight.
    NoRoomError, PointMassStuckError
        Where no line is given and the point mass finds none.
    LineError
        Where the line given is none.

    Notes
    -----
    Gears change without a gap, and the ground is flat: a slope is named in the findings.
    """
    began = perf_counter()
    envelope = known_envelope(p)
    points = _point_mass_line(geometry, p, envelope, margin=margin) if line is None else np.asarray(line, dtype=float)
    path = car_line(geometry, points, front_reach=float(p.front_reach))
    profile = speed_profile(
        path.distance,
        path.curvature,
        envelope,
        start_speed=launch_speed(p, float(p.staging)),
        surface=np.interp(path.station, geometry.path.station, geometry.friction),
    )
    seconds = perf_counter() - began
    return _solution(geometry, p, path, profile, margin=margin, names=(car, fallback), seconds=seconds)


def launch_speed(p: ModelParameters, distance: float) -> float:
    """Speed after a distance from rest; a launch that gets nowhere crawls. [m/s]"""
    return float(np.sqrt(2.0 * max(float(launch_acceleration(p)), LEAST_LAUNCH) * distance))


def car_line(geometry: CourseGeometry, points: Array, *, front_reach: float) -> CarLine:
    """A chain of points as the path of a car's centre of gravity. [m]

    Where the line begins after the car's place at the start, or ends before the finish, it is lengthened straight.
    """
    first, last = points[1] - points[0], points[-1] - points[-2]
    begin = points[0] - first / np.hypot(*first) * (front_reach + LENGTHENED)
    end = points[-1] + last / np.hypot(*last) * LENGTHENED
    chain = np.vstack([begin, points, end])
    arc = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(chain, axis=0).T))])
    curve = CubicSpline(arc, chain)
    fine = np.arange(0.0, arc[-1], STEP / 2.0)
    near = (fine - arc[1]) * geometry.path.length / (arc[-2] - arc[1])
    window = np.stack([near - WINDOW, near + WINDOW], axis=1)
    station, _ = geometry.path.project_all(curve(fine), window)
    lines = np.array([-front_reach, geometry.path.length - front_reach])
    start, finish = np.interp(lines, np.maximum.accumulate(station), fine)
    at = np.linspace(start, finish, max(int(np.ceil((finish - start) / STEP)), 1) + 1)
    slope = curve(at, 1)
    heading = np.unwrap(np.arctan2(slope[:, 1], slope[:, 0]))
    place = curve(at)
    along = np.interp(at, fine, station)
    beside, offset = geometry.path.project_all(place, np.stack([along - 1.0, along + 1.0], axis=1))
    return CarLine(
        distance=at - start,
        station=beside,
        x=place[:, 0],
        y=place[:, 1],
        heading=heading,
        curvature=np.gradient(heading, at),
        lateral_offset=offset,
    )


def _point_mass_line(geometry: CourseGeometry, p: ModelParameters, envelope: Envelope, *, margin: float) -> Array:
    """East and north of the point mass with the car's grip and power."""
    corridor = course_corridor(geometry, clearance=float(p.body_width) / 2.0 + BODY_ALLOWANCE + margin)
    run = solve_point_mass(
        PointMassProblem(
            corridor=corridor,
            friction=float(np.median(envelope.lateral) / p.gravity),
            gravity=float(p.gravity),
            mass=float(p.mass),
            power=float(p.mass * np.max(envelope.drive[:, 0] * envelope.speed)),
            start_speed=launch_speed(p, float(p.staging + p.front_reach)),
        )
    )
    return np.column_stack([run.x, run.y])


def _solution(
    geometry: CourseGeometry,
    p: ModelParameters,
    path: CarLine,
    profile: SpeedProfile,
    *,
    margin: float,
    names: tuple[str, Fallback | None],
    seconds: float,
) -> Solution:
    roll = steady_roll(profile.lateral, p)
    cones = body_cone_results(
        geometry, p, station=path.station, pose=np.column_stack([path.x, path.y, path.heading]), margin=margin
    )
    nearest = min(cones, key=lambda cone: cone.clearance, default=None)
    spare = 0.0 if nearest is None else nearest.clearance - margin
    front = path.station + float(p.front_reach)
    return Solution(
        level="quasi-steady",
        course=geometry.course.name,
        car=names[0],
        time=profile.time,
        distance=float(path.distance[-1]),
        station=path.station,
        elapsed=profile.elapsed,
        x=path.x,
        y=path.y,
        heading=path.heading,
        lateral_offset=path.lateral_offset,
        speed=profile.speed,
        ax=profile.longitudinal,
        ay=profile.lateral,
        gear=pulling_gear(profile.speed, p),
        yaw_rate=profile.speed * path.curvature,
        roll=roll,
        wheel_loads=_loads(p, profile, roll),
        cones=cones,
        features=feature_results(geometry, station=front, elapsed=profile.elapsed, speed=profile.speed),
        checks=(
            Check(
                name="clearance over the margin",
                ok=spare >= -CLEARANCE_TOLERANCE,
                value=spare,
                limit=-CLEARANCE_TOLERANCE,
                unit="m",
                where="" if nearest is None else nearest.feature,
            ),
        ),
        findings=(*stop_findings(geometry, p, float(profile.speed[-1])), *_findings(geometry)),
        fallback=names[1],
        choices=geometry.choices,
        statistics={"seconds": seconds},
    )


def _loads(p: ModelParameters, profile: SpeedProfile, roll: Array) -> Array:
    """Wheel loads at the accelerations of the line, shape (n, 4). [N]"""
    still = np.zeros_like(roll)
    state = CarState(
        v_x=profile.speed,
        v_y=still,
        yaw_rate=still,
        roll=roll,
        roll_rate=still,
        road_wheel_angle=still,
        command=still,
    )
    return np.stack(wheel_loads(profile.longitudinal, profile.lateral, state, p), axis=1)


def _findings(geometry: CourseGeometry) -> tuple[Finding, ...]:
    grade = geometry.course.site.slope.grade
    if grade == 0.0:
        return ()
    message = f"The quasi-steady run leaves out the site's slope of {100.0 * grade:.1f}%."
    return (Finding("note", "slope-left-out", message, geometry.course.name),)

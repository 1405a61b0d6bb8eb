"""Predicted runs as traces, so that they compare with driven ones."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from conewise.errors import InfeasibleError
from conewise.logs.align import near_heading, station_grid
from conewise.logs.follow import DrivenLine, followed, match
from conewise.runs import Trace

if TYPE_CHECKING:
    from conewise.course.geometry import CourseGeometry
    from conewise.solver.result import Solution

Array = NDArray[np.float64]

NEAR_SHARE = 0.9  # of a solved line within reach of the path; a wide way round a hairpin may be farther


class LineLostError(InfeasibleError):
    """A solved run that does not lie on the course with which it is compared."""

    code = "line-lost"
    default_hint = "Lay out the course from which the run was solved, with the sides that it took."

    def __init__(self, name: str, *, station: float) -> None:
        super().__init__(f"'{name}' does not follow this course.", where=f"station {station:.0f} m")


def predicted_trace(solution: Solution, geometry: CourseGeometry, *, name: str = "") -> Trace:
    """A solved run along the reference path of a course.

    Parameters
    ----------
    solution : Solution
        Of any level; its own stations may belong to a path that was laid anew through the line.
    geometry : CourseGeometry
        The same course with the same sides.
    name : str, default the car's name with "predicted"

    Returns
    -------
    Trace
        On `station_grid`; the time from beam to beam is that of the solution.

    Raises
    ------
    LineLostError
        Where the solution was not solved on this course.
    """
    path = geometry.path
    name = name or f"{solution.car}, predicted".lstrip(", ")
    heading = solution.heading + (0.0 if solution.sideslip is None else solution.sideslip)
    distance = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(solution.x), np.diff(solution.y)))])
    driven = DrivenLine(x=solution.x, y=solution.y, heading=heading, distance=distance)
    line = followed(path, driven, found=match(path, driven, begin=float(solution.station[0])))
    if line.station.size < distance.size or line.is_near.mean() < NEAR_SHARE:
        at = int(np.argmin(np.append(line.is_near, False)))
        raise LineLostError(name, station=float(solution.station[min(at, distance.size - 1)]))
    front_reach = float(path.length - line.station[-1])
    grid = station_grid(path.length) - front_reach
    rising = line.station + 1e-9 * np.arange(line.station.size)
    elapsed = solution.elapsed
    if elapsed[0] > 0.0:  # the model begins a little behind the beam
        rising, elapsed = np.append(grid[0], rising), np.append(0.0, elapsed)
    rising[[0, -1]] = grid[[0, -1]]
    cos, sin = np.cos(heading - solution.heading), np.sin(heading - solution.heading)

    def then(values: Array) -> Array:
        return np.interp(grid, line.station, values)

    return Trace(
        name=name,
        station=grid,
        time=np.interp(grid, rising, elapsed),
        lateral_offset=then(line.lateral_offset),
        x=then(solution.x),
        y=then(solution.y),
        speed=then(solution.speed),
        heading=near_heading(then(np.unwrap(heading)), path.at(grid).heading),
        longitudinal_acceleration=then(solution.ax * cos + solution.ay * sin),
        lateral_acceleration=then(solution.ay * cos - solution.ax * sin),
        station_deviation=np.zeros_like(grid),
        lateral_offset_deviation=np.zeros_like(grid),
        speed_deviation=np.zeros_like(grid),
        front_reach=front_reach,
    )

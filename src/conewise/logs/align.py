"""A found run laid along the reference path of its course, in the shape that predicted runs have too."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from conewise.errors import InfeasibleError
from conewise.logs.follow import DrivenLine, followed, match, project_near
from conewise.runs import SETTLED, Trace

if TYPE_CHECKING:
    from conewise.course.geometry import ReferencePath
    from conewise.logs.run_finder import FoundRun
    from conewise.logs.track import Track

Array = NDArray[np.float64]

GRID = 0.5  # of the stations of a trace [m]
_LEAST_RISE = 1e-6  # of the station from sample to sample, so that it can be inverted [m]


class RunNotFinishedError(InfeasibleError):
    """A run without a finish cannot be laid from beam to beam."""

    code = "run-not-finished"
    default_hint = "Choose a run that reached the finish."

    def __init__(self, number: int, furthest: float) -> None:
        super().__init__(f"Run {number} ended at {furthest:.0f} m and has no time.", where=f"run {number}")


def station_grid(length: float) -> Array:
    """Stations of the front of the car at which traces are given, from 0 to the length of the path. [m]"""
    return np.linspace(0.0, length, max(int(np.ceil(length / GRID)), 1) + 1)


def laid_along(track: Track, run: FoundRun, path: ReferencePath | None = None, *, name: str = "") -> Trace:
    """A finished run along a reference path.

    Parameters
    ----------
    track : Track
        The recording in which the run was found.
    run : FoundRun
    path : ReferencePath, optional
        Another path of the same course, such as that of the sides taken; the one of the run where left out.
    name : str, default "run N"

    Returns
    -------
    Trace
        On `station_grid`, clock from the start beam to the finish beam as the run has them.

    Raises
    ------
    RunNotFinishedError
        Where the run has no finish.

    Notes
    -----
    Between the beams the stations come from the position. At the beams they are those of the beams: a shift of the
    start that the staging distance explains better than the position is taken back over the first 10 m.
    """
    if run.finish is None:
        raise RunNotFinishedError(run.number, run.furthest)
    path = path or run.path
    stretch = slice(run.samples.start, min(run.samples.stop + 5, track.time.size))
    driven = DrivenLine.of(track, stretch)
    line = followed(path, driven, found=match(path, driven, begin=-run.front_reach))
    clock = track.time[stretch][: line.station.size]
    times = np.array([run.start.time, run.finish.time])
    beams = np.array([0.0, path.length]) - run.front_reach
    station = _between_beams(line.station, clock, times=times, beams=beams)
    keep = (clock > times[0]) & (clock < times[1]) & (station > beams[0]) & (station < beams[1])
    time = np.concatenate([times[:1], clock[keep], times[1:]])
    rising = np.concatenate([beams[:1], station[keep], beams[1:]])
    rising = np.maximum.accumulate(rising) + _LEAST_RISE * np.arange(rising.size)
    grid = station_grid(path.length) - run.front_reach
    at = np.interp(grid, rising, time)
    at[[0, -1]] = times
    trace = _trace(track, path, at, grid=grid, name=name or f"run {run.number}", front_reach=run.front_reach)
    return replace(trace, start_deviation=run.start.deviation)


def _between_beams(station: Array, time: Array, *, times: Array, beams: Array) -> Array:
    """Stations corrected so that they agree with the beams when these were cut; no more than 10 m from them."""
    short = beams - np.interp(times, time, station)
    near_start = np.clip(1.0 - (station - beams[0]) / SETTLED, 0.0, 1.0)
    near_finish = np.clip(1.0 - (beams[1] - station) / SETTLED, 0.0, 1.0)
    return np.asarray(station + short[0] * near_start + short[1] * near_finish)


def _trace(track: Track, path: ReferencePath, at: Array, *, grid: Array, name: str, front_reach: float) -> Trace:
    """The track at the times at which it passed the stations."""

    def then(values: Array) -> Array:
        return np.interp(at, track.time, values)

    x, y = then(track.x), then(track.y)
    _, offset = project_near(path, np.column_stack([x, y]), grid)
    heading = path.at(grid).heading
    cos, sin = np.cos(heading), np.sin(heading)
    xx, xy, yy = (then(track.position_covariance[:, i, j]) for i, j in ((0, 0), (0, 1), (1, 1)))
    return Trace(
        name=name,
        station=grid,
        time=at - at[0],
        lateral_offset=offset,
        x=x,
        y=y,
        speed=then(track.speed),
        heading=near_heading(then(track.heading), heading),
        longitudinal_acceleration=then(track.longitudinal_acceleration),
        lateral_acceleration=then(track.lateral_acceleration),
        station_deviation=np.sqrt(xx * cos**2 + 2.0 * xy * cos * sin + yy * sin**2),
        lateral_offset_deviation=np.sqrt(xx * sin**2 - 2.0 * xy * cos * sin + yy * cos**2),
        speed_deviation=then(track.speed_deviation),
        front_reach=front_reach,
    )


def near_heading(heading: Array, path_heading: Array) -> Array:
    """The same heading by whole turns next to that of the path. [rad]"""
    turns = np.round((path_heading - heading) / (2.0 * np.pi))
    return np.asarray(heading + 2.0 * np.pi * turns)

"""When the front of the car cut the beams, and how surely that is known."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from conewise.course.geometry import ReferencePath
    from conewise.logs.track import Track

Array = NDArray[np.float64]

FRONT_REACH = 1.9  # centre of gravity to the front of the car, where the car is not known; common practice [m]
STAGING_DEVIATION = 0.15  # of the staging distance, one standard deviation; common practice, no source [m]
FRONT_DEVIATION = 0.1  # of the reach, where the car is not known [m]; common practice, no source
KNOWN_FRONT = 0.05  # and where it is: overhang, and where the centre of gravity lies; common practice, no source [m]
_ELSEWHERE = 3.0  # a car that stood farther from the staging place did stage elsewhere [m]
_LEAST_SPEED = 0.5  # below it a place tells no time [m/s]


@dataclass(frozen=True, slots=True, kw_only=True)
class Crossing:
    """One beam cut by the front of the car.

    time, deviation: since the log's time zero, and its standard deviation [s]
    ahead: of where the staging distance says that the car is, by its position; 0 at the finish [m]
    ahead_deviation: its standard deviation [m]
    """

    time: float
    deviation: float
    ahead: float = 0.0
    ahead_deviation: float = 0.0


def along_deviation(track: Track, index: int, heading: float) -> float:
    """Standard deviation of the position along a heading at one sample. [m]"""
    ahead = np.array([np.cos(heading), np.sin(heading)])
    return float(np.sqrt(ahead @ track.position_covariance[index] @ ahead))


def finish_crossing(
    track: Track, *, first: int, station: Array, line: tuple[float, float], front_deviation: float = FRONT_DEVIATION
) -> Crossing | None:
    """When a station was reached, interpolated between samples.

    Parameters
    ----------
    track : Track
    first : int
        Index of the first sample of the stretch.
    station : Array, shape (n_samples,)
        Of the car's reference point in that stretch, never falling. [m]
    line : tuple[float, float]
        Station of the reference point when the front cuts the beam, and heading of the path at the beam. [m], [rad]
    front_deviation : float, default 0.1
        Of the reach to the front. [m]

    Returns
    -------
    Crossing or None
        None where the station was not reached.
    """
    there, heading = line
    after = int(np.searchsorted(station, there, side="left"))
    if after in {0, station.size}:
        return None
    share = (there - station[after - 1]) / (station[after] - station[after - 1])
    time = track.time[first + after - 1 : first + after + 1]
    at = float(time[0] + share * (time[1] - time[0]))
    speed = max(float(np.interp(at, track.time, track.speed)), _LEAST_SPEED)
    away = np.hypot(along_deviation(track, first + after, heading), front_deviation)
    return Crossing(time=at, deviation=float(away / speed))


def start_crossing(
    track: Track,
    *,
    path: ReferencePath,
    launch: int,
    staging: float,
    front_reach: float,
    front_deviation: float = FRONT_DEVIATION,
) -> Crossing | None:
    """When the car that launched from standstill cut the start beam.

    Parameters
    ----------
    track : Track
    path : ReferencePath
    launch : int
        Index of the last sample at standstill.
    staging : float
        Front of the car to the start beam, as the course has it. [m]
    front_reach, front_deviation : float
        Reference point to the front of the car, and its standard deviation. [m]

    Returns
    -------
    Crossing or None
        None where the recording ends before the beam.

    Notes
    -----
    Two ways to know it, each with its uncertainty: the car has driven the staging distance since it stood, and its
    position is at the beam. The first is far better with the usual receivers, since the car is slow at the beam: one
    metre of position is then half a second. Both are joined by their variances, unless the position says that the
    car stood more than 3 m from the staging place (common practice, no source): then the position alone counts.
    """
    later = slice(launch, min(launch + int(20.0 / np.median(np.diff(track.time))), track.time.size))
    time, speed = track.time[later], track.speed[later]
    driven = np.concatenate([[0.0], np.cumsum(np.diff(time) * 0.5 * (speed[1:] + speed[:-1]))])
    if driven[-1] <= staging + 1.0:
        return None
    beam = path.at(np.array([0.0]))
    heading = float(beam.heading[0])
    at = launch + int(np.searchsorted(driven, staging))
    front = (track.x[at] - beam.x[0]) * np.cos(heading) + (track.y[at] - beam.y[0]) * np.sin(heading) + front_reach
    ahead = float(front - (driven[at - launch] - staging))
    by_position = float(np.hypot(along_deviation(track, at, heading), front_deviation))
    drift = float(np.interp(staging, driven, track.speed_deviation[later]) * (track.time[at] - track.time[launch]))
    by_distance = float(np.hypot(STAGING_DEVIATION, drift))
    both = float(np.hypot(by_distance, by_position))
    weight, deviation = by_distance**2 / both**2, by_distance * by_position / both
    if abs(ahead) > max(_ELSEWHERE, 3.0 * both):
        weight, deviation = 1.0, by_position
    left = max(staging - weight * ahead, 0.0)
    near = np.interp([left, max(left - deviation, 0.0), left + deviation], driven + 1e-9 * np.arange(driven.size), time)
    return Crossing(
        time=float(near[0]),
        deviation=float(max(near[2] - near[0], near[0] - near[1])),
        ahead=ahead,
        ahead_deviation=both,
    )


def rolling_crossing(
    track: Track,
    *,
    path: ReferencePath,
    sample: int,
    front_reach: float,
    front_deviation: float = FRONT_DEVIATION,
) -> Crossing:
    """When a car that did not stand before the start cut the beam, from its position alone.

    Parameters
    ----------
    track : Track
    path : ReferencePath
    sample : int
        Index of the first sample with the front behind the beam.
    front_reach, front_deviation : float
        As in `start_crossing`. [m]
    """
    near = slice(max(sample - 1, 0), sample + 1)
    front = front_of(track, path, near, station=0.0, front_reach=front_reach)
    heading = float(path.at(np.array([0.0])).heading[0])
    speed = max(float(track.speed[sample]), _LEAST_SPEED)
    away = np.hypot(along_deviation(track, sample, heading), front_deviation)
    return Crossing(time=float(np.interp(0.0, front, track.time[near])), deviation=float(away / speed))


def front_of(track: Track, path: ReferencePath, samples: slice, *, station: float, front_reach: float) -> Array:
    """How far the front of the car is behind a line across the path, negative before it, shape (n_samples,). [m]"""
    line = path.at(np.array([station]))
    cos, sin = np.cos(line.heading), np.sin(line.heading)
    return np.asarray((track.x[samples] - line.x) * cos + (track.y[samples] - line.y) * sin + front_reach)

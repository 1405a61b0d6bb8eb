"""Where along a path a car is: every metre driven is matched in driving order, so that crossing courses work."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from conewise.logs.kalman import _ordered_kernel

if TYPE_CHECKING:
    from conewise.course.geometry import ReferencePath
    from conewise.logs.track import Track

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]

STEP = 1.0  # of the stations and of the distance in the match [m]
FARTHEST = 8.0  # a car farther from the path than this is off the course [m]
USUAL = 3.0  # how far a driven line usually is from the path, one standard deviation [m]
_MOST_COST = 6.0  # of a place that does not fit: what is off the course costs no more
_TURNED = 2.0  # cost of a heading across the path; twice that against it
_UNEVEN = 0.2  # cost of a station that stands still, or advances twice as fast as the car
_SKIP = 25.0  # cost of leaving out a part of the course
_BEGIN = 2.0  # how well the first station is known, one standard deviation [m]
_WINDOW = 2.0  # of the last projection about the matched station [m]
_BEYOND = 10.0  # of the match behind the finish line [m]


@dataclass(frozen=True, slots=True, kw_only=True)
class DrivenLine:
    """Where the car went, recorded or predicted. All arrays have shape (n_samples,).

    x, y: of the car's reference point [m]
    heading: of the velocity [rad]
    distance: driven since the first sample, never falling [m]
    """

    x: Array
    y: Array
    heading: Array
    distance: Array

    @classmethod
    def of(cls, track: Track, stretch: slice) -> DrivenLine:
        """A stretch of a track; its distance is that of the speed, which is smoother than the position."""
        time, speed = track.time[stretch], track.speed[stretch]
        distance = np.concatenate([[0.0], np.cumsum(np.diff(time) * 0.5 * (speed[1:] + speed[:-1]))])
        return cls(x=track.x[stretch], y=track.y[stretch], heading=track.heading[stretch], distance=distance)


@dataclass(frozen=True, slots=True, kw_only=True)
class Followed:
    """A line along a path, as far as it was followed. Arrays have shape (n_samples,).

    station: of the car's reference point, never falling [m]
    lateral_offset: left positive [m]
    is_near: whether the car is where the path is
    """

    station: Array
    lateral_offset: Array
    is_near: NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True)
class Match:
    """The cheapest way to put every metre driven on a station, for every station at which it may end.

    stations: Array, shape (n_stations,) [m]
    cost: shape (n_metres, n_stations), of the cheapest way that ends there
    step: shape (n_metres, n_stations), by how many stations that way advanced last
    place_cost: shape (n_metres, n_stations), cost of the place alone
    driven: shape (n_metres,) [m]
    """

    stations: Array
    cost: Array
    step: NDArray[np.int16]
    place_cost: Array
    driven: Array

    def way_to(self, metre: int, station: int) -> IntArray:
        """Index of the station at every metre up to `metre`, shape (metre + 1,)."""
        way = np.empty(metre + 1, dtype=np.int64)
        for k in range(metre, -1, -1):
            way[k] = station
            station -= int(self.step[k, station])
        return way


def match(path: ReferencePath, line: DrivenLine, *, begin: float) -> Match:
    """Match a line to a path, from about a first station on.

    Parameters
    ----------
    path : ReferencePath
    line : DrivenLine
    begin : float
        Station of the car at the first sample, known to about 2 m. [m]

    Notes
    -----
    Dynamic programming over metres driven and stations. From metre to metre the station advances by none, one or two
    metres, or, at a cost of 25, by any number: a part of the course was left out. A place costs half its squared
    distance in units of 3 m, and two for a heading square to the path, six at most in all (common practice, no
    source): a way that leaves the course goes on where it comes back.
    """
    metres = np.arange(0.0, line.distance[-1] + STEP, STEP)
    rising = line.distance + 1e-9 * np.arange(line.distance.size)
    x, y, heading = (np.interp(metres, rising, values) for values in (line.x, line.y, line.heading))
    stations = np.arange(begin - 3.0 * _BEGIN, path.length + _BEYOND, STEP)
    points = path.at(stations)
    away = ((x[:, None] - points.x) ** 2 + (y[:, None] - points.y) ** 2) / (2.0 * USUAL**2)
    turned = _TURNED * (1.0 - np.cos(heading[:, None] - points.heading))
    place_cost = np.minimum(away + turned, _MOST_COST)
    first = place_cost[0] + 0.5 * ((stations - begin) / _BEGIN) ** 2
    cost, step = _cheapest(place_cost, first)
    return Match(stations=stations, cost=cost, step=step, place_cost=place_cost, driven=metres)


@_ordered_kernel
def _cheapest(place_cost: Array, first: Array) -> tuple[Array, NDArray[np.int16]]:
    """Cost and last step of the cheapest way to every station at every metre; of ways that cost the same, the short."""
    cost, step = np.empty_like(place_cost), np.zeros(place_cost.shape, dtype=np.int16)
    cost[0] = first
    for k in range(1, place_cost.shape[0]):
        least, at = np.inf, 0  # of the stations that a way may have left out so far, and the last one of that cost
        for j in range(place_cost.shape[1]):
            best, advanced = cost[k - 1, j] + _UNEVEN, 0
            if j >= 1 and cost[k - 1, j - 1] < best:
                best, advanced = cost[k - 1, j - 1], 1
            if j >= 2 and cost[k - 1, j - 2] + _UNEVEN < best:
                best, advanced = cost[k - 1, j - 2] + _UNEVEN, 2
            if j >= 3 and cost[k - 1, j - 3] <= least:
                least, at = cost[k - 1, j - 3], j - 3
            if least + _SKIP < best:
                best, advanced = least + _SKIP, j - at
            cost[k, j], step[k, j] = best + place_cost[k, j], advanced
    return cost, step


def followed(path: ReferencePath, line: DrivenLine, *, found: Match, end: tuple[int, int] | None = None) -> Followed:
    """A line along a path, by one way of its match.

    Parameters
    ----------
    path : ReferencePath
    line : DrivenLine
        The line that was matched.
    found : Match
    end : tuple[int, int], optional
        Metre and index of the station at which the way ends; the cheapest way of the whole line where left out.

    Returns
    -------
    Followed
        The samples up to that metre, each projected to the path within 2 m of the matched station.
    """
    metre = len(found.driven) - 1 if end is None else end[0]
    station = int(np.argmin(found.cost[metre])) if end is None else end[1]
    stations = found.stations[found.way_to(metre, station)]
    count = max(int(np.searchsorted(line.distance, found.driven[metre], side="right")), 2)
    about = np.interp(line.distance[:count], found.driven[: metre + 1], stations)
    places = np.column_stack([line.x[:count], line.y[:count]])
    along, offset = project_near(path, places, about)
    points = path.at(along)
    away = np.hypot(places[:, 0] - points.x, places[:, 1] - points.y)
    return Followed(station=np.maximum.accumulate(along), lateral_offset=offset, is_near=away < FARTHEST)


def project_near(path: ReferencePath, places: Array, about: Array) -> tuple[Array, Array]:
    """Stations and offsets of places, each within 2 m of a station; the path runs straight beyond its ends.

    Parameters
    ----------
    path : ReferencePath
    places : Array, shape (n, 2)
        [m]
    about : Array, shape (n,)
        [m]

    Returns
    -------
    tuple[Array, Array]
        Shape (n,) each. [m]
    """
    station, offset = path.project_all(places, about[:, None] + np.array([-_WINDOW, _WINDOW]))
    for end, is_beyond in (
        (path.station[0], station <= path.station[0]),
        (path.station[-1], station >= path.station[-1]),
    ):
        if is_beyond.any():
            point = path.at(np.array([end]))
            dx, dy = places[is_beyond, 0] - point.x, places[is_beyond, 1] - point.y
            station[is_beyond] = end + dx * np.cos(point.heading) + dy * np.sin(point.heading)
            offset[is_beyond] = dy * np.cos(point.heading) - dx * np.sin(point.heading)
    return station, offset

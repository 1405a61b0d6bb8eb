"""What is wrong with a recording, with its place, and what can still be used of it. Pure functions over a log."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from conewise.logs.columns import Array
    from conewise.logs.log import Log

_A, _E2 = 6378137.0, 0.00669437999014  # WGS84 [m], [-]
_MOVING = 3.0  # speed from which distance over time tells a speed [m/s]


def metres(longitude: Array, latitude: Array) -> tuple[Array, Array]:
    """East and north of the first place, by the radii of curvature of WGS84 there: good to 1e-4 on a lot. [m]"""
    known = np.isfinite(longitude) & np.isfinite(latitude)
    if not known.any():
        return longitude * np.nan, latitude * np.nan
    first = int(np.argmax(known))
    phi = np.radians(latitude[first])
    root = 1.0 - _E2 * np.sin(phi) ** 2
    north = np.radians(latitude - latitude[first]) * _A * (1.0 - _E2) / root**1.5
    turn = (longitude - longitude[first] + 180.0) % 360.0 - 180.0
    return np.radians(turn) * _A / np.sqrt(root) * np.cos(phi), north


def speed_scale(time: Array, east: Array, north: Array, speed: Array) -> float | None:
    """Speed as recorded over distance by time; None where the car hardly moved.

    Parameters
    ----------
    time, east, north, speed : Array, shape (n_samples,)
        On the same rows. [s], [m], [m], in the unit that is asked for

    Notes
    -----
    Means over pieces of two seconds, of those in which the places move at 3 m/s or more; the median of their ratios,
    so that single wrong places do no harm.
    """
    known = np.isfinite(time) & np.isfinite(east) & np.isfinite(north) & np.isfinite(speed)
    if known.sum() < 10:
        return None
    time, east, north, speed = time[known], east[known], north[known], speed[known]
    piece = max(2.0, 3.0 * float(np.median(np.diff(time))))
    ends = np.unique(np.searchsorted(time, np.arange(time[0], time[-1], piece)))
    ends = ends[ends < time.size]
    if ends.size < 6:
        return None
    span = np.diff(time[ends])
    way = np.hypot(np.diff(east[ends]), np.diff(north[ends]))
    total = np.concatenate([[0.0], np.cumsum(0.5 * (speed[1:] + speed[:-1]) * np.diff(time))])
    told = np.diff(total[ends])
    good = (span > 0.5 * piece) & (span < 3.0 * piece) & (way > _MOVING * span)
    if good.sum() < 5:
        return None
    return float(np.median(told[good] / way[good]))


def review(log: Log) -> Log:
    """The log with what is usable, and a finding for everything that was wrong."""
    return log

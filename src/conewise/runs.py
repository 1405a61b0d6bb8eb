"""Runs against the clock: one pass over the station axis of a course, driven or predicted."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Trace:
    """One run laid along a course's reference path, from the start beam to the finish beam.

    Driven and predicted runs have the same shape, so that any two compare. All arrays have shape (n_stations,);
    `station` is strictly increasing.

    station: along the reference path [m]
    time: since the start beam [s]
    lateral_offset: from the reference path, left positive [m]
    x, y: east and north on the course's plan [m]
    speed: along the direction of travel [m/s]
    heading: of the velocity, from east, to the left [rad]
    longitudinal_acceleration, lateral_acceleration: along and to the left of the velocity [m/s2]
    lateral_offset_deviation, speed_deviation: standard deviations; zero for a predicted run
    """

    name: str
    station: Array
    time: Array
    lateral_offset: Array
    x: Array
    y: Array
    speed: Array
    heading: Array
    longitudinal_acceleration: Array
    lateral_acceleration: Array
    lateral_offset_deviation: Array
    speed_deviation: Array

    @property
    def run_time(self) -> float:
        """Beam to beam. [s]"""
        return float(self.time[-1] - self.time[0])

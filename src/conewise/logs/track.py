"""The motion of the car over time, with how sure it is: what fusing a log gives."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from collections.abc import Callable

    from conewise.course.earth import LocalPlane
    from conewise.findings import Finding
    from conewise.logs.lost import Lost

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Track:
    """The smoothed motion of one recording, of the car's reference point (the centre of gravity), in a local plane.

    All arrays have shape (n_samples,); time is evenly spaced at 50 Hz or more.

    time: since the log's time zero [s]
    x, y: east and north in the plane of `course.earth.LocalPlane` or as recorded [m]
    speed: along the direction of travel, >= 0 [m/s]
    heading: of the velocity, from east, to the left, unwrapped [rad]
    yaw_rate: of the body, to the left; that of its path where nothing reads it [rad/s]
    longitudinal_acceleration, lateral_acceleration: along and to the left of the velocity [m/s2]
    position_covariance: shape (n_samples, 2, 2) [m2]
    speed_deviation, heading_deviation, lateral_acceleration_deviation, longitudinal_acceleration_deviation,
    yaw_rate_deviation: standard deviations, in the unit of their value
    position_rate: how often the log itself told a position, 0 where never [1/s]
    body_turns: what of `yaw_rate_deviation` is the body's turn against its path, where nothing reads it [rad/s]
    has_rate: whether a gyroscope, or a yaw rate of the car, was used
    sample_positions: (generator, count) -> Array, shape (count, n_samples, 2): whole paths drawn from the smoother's
        joint posterior, so that neighbouring samples move together [m]
    plane: in which x and y lie, where the log tells latitudes and longitudes
    lost: stretches in which the car was driven and no position was told
    doubted: kinds of channels that disagree grossly with the receiver, which were not used
    findings: what of the log was used, guessed and left out
    """

    time: Array
    x: Array
    y: Array
    speed: Array
    heading: Array
    yaw_rate: Array
    longitudinal_acceleration: Array
    lateral_acceleration: Array
    position_covariance: Array
    speed_deviation: Array
    heading_deviation: Array
    yaw_rate_deviation: Array
    longitudinal_acceleration_deviation: Array
    lateral_acceleration_deviation: Array
    position_rate: float
    sample_positions: Callable[[np.random.Generator, int], Array]
    body_turns: float = 0.0
    has_rate: bool = False
    plane: LocalPlane | None = None
    lost: tuple[Lost, ...] = ()
    doubted: frozenset[str] = frozenset()
    findings: tuple[Finding, ...] = ()

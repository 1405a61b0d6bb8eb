"""A first look at the motion of a recording, by its receiver alone: good to find runs in a day's log at once."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from conewise.logs.lost import lost_stretches
from conewise.logs.problem import NothingToFuseError
from conewise.logs.receiver import receiver_of
from conewise.logs.track import Track

if TYPE_CHECKING:
    from conewise.course.earth import LocalPlane
    from conewise.logs.log import Array, Log
    from conewise.logs.receiver import Receiver

STEP = 0.1  # [s]
SPEED_DEVIATION = 0.3  # [m/s]
HEADING_DEVIATION = 0.1  # [rad]
ACCELERATION_DEVIATION = 2.0  # [m/s2]
RATE_DEVIATION = 0.3  # [rad/s]
CREEPING = 1.0  # slower than this the direction is kept [m/s]


def rough_track(log: Log, *, plane: LocalPlane | None = None) -> Track:
    """Places and speeds of the receiver, joined by straight lines; nothing is filtered, no delay undone.

    Parameters
    ----------
    log : Log
    plane : LocalPlane, optional
        In which latitudes and longitudes are laid; left out: the plane through the first position.

    Raises
    ------
    NothingToFuseError
        Where the receiver tells no places: then only fusing can tell the motion.

    Notes
    -----
    Times between two beams are those of the receiver's places; its delay is the same at both. They are good to a tenth
    of a second or so. Deviations are what a receiver of the usual kind has (estimates).
    """
    receiver, plane = receiver_of(log, plane)
    if receiver.time.size < 3:  # a start, a way and an end
        raise NothingToFuseError(log.file)
    time = np.arange(receiver.time[0], receiver.time[-1], STEP)
    x, y = np.interp(time, receiver.time, receiver.x), np.interp(time, receiver.time, receiver.y)
    speed, heading = _motion(receiver, time)
    rate = np.gradient(heading, STEP)
    variance = np.interp(time, receiver.time, receiver.accuracy) ** 2
    return Track(
        time=time, x=x, y=y, speed=speed, heading=heading, yaw_rate=rate,
        longitudinal_acceleration=np.gradient(speed, STEP), lateral_acceleration=rate * speed,
        position_covariance=variance[:, None, None] * np.eye(2),
        speed_deviation=np.full(time.size, SPEED_DEVIATION), heading_deviation=np.full(time.size, HEADING_DEVIATION),
        yaw_rate_deviation=np.full(time.size, RATE_DEVIATION),
        longitudinal_acceleration_deviation=np.full(time.size, ACCELERATION_DEVIATION),
        lateral_acceleration_deviation=np.full(time.size, ACCELERATION_DEVIATION),
        position_rate=1.0 / receiver.interval,
        sample_positions=lambda _, count: np.repeat(np.column_stack([x, y])[None], count, axis=0),
        plane=plane, lost=lost_stretches(receiver.time, time=time, speed=speed),
    )  # fmt: skip


def _motion(receiver: Receiver, time: Array) -> tuple[Array, Array]:
    """Speed, and direction of travel from east; where the car creeps, that of the moment before."""
    told, velocity = receiver.velocities()
    fast = np.hypot(velocity[:, 0], velocity[:, 1])
    moving = fast > CREEPING
    if not moving.any():
        return np.interp(time, told, fast), np.zeros(time.size)
    course = np.unwrap(np.arctan2(velocity[moving, 1], velocity[moving, 0]))
    return np.interp(time, told, fast), np.interp(time, told[moving], course)

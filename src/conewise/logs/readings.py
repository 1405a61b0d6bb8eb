"""Readings of every kind in the order of the filter's steps, with their noise."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from conewise.logs import motion
from conewise.logs.sensors import Inertial, Stepped, Steps
from conewise.logs.wander import stillness_of

if TYPE_CHECKING:
    from conewise.logs.log import Array
    from conewise.logs.passes import Flags
    from conewise.logs.receiver import Receiver
    from conewise.logs.sensor_model import SensorModel

MOVED = 3.0  # how far the car may be from the first guess at a start, besides ten times the accuracy of positions [m]
MOST_BESIDE = 2  # values that a reading needs besides its time
STEER_NOISE = 0.16  # what the handwheel does not say about the yaw rate [rad/s]
STANDING_SPEED = 0.02  # along and across the body at rest [m/s]
# How far a car that is driven slides: demo cars in solved runs slide by 0.06 rad, forgotten within a second.
SIDESLIP, SIDESLIP_LEAST, SIDESLIP_EVERY = 0.1, 0.2, 1.0  # [rad], [m/s], [s]; common practice, no source
CAR_KINDS = {
    "wheel_speed": motion.WHEEL,
    "yaw_rate": motion.CAR_RATE,
    "lateral_acceleration": motion.CAR_LATERAL,
    "longitudinal_acceleration": motion.CAR_LONGITUDINAL,
}


class Readings:
    """Readings of all kinds, put in the order of their steps."""

    def __init__(self, steps: Steps) -> None:
        self.steps = steps
        self.columns: list[Array] = []
        self.place = 0.01  # standard deviation of the place at a start, where it is the origin [m]

    def add(self, kind: int, told: Stepped, *beside: Array) -> None:
        """One kind of reading; `beside` is what the kind needs besides its time, at most two arrays."""
        table = np.zeros((told.at.size, 5 + MOST_BESIDE))
        table[:, :2] = np.column_stack([told.at, np.full(told.at.size, kind)])
        for column, values in enumerate((told.since, told.value, told.variance, *beside)):
            table[:, 2 + column] = values
        self.columns.append(table[(told.at >= 0) & (told.at < self.steps.count)])

    def at_times(self, time: Array, value: Array, variance: Array | float) -> Stepped:
        """Readings at times of their own."""
        at = self.steps.at(time)
        since = time - (self.steps.start + self.steps.step * at)
        return Stepped(at, since, value, np.broadcast_to(np.asarray(variance, dtype=np.float64), value.shape))

    def sorted(self) -> Array:
        """Columns: step, kind, time since, value, variance, two besides."""
        table = np.concatenate(self.columns)
        return np.asarray(table[np.lexsort((table[:, 1], table[:, 2], table[:, 0]))])


def add_receiver(readings: Readings, receiver: Receiver, model: SensorModel) -> None:
    """Positions and speeds of the receiver."""
    if receiver.time.size:
        readings.place = MOVED + 10.0 * float(np.median(receiver.accuracy))
    slow = 0.98 * receiver.accuracy if model.slow_position is None else np.full_like(receiver.x, model.slow_position)
    white = 0.2 * receiver.accuracy if model.white_position is None else np.full_like(receiver.x, model.white_position)
    for kind, value in ((motion.AT_X, receiver.x), (motion.AT_Y, receiver.y)):
        readings.add(kind, readings.at_times(receiver.time, value, (model.white_factor * white) ** 2), slow)
    for kind, value in ((motion.EAST_SPEED, receiver.east), (motion.NORTH_SPEED, receiver.north)):
        readings.add(kind, readings.at_times(receiver.told_time, value, model.received_speed**2))
    readings.add(motion.SPEED, readings.at_times(receiver.speed_time, receiver.speed, model.received_speed**2))


def add_sensors(readings: Readings, inertial: Inertial | None, car: dict[str, Stepped], *, rest: Flags) -> None:
    """Inertial sensor, channels of the car, and the rests."""
    if inertial is not None:
        readings.add(motion.SENSOR_X, inertial.first)
        readings.add(motion.SENSOR_Y, inertial.second)
        readings.add(motion.SENSOR_RATE, inertial.rate)
    for name, kind in CAR_KINDS.items():
        if name in car:
            readings.add(kind, car[name])
    if "handwheel_angle" in car:
        wheel = car["handwheel_angle"]
        nothing = replace(wheel, value=np.zeros_like(wheel.value), variance=np.full_like(wheel.value, STEER_NOISE**2))
        readings.add(motion.STEER, nothing, wheel.value)
    at = np.flatnonzero(rest)
    for k, sd in enumerate((STANDING_SPEED, STANDING_SPEED, *stillness_of(inertial, rest))):
        still = Stepped(at, np.zeros(at.size), np.zeros(at.size), np.full(at.size, sd**2))
        readings.add(motion.STANDING_FORWARD + k, still)


def add_sideslip(readings: Readings, speed: Array, rest: Flags) -> None:
    """That a car goes about where it points, which alone tells the turn of a sensor from the turn of the body."""
    at = np.arange(0, rest.size, round(SIDESLIP_EVERY / readings.steps.step))
    at = at[~rest[at]]
    sd = SIDESLIP_LEAST + SIDESLIP * np.abs(speed[at])
    readings.add(motion.SLIDING, Stepped(at, np.zeros(at.size), np.zeros(at.size), sd**2))


def unbiased(value: Array, rest: Flags) -> Array:
    """A channel less what it tells at rest; as it is where the car never stands."""
    return value - np.median(value[rest]) if rest.any() else value

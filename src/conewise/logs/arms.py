"""Antenna, sensor and centre of gravity sit apart on one rigid body: what that does to speeds and accelerations.

At an arm (p, q) forward and to the left of a point with speeds u and v, yaw rate r and its change r': speeds u - r q
and v + r p, accelerations a - r' q - r^2 p along and b + r' p - r^2 q across.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from conewise.logs.motion import STEP
from conewise.logs.readings import unbiased
from conewise.logs.sensors import Stepped, running_mean

if TYPE_CHECKING:
    from conewise.logs.log import Array
    from conewise.logs.passes import Flags

TURNING_OVER = 0.14  # over which the change of the yaw rate is taken [s]


class Turning(NamedTuple):
    """Yaw rate of every step and its change, shape (n_steps,). [rad/s], [rad/s2]"""

    rate: Array
    change: Array


def turning(rate: Stepped, rest: Flags) -> Turning:
    """Turning by a gyroscope, or by the car's own yaw rate."""
    value = unbiased(rate.everywhere(rest.size), rest)
    return Turning(value, change_of(value))


def change_of(rate: Array) -> Array:
    """Change of a yaw rate given at every step, from a running mean. [rad/s2]"""
    return np.asarray(np.gradient(running_mean(rate, TURNING_OVER), STEP), dtype=np.float64)


def accelerations_off(arm: tuple[float, float], turns: Turning) -> tuple[Array, Array]:
    """How much larger accelerations along and across are at an arm than at the point itself. [m/s2]"""
    ahead, left = arm
    return -turns.change * left - turns.rate**2 * ahead, turns.change * ahead - turns.rate**2 * left


def plus(told: Stepped, more: Array) -> Stepped:
    """A channel with something added that is known at every step."""
    return replace(told, value=told.value + more[told.at])


def car_at(car: dict[str, Stepped], antenna: tuple[float, float], turns: Turning) -> dict[str, Stepped]:
    """The car's own channels, which are those of its centre of gravity, as they were where the antenna sits."""
    along, across = accelerations_off(antenna, turns)
    more = {
        "wheel_speed": -turns.rate * antenna[1],
        "longitudinal_acceleration": along,
        "lateral_acceleration": across,
    }
    return {kind: plus(told, more[kind]) if kind in more else told for kind, told in car.items()}

"""Full-throttle torque of a car file as spline coefficients: from points, or from the peaks of engine or motor."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from conewise.smooth import maximum, minimum
from conewise.vehicle.drivetrain import cubic_b_spline
from conewise.vehicle.parameters import N_TORQUE

Array = NDArray[np.float64]

_N_SAMPLES = 64
_LOW_SHARE = 0.68  # torque at the lowest speed over the greatest, combustion engine; common practice, no source
_PLACE = np.linspace(0.0, 1.0, _N_SAMPLES)  # share of the way from the lowest speed to the limiter
_BASIS = np.array(
    [[cubic_b_spline(x * (N_TORQUE - 3) + 1.0 - i) for i in range(N_TORQUE)] for x in _PLACE], dtype=float
)
_FIT = np.linalg.pinv(_BASIS)


def spline_coefficients(torque: Array) -> Array:
    """Coefficients of the least-squares spline through torque at `sample_speeds`, shape (N_TORQUE,)."""
    return np.asarray(_FIT @ torque, dtype=float)


def sample_speeds(low: float, limit: float) -> Array:
    """Engine speeds at which a curve is sampled for the fit. [rad/s]"""
    return low + (limit - low) * _PLACE


def through_points(speeds: Array, points: Array, torques: Array) -> Array:
    """Torque at `speeds` by a smooth curve through points, straight on beyond its ends, never below zero. [N m]

    Notes
    -----
    Cubic Hermite pieces with the slope of the parabola through each point and its neighbours: linear in the torques and
    without kinks in the speeds.
    """
    slopes = np.gradient(torques, points, edge_order=2)
    i = np.clip(np.searchsorted(points, speeds, side="right") - 1, 0, len(points) - 2)
    width = points[i + 1] - points[i]
    inside = np.clip(speeds, points[0], points[-1])
    t = (inside - points[i]) / width
    curve = (
        torques[i] * (1 + 2 * t) * (1 - t) ** 2
        + torques[i + 1] * (3 - 2 * t) * t**2
        + width * (slopes[i] * t * (1 - t) ** 2 - slopes[i + 1] * t**2 * (1 - t))
    )
    end = np.where(speeds < points[0], slopes[0], slopes[-1])
    return np.asarray(np.maximum(curve + end * (speeds - inside), 0.0))


def combustion(speeds: Array, *, power: float, power_speed: float, torque: float, torque_speed: float) -> Array:
    """Torque of an engine known by its two peaks. [N m]

    Notes
    -----
    A parabola up to the greatest torque; from there T - dT y^n, y the way to the speed of the greatest power and n such
    that power is level there: n = T_P (w_P - w_T) / (dT w_P). Common practice, no source.
    """
    low = speeds[0]
    at_power = power / power_speed
    drop = maximum(torque - at_power, 0.02 * at_power, 0.01 * at_power)
    way = power_speed - torque_speed
    exponent = maximum(at_power * way / (drop * power_speed), 1.0, 0.1)
    before = np.maximum((torque_speed - speeds) / (torque_speed - low), 0.0)
    after = np.maximum((speeds - torque_speed) / way, 0.0)
    return np.asarray(at_power + drop - (1.0 - _LOW_SHARE) * torque * before**2 - drop * after**exponent)


def electric(speeds: Array, *, power: float, torque: float) -> Array:
    """Torque of a motor: constant, then constant power. [N m]"""
    return np.asarray(minimum(torque, power / np.maximum(speeds, 1.0), 0.03 * torque))

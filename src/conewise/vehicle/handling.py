"""How the car answers the wheel: understeer gradient, the constant-radius test, which end gives way first."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from conewise.vehicle.motion import tyres
from conewise.vehicle.steady_state import balanced, reached, trim
from conewise.vehicle.tyre_force import cornering_stiffness

if TYPE_CHECKING:
    from conewise.vehicle.parameters import ModelParameters
    from conewise.vehicle.steady_state import Trim
    from conewise.vehicle.tyre_force import Tyre

Array = NDArray[np.float64]

STANDARD_RADIUS = 100.0  # ISO 4138 (from memory); 30 m at least [m]
STANDARD_STEP = 0.5  # greatest step of lateral acceleration, ISO 4138:2021, 8.3 [m/s2]
FAR = 2.5  # a search goes this far, in units of the grip of the better tyre
EVEN = 0.05  # difference of slip use at the limit that nobody feels


@dataclass(frozen=True, slots=True, kw_only=True)
class ConstantRadiusTest:
    """Steady circles at rising speed; arrays have shape (n_points,)."""

    radius: float  # [m]
    across: Array  # lateral acceleration [m/s2]
    speed: Array  # [m/s]
    road_wheel_angle: Array  # [rad]
    sideslip: Array  # [rad]
    roll: Array  # [rad]
    use_front: Array  # share of the axle's friction [-]
    use_rear: Array
    limit: float  # greatest lateral acceleration on this radius [m/s2]

    @property
    def understeer_gradient(self) -> Array:
        """Slope of the steer angle over lateral acceleration at each point. [rad/(m/s2)]"""
        return np.asarray(np.gradient(self.road_wheel_angle, self.across))


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitBalance:
    """Which axle runs out of friction first in a steady turn."""

    speed: float  # [m/s]
    across: float  # lateral acceleration at the limit [m/s2]
    slip_use_front: float  # slip angle of the axle over that of its peak [-]
    slip_use_rear: float

    @property
    def difference(self) -> float:
        """Front less rear: positive is understeer. [-]"""
        return self.slip_use_front - self.slip_use_rear

    @property
    def words(self) -> str:
        """For a driver."""
        if abs(self.difference) < EVEN:
            return "balanced at the limit: both ends give way together"
        if self.difference > 0.0:
            return "understeer at the limit: the front gives way first"
        return "oversteer at the limit: the rear gives way first"


def understeer_gradient(p: ModelParameters, *, radius: float = STANDARD_RADIUS, across: float = 1.0) -> float:
    """Road wheel angle per lateral acceleration on a steady circle, at a small acceleration. [rad/(m/s2)]

    Parameters
    ----------
    p : ModelParameters
    radius : float, default 100
        [m]
    across : float, default 1.0
        Middle of the two accelerations between which the slope is taken. [m/s2]

    Raises
    ------
    NoTrimError
        Where the car cannot go round that fast.

    Notes
    -----
    K = d delta / d a_y at a constant radius, ISO 4138, method 1; the mean of both directions, so that a static
    difference of the sides drops out.
    """
    sides = np.array([1.1, 0.9, -0.9, -1.1]) * across
    speed = np.sqrt(np.abs(sides) * radius)
    steer = trim(p, speed, across=sides).road_wheel_angle
    return float(((steer[0] - steer[1]) + (steer[2] - steer[3])) / (2.0 * 0.2 * across))


def bicycle_understeer_gradient(p: ModelParameters) -> float:
    """Understeer gradient of the linear bicycle model at the static loads. [rad/(m/s2)]

    Notes
    -----
    K g = W_f / C_f - W_r / C_r with the axles' loads and cornering stiffnesses.

    References
    ----------
    Wong, Theory of Ground Vehicles, chapter 5, steady-state handling (equation from memory).
    """
    front, rear = tyres(p)
    return float(_share(p, front, p.cg_to_rear) - _share(p, rear, p.cg_to_front)) / float(p.gravity)


def _share(p: ModelParameters, tyre: Tyre, arm: float) -> float:
    load = p.mass * p.gravity * arm / p.wheelbase
    return float(load / (2.0 * cornering_stiffness(load / 2.0, tyre)))


def constant_radius_test(
    p: ModelParameters, *, radius: float = STANDARD_RADIUS, step: float = STANDARD_STEP
) -> ConstantRadiusTest:
    """Steady circles from walking pace to the limit.

    Parameters
    ----------
    p : ModelParameters
    radius : float, default 100
        [m]
    step : float, default 0.5
        Between two points. [m/s2]

    Returns
    -------
    ConstantRadiusTest
        To the left; the last point is the limit.

    References
    ----------
    ISO 4138, Passenger cars, Steady-state circular driving behaviour, Open-loop test methods, method 1.
    """
    limit = _limit_on_radius(p, radius)
    across = np.append(np.arange(step, limit - step / 4.0, step), limit)
    turned = trim(p, np.sqrt(across * radius), across=across)
    return ConstantRadiusTest(
        radius=radius,
        across=across,
        speed=turned.speed,
        road_wheel_angle=turned.road_wheel_angle,
        sideslip=turned.sideslip,
        roll=turned.roll,
        use_front=np.asarray(turned.motion.use_front),
        use_rear=np.asarray(turned.motion.use_rear),
        limit=limit,
    )


def lateral_limit(p: ModelParameters, speed: Array) -> Array:
    """Greatest lateral acceleration of the balanced car at constant speed, shape of `speed`. [m/s2]"""
    return _cornering(p, np.atleast_1d(np.asarray(speed, dtype=float))).across


def limit_balance(p: ModelParameters, speed: float) -> LimitBalance:
    """Which end gives way first in a steady left turn at a speed. [m/s]"""
    turned = _cornering(p, np.array([float(speed)]))
    return LimitBalance(
        speed=float(speed),
        across=float(turned.across[0]),
        slip_use_front=float(np.abs(turned.motion.slip_use_front[0])),
        slip_use_rear=float(np.abs(turned.motion.slip_use_rear[0])),
    )


def _cornering(p: ModelParameters, speed: Array) -> Trim:
    """As far as the balance can be followed at constant speed."""
    most = FAR * float(max(p.friction_lateral_front, p.friction_lateral_rear)) * float(p.gravity)
    target = np.array([np.zeros_like(speed), np.full_like(speed, most)])
    reach = reached(p, speed, target=target)
    return balanced(p, speed, target=target * reach.share, unknowns=reach.unknowns)


def _limit_on_radius(p: ModelParameters, radius: float) -> float:
    """Where speed and lateral limit agree, narrowed eightfold six times. [m/s2]"""
    low, high = 0.5, float(np.sqrt(FAR * p.gravity * radius))
    for _ in range(6):
        tries = np.linspace(low, high, 9)
        spare = lateral_limit(p, tries) - tries**2 / radius
        last = int(np.flatnonzero(spare >= 0.0).max(initial=0))
        low, high = float(tries[last]), float(tries[min(last + 1, 8)])
    return low**2 / radius

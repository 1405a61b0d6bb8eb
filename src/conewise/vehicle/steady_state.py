"""Quasi-steady balance of the four-wheel model: the trim at a speed and an acceleration, and how far it reaches.

Many trims are found together: every array has shape (n,), one entry a trim.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from conewise.errors import InfeasibleError
from conewise.vehicle import drivetrain
from conewise.vehicle.motion import LIMIT_USE, CarState, Motion, motion, roll_arm
from conewise.vehicle.parameters import N_GEARS, ModelParameters

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

SLIP_BOUND = 1.2  # axle slip angles beyond this multiple of the peak's slide: no trim of a driver who wants to go round
TOLERANCE = 1e-8  # of the scaled residual
NEWTON_STEPS = 12
STEP_BOUNDS = np.array([[0.1], [0.1], [0.5]])  # of one Newton step: sideslip, steer [rad], command [-]
LEAP = np.array([[0.03], [0.03], [0.25]])  # farther from what was foreseen lies another branch of balances
DIFFERENCE = 1e-7  # step of the numerical derivatives
FIRST_STEP, LAST_STEP = 0.1, 1e-4  # of the way to the target
MOST_STEPS = 120


class NoTrimError(InfeasibleError):
    """The car cannot hold an acceleration at a speed."""

    code = "no-trim"
    default_hint = "Ask for less acceleration, or give the car more grip or power."

    def __init__(self, speed: float, wanted: tuple[float, float], share: float) -> None:
        super().__init__(
            f"The car cannot hold {wanted[0]:.2f} m/s² along and {wanted[1]:.2f} m/s² across at {speed:.1f} m/s; "
            f"it reaches {np.floor(1000.0 * share) / 10.0:.1f}% of them."
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Trim:
    """The car in balance; arrays of shape (n,)."""

    speed: Array  # [m/s]
    along: Array  # acceleration along the path [m/s2]
    across: Array  # acceleration across the path, left positive [m/s2]
    sideslip: Array  # [rad]
    road_wheel_angle: Array  # [rad]
    command: Array  # 1 full throttle, -1 full brake
    roll: Array  # [rad]
    gear: NDArray[np.int64]  # from 1
    motion: Motion  # forces and loads of the wheels

    @property
    def yaw_rate(self) -> Array:
        """Left positive. [rad/s]"""
        return np.asarray(self.across / self.speed)

    @property
    def wheel_loads(self) -> Array:
        """Front left, front right, rear left, rear right; shape (n, 4). [N]"""
        return np.stack(np.broadcast_arrays(*self.motion.wheel_loads), axis=-1)


@dataclass(frozen=True, slots=True)
class Reach:
    """How far a balance can be followed from one acceleration to another."""

    share: Array  # of the way, 1 where the target is reached; shape (n,)
    unknowns: Array  # sideslip, steer, command there; shape (3, n)


def pulling_gear(speed: Array, p: ModelParameters) -> NDArray[np.int64]:
    """The gear that pulls hardest at a speed below the limiter, from 1; the highest where all are beyond it."""
    speed = np.atleast_1d(np.asarray(speed, dtype=float))
    turning = speed[:, None] / p.driven_radius * np.array(p.gear_ratios, dtype=float)
    pull = drivetrain.full_torque(drivetrain.clutched_speed(turning, p), p) * np.array(p.gear_ratios, dtype=float)
    pull = np.where(turning <= p.engine_speed_limit, pull, -np.inf)
    best = np.where(np.isfinite(pull.max(axis=1)), pull.argmax(axis=1), N_GEARS - 1)
    return np.asarray(best + 1, dtype=np.int64)


def steady_roll(across: Array, p: ModelParameters) -> Array:
    """Roll angle at a steady lateral acceleration of the body. [rad]

    Notes
    -----
    (K - m_s g d) phi = m_s d a_y, with the sprung mass m_s at the height d over the roll axis.
    """
    arm, _, _ = roll_arm(p)
    lean = p.sprung_mass * arm
    return np.asarray(lean * across / (p.roll_stiffness_front + p.roll_stiffness_rear - lean * p.gravity))


def trim(p: ModelParameters, speed: float | Array, *, along: float | Array = 0.0, across: float | Array = 0.0) -> Trim:
    """The car in balance at a speed and an acceleration.

    Parameters
    ----------
    p : ModelParameters
    speed : float or Array, shape (n,)
        Above 0. [m/s]
    along, across : float or Array, shape (n,)
        Acceleration along and across the path, left positive. [m/s2]

    Returns
    -------
    Trim

    Raises
    ------
    NoTrimError
        Where the car cannot hold it: grip, power, brakes or steering lock end before.

    Notes
    -----
    Flat ground, in the gear that pulls hardest. Sideslip, steer and command make both force residuals and the yaw
    moment vanish; roll follows from the lateral acceleration; speed and radius change slowly.
    """
    arrays = np.broadcast_arrays(*(np.atleast_1d(np.asarray(v, dtype=float)) for v in (speed, along, across)))
    v, a_x, a_y = (np.array(a) for a in arrays)
    reach = reached(p, v, target=np.array([a_x, a_y]))
    short = int(np.argmin(reach.share))
    if reach.share[short] < 1.0:
        raise NoTrimError(float(v[short]), (float(a_x[short]), float(a_y[short])), float(reach.share[short]))
    return balanced(p, v, target=np.array([a_x, a_y]), unknowns=reach.unknowns)


def balanced(p: ModelParameters, speed: Array, *, target: Array, unknowns: Array) -> Trim:
    """The trim that belongs to unknowns which `reached` found; target has shape (2, n)."""
    gear = pulling_gear(speed, p)
    return Trim(
        speed=speed,
        along=target[0],
        across=target[1],
        sideslip=unknowns[0],
        road_wheel_angle=unknowns[1],
        command=unknowns[2],
        roll=steady_roll(target[0] * np.sin(unknowns[0]) + target[1] * np.cos(unknowns[0]), p),
        gear=gear,
        motion=_motion(p, speed, target, unknowns, weights=_weights(gear)),
    )


def reached(
    p: ModelParameters, speed: Array, *, target: Array, origin: Array | None = None, unknowns: Array | None = None
) -> Reach:
    """How far the balance can be followed from one acceleration towards another.

    Parameters
    ----------
    p : ModelParameters
    speed : Array, shape (n,)
        [m/s]
    target : Array, shape (2, n)
        Acceleration along and across. [m/s2]
    origin : Array, shape (2, n), optional
        Where to start; a straight at constant speed where left out. [m/s2]
    unknowns : Array, shape (3, n), optional
        The balance at the origin, where it is known.

    Returns
    -------
    Reach
        Shares are 0 also where not even the origin can be held.

    Notes
    -----
    Newton's method from point to point along one branch of balances; a step that fails or leaps to another branch is
    cut to a third, so that the last one lies within `LAST_STEP` of the way to where the branch ends.
    """
    base = np.zeros_like(target) if origin is None else origin
    weights = _weights(pulling_gear(speed, p))
    guess = np.zeros((3, speed.size)) if unknowns is None else unknowns
    here, holds = _newton(p, speed, base, guess, weights=weights)
    share, step = np.zeros(speed.size), np.where(holds, FIRST_STEP, 0.0)
    slope = np.zeros_like(here)
    for _ in range(MOST_STEPS):
        busy = np.flatnonzero((step > LAST_STEP) & (share < 1.0))
        if not busy.size:
            break
        ahead = np.minimum(share[busy] + step[busy], 1.0)
        aim = base[:, busy] + ahead * (target - base)[:, busy]
        guess = here[:, busy] + slope[:, busy] * (ahead - share[busy])
        lane_weights = [weight[busy] for weight in weights]
        found, holds = _newton(p, speed[busy], aim, guess, weights=lane_weights)
        holds &= (np.abs(found - guess) < LEAP).all(axis=0)
        won, lost = busy[holds], busy[~holds]
        slope[:, won] = (found[:, holds] - here[:, won]) / (ahead[holds] - share[won])
        here[:, won], share[won] = found[:, holds], ahead[holds]
        step[won] *= 1.5
        step[lost] /= 3.0
    return Reach(share, here)


def _newton(
    p: ModelParameters, speed: Array, target: Array, guess: Array, *, weights: list[Array]
) -> tuple[Array, Flags]:
    """Newton's method on all lanes at once, and which of them ended in a balance that a driver can hold."""
    z, n = guess.copy(), speed.size
    four_speeds, four_targets = np.tile(speed, 4), np.tile(target, 4)
    four_weights = [np.tile(weight, 4) for weight in weights]
    for _ in range(NEWTON_STEPS):
        tries = np.repeat(z[:, None, :], 4, axis=1)
        for i in range(3):
            tries[i, i + 1] += DIFFERENCE
        values = _residuals(p, four_speeds, four_targets, tries.reshape(3, -1), weights=four_weights).reshape(3, 4, n)
        here = values[:, 0]
        if np.abs(here).max(initial=0.0) < TOLERANCE:
            break
        jacobian = np.moveaxis((values[:, 1:] - here[:, None]) / DIFFERENCE, 2, 0)
        jacobian += 1e-12 * np.eye(3)
        singular = np.abs(np.linalg.det(jacobian)) < 1e-14
        jacobian[singular] = np.eye(3)
        z -= np.clip(np.linalg.solve(jacobian, here.T[:, :, None])[:, :, 0].T, -STEP_BOUNDS, STEP_BOUNDS)
    return z, _can_be_held(p, speed, target, z, weights=weights)


def _residuals(p: ModelParameters, speed: Array, target: Array, z: Array, *, weights: list[Array]) -> Array:
    """Both force residuals and the yaw moment in units of gravity."""
    return _scaled(_motion(p, speed, target, z, weights=weights), p)


def _scaled(found: Motion, p: ModelParameters) -> Array:
    yaw_scale = p.yaw_inertia / (p.mass * p.wheelbase)
    rows = (found.residual_x, found.residual_y, found.yaw_acceleration * yaw_scale)
    return np.asarray(np.array(np.broadcast_arrays(*rows)) / p.gravity)


def _can_be_held(p: ModelParameters, speed: Array, target: Array, z: Array, *, weights: list[Array]) -> Flags:
    found = _motion(p, speed, target, z, weights=weights)
    residual = np.abs(_scaled(found, p)).max(axis=0)
    use = np.max(np.abs(np.broadcast_arrays(*found.longitudinal_use)), axis=0)
    slip = np.maximum(np.abs(found.slip_use_front), np.abs(found.slip_use_rear))
    return np.asarray(
        (residual < 100.0 * TOLERANCE)
        & (use <= LIMIT_USE)
        & (slip <= SLIP_BOUND)
        & (np.abs(z[2]) <= 1.0)
        & (np.abs(z[1]) <= p.road_wheel_limit)
    )


def _weights(gear: NDArray[np.int64]) -> list[Array]:
    """Weight of each gear and the drive factor, as `motion` takes them."""
    return [*((gear == i + 1).astype(float) for i in range(N_GEARS)), np.ones(gear.size)]


def _motion(p: ModelParameters, speed: Array, target: Array, z: Array, *, weights: list[Array]) -> Motion:
    sideslip, steer, command = z
    cos, sin = np.cos(sideslip), np.sin(sideslip)
    specific_x, specific_y = target[0] * cos - target[1] * sin, target[0] * sin + target[1] * cos
    state = CarState(
        v_x=speed * cos,
        v_y=speed * sin,
        yaw_rate=target[1] / speed,
        roll=steady_roll(specific_y, p),
        roll_rate=np.zeros_like(speed),
        road_wheel_angle=steer,
        command=command,
    )
    return motion(state, specific_x, specific_y, gear=weights, p=p)

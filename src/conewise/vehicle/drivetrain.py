"""Engine torque over speed, and the torque that a differential gives to the two wheels of an axle.

Plain NumPy: every function takes floats, arrays or symbols.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from conewise.smooth import maximum, positive
from conewise.vehicle.parameters import N_TORQUE
from conewise.vehicle.tyre_force import LOAD_SOFTENING

if TYPE_CHECKING:
    from conewise.vehicle.motion import CarState
    from conewise.vehicle.parameters import ModelParameters

Numeric = Any  # float, Array or CasADi expression

CLUTCH_SOFTENING = 15.0  # width over which the clutch closes [rad/s]
LOCK_SOFTENING = 4.0  # wheel-speed difference that an unloaded clutch pack needs [rad/s]
LOCK_TORQUE_SOFTENING = 5.0  # width over which drive and coast ramps hand over [N m]
LEAST_LAUNCH = 0.3  # a car that pulls away at all does so at least like this [m/s2]
SLIP_GROWTH = 3.0  # growth of the slip of a wheel near its limit over its linear value [-]


def cubic_b_spline(t: Numeric) -> Numeric:
    """Cardinal cubic B-spline, zero from |t| = 2 on, by truncated powers."""
    far = np.maximum(2.0 - np.abs(t), 0.0)
    near = np.maximum(1.0 - np.abs(t), 0.0)
    return (far**3 - 4.0 * near**3) / 6.0


def full_torque(engine_speed: Numeric, p: ModelParameters) -> Numeric:
    """Torque at full throttle. [N m]

    Notes
    -----
    sum_i c_i B(u - i) with u = (w - w_low) / h + 1 and h = (w_limit - w_low) / (N_TORQUE - 3).
    """
    step = (p.engine_speed_limit - p.engine_speed_low) / (N_TORQUE - 3)
    u = (engine_speed - p.engine_speed_low) / step + 1.0
    return sum(c * cubic_b_spline(u - i) for i, c in enumerate(p.torque))


def clutched_speed(turning: Numeric, p: ModelParameters) -> Numeric:
    """Engine speed: that of the wheels through the gears, held up by the slipping clutch when slow. [rad/s]"""
    return maximum(turning, p.clutch_speed, CLUTCH_SOFTENING)


def split(
    force: Numeric, state: CarState, caps: Any, loads: Any, axle: str, p: ModelParameters
) -> tuple[Numeric, Numeric]:
    """Drive force of the left and the right wheel of an axle. [N]

    Notes
    -----
    A passive device: the torque difference T_lock tanh(d_omega / (eps + k T_lock)) goes from the faster to the slower
    wheel. d_omega is the difference that equal torques would give, with a slip that grows near the limit and stays
    bounded; k is the self-stiffness of the two contact patches. T_lock = preload + ramp share times axle torque.
    """
    radius, track, stiffness, preload, drive, coast = (
        getattr(p, f"{name}_{axle}")
        for name in (
            "rolling_radius",
            "track",
            "slip_stiffness",
            "differential_preload",
            "differential_drive",
            "differential_coast",
        )
    )
    half = force / 2.0
    axle_torque = force * radius
    lock = (
        preload
        + drive * positive(axle_torque, LOCK_TORQUE_SOFTENING)
        + coast * positive(-axle_torque, LOCK_TORQUE_SOFTENING)
    )
    slips = []
    for cap, load in zip(caps, loads, strict=True):
        use4 = (half / (cap + LOAD_SOFTENING)) ** 4
        slips.append(half / (stiffness * (load + LOAD_SOFTENING)) * (1.0 + SLIP_GROWTH * use4 / (1.0 + use4)))
    arm = track / 2.0 * state.yaw_rate
    speed_difference = ((state.v_x + arm) * (1.0 + slips[1]) - (state.v_x - arm) * (1.0 + slips[0])) / radius
    softness = (
        state.v_x
        / (2.0 * stiffness * radius**2)
        * (1.0 / (loads[0] + LOAD_SOFTENING) + 1.0 / (loads[1] + LOAD_SOFTENING))
    )
    moved = lock * np.tanh(speed_difference / (LOCK_SOFTENING + softness * lock)) / (2.0 * radius)
    return half + moved, half - moved


def rough_power(p: ModelParameters) -> float:
    """Greatest power at the wheels, roughly, of numbers: 0.8 of the greatest torque at the limiter. [W]"""
    return max(float(t) for t in p.torque) * 0.8 * float(p.engine_speed_limit) * float(p.driveline_efficiency)


def launch_acceleration(p: ModelParameters) -> Numeric:
    """Acceleration from rest: the smaller of the driven tyres' grip and the torque through the slipping clutch. [m/s2]

    Notes
    -----
    Grip of the driven axle with load transfer, a = mu g f / (1 -+ mu h / L) (rear drive: minus); all-wheel drive uses
    its torque split. The wheels' inertia takes its share; the engine's takes none while the clutch slips. Friction is
    that of the ground at the start; its slope pulls beside the tyres, which alone transfer load.
    """
    grip = p.surface * p.start_friction * p.friction_share
    mu_front = p.friction_longitudinal_front * grip
    mu_rear = p.friction_longitudinal_rear * grip
    h_l = p.cg_height / p.wheelbase
    share = p.front_drive_share
    front = mu_front * p.gravity * (p.cg_to_rear / p.wheelbase) / (share + mu_front * h_l)
    rear_hold = maximum((1.0 - share) - mu_rear * h_l, 0.05, 0.02)
    rear = mu_rear * p.gravity * (p.cg_to_front / p.wheelbase) / rear_hold
    traction = (front + rear - np.sqrt((front - rear) ** 2 + 0.25)) / 2.0
    turning_mass = p.wheel_inertia_front / p.rolling_radius_front**2 + p.wheel_inertia_rear / p.rolling_radius_rear**2
    torque = full_torque(p.clutch_speed, p) * p.gear_ratios[0] * p.driveline_efficiency / p.driven_radius
    pull = torque / (p.mass + turning_mass)
    least = (traction + pull - np.sqrt((traction - pull) ** 2 + 0.25)) / 2.0
    return p.launch_share * least - p.rolling_resistance * p.gravity + p.start_pull

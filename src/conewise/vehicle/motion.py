"""Four-wheel transient model: accelerations of the car from its state, the driver's inputs and the parameters.

ISO 8855: x forward, y left, z up; roll is positive with the left side up. Plain NumPy: floats, arrays or symbols.
Wheels are ordered front left, front right, rear left, rear right. `specific` accelerations are what an
accelerometer in the car reads: the tyre and air forces over the mass, without the ground's slope.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from conewise.smooth import absolute, minimum, positive, saturated
from conewise.vehicle import drivetrain
from conewise.vehicle.tyre_force import (
    LOAD_SOFTENING,
    Tyre,
    cornering_stiffness,
    inclination_factor,
    lateral_force,
    lateral_share,
    load_factor,
    peak_slip,
)

if TYPE_CHECKING:
    from conewise.vehicle.parameters import ModelParameters

Numeric = Any  # float, Array or CasADi expression
Four = tuple[Numeric, Numeric, Numeric, Numeric]

LEAST_WHEEL_SPEED = 0.5  # floor of the forward speed in slip angles [m/s]
PEDAL_SOFTENING = 0.01  # width over which throttle and brake hand over [-]
LIMIT_USE = 0.98  # greatest longitudinal use of a wheel's friction [-]
ABS_USE = 0.95  # what anti-lock brakes hold a wheel at [-]
ABS_SOFTENING = 0.03  # width over which they begin to hold it, of the wheel's limit [-]
LEAST_ABS_SOFTENING = 1.0  # the same for a wheel in the air [N]
LOOSE = 100.0  # limit of a wheel that is half as tied to the speed of the car as one that stands firmly [N]


@dataclass(frozen=True, kw_only=True)
class CarState:
    """The car's own state at an instant, without its place on the course."""

    v_x: Numeric  # [m/s]
    v_y: Numeric  # [m/s]
    yaw_rate: Numeric  # [rad/s]
    roll: Numeric  # [rad]
    roll_rate: Numeric  # [rad/s]
    road_wheel_angle: Numeric  # [rad]
    command: Numeric  # 1 full throttle, -1 full brake [-]


@dataclass(frozen=True, kw_only=True)
class Motion:
    """What the model answers. Residuals vanish where the assumed accelerations are the true ones."""

    residual_x: Numeric  # true less assumed specific acceleration [m/s2]
    residual_y: Numeric
    yaw_acceleration: Numeric  # [rad/s2]
    roll_acceleration: Numeric  # [rad/s2]
    wheel_loads: Four  # [N]
    longitudinal: Four  # force of each wheel along it [N]
    lateral: Four  # force of each wheel across it [N]
    longitudinal_use: Four  # longitudinal force over friction times load [-]
    use_front: Numeric  # share of the axle's friction [-]
    use_rear: Numeric
    slip_use_front: Numeric  # axle slip angle over that of the peak, signed [-]
    slip_use_rear: Numeric
    engine_use: Numeric  # engine speed over the limiter's [-]


def motion(
    state: CarState,
    specific_x: Numeric,
    specific_y: Numeric,
    *,
    gear: Any,
    p: ModelParameters,
    ground_x: Numeric = 0.0,
) -> Motion:
    """Evaluate the model.

    Parameters
    ----------
    state : CarState
    specific_x, specific_y : Numeric
        Assumed specific accelerations; the loads follow from them. [m/s2]
    gear : sequence of N_GEARS + 1 Numeric
        Weight of each gear (one is 1, the others 0), then the drive factor: 0 while shifting, else 1.
    p : ModelParameters
    ground_x : Numeric, default 0
        Gravity along the car on a slope: it speeds the wheels up too, and no accelerometer reads it. [m/s2]

    Returns
    -------
    Motion
    """
    loads = wheel_loads(specific_x, specific_y, state, p)
    front, rear = tyres(p)
    slips = slip_angles(state, p)
    leans = wheel_leans(state.roll, p)
    fade = [
        load_factor(F, t) * inclination_factor(lean, slip, t) * t.grip
        for F, lean, slip, t in zip(loads, leans, slips, (front, front, rear, rear), strict=True)
    ]
    friction_y = [f * t.friction_lateral for f, t in zip(fade, (front, front, rear, rear), strict=True)]
    friction_x = [f * t.friction_longitudinal for f, t in zip(fade, (front, front, rear, rear), strict=True)]
    caps = tuple(mu * F for mu, F in zip(friction_x, loads, strict=True))
    along, engine_use = longitudinal_forces(state, specific_x + ground_x, caps, loads, gear=gear, p=p)
    use = tuple(F / (cap + LOAD_SOFTENING) for F, cap in zip(along, caps, strict=True))
    across = tuple(
        lateral_force(slip, F, mu, t) * lateral_share(u)
        for slip, F, mu, t, u in zip(slips, loads, friction_y, (front, front, rear, rear), use, strict=True)
    )
    wheels = _Wheels(loads=loads, along=along, across=across, use=use, friction_y=friction_y)
    return _assembled(state, (specific_x, specific_y), wheels, engine_use=engine_use, p=p)


@dataclass(frozen=True, kw_only=True)
class _Wheels:
    """Loads, forces, longitudinal use and lateral friction of the four wheels."""

    loads: Four
    along: Four
    across: Four
    use: Four
    friction_y: list[Numeric]


def _assembled(
    state: CarState,
    specific: tuple[Numeric, Numeric],
    wheels: _Wheels,
    *,
    engine_use: Numeric,
    p: ModelParameters,
) -> Motion:
    body_x, body_y = body_forces(state.road_wheel_angle, wheels.along, wheels.across, p)
    drag = 0.5 * p.air_density * p.drag_area * state.v_x**2
    yaw_moment = (
        p.cg_to_front * (body_y[0] + body_y[1])
        - p.cg_to_rear * (body_y[2] + body_y[3])
        + p.track_front / 2 * (body_x[1] - body_x[0])
        + p.track_rear / 2 * (body_x[3] - body_x[2])
    )
    slip_use = axle_slip_use(state, p)
    axle_use = [_axle_use(i, wheels) for i in (0, 2)]
    return Motion(
        residual_x=(sum(body_x) - drag) / p.mass - specific[0],
        residual_y=sum(body_y) / p.mass - specific[1],
        yaw_acceleration=yaw_moment / p.yaw_inertia,
        roll_acceleration=roll_acceleration(specific[1], state.roll, state.roll_rate, p),
        wheel_loads=wheels.loads,
        longitudinal=wheels.along,
        lateral=wheels.across,
        longitudinal_use=wheels.use,
        use_front=axle_use[0],
        use_rear=axle_use[1],
        slip_use_front=slip_use[0],
        slip_use_rear=slip_use[1],
        engine_use=engine_use,
    )


def _axle_use(i: int, wheels: _Wheels) -> Numeric:
    loads, use, across, friction_y = wheels.loads, wheels.use, wheels.across, wheels.friction_y
    along = (use[i] * loads[i] + use[i + 1] * loads[i + 1]) / (loads[i] + loads[i + 1])
    cap = friction_y[i] * loads[i] + friction_y[i + 1] * loads[i + 1] + LOAD_SOFTENING
    return np.sqrt(along**2 + ((across[i] + across[i + 1]) / cap) ** 2 + 1e-12)


def roll_arm(p: ModelParameters) -> tuple[Numeric, Numeric, Numeric]:
    """Height of the sprung mass over the roll axis, and the sprung mass on each axle. [m], [kg], [kg]"""
    front = p.mass * p.cg_to_rear / p.wheelbase - p.unsprung_mass_front
    rear = p.mass * p.cg_to_front / p.wheelbase - p.unsprung_mass_rear
    unsprung_moment = p.unsprung_mass_front * p.rolling_radius_front + p.unsprung_mass_rear * p.rolling_radius_rear
    sprung_height = (p.mass * p.cg_height - unsprung_moment) / p.sprung_mass
    return sprung_height - (front * p.roll_centre_front + rear * p.roll_centre_rear) / p.sprung_mass, front, rear


def roll_acceleration(specific_y: Numeric, roll: Numeric, roll_rate: Numeric, p: ModelParameters) -> Numeric:
    """Angular acceleration of the sprung mass about the roll axis. [rad/s2]"""
    arm, _, _ = roll_arm(p)
    moment = (
        p.sprung_mass * arm * (specific_y + p.gravity * roll)
        - (p.roll_stiffness_front + p.roll_stiffness_rear) * roll
        - (p.roll_damping_front + p.roll_damping_rear) * roll_rate
    )
    return moment / (p.roll_inertia + p.sprung_mass * arm * arm)


def wheel_loads(specific_x: Numeric, specific_y: Numeric, state: CarState, p: ModelParameters) -> Four:
    """Vertical loads of the four wheels. [N]

    Notes
    -----
    Longitudinal transfer m a_x h / L; lateral transfer of each axle from its springs and dampers, from its sprung mass
    through the roll centre at once, and from its unsprung mass. A lifted wheel's share goes to the other axle: two
    smooth bounds, so that the four loads always sum to weight and downforce.
    """
    dynamic = 0.5 * p.air_density * state.v_x**2
    transfer = p.mass * specific_x * p.cg_height / p.wheelbase
    axle_front = p.mass * p.gravity * p.cg_to_rear / p.wheelbase - transfer + dynamic * p.lift_area_front
    axle_rear = p.mass * p.gravity * p.cg_to_front / p.wheelbase + transfer + dynamic * p.lift_area_rear
    _, sprung_front, sprung_rear = roll_arm(p)
    moment_front = (
        p.roll_stiffness_front * state.roll
        + p.roll_damping_front * state.roll_rate
        + specific_y * (sprung_front * p.roll_centre_front + p.unsprung_mass_front * p.rolling_radius_front)
    )
    moment_rear = (
        p.roll_stiffness_rear * state.roll
        + p.roll_damping_rear * state.roll_rate
        + specific_y * (sprung_rear * p.roll_centre_rear + p.unsprung_mass_rear * p.rolling_radius_rear)
    )
    first = _within(moment_front / p.track_front, axle_front)
    wanted_rear = (moment_rear + moment_front - first * p.track_front) / p.track_rear
    rear = _within(wanted_rear, axle_rear)
    left = (wanted_rear - rear) * p.track_rear / p.track_front
    front = first + saturated(left, axle_front / 2 - absolute(first, LOAD_SOFTENING))
    return (axle_front / 2 - front, axle_front / 2 + front, axle_rear / 2 - rear, axle_rear / 2 + rear)


def _within(transfer: Numeric, axle_load: Numeric) -> Numeric:
    return saturated(transfer, axle_load / 2)


def tyres(p: ModelParameters) -> tuple[Tyre, Tyre]:
    """The tyres of the front and the rear axle."""
    grip = p.surface * p.friction_share

    def of(axle: str) -> Tyre:
        names = [n for n in Tyre.__dataclass_fields__ if n != "grip"]
        return Tyre(grip=grip, **{name: getattr(p, f"{name}_{axle}") for name in names})

    return of("front"), of("rear")


def slip_angles(state: CarState, p: ModelParameters) -> Four:
    """Slip angle of each wheel, positive where the force points left. [rad]"""
    front_y = state.v_y + p.cg_to_front * state.yaw_rate
    rear_y = state.v_y - p.cg_to_rear * state.yaw_rate
    front_arm = p.track_front / 2 * state.yaw_rate
    rear_arm = p.track_rear / 2 * state.yaw_rate
    return (
        state.road_wheel_angle - p.toe_front - _course_angle(front_y, state.v_x - front_arm),
        state.road_wheel_angle + p.toe_front - _course_angle(front_y, state.v_x + front_arm),
        -p.toe_rear - _course_angle(rear_y, state.v_x - rear_arm),
        p.toe_rear - _course_angle(rear_y, state.v_x + rear_arm),
    )


def _course_angle(across: Numeric, along: Numeric) -> Numeric:
    return np.arctan(across / (LEAST_WHEEL_SPEED + positive(along - LEAST_WHEEL_SPEED, 0.2)))


def axle_slip_use(state: CarState, p: ModelParameters) -> tuple[Numeric, Numeric]:
    """Mean slip angle of each axle over the slip angle of its peak at the static load, signed. [-]"""
    slips = slip_angles(state, p)
    answers = []
    for tyre, pair, share in zip(tyres(p), (slips[:2], slips[2:]), (p.cg_to_rear, p.cg_to_front), strict=True):
        static = p.mass * p.gravity * share / p.wheelbase / 2
        D = tyre.friction_lateral * load_factor(static, tyre) * tyre.grip * static
        B = cornering_stiffness(static, tyre) / (tyre.shape * D)
        answers.append((pair[0] + pair[1]) / 2 * B / peak_slip(tyre.shape, tyre.curvature))
    return answers[0], answers[1]


def wheel_leans(roll: Numeric, p: ModelParameters) -> Four:
    """Inclination of each wheel to the road, positive with the top to the left. [rad]"""
    front = -roll * (1.0 - p.camber_gain_front)
    rear = -roll * (1.0 - p.camber_gain_rear)
    return (p.camber_front + front, -p.camber_front + front, p.camber_rear + rear, -p.camber_rear + rear)


def longitudinal_forces(
    state: CarState, gain: Numeric, caps: Any, loads: Four, *, gear: Any, p: ModelParameters
) -> tuple[Four, Numeric]:
    """Force of each wheel along it, and engine speed over the limiter's. [N], [-]

    Notes
    -----
    Drive torque through the differential of each driven axle, less what the driveline loses: on the overrun the wheels
    turn the engine and bear the loss too; brakes with equal pressure left and right; rolling resistance; and the share
    that turning wheels and engine faster takes, I a / r2, where a (`gain`) is how fast the car gains speed. [m/s2]
    A wheel in the air does not follow the speed of the car, and takes none.
    """
    throttle = positive(state.command, PEDAL_SOFTENING)
    brake = positive(-state.command, PEDAL_SOFTENING)
    ratio = sum(weight * r for weight, r in zip(gear[:-1], p.gear_ratios, strict=True))
    radius = p.driven_radius
    shaft_speed = state.v_x / radius * ratio
    engine_speed = drivetrain.clutched_speed(shaft_speed, p)
    driven = throttle * drivetrain.full_torque(engine_speed, p) * p.driveline_efficiency
    dragged = (1.0 - throttle) * p.engine_drag / p.driveline_efficiency
    spin = p.engine_inertia * ratio**2 / radius**2 * gain
    drive = gear[-1] * ((driven - dragged) * ratio / radius - spin)
    fronts = drivetrain.split(p.front_drive_share * drive, state, caps[:2], loads[:2], "front", p)
    rears = drivetrain.split((1.0 - p.front_drive_share) * drive, state, caps[2:], loads[2:], "rear", p)
    brake_force = brake * p.brake_force_limit / 2
    shares = (p.brake_front_share, p.brake_front_share, 1.0 - p.brake_front_share, 1.0 - p.brake_front_share)
    inertias = (p.wheel_inertia_front / p.rolling_radius_front**2, p.wheel_inertia_rear / p.rolling_radius_rear**2)
    answers = []
    for i, (drive_force, share) in enumerate(zip((*fronts, *rears), shares, strict=True)):
        wanted = share * brake_force
        held = p.abs_share * _held(wanted, caps[i]) + (1.0 - p.abs_share) * wanted
        turning = inertias[i // 2] / 2 * gain * caps[i] ** 2 / (caps[i] ** 2 + LOOSE**2)
        answers.append(drive_force - held - p.rolling_resistance * loads[i] - turning)
    return (answers[0], answers[1], answers[2], answers[3]), shaft_speed / p.engine_speed_limit


def _held(wanted: Numeric, cap: Numeric) -> Numeric:
    """Brake force that anti-lock brakes leave of the one asked for: less than the limit, none in the air. [N]"""
    return minimum(wanted, ABS_USE * cap, ABS_SOFTENING * cap + LEAST_ABS_SOFTENING)


def body_forces(
    road_wheel_angle: Numeric, along: Four, across: Four, p: ModelParameters
) -> tuple[list[Numeric], list[Numeric]]:
    """Forces of the four wheels along and across the body. [N]"""
    angles = (road_wheel_angle - p.toe_front, road_wheel_angle + p.toe_front, -p.toe_rear, p.toe_rear)
    body_x = [x * np.cos(angle) - y * np.sin(angle) for x, y, angle in zip(along, across, angles, strict=True)]
    body_y = [x * np.sin(angle) + y * np.cos(angle) for x, y, angle in zip(along, across, angles, strict=True)]
    return body_x, body_y

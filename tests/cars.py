"""Fixture cars: the parameter sets 1, 2 and 3 of the package commonroad-vehicle-models as model parameters.

Source of the numbers: Althoff and Wuersching, CommonRoad: Vehicle Models, 2020, tables 6 (cars) and 7 (tyre).
What the sets do not give is chosen plainly and said beside it.
"""

from functools import cache
from importlib import import_module
from pathlib import Path

import conewise
from conewise.cars.car_file import read_car
from conewise.quantities import AIR_DENSITY, GRAVITY
from conewise.vehicle import engine_curve
from conewise.vehicle.parameters import N_GEARS, ModelParameters
from conewise.vehicle.suspension import axle_roll_stiffness, body_to_road

DEMO = Path(conewise.__file__).parent / "demo" / "cars"
DEMO_NAMES = ("marigold", "boulder", "pepper")
SETS = (1, 2, 3)
_PROPORTIONAL = 50.0  # load of the greatest stiffness over the reference load: stiffness in proportion to load
_RATIO = 10.0  # the sets have no gears: one, of any ratio


@cache
def demo_car(name):
    """One of the invented demo cars; nothing changes a car once it is read."""
    return read_car(DEMO / f"{name}.toml")


def published_set(number):
    """The numbers of a set as the package gives them."""
    return getattr(import_module(f"vehiclemodels.parameters_vehicle{number}"), f"parameters_vehicle{number}")()


def parameter_set(number, **others):
    """A published set as model parameters; `others` replace single numbers."""
    s = published_set(number)
    values = {
        "mass": s.m,
        "cg_to_front": s.a,
        "wheelbase": s.a + s.b,
        "cg_height": s.h_cg,
        "yaw_inertia": s.I_z,
        "roll_inertia": s.I_Phi_s,
        "roll_centre_front": s.h_raf,
        "roll_centre_rear": s.h_rar,
        "unsprung_mass_front": s.m_uf,
        "unsprung_mass_rear": s.m_ur,
        "body_length": s.l,
        "body_width": s.w,
        "front_overhang": (s.l - s.a - s.b) / 2,  # not given: the body reaches as far in front as behind
        "front_drive_share": float(s.T_se),
        "brake_front_share": s.T_sb,
        "brake_force_limit": s.longitudinal.a_max * s.m,
        "abs_share": 1.0,  # not given
        "road_wheel_limit": s.steering.max,
        "road_wheel_rate": s.steering.v_max,
        **_axle(s, "front", "f"),
        **_axle(s, "rear", "r"),
        **_drive(s),
        **_plain(),
    }
    return ModelParameters(**(values | others))


def _axle(s, axle, letter):
    """Spring, damper and torsion of one axle. The torsion `K_ts` of the sets is negative where it stiffens the axle."""
    track = getattr(s, f"T_{letter}")
    stiffness = axle_roll_stiffness(getattr(s, f"K_s{letter}"), track) - getattr(s, f"K_ts{letter}")
    stiffness, share = body_to_road(stiffness, axle_roll_stiffness(s.K_zt, track))
    tyre = s.tire
    friction, shape, coefficient = tyre.p_dy1, tyre.p_cy1, -tyre.p_ky1
    part = {
        "track": track,
        "roll_stiffness": stiffness,
        "roll_damping": axle_roll_stiffness(getattr(s, f"K_sd{letter}"), track) * share**2,
        "friction_lateral": friction,
        "friction_longitudinal": tyre.p_dx1,
        "load_sensitivity": 0.0,
        "reference_load": s.m * GRAVITY / 4,
        "stiffness_peak": coefficient * (1 + _PROPORTIONAL**2) / (2 * _PROPORTIONAL),
        "stiffness_load": _PROPORTIONAL,
        "shape": shape,
        "curvature": tyre.p_ey1,
        "slip_stiffness": tyre.p_kx1,
        "best_inclination": 0.0,
        "inclination_loss": 0.0,  # the sets have camber thrust instead; left out
        "rolling_radius": s.R_w,
        "wheel_inertia": 2 * s.I_y_w,
        "camber": 0.0,
        "camber_gain": 0.0,
        "toe": 0.0,
        "differential_preload": 0.0,
        "differential_drive": 0.0,
        "differential_coast": 0.0,
    }
    return {f"{name}_{axle}": value for name, value in part.items()}


def _drive(s):
    """The sets give the greatest acceleration up to a speed, and constant power beyond it."""
    limit = s.longitudinal.v_max / s.R_w * _RATIO
    force = s.longitudinal.a_max * s.m
    power = force * s.longitudinal.v_switch
    speeds = engine_curve.sample_speeds(0.0, limit)
    torque = engine_curve.electric(speeds, power=power, torque=force * s.R_w / _RATIO)
    return {
        "torque": tuple(engine_curve.spline_coefficients(torque).tolist()),
        "engine_speed_low": 0.0,
        "engine_speed_limit": limit,
        "engine_drag": 0.0,
        "clutch_speed": 0.0,
        "gear_ratios": (_RATIO,) * N_GEARS,
        "driveline_efficiency": 1.0,
        "engine_inertia": 0.0,
    }


def _plain():
    """What the sets leave out: air, rolling resistance, driver."""
    return {
        "drag_area": 0.0,
        "lift_area_front": 0.0,
        "lift_area_rear": 0.0,
        "rolling_resistance": 0.0,
        "air_density": AIR_DENSITY,
        "gravity": GRAVITY,
        "friction_share": 1.0,
        "surface": 1.0,
        "slip_limit": 2.0,
        "launch_share": 1.0,
        "start_friction": 1.0,
        "start_pull": 0.0,
        "pedal_rate": 4.0,
        "staging": 0.3,
    }

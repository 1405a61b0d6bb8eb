"""Model parameters of invented cars, for tests that need no car file."""

from dataclasses import replace

import numpy as np

from conewise.vehicle.parameters import ModelParameters

TORQUE = (118.0, 135.0, 150.0, 162.0, 172.0, 178.0, 176.0, 168.0, 152.0, 130.0)


def rear_drive(**edits: object) -> ModelParameters:
    """A light rear-drive car, about 1.05 t with its driver."""
    mass, wheelbase, cg_to_front = 1050.0, 2.33, 1.14
    load = mass * 9.80665 / 4.0
    p = ModelParameters(
        mass=mass,
        cg_to_front=cg_to_front,
        wheelbase=wheelbase,
        cg_height=0.46,
        yaw_inertia=1250.0,
        roll_inertia=260.0,
        unsprung_mass_front=70.0,
        unsprung_mass_rear=75.0,
        track_front=1.42,
        track_rear=1.43,
        roll_centre_front=0.05,
        roll_centre_rear=0.09,
        roll_stiffness_front=36e3,
        roll_stiffness_rear=26e3,
        roll_damping_front=2200.0,
        roll_damping_rear=1800.0,
        friction_lateral_front=1.1,
        friction_lateral_rear=1.1,
        friction_longitudinal_front=1.12,
        friction_longitudinal_rear=1.12,
        load_sensitivity_front=0.12,
        load_sensitivity_rear=0.12,
        reference_load_front=load,
        reference_load_rear=load,
        stiffness_peak_front=22.0,
        stiffness_peak_rear=22.0,
        stiffness_load_front=1.6,
        stiffness_load_rear=1.6,
        shape_front=1.35,
        shape_rear=1.35,
        curvature_front=-0.2,
        curvature_rear=-0.2,
        slip_stiffness_front=22.0,
        slip_stiffness_rear=22.0,
        best_inclination_front=0.02,
        best_inclination_rear=0.02,
        inclination_loss_front=8.0,
        inclination_loss_rear=8.0,
        rolling_radius_front=0.29,
        rolling_radius_rear=0.29,
        rolling_resistance=0.015,
        camber_front=-0.025,
        camber_rear=-0.02,
        camber_gain_front=0.4,
        camber_gain_rear=0.5,
        toe_front=0.0,
        toe_rear=0.0,
        front_drive_share=0.0,
        torque=TORQUE,
        engine_speed_low=105.0,
        engine_speed_limit=733.0,
        engine_drag=25.0,
        clutch_speed=260.0,
        gear_ratios=(13.0, 7.8, 5.5, 4.1, 3.4, 3.4, 3.4, 3.4),
        driveline_efficiency=0.9,
        engine_inertia=0.12,
        wheel_inertia_front=1.6,
        wheel_inertia_rear=1.7,
        differential_preload_front=0.0,
        differential_preload_rear=40.0,
        differential_drive_front=0.0,
        differential_drive_rear=0.3,
        differential_coast_front=0.0,
        differential_coast_rear=0.15,
        brake_force_limit=15e3,
        brake_front_share=0.66,
        abs_share=1.0,
        road_wheel_limit=0.6,
        road_wheel_rate=0.5,
        pedal_rate=2.5,
        body_length=3.92,
        body_width=1.72,
        front_overhang=0.78,
        drag_area=0.65,
        lift_area_front=0.0,
        lift_area_rear=0.0,
        air_density=1.2,
        gravity=9.80665,
        friction_share=1.0,
        surface=1.0,
        slip_limit=2.0,
        launch_share=0.9,
        staging=0.3,
        start_friction=1.0,
        start_pull=0.0,
    )
    return replace(p, **edits)


def textbook(**edits: object) -> ModelParameters:
    """The same car without what a bicycle model leaves out: camber, toe, resistance, load sensitivity, differential."""
    plain = {
        "load_sensitivity_front": 0.0,
        "load_sensitivity_rear": 0.0,
        "inclination_loss_front": 0.0,
        "inclination_loss_rear": 0.0,
        "camber_front": 0.0,
        "camber_rear": 0.0,
        "rolling_resistance": 0.0,
        "drag_area": 0.0,
        "differential_preload_rear": 0.0,
        "differential_drive_rear": 0.0,
        "differential_coast_rear": 0.0,
    }
    return rear_drive(**(plain | edits))


def with_axle_stiffness(front: float, rear: float, **edits: object) -> ModelParameters:
    """A textbook car with given cornering stiffness of one tyre on each axle at its static load. [N/rad]

    The stiffness peaks at the static load, so that a load transfer changes it in second order only.
    """
    p = textbook(**edits)
    loads = np.array([p.cg_to_rear, p.cg_to_front]) / p.wheelbase * p.mass * p.gravity / 2.0
    return replace(
        p,
        reference_load_front=float(loads[0]),
        reference_load_rear=float(loads[1]),
        stiffness_load_front=1.0,
        stiffness_load_rear=1.0,
        stiffness_peak_front=float(front / loads[0]),
        stiffness_peak_rear=float(rear / loads[1]),
    )

"""Brakes: from the foot to the road, and which axle locks first. Plain NumPy.

Symbols: psi rear share of the static weight, chi height of the centre of gravity over the wheelbase, phi rear share
of the brake force.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from conewise.vehicle.parameters import ModelParameters

Array = NDArray[np.float64]
Numeric = Any  # float, Array or CasADi expression

CAST_IRON_HEAT = 460.0  # specific heat of grey cast iron discs [J/(kg K)]


def line_pressure(pedal_force: Numeric, *, pedal_ratio: Numeric, boost: Numeric, bore: Numeric) -> Numeric:
    """Pressure of the master cylinder, F R B / A. [Pa]"""
    return pedal_force * pedal_ratio * boost / (np.pi * bore**2 / 4.0)


def disc_torque(pressure: Numeric, *, piston_area: Numeric, friction: Numeric, radius: Numeric) -> Numeric:
    """Torque of one disc with two pads, 2 mu p A r. [N m]

    Parameters
    ----------
    pressure : Numeric
        [Pa]
    piston_area : Numeric
        All pistons on one side of the disc; a sliding caliper presses as hard on the other. [m2]
    friction : Numeric
        Of the pads.
    radius : Numeric
        Middle of the pads to the axis. [m]
    """
    return 2.0 * friction * pressure * piston_area * radius


def axle_brake_force(torque: Numeric, rolling_radius: Numeric) -> Numeric:
    """Brake force of an axle from the torque of one of its discs. [N]"""
    return 2.0 * torque / rolling_radius


def ideal_front_share(deceleration: Numeric, *, psi: Numeric, chi: Numeric) -> Numeric:
    """Front share of the brake force with which both axles use the same friction, 1 - psi + chi z. [-]

    References
    ----------
    Limpert, Brake Design and Safety, 2nd ed. SAE 1999, ch. 7 (equation from memory).
    """
    return 1.0 - psi + chi * deceleration


def adhesion_front(deceleration: Numeric, phi: Numeric, *, psi: Numeric, chi: Numeric) -> Numeric:
    """Friction that the front axle uses, f1 = (1 - phi) z / (1 - psi + chi z). [-]

    References
    ----------
    Council Directive 71/320/EEC, Annex II, Appendix (definition of the adhesion utilised; formula from memory).
    """
    return (1.0 - phi) * deceleration / (1.0 - psi + chi * deceleration)


def adhesion_rear(deceleration: Numeric, phi: Numeric, *, psi: Numeric, chi: Numeric) -> Numeric:
    """Friction that the rear axle uses, f2 = phi z / (psi - chi z), while it is on the ground. [-]

    References
    ----------
    Council Directive 71/320/EEC, Annex II, Appendix (definition of the adhesion utilised; formula from memory).
    """
    return phi * deceleration / (psi - chi * deceleration)


def critical_deceleration(phi: Numeric, *, psi: Numeric, chi: Numeric) -> Numeric:
    """Deceleration at which both axles lock together, (psi - phi) / chi; above it the rear locks first. [g]

    References
    ----------
    Limpert, Brake Design and Safety, 2nd ed. SAE 1999, ch. 7 (equation from memory).
    """
    return (psi - phi) / chi


def turning_mass(p: ModelParameters) -> Numeric:
    """Mass that brakes have to slow: the car's, and the wheels' as they turn, I / r2. [kg]"""
    return p.mass + p.wheel_inertia_front / p.rolling_radius_front**2 + p.wheel_inertia_rear / p.rolling_radius_rear**2


def stop_energy(before: Numeric, after: Numeric, *, mass: Numeric) -> Numeric:
    """Energy that the brakes turn to heat from one speed to another, m (v1^2 - v2^2) / 2, drag left out. [J]"""
    return mass * (before**2 - after**2) / 2.0


def run_energy(station: Array, speed: Array, p: ModelParameters) -> float:
    """Energy that the brakes turn to heat on a run: what the car loses beyond drag and rolling resistance. [J]

    Parameters
    ----------
    station : Array, shape (n_stations,)
        Way along the line, rising. [m]
    speed : Array, shape (n_stations,)
        [m/s]
    p : ModelParameters

    Notes
    -----
    The engine's braking is counted as the brakes': an upper bound.
    """
    mean_square = (speed[1:] ** 2 + speed[:-1] ** 2) / 2.0
    resistance = p.air_density * p.drag_area * mean_square / 2.0 + p.rolling_resistance * p.mass * p.gravity
    lost = stop_energy(speed[:-1], speed[1:], mass=turning_mass(p)) - resistance * np.diff(station)
    return float(np.sum(np.maximum(lost, 0.0)))


def disc_temperature_rise(energy: Numeric, *, disc_mass: Numeric) -> Numeric:
    """Mean rise of discs that take up an energy, E / (m c), none of it carried away. [K]

    Parameters
    ----------
    energy : Numeric
        [J]
    disc_mass : Numeric
        All discs that share it. [kg]

    References
    ----------
    Page "Estimating the working temperature of a brake disc"; specific heat of grey cast iron as there, 460 J/(kg K).
    """
    return energy / (disc_mass * CAST_IRON_HEAT)


def pedal_travel_of_fluid(pressure: Numeric, compliance: Numeric, *, pedal_ratio: Numeric, bore: Numeric) -> Numeric:
    """Pedal travel for the volume that hoses and calipers take up, R C p / A. [m]"""
    return pedal_ratio * compliance * pressure / (np.pi * bore**2 / 4.0)


def pedal_travel_of_mount(pressure: Numeric, stiffness: Numeric, *, pedal_ratio: Numeric, bore: Numeric) -> Numeric:
    """Pedal travel for the give of the master cylinder's mount, R p A / k. [m]"""
    return pedal_ratio * pressure * (np.pi * bore**2 / 4.0) / stiffness

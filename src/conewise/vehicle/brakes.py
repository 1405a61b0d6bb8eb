"""Brakes: from the foot to the road, and which axle locks first. Plain NumPy.

Symbols: psi rear share of the static weight, chi height of the centre of gravity over the wheelbase, phi rear share
of the brake force.
"""

from __future__ import annotations

from typing import Any

import numpy as np

Numeric = Any  # float, Array or CasADi expression


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

"""Brakes: from the foot to the road, and which axle locks first. Plain NumPy.

Symbols: psi rear share of the static weight, chi height of the centre of gravity over the wheelbase, phi rear share
of the brake force, z deceleration over gravity.
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


def ideal_front_share(z: Numeric, *, psi: Numeric, chi: Numeric) -> Numeric:
    """Front share of the brake force with which both axles use the same friction, 1 - psi + chi z.

    References
    ----------
    Limpert, Brake Design and Safety, 2nd ed. SAE 1999, ch. 7 (equation from memory).
    """
    return 1.0 - psi + chi * z


def critical_deceleration(phi: Numeric, *, psi: Numeric, chi: Numeric) -> Numeric:
    """Deceleration at which both axles lock together, (psi - phi) / chi; above it the rear locks first. [g]"""
    return (psi - phi) / chi


def friction_used(z: Numeric, *, phi: Numeric, psi: Numeric, chi: Numeric) -> tuple[Numeric, Numeric]:
    """Friction that the front and the rear axle need at a deceleration.

    References
    ----------
    Council Directive 71/320/EEC, Annex II, appendix: adhesion utilised by each axle (equation from memory).
    """
    return (1.0 - phi) * z / (1.0 - psi + chi * z), phi * z / (psi - chi * z)


def lock_deceleration(friction: Numeric, *, phi: Numeric, psi: Numeric, chi: Numeric) -> tuple[Numeric, Numeric]:
    """Deceleration at which the front and the rear axle would lock on a friction. [g]"""
    front = (1.0 - psi) * friction / ((1.0 - phi) - friction * chi)
    rear = psi * friction / (phi + friction * chi)
    return front, rear

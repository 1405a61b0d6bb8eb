"""Springs, bars and dampers seen from the wheels and from the body. Plain NumPy."""

from __future__ import annotations

from typing import Any

import numpy as np

from conewise.quantities import SHEAR_MODULUS

Numeric = Any  # float, Array or CasADi expression


def wheel_rate(spring_rate: Numeric, motion_ratio: Numeric) -> Numeric:
    """Rate of a spring at the wheel, k MR2, with MR spring travel over wheel travel. [N/m]"""
    return spring_rate * motion_ratio**2


def in_series(first: Numeric, second: Numeric) -> Numeric:
    """Rate of two springs one after the other, such as suspension and tyre."""
    return first * second / (first + second)


def natural_frequency(rate: Numeric, mass: Numeric) -> Numeric:
    """Undamped frequency of a mass on a spring, sqrt(k / m) / 2 pi. [Hz]"""
    return np.sqrt(rate / mass) / (2.0 * np.pi)


def critical_damping(rate: Numeric, mass: Numeric) -> Numeric:
    """Damping at which a mass on a spring just no longer swings, 2 sqrt(k m). [N s/m]"""
    return 2.0 * np.sqrt(rate * mass)


def axle_roll_stiffness(rate: Numeric, track: Numeric) -> Numeric:
    """Roll stiffness of two like springs a track width apart, k t2 / 2; of dampers likewise. [N m/rad]"""
    return rate * track**2 / 2.0


def bar_torsional_stiffness(diameter: Numeric, length: Numeric, bore: Numeric = 0.0) -> Numeric:
    """Torque per twist of a round bar, G pi (d4 - b4) / (32 L). [N m/rad]"""
    return SHEAR_MODULUS * np.pi * (diameter**4 - bore**4) / (32.0 * length)


def bar_roll_stiffness(torsional_stiffness: Numeric, *, arm: Numeric, motion_ratio: Numeric, track: Numeric) -> Numeric:
    """Roll stiffness that a bar adds at the wheels, k (MR t / a)2. [N m/rad]

    Notes
    -----
    Roll phi moves each wheel by t phi / 2 and each end of the bar by MR t phi / 2, in opposite directions: the bar
    twists by MR t phi / a, and its torque works back over the same lever.
    """
    return torsional_stiffness * (motion_ratio * track / arm) ** 2


def body_to_road(stiffness: Numeric, tyre_stiffness: Numeric) -> tuple[Numeric, Numeric]:
    """Roll stiffness with the tyres in series, and the share of the roll that the suspension takes."""
    return in_series(stiffness, tyre_stiffness), tyre_stiffness / (stiffness + tyre_stiffness)

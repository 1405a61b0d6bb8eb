"""Alignment: camber over travel, roll, steer and flex. Plain NumPy."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from conewise.vehicle.parameters import ModelParameters

Numeric = Any  # float, Array or CasADi expression


def camber_gain(camber_over_travel: Numeric, track: Numeric) -> Numeric:
    """Share of the roll angle that the suspension takes off the inclination, from camber over wheel travel. [-]

    Notes
    -----
    Roll phi lifts the outer wheel by t phi / 2 towards the body; its camber goes negative by c t phi / 2, with c the
    camber gained a metre of bump. [rad/m]
    """
    return camber_over_travel * track / 2.0


def caster_inclination(caster: Numeric, steer: Numeric) -> Numeric:
    """Inclination into the turn that steer adds to both front wheels, asin(sin(caster) sin(steer)). [rad]

    Notes
    -----
    A wheel turned by `steer` about an axis that leans back by `caster` and not to the side.
    """
    return np.arcsin(np.sin(caster) * np.sin(steer))


def flex_inclination(side_force: Numeric, *, stiffness: Numeric, height: Numeric) -> Numeric:
    """Inclination lost because the top of a strut gives way, F / (k h). [rad]

    Parameters
    ----------
    side_force : Numeric
        On the strut's top. [N]
    stiffness : Numeric
        Of the body there, sideways. [N/m]
    height : Numeric
        Strut top above the lower joint. [m]
    """
    return side_force / (stiffness * height)


def roll_gradient(p: ModelParameters, *, arm: float) -> float:
    """Steady roll per lateral acceleration, m h / (K - m g h) with the sprung mass on its arm. [rad/(m/s2)]"""
    stiffness = p.roll_stiffness_front + p.roll_stiffness_rear
    return float(p.sprung_mass * arm / (stiffness - p.sprung_mass * p.gravity * arm))


def outer_inclination(camber: Numeric, gain: Numeric, roll: Numeric) -> Numeric:
    """Inclination into the turn of the outer wheel, -camber - phi (1 - gain). [rad]"""
    return -camber - roll * (1.0 - gain)


def best_static_camber(best_inclination: Numeric, gain: Numeric, roll: Numeric) -> Numeric:
    """Static camber with which the outer tyre stands at its best at a roll angle, -(best + phi (1 - gain)). [rad]"""
    return -(best_inclination + roll * (1.0 - gain))

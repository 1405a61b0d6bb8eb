"""Tyre forces: Magic Formula shape, friction that falls with load, friction ellipse, inclination.

Plain NumPy: every function takes floats, arrays or symbols.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from conewise.smooth import absolute, maximum, sign

Numeric = Any  # float, Array or CasADi expression

LOAD_SOFTENING = 50.0  # added where a load divides, so that a lifted wheel stays finite [N]
LEAST_FRICTION = 0.3  # friction never falls below this share of its value at the reference load
ELLIPSE_SOFTENING = 0.01  # rounds the root of the friction ellipse near the limit [-]


@dataclass(frozen=True, kw_only=True)
class Tyre:
    """One tyre of an axle, with the friction that surface and driver leave of it."""

    friction_lateral: Numeric  # peak at the reference load [-]
    friction_longitudinal: Numeric  # peak at the reference load [-]
    load_sensitivity: Numeric  # relative loss per relative rise of load [-]
    reference_load: Numeric  # [N]
    stiffness_peak: Numeric  # greatest cornering stiffness over the reference load [1/rad]
    stiffness_load: Numeric  # load of the greatest stiffness over the reference load [-]
    shape: Numeric  # Magic Formula C [-]
    curvature: Numeric  # Magic Formula E [-]
    slip_stiffness: Numeric  # longitudinal slip stiffness over the load [-]
    best_inclination: Numeric  # [rad]
    inclination_loss: Numeric  # [1/rad2]
    grip: Numeric  # surface factor times the share of the friction that the driver uses [-]


def magic_formula(slip: Numeric, *, B: Numeric, C: Numeric, D: Numeric, E: Numeric) -> Numeric:
    """Force over slip.

    Notes
    -----
    y = D sin(C atan(B x - E (B x - atan(B x)))), without shifts.

    References
    ----------
    Bakker, Nyborg and Pacejka, Tyre Modelling for Use in Vehicle Dynamics Studies, SAE 870421, 1987.
    """
    x = B * slip
    return D * np.sin(C * np.arctan(x - E * (x - np.arctan(x))))


def peak_slip(C: Numeric, E: Numeric) -> Numeric:
    """Normalised slip B x at which the Magic Formula peaks, for C > 1 and E < 1.

    Notes
    -----
    The peak is where C atan(y) = pi / 2 with y = (1 - E) x + E atan(x); eight Newton steps from y.
    """
    y = np.tan(np.pi / (2.0 * C))
    x = y
    for _ in range(8):
        x = x - ((1.0 - E) * x + E * np.arctan(x) - y) / (1.0 - E + E / (1.0 + x * x))
    return x


def load_factor(wheel_load: Numeric, tyre: Tyre) -> Numeric:
    """Friction at a load over friction at the reference load, never below `LEAST_FRICTION`."""
    relative = (wheel_load - tyre.reference_load) / tyre.reference_load
    return maximum(1.0 - tyre.load_sensitivity * relative, LEAST_FRICTION, 0.02)


def inclination_factor(lean: Numeric, slip_angle: Numeric, tyre: Tyre) -> Numeric:
    """Loss of friction by inclination.

    Parameters
    ----------
    lean : Numeric
        Inclination of the wheel to the road, positive with the top to the left. [rad]
    slip_angle : Numeric
        Its sign says into which turn the tyre works. [rad]
    tyre : Tyre
    """
    error = lean * sign(slip_angle, 0.01) - tyre.best_inclination
    return 1.0 - tyre.inclination_loss * error * error


def cornering_stiffness(wheel_load: Numeric, tyre: Tyre) -> Numeric:
    """Cornering stiffness of one tyre. [N/rad]

    Notes
    -----
    C = c1 F0 sin(2 atan(F / (c2 F0))).

    References
    ----------
    Pacejka, Tyre and Vehicle Dynamics, 2nd ed. 2006, section 4.3.2 (equation from memory).
    """
    F0 = tyre.reference_load
    return tyre.stiffness_peak * F0 * np.sin(2.0 * np.arctan(wheel_load / (tyre.stiffness_load * F0)))


def lateral_force(slip_angle: Numeric, wheel_load: Numeric, friction: Numeric, tyre: Tyre) -> Numeric:
    """Lateral force of one tyre without longitudinal force. [N]"""
    D = friction * wheel_load
    B = cornering_stiffness(wheel_load, tyre) / (tyre.shape * (D + LOAD_SOFTENING))
    return magic_formula(slip_angle, B=B, C=tyre.shape, D=D, E=tyre.curvature)


def lateral_share(longitudinal_use: Numeric) -> Numeric:
    """Share of the lateral force that is left, 1 where no other is used; friction ellipse with a rounded root. [-]"""
    left = 1.0 - longitudinal_use * longitudinal_use
    return np.sqrt((left + absolute(left, ELLIPSE_SOFTENING)) / (1.0 + absolute(1.0, ELLIPSE_SOFTENING)))

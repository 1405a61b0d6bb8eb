"""What no proposed setting may do: bring the rear axle near to locking first, or turn an understeering car round."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from conewise.vehicle.handling import lateral_limit
from conewise.vehicle.lock_order import WETTEST, least_front_share, least_share_in_gear
from conewise.vehicle.steady_state import NoTrimError, trim

if TYPE_CHECKING:
    from conewise.vehicle.parameters import ModelParameters

TURN_SPEED = 60.0 / 3.6  # of the steady turn whose understeer gradient is held; middle of an autocross [m/s]
SHARE_OF_LIMIT = 0.9  # of the lateral limit up to which it is held
N_TURNS = 13  # accelerations between which the slope is taken
LEAST_SHARE = 0.05  # of the limit at which they begin


def brake_reserve(p: ModelParameters) -> float:
    """Front share of the brake force less the least one with which the rear axle never locks first, dry or wet. [-]"""
    return float(p.brake_front_share - least_front_share(p))


def worst_brake_reserve(p: ModelParameters, *, cold: float, surface: float = 1.0) -> float:
    """The same with the clutch closed and the front pads alone cold, as at the first corner of a run. [-]

    Parameters
    ----------
    p : ModelParameters
    cold : float
        Friction of cold front pads over that of warm ones; cold rear pads only help.
    surface : float, default 1
        The friction factor asked for; a wet road is always looked at too.

    Notes
    -----
    Pads with the share c of their friction leave phi c / (phi c + 1 - phi) of the front share phi; that is the least
    one L at phi = L / (L + c (1 - L)).
    """
    least = least_share_in_gear(p, surface=min(surface, WETTEST))
    share = min(cold, 1.0)
    return float(p.brake_front_share - least / (least + share * (1.0 - least)))


def least_understeer_gradient(p: ModelParameters, *, surface: float = 1.0) -> float:
    """Least slope of the steer angle on one steady circle, from straight ahead to 0.9 of the limit. [rad/(m/s2)]

    Parameters
    ----------
    p : ModelParameters
        Its driver's share of the friction does not count.
    surface : float, default 1

    Returns
    -------
    float
        -inf where the car cannot be balanced as far as that.

    Notes
    -----
    The circle is the one on which the car reaches its limit at `TURN_SPEED`; K = d delta / d a_y at a constant radius.

    References
    ----------
    ISO 4138, Passenger cars, Steady-state circular driving behaviour, Open-loop test methods, method 1.
    """
    whole = replace(p, friction_share=1.0, surface=surface)
    limit = float(lateral_limit(whole, np.array([TURN_SPEED]))[0])
    if limit <= 0.0:
        return float(-np.inf)
    radius = TURN_SPEED**2 / limit
    across = np.linspace(LEAST_SHARE, SHARE_OF_LIMIT, N_TURNS) * limit
    try:
        turned = trim(whole, np.sqrt(across * radius), across=across)
    except NoTrimError:
        return float(-np.inf)
    return float(np.min(np.diff(turned.road_wheel_angle) / np.diff(across)))

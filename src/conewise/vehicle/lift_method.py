"""Height of the centre of gravity by lifting an axle: weigh level, lift, weigh again."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np


@dataclass(frozen=True, slots=True, kw_only=True)
class LiftWeighing:
    """What was measured; the axle that stays down stands on the scales both times."""

    level: float  # on the axle that stays down, car level [kg]
    other: float  # on the axle that is lifted afterwards, car level [kg]
    lifted: float  # on the axle that stays down, other axle lifted [kg]
    rise: float  # of the lifted axle's centre [m]
    wheelbase: float  # level, on the ground [m]
    radius_down: float  # height of the wheel centre of the axle that stays down [m]
    radius_lifted: float  # the same of the lifted axle, car level [m]


@dataclass(frozen=True, slots=True, kw_only=True)
class CgHeight:
    """Height of the centre of gravity with its standard uncertainty, and what each measurement adds to it."""

    height: float  # [m]
    spread: float  # [m]
    parts: dict[str, float]  # by field of `LiftWeighing` [m]


def cg_height(w: LiftWeighing) -> float:
    """Height of the centre of gravity above the ground with the car level. [m]

    Notes
    -----
    Moments about the lifted axle: W_d L cos(t) = W (b cos(t) + h1 sin(t)) with h1 the height above the axles' line
    and t its slope, once level (t0, from unequal wheels) and once lifted, sin(t) = sin(t0) + H / L. Their difference:

        h1 = (W_d' - W_d) L / (W (tan t - tan t0));   equal wheels: h = r + (W_d' - W_d) L / (W tan t).

    Rigid suspension, wheels free to roll, loads upright below the wheel centres.

    References
    ----------
    Milliken and Milliken, Race Car Vehicle Dynamics, SAE 1995, ch. 18 (equation for equal wheels, from memory).
    """
    total = w.level + w.other
    step = (w.radius_lifted - w.radius_down) / w.wheelbase  # tan t0
    length = w.wheelbase * np.sqrt(1.0 + step**2)  # along the line of the axles
    sine = step * w.wheelbase / length + w.rise / length
    slope = sine / np.sqrt(1.0 - sine**2)
    above_axles = (w.lifted - w.level) * length / (total * (slope - step))
    to_lifted = w.level / total * length - above_axles * step
    cosine = w.wheelbase / length
    return float(w.radius_down + ((length - to_lifted) * step + above_axles) * cosine)


def measured_cg_height(w: LiftWeighing, *, spreads: dict[str, float]) -> CgHeight:
    """Height of the centre of gravity with its uncertainty.

    Parameters
    ----------
    w : LiftWeighing
    spreads : dict of float
        Standard uncertainty of each measurement by its name; one that is missing is sure.

    Returns
    -------
    CgHeight

    Notes
    -----
    First order, measurements independent (JCGM 100:2008, section 5.1.2); slopes by central differences.
    """
    parts: dict[str, float] = {}
    for field in fields(w):
        spread = spreads.get(field.name, 0.0)
        value = getattr(w, field.name)
        step = 1e-5 * value
        above, below = (cg_height(replace(w, **{field.name: value + sign * step})) for sign in (1.0, -1.0))
        parts[field.name] = abs(above - below) / (2.0 * step) * spread
    return CgHeight(height=cg_height(w), spread=float(np.hypot.reduce(list(parts.values()))), parts=parts)

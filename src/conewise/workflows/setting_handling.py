"""The handling before and after, in words and numbers."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from conewise.advisor.rows import handling_words
from conewise.quantities import GRAVITY
from conewise.reports.settings_answer import HandlingLine
from conewise.vehicle.bounds import TURN_SPEED
from conewise.vehicle.derived import load_transfer_distribution
from conewise.vehicle.handling import bicycle_understeer_gradient, limit_balance
from conewise.vehicle.lock_order import rear_first_from

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from conewise.vehicle.parameters import ModelParameters
    from conewise.workflows.setting_solves import At


def handling_lines(before: At, after: At, *, weights: NDArray[np.float64], surface: float) -> tuple[HandlingLine, ...]:
    """What the settings do to the handling: along the line, in a steady turn, on the brakes."""
    leans = [float(weights @ at.leans) for at in (before, after)]
    cars = [replace(at.p, friction_share=1.0, surface=surface) for at in (before, after)]
    pairs = {
        "along the line": [handling_words(leans[0], leans[0]).removesuffix(", as before"), handling_words(*leans)],
        f"steady turn at {3.6 * TURN_SPEED:.0f} km/h": [limit_balance(p, TURN_SPEED).words for p in cars],
        "understeer gradient near straight ahead": [_understeer(p) for p in cars],
        "front share of the load transfer": [f"{100 * load_transfer_distribution(p):.1f} %" for p in cars],
        "front share of the brakes": [f"{100 * float(p.brake_front_share):.1f} %" for p in cars],
        "rear axle would lock first": [_locking(p) for p in cars],
    }
    return tuple(HandlingLine(name=name, before=pair[0], after=pair[1]) for name, pair in pairs.items())


def _understeer(p: ModelParameters) -> str:
    return f"{np.rad2deg(bicycle_understeer_gradient(p)) * GRAVITY:.2f} deg/g".replace("-", "−")


def _locking(p: ModelParameters) -> str:
    first = rear_first_from(p)
    return f"from {first:.2f} g" if np.isfinite(first) else "never up to the tyres' peak, dry or wet"

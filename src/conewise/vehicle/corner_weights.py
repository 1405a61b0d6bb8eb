"""Corner weights: what four scales say, and the moves of spring perches that bring the cross weight where it should be.

Corners are numbered front left, front right, rear left, rear right.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from conewise.quantities import GRAVITY

Array = NDArray[np.float64]

CORNERS = ("front left", "front right", "rear left", "rear right")


@dataclass(frozen=True, slots=True, kw_only=True)
class CornerBalance:
    """Shares of four scale readings, with the standard uncertainty of the cross weight."""

    readings: Array  # [kg], shape (4,)
    front_share: float
    left_share: float
    cross_weight: float  # front right and rear left
    cross_spread: float

    @property
    def total(self) -> float:
        """All four together. [kg]"""
        return float(np.sum(self.readings))


@dataclass(frozen=True, slots=True, kw_only=True)
class PerchMoves:
    """Moves of the spring perches, positive lifts the body there; each array has shape (4,)."""

    load_change: Array  # [kg]
    together: Array  # all four at once; the car keeps its ride height [m]
    alone: Array  # one of them only, for the same loads; the ride height changes a little [m]
    spread: float  # standard uncertainty of the greatest move of `together`, from the scales [m]


def corner_balance(readings: Array, *, spread: float) -> CornerBalance:
    """Shares of the weight on four wheels.

    Parameters
    ----------
    readings : Array, shape (4,)
        [kg]
    spread : float
        Standard uncertainty of one reading, friction in the suspension included. [kg]

    Returns
    -------
    CornerBalance

    Notes
    -----
    Cross weight = (front right + rear left) / total, common practice. A reading moves it by (1 - c) / W on the diagonal
    that counts and by -c / W on the other.
    """
    total = float(np.sum(readings))
    cross = float((readings[1] + readings[2]) / total)
    slope = np.array([-cross, 1.0 - cross, 1.0 - cross, -cross]) / total
    return CornerBalance(
        readings=np.asarray(readings, dtype=float),
        front_share=float((readings[0] + readings[1]) / total),
        left_share=float((readings[0] + readings[2]) / total),
        cross_weight=cross,
        cross_spread=float(spread * np.linalg.norm(slope)),
    )


def twist_pattern(tracks: tuple[float, float]) -> Array:
    """Change of the four loads per moment of twist, shape (4,): no force, no pitch, no roll. [1/m]

    Notes
    -----
    A rigid body on four springs is once statically indeterminate. Loads +-M/t_f in front and -+M/t_r behind leave the
    sum, the axles and the moment about the middle as they are; that alone is what perches can move. The sum of a side
    changes by M (1/t_f - 1/t_r), nothing where both track widths are the same.
    """
    front, rear = (1.0 / track for track in tracks)
    return np.array([front, -front, -rear, rear])


def perch_moves(
    balance: CornerBalance, *, ride_rates: Array, motion_ratios: Array, tracks: tuple[float, float], cross_weight: float
) -> PerchMoves:
    """Moves that bring the cross weight to a wanted share, bars disconnected.

    Parameters
    ----------
    balance : CornerBalance
    ride_rates : Array, shape (4,)
        Spring at the wheel in series with the tyre. [N/m]
    motion_ratios : Array, shape (4,)
        Spring travel over wheel travel.
    tracks : tuple of float
        Front and rear. [m]
    cross_weight : float
        Wanted share on front right and rear left.

    Returns
    -------
    PerchMoves

    Notes
    -----
    Twist M = -(c' - c) W / (1/t_f + 1/t_r); loads dF = M e with e the twist pattern. A perch raised by d acts at the
    wheel like a spring longer by d / MR. With u = dF / K at every wheel the body stays where it is: d = MR dF / K.
    One perch alone: M = e u / sum(e2 / K), so u = M sum(e2 / K) / e (compatibility of the once indeterminate body).
    """
    pattern = twist_pattern(tracks)
    per_cross = -balance.total * GRAVITY / (1.0 / tracks[0] + 1.0 / tracks[1])
    twist = per_cross * (cross_weight - balance.cross_weight)
    change = twist * pattern
    together = motion_ratios * change / ride_rates
    alone = motion_ratios * twist * float(np.sum(pattern**2 / ride_rates)) / pattern
    spread = np.abs(motion_ratios * per_cross * balance.cross_spread * pattern / ride_rates)
    return PerchMoves(
        load_change=change / GRAVITY, together=together, alone=alone, spread=float(spread[np.argmax(np.abs(together))])
    )

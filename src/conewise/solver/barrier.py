"""Bounds of an interior-point method: distances, logarithms and the fraction to the boundary."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

RELAX = 1e-8  # share by which bounds are relaxed, so that a box without an inside has one


class Box:
    """Lower and upper bounds of a vector; infinite where there is none.

    Parameters
    ----------
    low, high : Array, shape (n,)
    """

    def __init__(self, low: Array, high: Array) -> None:
        self.low = low - RELAX * np.maximum(1.0, np.abs(low))
        self.high = high + RELAX * np.maximum(1.0, np.abs(high))
        self.with_low, self.with_high = np.flatnonzero(np.isfinite(low)), np.flatnonzero(np.isfinite(high))

    def distances(self, w: Array) -> tuple[Array, Array]:
        """To the lower and to the upper bounds; infinite where there is none."""
        return w - self.low, self.high - w

    def inside(self, w: Array, push: float) -> Array:
        """Moved inside the bounds by a share of their size, and at most that share of the room between them."""
        room = push * (self.high - self.low)
        low = np.minimum(push * np.maximum(1.0, np.abs(self.low)), room)
        high = np.minimum(push * np.maximum(1.0, np.abs(self.high)), room)
        with np.errstate(invalid="ignore"):  # no bound: infinity less infinity
            floor, ceiling = self.low + low, self.high - high
        floor, ceiling = (
            np.where(np.isfinite(self.low), floor, -np.inf),
            np.where(np.isfinite(self.high), ceiling, np.inf),
        )
        return np.asarray(np.minimum(np.maximum(w, floor), ceiling))

    def logarithms(self, w: Array) -> float:
        """Sum of the logarithms of all distances; minus infinity outside."""
        below = w[self.with_low] - self.low[self.with_low]
        above = self.high[self.with_high] - w[self.with_high]
        if not (below.min(initial=1.0) > 0.0 and above.min(initial=1.0) > 0.0):
            return -np.inf
        return float(np.log(below).sum() + np.log(above).sum())


def longest(value: Array, step: Array, tau: float) -> float:
    """Largest share of a step, at most one, that leaves 1 - tau of every value."""
    falling = step < 0.0
    return float(min(1.0, (tau * value[falling] / -step[falling]).min(initial=1.0)))

"""The filter: which trial points an interior-point method accepts.

References
----------
Wächter and Biegler, Mathematical Programming 106, 2006, section 2.3; constants carry its names.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

GAMMA_THETA, GAMMA_PHI, GAMMA_ALPHA = 1e-5, 1e-8, 0.05
S_THETA, S_PHI, DELTA, ETA_PHI = 1.1, 2.3, 1.0, 1e-8
THETA_MOST, THETA_LEAST = 1e4, 1e-4  # bounds of the infeasibility over the first one
ROUNDING = 10.0 * float(np.finfo(float).eps)


@dataclass(frozen=True, slots=True)
class Progress:
    """What is judged at a point: infeasibility and barrier objective."""

    infeasibility: float
    objective: float


class Filter:
    """Pairs of infeasibility and objective that no later point may be worse than in both."""

    def __init__(self, first_theta: float) -> None:
        self.scale = max(first_theta, 1.0)
        self.pairs: list[Progress] = []

    def emptied(self) -> Filter:
        """For another barrier; the scale stays."""
        return Filter(self.scale)

    def add(self, now: Progress) -> None:
        """Keep later points better than this one in one of the two."""
        self.pairs.append(
            Progress((1.0 - GAMMA_THETA) * now.infeasibility, now.objective - GAMMA_PHI * now.infeasibility)
        )

    def allows(self, then: Progress) -> bool:
        """Whether no pair dominates the point."""
        if not (
            np.isfinite(then.infeasibility)
            and np.isfinite(then.objective)
            and then.infeasibility <= THETA_MOST * self.scale
        ):
            return False
        slack = ROUNDING * abs(then.objective)
        return not any(
            then.infeasibility > pair.infeasibility and then.objective > pair.objective + slack for pair in self.pairs
        )

    def takes(self, now: Progress, then: Progress, *, slope: float, alpha: float) -> bool:
        """Whether a trial point is accepted; a step that is none of the objective extends the filter."""
        if not self.allows(then):
            return False
        slack = ROUNDING * abs(now.objective)
        switching = slope < 0.0 and alpha * (-slope) ** S_PHI > DELTA * now.infeasibility**S_THETA
        descends = then.objective - now.objective - slack <= ETA_PHI * alpha * slope
        if switching and now.infeasibility <= THETA_LEAST * self.scale:
            return descends
        if (
            then.infeasibility > (1.0 - GAMMA_THETA) * now.infeasibility
            and then.objective - slack > now.objective - GAMMA_PHI * now.infeasibility
        ):
            return False
        if not (switching and descends):
            self.add(now)
        return True

    def least_step(self, theta: float, slope: float) -> float:
        """Shares of a step below this are no step, equation 23."""
        if slope >= 0.0:
            return GAMMA_ALPHA * GAMMA_THETA
        candidates = [GAMMA_THETA, GAMMA_PHI * theta / -slope]
        if theta <= THETA_LEAST * self.scale:
            candidates.append(DELTA * theta**S_THETA / (-slope) ** S_PHI)
        return GAMMA_ALPHA * min(candidates)

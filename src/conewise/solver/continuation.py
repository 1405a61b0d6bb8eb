"""From an easy problem to the one that is asked for, while the barrier of the interior point falls."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from conewise.solver.node import SCALE

if TYPE_CHECKING:
    from collections.abc import Callable

    from conewise.solver.problem import Problem
    from conewise.solver.transcription import Program
    from conewise.vehicle.parameters import ModelParameters

Array = NDArray[np.float64]

SMOOTHING = 5e-6  # weight of the smoothing of steer and command slopes in an answer
SMOOTHING_FIRST, SMOOTHING_SHARE = 1e-3, 0.1  # at most this, and this share of the barrier
LOCKED = 0.1  # differentials lock from this barrier down
GEARED = (1e-6, 1e-4)  # barriers at which gears follow the speeds: above, the run is too slow (a draft ends at 1e-4)


class Descent:
    """The problem that belongs to each barrier: less smoothing, locked differentials, gears that follow the speeds.

    Parameters
    ----------
    problem : Problem
        The one asked for.
    regeared : callable
        (problem, speeds at the nodes [m/s]) -> the problem with the gears that these ask for, itself if the same.
    """

    def __init__(self, problem: Problem, regeared: Callable[[Problem, Array], Problem]) -> None:
        self.problem, self.regeared = problem, regeared
        self.smoothing, self.is_open = SMOOTHING_FIRST, True

    def program(self) -> Program:
        """That of the present stage."""
        problem = self.problem.changed(p=_unlocked(self.problem.p)) if self.is_open else self.problem
        return problem.program(self.smoothing)

    def __call__(self, barrier: float, z: Array) -> Program | None:
        """The program of a lower barrier; None where nothing changes."""
        before = self.problem, self.smoothing, self.is_open
        if GEARED[0] <= barrier <= GEARED[1]:
            self.problem = self.regeared(self.problem, z[:, 0] * SCALE[0])
        self.smoothing = float(np.clip(SMOOTHING_SHARE * barrier, SMOOTHING, SMOOTHING_FIRST))
        self.is_open = self.is_open and barrier > LOCKED
        same = before[0] is self.problem and before[1:] == (self.smoothing, self.is_open)
        return None if same else self.program()


def _unlocked(p: ModelParameters) -> ModelParameters:
    """The car with open differentials: far from its line it finds that in fewer steps without the locking torque."""
    shares: dict[str, Any] = {
        f"differential_{part}_{axle}": 0.0 for part in ("preload", "drive", "coast") for axle in ("front", "rear")
    }
    return replace(p, **shares)

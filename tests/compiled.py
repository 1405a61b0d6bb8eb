"""Compile what Numba keeps, once, as `python -m tests.compiled`.

Tests that run side by side would each do it, and where they are traced it takes four times as long.
"""

from __future__ import annotations

import numpy as np

from conewise.logs.follow import DrivenLine, match
from conewise.logs.simulated import SensorNoise
from conewise.solver.quasi_steady import quasi_steady_solution
from tests.cars import DEMO_NAMES
from tests.known_motions import fused_log, weaving
from tests.solved import model, short_run


def main() -> None:
    """One run solved by either model, one line matched to its path, one recording fused, one path drawn."""
    geometry = short_run().problem.geometry
    quasi_steady_solution(geometry, model(DEMO_NAMES[0], geometry.course))
    path = geometry.path
    match(path, DrivenLine(x=path.x, y=path.y, heading=path.heading, distance=path.station), begin=0.0)
    fused_log(weaving(), 0, SensorNoise()).track.sample_positions(np.random.default_rng(0), 1)


if __name__ == "__main__":
    main()

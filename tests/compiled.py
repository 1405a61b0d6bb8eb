"""Compile what Numba keeps, once, as `python -m tests.compiled`.

Tests that run side by side would each do it, and where they are traced it takes four times as long.
"""

from __future__ import annotations

import numpy as np

from conewise.logs.simulated import SensorNoise
from tests.known_motions import fused_log, weaving
from tests.solved import short_run


def main() -> None:
    """One run solved, one recording fused, one path drawn."""
    short_run()
    fused_log(weaving(), 0, SensorNoise()).track.sample_positions(np.random.default_rng(0), 1)


if __name__ == "__main__":
    main()

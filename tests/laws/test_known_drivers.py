"""A sample of bench/study_breakdown.py: intervals of drivers whose line and speed are known hold the truth."""

from __future__ import annotations

import numpy as np

from tests.cars import DEMO_NAMES, demo_car
from tests.known_drivers import SENSORS, judged, known_driver, recorded_driver
from tests.solved import short_run

SEEDS = (0, 1, 2)
LESS = -0.005  # the promise: the line as a whole is never below it [s]


def test_intervals_hold_the_truth_and_parts_add_up():
    """85 to 95 of 100 are wanted over many drivers; fewer than 7 of 10 in this sample would be no chance."""
    found = []
    for seed in SEEDS:
        rng, driver = np.random.default_rng(10_000 + seed), known_driver(short_run(), seed)
        base = recorded_driver(short_run(), demo_car(DEMO_NAMES[0]), driver, rng=rng, noise=SENSORS["10hz-50cm"])
        found.append(judged(base, driver, rng))
    assert all(abs(one.off) < 1e-3 for one in found)
    assert all(one.parts[0, -1, 0] >= LESS for one in found)
    assert np.mean([one.holds for one in found]) >= 0.7
    half = np.array([one.parts[:, :, 1] for one in found])
    error = np.array([one.parts[:, :, 0] - one.parts[:, :, 2] for one in found])
    assert np.sqrt(np.mean(half**2)) < 5.0 * np.sqrt(np.mean(error**2))  # not too wide to tell anything

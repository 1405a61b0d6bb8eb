"""A sample of seeded courses with the demo cars: solved, and every check passed; bench/study_fleet.py has them all."""

import pytest

from tests.cars import DEMO_NAMES
from tests.courses import club_course
from tests.solved import solved

SEEDS = range(100, 112)
LENGTH, N_FEATURES = 110.0, 3  # of the drawn line; 140 to 220 m are solved


@pytest.mark.slow
@pytest.mark.parametrize("seed", SEEDS)
def test_a_seeded_course_is_solved_and_passes_every_check(seed):
    course = club_course(seed, length=LENGTH, n_features=N_FEATURES)
    run = solved(course, DEMO_NAMES[seed % len(DEMO_NAMES)])
    failed = [f"{c.name}: {c.value:.4g}, limit {c.limit:.4g}, {c.where}" for c in run.checks if not c.ok]
    assert failed == []
    assert 6.0 < run.point.time < 30.0

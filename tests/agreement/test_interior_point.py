"""Our interior point against IPOPT with CasADi's derivatives: two roads to the same run."""

import numpy as np
import pytest

from tests.plain_program import by_ipopt
from tests.solved import short_run


def test_ipopt_from_our_run_stays_there():
    run = short_run()
    program = run.problem.program(run.point.smoothing)
    low, high = run.problem.bounds()
    found, cost = by_ipopt(program, low, high, run.point.z)
    assert cost == pytest.approx(program.rows(run.point.z).cost, abs=6e-4)  # a barrier of 1e-7 at thousands of bounds
    assert np.abs(found[:, 0] - run.point.z[:, 0]).max() < 0.02  # speeds, in tens of m/s


def test_ipopt_from_the_same_guess_finds_the_same_run():
    run = short_run()
    program = run.problem.program(1e-3)  # smooth, so that both find the same line from far away
    low, high = run.problem.bounds()
    start = run.point.z.copy()
    start[:, 0] *= 0.8
    start[:, 5] = 0.0
    _, cost = by_ipopt(program, low, high, start)
    ours = run.problem.warm(run.point, smoothing=1e-3, barrier=1e-2, tol=1e-8)
    assert cost == pytest.approx(program.rows(ours.z).cost, abs=1e-4)

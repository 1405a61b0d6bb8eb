"""Re-solves from a solved run on the short course: round trips, processes, what cannot be solved."""

from __future__ import annotations

import pickle
from dataclasses import replace

import numpy as np
import pytest

from conewise import sweeps
from conewise.solver import checks, replay
from conewise.solver.problem import SolverStoppedError
from tests.solved import short_run

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def base():
    return sweeps.base_of(short_run())


def question(base, name="more friction", **edits):
    return sweeps.Question(course=0, name=name, p=replace(base.p, **edits), shift_time=base.settings.shift_time)


def test_a_base_can_be_sent_and_rebuilt(base):
    sent = pickle.loads(pickle.dumps(base))
    assert sent.key == base.key
    sweeps._RUNS.clear()
    run = sent.run()
    again = run.problem.warm(run.point)
    assert again.time == pytest.approx(base.point.time, abs=1e-5)  # what the tolerance of a warm solve leaves


def test_the_round_trip_of_a_change_closes_and_its_sign_is_right(base):
    found = sweeps.resolved(base, question(base, surface=1.02))
    assert found.stopped == ""
    assert found.back == pytest.approx(base.point.time, abs=sweeps.CLOSES)
    gain = base.point.time - found.time
    slope = sweeps.slopes_and_lean(base.run())[0][base.p.names().index("surface")]
    assert gain == pytest.approx(-slope * 0.02, rel=0.1)  # 2 % of friction bends the time a little


def test_processes_and_order_change_nothing(base):
    asked = [question(base, "grip", surface=1.01), question(base, "mass", mass=base.p.mass * 0.99)]
    here = sweeps.sweep([base], asked)
    there = sweeps.sweep([base], asked[::-1], workers=2)[::-1]
    for one, other in zip(here, there, strict=True):
        assert one.name == other.name
        assert one.time == other.time
        assert np.array_equal(one.slopes, other.slopes)


def test_a_run_that_drifts_too_far_gets_its_mesh_split_and_the_base_with_it(base, monkeypatch):
    asked = question(base, surface=1.02)
    kept = sweeps.resolved(base, asked)
    assert not kept.own_mesh
    limit = checks.DRIFT_USUAL
    drift = replay.window_drift(base.run().problem, base.run().point).lateral
    monkeypatch.setattr(checks, "DRIFT_USUAL", 0.5 * np.percentile(drift, 95))  # tighter than the mesh was made for
    split = sweeps.resolved(base, asked)
    assert limit > checks.DRIFT_USUAL
    assert split.own_mesh
    assert np.isnan(split.back)
    gain, on_its_own = base.point.time - kept.time, split.reference - split.time
    assert on_its_own == pytest.approx(gain, abs=2e-3)  # what the mesh leaves in a difference
    assert split.time != kept.time


def test_what_cannot_be_solved_says_why(base, monkeypatch):
    def stops(*_args, **_others):
        raise SolverStoppedError("gone", feature="gate-2", station=3.0, violation=1.0, iterations=7)

    monkeypatch.setattr(sweeps, "_changed", stops)
    found = sweeps.resolved(base, question(base))
    assert "gate-2" in found.stopped
    assert np.isnan(found.time)
    assert found.slopes is None

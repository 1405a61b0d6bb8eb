"""Prices of cones from a finer mesh."""

from dataclasses import replace

import numpy as np
import pytest

from conewise.solver import fine_prices
from conewise.solver.fine_prices import FINE, finely_priced, finer
from conewise.solver.problem import Problem, SolverStoppedError
from conewise.solver.sensitivity import cone_prices
from conewise.solver.solution import transient_solution
from tests.solved import short_run


@pytest.fixture(scope="module")
def run():
    return short_run()


@pytest.fixture(scope="module")
def fine(run):
    return finer(run)


def test_on_the_finer_mesh_it_is_the_same_run(run, fine):
    assert len(fine.problem.mesh.station) > 0.9 / FINE * len(run.problem.mesh.station)
    assert fine.point.time == pytest.approx(run.point.time, rel=1e-3)
    changes = [
        r.problem.mesh.station[1:][np.flatnonzero(np.diff(r.problem.gears.gear))] for r in (run, fine)
    ]  # where other gears begin: at the next node
    assert changes[1] == pytest.approx(changes[0], abs=float(run.problem.mesh.step.max()))


def test_prices_are_those_of_the_finer_mesh(run, fine, monkeypatch):
    monkeypatch.setattr(fine_prices, "finer", lambda _run: fine)
    before = transient_solution(run)
    after = finely_priced(before)
    assert [c.price for c in after.cones] == pytest.approx(cone_prices(fine.problem, fine.point))
    assert after.statistics["price_nodes"] == len(fine.problem.mesh.station)
    assert [replace(c, price=0.0) for c in after.cones] == [replace(c, price=0.0) for c in before.cones]
    assert after.time == before.time
    assert finely_priced(after) is after  # once is enough


def test_a_run_that_the_finer_mesh_does_not_find_keeps_its_own(run, monkeypatch):
    def stop(_run):
        raise SolverStoppedError("for a test", feature="start", station=0.0, violation=1.0, iterations=1)

    before = transient_solution(run)
    monkeypatch.setattr(fine_prices, "finer", stop)
    after = finely_priced(before)
    assert (after.cones, after.findings[-1].code) == (before.cones, "coarse-prices")


def test_another_run_has_other_prices(run, fine, monkeypatch):
    before = transient_solution(run)
    other = replace(fine, point=replace(fine.point, time=fine.point.time * 1.01))
    monkeypatch.setattr(fine_prices, "finer", lambda _run: other)
    after = finely_priced(before)
    assert (after.cones, after.findings[-1].code) == (before.cones, "coarse-prices")


def test_a_level_without_a_run_to_refine_stays_as_it_is(run):
    plain = replace(transient_solution(run), warm=None)
    assert finely_priced(plain) is plain


def test_where_multipliers_mislead_the_finer_run_is_found_from_its_unknowns(run, fine, monkeypatch):
    def stop(*_args, **_kwargs):
        raise SolverStoppedError("for a test", feature="start", station=0.0, violation=1.0, iterations=1)

    monkeypatch.setattr(Problem, "warm", stop)
    assert finer(run).point.time == pytest.approx(fine.point.time, abs=2e-3)

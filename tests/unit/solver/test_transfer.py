"""A solved run carried to another mesh."""

import numpy as np
import pytest

from conewise.solver.fine_prices import BARRIER, FINE
from conewise.solver.mesh import build_mesh
from conewise.solver.min_time import guessed_speed
from conewise.solver.problem import NEAR
from conewise.solver.sensitivity import cone_prices
from conewise.solver.transfer import carried_point
from tests.solved import short_run


@pytest.fixture(scope="module")
def run():
    return short_run()


@pytest.fixture(scope="module")
def fine(run):
    """The problem on a finer mesh, with the gears that the run has there."""
    old = run.problem
    mesh = build_mesh(old.geometry, old.p, guessed_speed(old.geometry, old.p), refine=FINE)
    at = np.clip(np.searchsorted(old.mesh.station, mesh.station, side="right") - 1, 0, None)
    gears = type(old.gears)(gear=old.gears.gear[at], drive=old.gears.drive[at])
    return old.changed(mesh=mesh, gears=gears)


def test_on_the_same_mesh_nothing_changes(run):
    point = carried_point(run, run.problem)
    y, was = point.multipliers, run.point.multipliers
    assert point.z == pytest.approx(run.point.z, abs=1e-12)
    assert point.bounds == pytest.approx(run.point.bounds, abs=1e-12)
    assert y.defects == pytest.approx(was.defects, abs=1e-12)
    assert y.algebraic == pytest.approx(was.algebraic, abs=1e-12)
    assert y.limits == pytest.approx(was.limits, abs=1e-12)
    assert y.launch == was.launch


def test_what_a_cone_pushes_weighs_the_same_on_more_nodes(run, fine):
    before = cone_prices(run.problem, run.point)
    after = cone_prices(fine, carried_point(run, fine))
    assert after == pytest.approx(before, abs=0.02 * before.max())


def test_multipliers_spare_most_iterations_and_lead_to_the_same_run(run, fine):
    start = carried_point(run, fine)
    warm = fine.warm(start, barrier=BARRIER)
    plain = fine.cold(start.z, lambda same, _speed: same, options=NEAR)[1]
    assert warm.iterations < 0.6 * plain.iterations
    assert warm.time == pytest.approx(plain.time, abs=1e-3)
    assert cone_prices(fine, warm) == pytest.approx(cone_prices(fine, plain), abs=0.01)

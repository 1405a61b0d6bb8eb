"""Every check passes a solved run, and fails the run that it is there for."""

from dataclasses import replace

import numpy as np
import pytest

from conewise.course.geometry import BoundKind
from conewise.solver import checks, replay
from conewise.solver.node import SCALE, VARIABLES
from tests.solved import short_run

NAMES = (
    "no fold", "forward speed", "free of search bounds", "clearance over the margin", "limits between nodes",
    "replay drift, 95%", "replay drift, worst", "replay speed", "tracked run",
)  # fmt: skip


def altered(point, **changes):
    """The point with unknowns changed by functions of their values."""
    z = point.z * SCALE
    for name, change in changes.items():
        column = VARIABLES.index(name)
        z[:, column] = change(z[:, column])
    return replace(point, z=z / SCALE)


def checked(problem, point, drift=None):
    replays = replay.replayed(problem, point)
    replays = replays if drift is None else replace(replays, drift=drift)
    return {check.name: check for check in checks.run_checks(problem, point, replays)}


@pytest.fixture(scope="module")
def run():
    return short_run()


@pytest.fixture(scope="module")
def drift(run):
    return replay.window_drift(run.problem, run.point)


def test_a_solved_run_passes_them_all(run):
    assert tuple(check.name for check in run.checks) == NAMES
    assert [check.name for check in run.checks if not check.ok] == []
    assert all(np.isfinite(check.value) for check in run.checks)


def test_the_worst_place_of_each_is_a_feature(run):
    ids = {span.id for span in run.problem.geometry.spans}
    assert {check.where for check in run.checks} <= ids


def test_a_body_over_a_cone_fails(run, drift):
    aside = altered(run.point, lateral_offset=lambda n: n + 1.2)
    check = checked(run.problem, aside, drift)["clearance over the margin"]
    assert not check.ok
    assert check.value < -0.5


def test_clearance_is_told_over_the_margin_asked_for(run, drift):
    wide = run.problem.changed(margins=np.full(len(run.problem.margins), 0.4))
    told = checked(wide, run.point, drift)["clearance over the margin"]
    plain = checked(run.problem, run.point, drift)["clearance over the margin"]
    assert told.value == pytest.approx(plain.value - 0.4)


def test_a_cone_on_the_other_side_is_no_clearance(run):
    geometry = run.problem.geometry
    swapped = tuple(replace(cone, side=-cone.side) for cone in geometry.passes)
    line = checks.fine_line(run.problem, run.point)
    there = checks.clearances(run.problem.changed(geometry=replace(geometry, passes=swapped)), line)
    here = checks.clearances(run.problem, line)
    assert there == pytest.approx(here) or np.all(there <= here + 1e-9)
    over = altered(run.point, lateral_offset=lambda n: n + 4.0)  # right over the cones on the left
    assert checks.clearances(run.problem, checks.fine_line(run.problem, over)).min() < -0.8


def test_the_fine_line_goes_through_the_nodes(run):
    line, mesh, v = checks.fine_line(run.problem, run.point), run.problem.mesh, run.point.variables
    assert np.diff(line.station) == pytest.approx(checks.FINE_STEP)
    assert np.interp(mesh.station[:-1], line.station, line.offset) == pytest.approx(v["lateral_offset"][:-1], abs=5e-3)


def test_going_backwards_and_folding_fail(run, drift):
    slow = altered(run.point, v_x=lambda v: np.where(np.arange(len(v)) == 50, 0.2, v))
    assert not checked(run.problem, slow, drift)["forward speed"].ok
    bend = float(run.problem.mesh.curvature[np.argmax(np.abs(run.problem.mesh.curvature))])
    folded = altered(run.point, lateral_offset=lambda n: np.full_like(n, 0.9 / bend))
    assert not checked(run.problem, folded, drift)["no fold"].ok


def test_a_bound_that_nothing_stands_for_is_noticed(run):
    mesh = run.problem.mesh
    there = altered(run.point, lateral_offset=lambda n: np.where(np.arange(len(n)) == 30, mesh.n_high, n))
    assert mesh.station[30] in checks.leaning(run.problem, there)
    edges = np.full_like(np.asarray(run.problem.geometry.n_max_kind), BoundKind.EDGE)
    at_edge = run.problem.changed(geometry=replace(run.problem.geometry, n_max_kind=edges))
    assert not len(checks.leaning(at_edge, there))  # the edge of the site is a fact


def test_more_than_the_tyres_have_fails_between_the_nodes(run, drift):
    slid = altered(run.point, v_y=lambda v: v + 4.0)
    assert not checked(run.problem, slid, drift)["limits between nodes"].ok


def test_a_run_on_less_grip_fails_the_replay(run):
    slippery = run.problem.changed(p=replace(run.problem.p, surface=0.8))
    failed = {name for name, check in checked(slippery, run.point).items() if not check.ok}
    assert {"replay drift, worst"} <= failed

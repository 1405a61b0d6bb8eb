"""Where nodes lie, and which cones they see."""

import numpy as np
import pytest

from conewise.course.reference import lay_out
from conewise.solver.gears import GearPlan
from conewise.solver.mesh import (
    CONE_REACH,
    CONE_STEP,
    LEAST_START,
    LONGEST_STEP,
    LONGEST_TIME,
    SPLIT_REACH,
    TEST_REACH,
    build_mesh,
)
from conewise.solver.node import NODE_DATA
from tests.courses import club_course
from tests.model_cars import rear_drive

CAR = rear_drive()
GEOMETRY = lay_out(club_course(5, length=200.0))
SPEED = np.full(len(GEOMETRY.path.station), 14.0)
MESH = build_mesh(GEOMETRY, CAR, SPEED)
CONES = np.array([cone.station for cone in GEOMETRY.passes])


def test_steps_are_short_in_time_and_length():
    assert np.all(MESH.step > 0.0)
    assert MESH.step.max() <= min(LONGEST_STEP, LONGEST_TIME * 14.0) + 1e-9
    slow = build_mesh(GEOMETRY, CAR, np.full_like(SPEED, 5.0))
    assert slow.step.max() <= LONGEST_TIME * 5.0 + 0.02
    fast = build_mesh(GEOMETRY, CAR, np.full_like(SPEED, 60.0))
    assert fast.step.max() == pytest.approx(LONGEST_STEP, rel=0.1)


def test_steps_are_shorter_near_cones():
    middle = (MESH.station[1:] + MESH.station[:-1]) / 2.0 + CAR.body_middle
    near = np.min(np.abs(middle[:, None] - CONES[None, :]), axis=1) < CONE_REACH - CONE_STEP
    assert near.any()
    assert MESH.step[near].max() <= CONE_STEP + 0.06


def test_nodes_lie_at_the_beams_and_at_the_cones():
    assert MESH.station[0] == pytest.approx(MESH.extra - CAR.front_reach)
    assert MESH.station[MESH.finish] == pytest.approx(GEOMETRY.path.length - CAR.front_reach)
    inside = CONES[(MESH.station[0] < CONES) & (MESH.station[-1] > CONES)]
    assert np.abs(MESH.station[:, None] - inside[None, :]).min(axis=0).max() <= 0.2


def test_the_whole_car_passes_the_finish():
    assert MESH.station[-1] >= GEOMETRY.path.length + CAR.body_length - CAR.front_reach


def test_a_car_staged_at_the_beam_is_followed_from_a_little_behind_it():
    late = build_mesh(GEOMETRY, rear_drive(staging=0.0), SPEED)
    assert late.extra == pytest.approx(LEAST_START)
    assert build_mesh(GEOMETRY, rear_drive(staging=2.0), SPEED).extra == 0.0


def test_every_cone_is_tested_while_the_body_is_near():
    assert set(MESH.pair_cone.tolist()) == set(range(len(GEOMETRY.passes)))
    middle = MESH.station[MESH.pair_node] + CAR.body_middle
    away = np.abs(middle - CONES[MESH.pair_cone])
    assert away.max() <= CAR.body_length / 2.0 + TEST_REACH
    for cone in range(len(GEOMETRY.passes)):
        nodes = MESH.pair_node[MESH.pair_cone == cone]
        assert np.array_equal(nodes, np.arange(nodes[0], nodes[-1] + 1))


def test_a_cone_is_where_its_node_sees_it():
    heading, node = MESH.heading[MESH.pair_node], MESH.pair_node
    ahead, left, side, radius = MESH.pair_data
    x = MESH.x[node] + ahead * np.cos(heading) - left * np.sin(heading)
    y = MESH.y[node] + ahead * np.sin(heading) + left * np.cos(heading)
    for place, name in ((x, "x"), (y, "y"), (side, "side"), (radius, "radius")):
        assert place == pytest.approx([getattr(GEOMETRY.passes[i], name) for i in MESH.pair_cone])


def test_half_the_steps_are_twice_the_nodes():
    fine = build_mesh(GEOMETRY, CAR, SPEED, refine=0.5)
    assert len(fine.station) == pytest.approx(2 * len(MESH.station), rel=0.06)
    assert fine.step.max() <= 0.5 * MESH.step.max() + 0.05


def test_an_interval_that_is_split_is_shorter_and_only_there():
    place = 0.5 * (MESH.station[60] + MESH.station[61])
    split = build_mesh(GEOMETRY, CAR, SPEED, splits=(np.array([place]),))
    here = np.abs(split.station[1:] - place) < 1.0
    there = np.abs(MESH.station[1:] - place) < 1.0
    assert here.sum() > 1.5 * there.sum()
    far = [int(np.sum(np.abs(mesh.station - place) > SPLIT_REACH + 2.0)) for mesh in (split, MESH)]
    assert far[0] == pytest.approx(far[1], abs=6)  # the nodes between two wanted ones are spread anew


def test_curvature_is_the_mean_of_the_interval():
    assert np.sum(MESH.curvature * MESH.step) == pytest.approx(MESH.heading[-1] - MESH.heading[0])


def test_the_data_of_a_node_add_up_to_the_course():
    n = len(MESH.station)
    gears = GearPlan(gear=np.full(n, 2), drive=np.ones(n))
    data = dict(zip(NODE_DATA, MESH.node_data(gears, 1e-4), strict=True))
    timed = MESH.station[MESH.finish] - MESH.station[0]
    assert (data["time_left"] + data["time_right"]).sum() / 2.0 == pytest.approx(timed)  # the clock stops at the beam
    assert data["gear_2"].min() == 1.0
    assert sum(data[f"gear_{i}"].sum() for i in range(1, 9)) == n
    assert data["step_left"][0] == data["step_right"][-1] == 0.0
    assert data["step_left"][1:] == pytest.approx(data["step_right"][:-1])

"""A body beside a cone: distances against a geometry library."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from shapely import affinity

from conewise.course.geometry import PassedCone
from conewise.course.reference import lay_out
from conewise.runs import AROUND, Body, clear_of, cones_between, feature_results
from tests.solved import COURSE_NAMES, demo_course

BODY = Body(length=4.0, width=1.8, front_reach=1.9)


def cone_at(x, y, side=1):
    return PassedCone(
        id="c", feature="gate", crossing=0, side=side, x=x, y=y, radius=0.14, station=0.0, offset=0.0, is_standing=True
    )  # fmt: skip


def rectangle(x, y, heading):
    upright = shapely.box(BODY.front_reach - BODY.length, -BODY.width / 2.0, BODY.front_reach, BODY.width / 2.0)
    return affinity.translate(affinity.rotate(upright, heading, origin=(0.0, 0.0), use_radians=True), x, y)


def test_the_distance_is_that_of_a_rectangle_and_a_point():
    random = np.random.default_rng(5)
    poses = np.column_stack([random.uniform(-9, 9, 300), random.uniform(-9, 9, 300), random.uniform(-4, 4, 300)])
    for pose in poses:
        outline, there = rectangle(*pose), shapely.Point(1.0, 2.0)
        across = (2.0 - pose[1]) * np.cos(pose[2]) - (1.0 - pose[0]) * np.sin(pose[2])
        inside = outline.contains(there)
        wanted = -outline.exterior.distance(there) if inside else outline.distance(there)
        found = clear_of(BODY, cone_at(1.0, 2.0, side=1 if across > 0 else -1), pose[None, :])[0]
        assert found == pytest.approx(wanted - 0.14, abs=1e-9)


def test_a_cone_on_the_wrong_side_is_as_far_as_the_car_must_move_across():
    pose = np.array([[0.0, 0.0, 0.0]])
    assert clear_of(BODY, cone_at(0.0, -2.0, side=1), pose) == pytest.approx(-2.0 - 0.9 - 0.14)
    assert clear_of(BODY, cone_at(0.0, -2.0, side=-1), pose) == pytest.approx(2.0 - 0.9 - 0.14)


@pytest.fixture(scope="module", params=COURSE_NAMES)
def geometry(request):
    return lay_out(demo_course(request.param))


def test_the_slowest_speed_of_a_feature_is_between_its_cones(geometry):
    """A car that gains speed all the way is slowest at the first cone of each, not where the feature before ends."""
    station = np.linspace(0.0, geometry.path.length, 2000)
    rising = feature_results(geometry, station=station, elapsed=station / 10.0, speed=5.0 + station / 50.0)
    for feature, span in zip(rising, geometry.spans, strict=True):
        cones = [
            cone.station
            for cone in geometry.passes
            if cone.feature == span.id and cone.is_standing and not cone.is_guard
        ]
        if span.kind.value in ("start", "finish"):
            assert feature.slowest_station == span.start
        elif max(cones) - min(cones) > 2.0 * AROUND:
            assert feature.slowest_station == pytest.approx(min(cones), abs=1e-9), span.id
        assert span.start <= feature.slowest_station <= span.end
        assert feature.slowest_speed == pytest.approx(5.0 + feature.slowest_station / 50.0)
        assert feature.entry_speed == pytest.approx(5.0 + span.start / 50.0)
        assert feature.exit_speed == pytest.approx(5.0 + span.end / 50.0)


def test_a_car_turns_round_a_single_cone_within_a_few_metres(geometry):
    single = [
        span for span in geometry.spans
        if len({c.station for c in geometry.passes if c.feature == span.id and c.is_standing and not c.is_guard}) == 1
        and span.kind.value not in ("start", "finish")
    ]  # fmt: skip
    for span in single:
        first, last = cones_between(geometry, span)
        assert 0.0 < last - first <= 2.0 * AROUND

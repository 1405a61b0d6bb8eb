"""What is written is read: TOML keeps every digit, GeoJSON a millimetre, CSV the cones and features."""

from __future__ import annotations

import math

from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import Polygon

from conewise.course.geojson import geojson_text, read_geojson
from conewise.course.layout import (
    Anchor,
    Cone,
    ConePass,
    Course,
    CourseFeature,
    FeatureKind,
    Obstacle,
    PassSide,
    Patch,
    Site,
    Slope,
    StopArea,
)
from conewise.course.table_file import csv_text, left_out_of_csv, read_csv
from conewise.course.toml_file import read_toml
from conewise.course.toml_text import course_text

MILLIMETRE = 1e-3

letters = st.characters(exclude_categories=("Cc", "Cs"))
names = st.text(letters, min_size=1, max_size=12).map(lambda t: t.strip()).filter(lambda t: t and t == t.strip())
places = st.floats(-800.0, 800.0)  # [m]
points = st.tuples(places, places)
sides = st.sampled_from(PassSide)
INNER = [kind for kind in FeatureKind if kind not in {FeatureKind.START, FeatureKind.FINISH}]


@st.composite
def outlines(draw):
    """A simple polygon: points about a centre, in order of their angle, either way round."""
    x, y = draw(points)
    count = draw(st.integers(3, 6))
    radii = draw(st.lists(st.floats(1.0, 50.0), min_size=count, max_size=count))
    corners = [
        (x + r * math.cos(2 * math.pi * i / count), y + r * math.sin(2 * math.pi * i / count))
        for i, r in enumerate(radii)
    ]
    return tuple(corners[:: draw(st.sampled_from((1, -1)))])


@st.composite
def sites(draw):
    obstacle_names = draw(st.lists(names, max_size=2, unique=True))
    obstacles = [
        Obstacle(id=name, kind="pole", centre=draw(points), radius=draw(st.floats(0.0, 3.0)))
        if draw(st.booleans())
        else Obstacle(id=name, kind=draw(names), outline=draw(outlines()))
        for name in obstacle_names
    ]
    return Site(
        outline=draw(st.just(()) | outlines()),
        obstacles=tuple(obstacles),
        friction=draw(st.floats(0.1, 1.5)),
        patches=tuple(
            Patch(outline=shape, friction=draw(st.floats(0.1, 1.5))) for shape in draw(st.lists(outlines(), max_size=2))
        ),
        slope=Slope(grade=draw(st.floats(0.0, 0.2)), direction=draw(st.floats(-4.0, 4.0))),
        heading_to_north=draw(st.floats(-4.0, 4.0)),
        anchor=Anchor(latitude=draw(st.floats(-80.0, 80.0)), longitude=draw(st.floats(-179.0, 179.0))),
    )


@st.composite
def features(draw, cones, kind, name):
    if draw(st.booleans()):  # the usual shapes, which have forms of their own
        picked = st.sampled_from(cones)
        first = draw(st.sampled_from((PassSide.LEFT, PassSide.RIGHT)))
        second = PassSide.RIGHT if first is PassSide.LEFT else PassSide.LEFT
        count = draw(st.integers(1, 4))
        if draw(st.booleans()):
            crossings = [
                (
                    ConePass(cone=draw(picked), pass_side=PassSide.RIGHT),
                    ConePass(cone=draw(picked), pass_side=PassSide.LEFT),
                )
                for _ in range(count)
            ]
        else:
            crossings = [(ConePass(cone=draw(picked), pass_side=(first, second)[i % 2]),) for i in range(count)]
    else:
        one = st.builds(ConePass, cone=st.sampled_from(cones), pass_side=sides)
        crossings = [tuple(c) for c in draw(st.lists(st.lists(one, min_size=1, max_size=3), min_size=1, max_size=4))]
    return CourseFeature(id=name, kind=kind, crossings=tuple(crossings))


@st.composite
def courses(draw):
    ids = draw(st.lists(names, min_size=2, max_size=8, unique=True))
    standing, pointers = ids[: max(1, len(ids) - 2)], ids[max(1, len(ids) - 2) :]
    cones = [
        Cone(
            id=i, x=draw(places), y=draw(places), base=draw(st.floats(0.1, 1.0)), position_sd=draw(st.floats(0.0, 5.0))
        )
        for i in standing
    ]
    cones += [Cone(id=i, x=draw(places), y=draw(places), points_to=draw(st.sampled_from(standing))) for i in pointers]
    feature_names = draw(st.lists(names, min_size=2, max_size=6, unique=True))
    kinds = [FeatureKind.START, *(draw(st.sampled_from(INNER)) for _ in feature_names[2:]), FeatureKind.FINISH]
    stop = st.builds(StopArea, kind=st.sampled_from(("box", "lane")), length=st.floats(1.0, 200.0), outline=outlines())
    return Course(
        name=draw(names),
        cones=tuple(draw(st.permutations(cones))),
        features=tuple(draw(features(standing, k, n)) for k, n in zip(kinds, feature_names, strict=True)),
        site=draw(sites()),
        stop=draw(st.none() | stop),
        staging=draw(st.floats(0.0, 10.0)),
        rules=draw(st.sampled_from(("club", "student"))),
        source="course",
    )


@given(courses())
def test_toml_keeps_everything_exactly(course):
    assert read_toml(course_text(course), file="course") == course


@given(courses())
def test_toml_is_written_the_same_twice(course):
    text = course_text(course)
    assert course_text(read_toml(text, file="course")) == text


def apart(one, other):
    """Largest distance between two outlines; vertices may begin elsewhere and run the other way. [m]"""
    if not one and not other:
        return 0.0
    return Polygon(one).exterior.hausdorff_distance(Polygon(other).exterior)


def without_places(course):
    """The course with everything but the coordinates."""
    kept = course.model_dump()
    for cone in kept["cones"]:
        del cone["x"], cone["y"]
    for obstacle in kept["site"]["obstacles"]:
        del obstacle["outline"], obstacle["centre"]
    for patch in kept["site"]["patches"]:
        del patch["outline"]
    del kept["site"]["outline"]
    if kept["stop"]:
        del kept["stop"]["outline"]
    return kept


@given(courses())
def test_geojson_keeps_everything_to_a_millimetre(course):
    again = read_geojson(geojson_text(course), file="course")
    assert without_places(again) == without_places(course)
    for a, b in zip(course.cones, again.cones, strict=True):
        assert math.dist((a.x, a.y), (b.x, b.y)) < MILLIMETRE
    assert apart(course.site.outline, again.site.outline) < MILLIMETRE
    for a, b in zip(course.site.obstacles, again.site.obstacles, strict=True):
        assert apart(a.outline, b.outline) < MILLIMETRE
        assert (a.centre is None) == (b.centre is None)
        assert a.centre is None or math.dist(a.centre, b.centre) < MILLIMETRE
    for a, b in zip(course.site.patches, again.site.patches, strict=True):
        assert apart(a.outline, b.outline) < MILLIMETRE
    if course.stop:
        assert apart(course.stop.outline, again.stop.outline) < MILLIMETRE


@given(courses())
def test_csv_keeps_cones_and_features_and_says_what_it_leaves_out(course):
    again = read_csv(csv_text(course), file="course")
    assert {cone.id: cone for cone in again.cones} == {cone.id: cone for cone in course.cones}
    assert again.features == course.features
    kept = again.changed(cones=course.cones)
    lost = {
        "name": True,  # the file is named, not the course
        "rules": kept.rules != course.rules,
        "staging distance": kept.staging != course.staging,
        "stop area": kept.stop != course.stop,
        "site outline": kept.site.outline != course.site.outline,
        "obstacles": kept.site.obstacles != course.site.obstacles,
        "surface friction": kept.site.friction != course.site.friction,
        "patches": kept.site.patches != course.site.patches,
        "slope": kept.site.slope != course.site.slope,
        "heading to north": kept.site.heading_to_north != course.site.heading_to_north,
        "geographic anchor": kept.site.anchor != course.site.anchor,
    }
    assert left_out_of_csv(course) == [what for what, is_lost in lost.items() if is_lost]

"""GPX 1.1 waypoints as cones."""

from __future__ import annotations

import math

import pytest
from pyproj import Geod

from conewise.course.gpx import GpxError, read_gpx
from conewise.course.layout import CourseExtentError, DuplicateConeError, FeatureKind, UnknownConeError
from tests.recorded import recorded

HEAD = '<?xml version="1.0" encoding="UTF-8"?>\n<gpx version="1.1" creator="hand" xmlns="http://www.topografix.com/GPX/1/1">\n'
POINTS = [
    ("start left", "", "", 51.0, 7.0),
    ("B", "start right", "", 50.99995, 7.0),
    ("C", "", "Slalom 1 left", 51.0, 7.0003),
    ("D", "slalom 1 to your right", "", 51.0, 7.0005),
    ("P", "pointer of D", "", 51.00002, 7.0005),
    ("E", "offset-gate 4 right", "", 51.0, 7.0009),
    ("F", "offset gate 4 left", "", 50.99995, 7.0009),
    ("G", "cone west either side", "", 51.0, 7.001),
    ("H", "split gate 2 right", "", 51.0, 7.0011),
    ("I", "split gate 2 left", "", 51.0, 7.0012),
    ("J", "finish right", "", 51.0, 7.0014),
    ("K", "finish left", "", 51.00005, 7.0014),
]


def gpx(points=POINTS):
    waypoints = "".join(
        f'<wpt lat="{lat}" lon="{lon}"><name>{name}</name><cmt>{comment}</cmt><desc>{words}</desc></wpt>\n'
        for name, comment, words, lat, lon in points
    )
    return f"{HEAD}{waypoints}</gpx>\n"


def changed(index, **values):
    point = dict(zip(("name", "comment", "words", "lat", "lon"), POINTS[index], strict=True)) | values
    return gpx([*POINTS[:index], tuple(point.values()), *POINTS[index + 1 :]])


def crossings(course, name):
    feature = next(f for f in course.features if f.id == name)
    return [[(p.cone, p.pass_side.value) for p in crossing] for crossing in feature.crossings]


def test_waypoints_make_a_course():
    course = read_gpx(gpx(), file="folder/lot.gpx")
    assert course.name == "lot"
    assert [f.id for f in course.features] == [
        "start", "slalom 1", "offset gate 4", "cone west", "split gate 2", "finish",
    ]  # fmt: skip
    assert course.features[2].kind is FeatureKind.OFFSET_GATE
    assert crossings(course, "start") == [[("start left", "right"), ("B", "left")]]
    assert crossings(course, "slalom 1") == [[("C", "right")], [("D", "left")]]
    assert crossings(course, "offset gate 4") == [[("F", "right"), ("E", "left")]]
    assert crossings(course, "cone west") == [[("G", "either")]]
    assert crossings(course, "split gate 2") == [[("H", "left")], [("I", "right")]]
    assert course.cone("P").points_to == "D"


def test_places_are_those_of_the_geodesic_from_the_first_waypoint():
    course = read_gpx(gpx(), file="lot.gpx")
    _, _, distance = Geod(ellps="WGS84").inv(7.0, 51.0, 7.0014, 51.00005)
    assert math.hypot(course.cone("K").x, course.cone("K").y) == pytest.approx(distance, abs=1e-6)
    assert (course.site.anchor.latitude, course.site.anchor.longitude) == (51.0, 7.0)
    assert course.cone("K").y > course.cone("J").y  # north is up the page


@pytest.mark.parametrize(
    ("text", "said", "place"),
    [
        ("hello", "not GPX", "lot.gpx"),
        (gpx()[:200], "not GPX", "lot.gpx"),
        (gpx([]), "no waypoints", "lot.gpx"),
        (changed(2, name=""), "no name", "lot.gpx, line 5, waypoint 3"),
        (changed(2, words="apex"), "Not every waypoint says which cone it is: 'C'", "lot.gpx"),
        (changed(2, words="slalom 1"), "'C'", "lot.gpx"),
        (changed(2, lat=95.0), "Latitude 95, longitude 7.0003: no place on the earth", "line 5, waypoint 'C'"),
        (changed(2, lat="nan"), "no place on the earth", "waypoint 'C'"),
        (changed(2, lat="x"), "not GPX", "lot.gpx"),
        (changed(11, comment="finish either"), "one left and one right", "feature 'finish'"),
        (gpx(POINTS[:-1]), "'finish' takes one left and one right waypoint", "feature 'finish'"),
    ],
)
def test_a_mistake_is_told_with_its_waypoint(text, said, place):
    with pytest.raises(GpxError) as caught:
        read_gpx(text, file="lot.gpx")
    assert said in caught.value.message
    assert place in caught.value.where
    assert caught.value.hint


def test_what_to_write_is_shown():
    with pytest.raises(GpxError) as caught:
        read_gpx(changed(2, words="apex"), file="lot.gpx")
    assert '"slalom 1 right"' in caught.value.hint


def test_a_name_twice_is_two_cones_of_one_id():
    with pytest.raises(DuplicateConeError) as caught:
        read_gpx(changed(2, name="B"), file="lot.gpx")
    assert caught.value.where == "lot.gpx, line 5, waypoint 'B'"


@pytest.mark.parametrize(
    ("index", "place"),
    [(2, {"lat": 51.1}), (0, {"lat": 52.0}), (2, {"lat": -51.0, "lon": -173.0}), (2, {"lat": -50.9, "lon": -172.0})],
)
def test_a_waypoint_of_another_town_is_told_and_not_driven_to(index, place):
    """The first waypoint is the plan's origin: a slip in it must not be blamed on the others."""
    with pytest.raises(CourseExtentError) as caught:
        read_gpx(changed(index, **place), file="lot.gpx")
    assert caught.value.where == f"lot.gpx, line {index + 3}, waypoint '{POINTS[index][0]}'"


def test_a_pointer_of_nothing():
    with pytest.raises(UnknownConeError):
        read_gpx(changed(4, comment="pointer of Z"), file="lot.gpx")


def test_a_recorded_file_without_words_is_told_what_to_add():
    """Waypoints recorded elsewhere (format cases with all fields of GPX 1.0 and 1.1)."""
    for name in ("gpx1.0_with_all_fields.gpx", "gpx1.1_with_all_fields.gpx"):
        with pytest.raises(GpxError) as caught:
            read_gpx(recorded("gpx", name).read_text(encoding="utf-8-sig"), file=name)
        assert caught.value.hint


def test_a_recorded_track_has_no_cones():
    with pytest.raises(GpxError, match="no waypoints"):
        read_gpx(recorded("gpx", "car_with_holes.gpx").read_text(encoding="utf-8-sig"), file="car.gpx")

"""GeoJSON after RFC 7946 and the plane that touches the earth at the anchor."""

from __future__ import annotations

import json
import math

import pytest
from pyproj import Geod
from shapely.geometry import Polygon, shape

from conewise.course.earth import LocalPlane, NotAnchoredError
from conewise.course.geojson import GeoJsonError, geojson_text, read_geojson
from conewise.course.layout import Anchor, CourseExtentError, FeatureOrderError
from conewise.course.toml_file import read_toml

TEXT = """\
name = "Küste"
[site]
anchor = { latitude = 40.0, longitude = -105.0 }
heading_to_north = "30 deg"
outline = [[-10, -20], [-10, 20], [90, 20], [90, -20]]
[[site.obstacle]]
id = "pole"
kind = "pole"
centre = [30, 15]
radius = 0.2
[[site.patch]]
friction = 0.6
outline = [[0, 0], [5, 0], [5, 5]]
[cones]
s1 = [0, 3]
s2 = [0, -3]
p = { at = [20, 0.7], points_to = "a" }
a = [20, 0]
f1 = [80, 3]
f2 = [80, -3]
[[feature]]
kind = "start"
left = "s1"
right = "s2"
[[feature]]
kind = "cone"
cone = "a"
pass = "right"
[[feature]]
kind = "finish"
left = "f1"
right = "f2"
[stop]
length = "30 m"
outline = [[80, -5], [110, -5], [110, 5], [80, 5]]
"""


def course():
    return read_toml(TEXT, file="a.toml")


# Metres per degree from the principal radii of WGS84: M and N at the latitude (recomputed to 1 mm).
@pytest.mark.parametrize(
    ("latitude", "per_latitude", "per_longitude"),
    [(30.0, 110852.442, 96486.280), (40.0, 111034.633, 85393.857), (45.0, 111131.777, 78846.835)],
)
def test_metres_per_degree_of_wgs84(latitude, per_latitude, per_longitude):
    plane = LocalPlane(Anchor(latitude=latitude, longitude=7.0))
    step = 1e-3  # 0.1 km: the meridian's curvature changes by less than 1e-7 over it
    north = plane.to_plan(7.0, latitude + step)[1] - plane.to_plan(7.0, latitude - step)[1]
    east = plane.to_plan(7.0 + step, latitude)[0] - plane.to_plan(7.0 - step, latitude)[0]
    assert north / (2 * step) == pytest.approx(per_latitude, rel=1e-7)
    assert east / (2 * step) == pytest.approx(per_longitude, rel=1e-7)


def test_distance_and_bearing_from_the_anchor_are_those_of_the_geodesic():
    """Against the geodesics of PROJ (Karney, Algorithms for geodesics, Journal of Geodesy 87, 2013)."""
    anchor = Anchor(latitude=40.0, longitude=-105.0)
    plane = LocalPlane(anchor, math.radians(30.0))
    longitude, latitude = plane.to_earth((120.0, 250.0))
    bearing, _, distance = Geod(ellps="WGS84").inv(anchor.longitude, anchor.latitude, longitude, latitude)
    assert distance == pytest.approx(math.hypot(120.0, 250.0), abs=1e-6)
    # the plan's y axis lies 30 degrees clockwise of north, the point atan(120 / 250) clockwise of it
    assert bearing == pytest.approx(30.0 + math.degrees(math.atan2(120.0, 250.0)), abs=1e-6)


def test_heading_to_north_turns_the_plan():
    plane = LocalPlane(Anchor(latitude=0.0, longitude=0.0), math.radians(90.0))  # the y axis points east
    longitude, latitude = plane.to_earth((0.0, 100.0))
    assert (longitude > 0, abs(latitude) < 1e-9) == (True, True)


def test_it_is_geojson_after_the_standard():
    """RFC 7946: types (1.4), longitude before latitude (3.1.1), closed rings, outer ones counter-clockwise (3.1.6)."""
    collection = json.loads(geojson_text(course()))
    assert collection["type"] == "FeatureCollection"
    for item in collection["features"]:
        assert item["type"] == "Feature"
        assert isinstance(item["properties"], dict)
        assert shape(item["geometry"]).is_valid
        west, south, east, north = shape(item["geometry"]).bounds
        assert -105.01 < west <= east < -104.99
        assert 39.99 < south <= north < 40.01
        if item["geometry"]["type"] == "Polygon":
            ring = item["geometry"]["coordinates"][0]
            assert ring[0] == ring[-1]
            assert shape(item["geometry"]).exterior.is_ccw
    assert "crs" not in collection


def test_nine_decimals():
    point = json.loads(geojson_text(course()))["features"][0]["geometry"]["coordinates"]
    assert all(round(number, 9) == number for number in point)


def test_everything_comes_back_to_a_millimetre():
    before, after = course(), read_geojson(geojson_text(course()), file="a.geojson")
    assert after.features == before.features
    assert after.changed(cones=before.cones, site=before.site, stop=before.stop, source="a.toml") == before
    for a, b in zip(before.cones, after.cones, strict=True):
        assert math.dist((a.x, a.y), (b.x, b.y)) < 1e-3
        assert a.points_to == b.points_to
    assert after.site.anchor == before.site.anchor
    assert after.site.patches[0].friction == 0.6
    assert after.site.obstacles[0].centre == pytest.approx((30.0, 15.0), abs=1e-3)
    assert after.stop.length == 30.0
    assert Polygon(after.site.outline).exterior.hausdorff_distance(Polygon(before.site.outline).exterior) < 1e-3


def test_a_course_without_an_anchor_is_refused_with_what_to_add():
    free = course().changed(site={})
    with pytest.raises(NotAnchoredError, match="no geographic anchor") as caught:
        geojson_text(free)
    assert "anchor = { latitude" in caught.value.hint


def edited(**changes):
    collection = json.loads(geojson_text(course()))
    for key, value in changes.items():
        collection[key] = value
    return json.dumps(collection)


def with_item(number, **changes):
    collection = json.loads(geojson_text(course()))
    collection["features"][number] |= changes
    return json.dumps(collection)


@pytest.mark.parametrize(
    ("text", "said", "place"),
    [
        ("{", "not JSON", "line 1"),
        ("[]", "not a GeoJSON feature collection", "a.geojson"),
        ('{"type": "FeatureCollection"}', "no list 'features'", "a.geojson"),
        ('{"type": "FeatureCollection", "features": []}', "no member 'course'", "a.geojson"),
        (edited(course={"name": "x"}), "latitude", "course.anchor"),
        (edited(course={"anchor": {"latitude": 100, "longitude": 0}}), "latitude", "course.anchor"),
        (edited(course={"anchor": {"latitude": 1, "longitude": 0}, "heading_to_north": "x"}), "radians", "course"),
        (edited(course={"anchor": {"latitude": 1, "longitude": 0}, "colour": 1, "name": "x"}), "colour", "course"),
        (with_item(0, type="Point"), "not a GeoJSON feature", "item 1"),
        (with_item(0, geometry=None), "not a Point", "item 1"),
        (with_item(0, geometry={"type": "Point", "coordinates": [1]}), "not a position", "item 1"),
        (with_item(0, geometry={"type": "Point", "coordinates": [0, 95]}), "not a position", "item 1"),
        (with_item(0, geometry={"type": "Point", "coordinates": [0, float("nan")]}), "not a position", "item 1"),
        (with_item(0, geometry={"type": "Point", "coordinates": [0, 10**400]}), "not a position", "item 1"),
        (with_item(0, properties={"role": "cone"}), "'id'", "item 1"),
        (with_item(6, properties={"role": "feature", "id": "start", "kind": "start"}), "number 'order'", "item 7"),
        (with_item(6, properties={"role": "feature", "order": 1, "id": "s", "kind": "bend"}), "'kind'", "item 7"),
        (with_item(9, geometry={"type": "Polygon", "coordinates": [[]]}), "no ring", "item 10"),
    ],
)
def test_a_mistake_is_told_with_its_item(text, said, place):
    with pytest.raises(GeoJsonError) as caught:
        read_geojson(text, file="a.geojson")
    assert said in caught.value.message
    assert place in caught.value.where
    assert caught.value.hint


def test_the_order_of_the_features_is_their_number():
    collection = json.loads(geojson_text(course()))
    collection["features"].reverse()
    read = read_geojson(json.dumps(collection), file="a.geojson")
    assert [f.id for f in read.features] == ["start", "cone 1", "finish"]


def test_what_is_drawn_beside_the_course_is_no_part_of_it():
    building = {"type": "Feature", "geometry": None, "properties": {"name": "shed"}}
    collection = json.loads(geojson_text(course()))
    collection["features"].append(building)
    assert read_geojson(json.dumps(collection), file="a.geojson").features == course().features


def test_a_cone_on_another_continent_is_told():
    with pytest.raises(CourseExtentError) as caught:
        read_geojson(with_item(0, geometry={"type": "Point", "coordinates": [120, -30]}), file="a.geojson")
    assert caught.value.where == "a.geojson, cone 's1'"


def test_contradictions_name_the_file():
    with pytest.raises(FeatureOrderError) as caught:
        read_geojson(edited(features=[]), file="a.geojson")
    assert "a.geojson" in caught.value.where

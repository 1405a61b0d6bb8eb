"""The plan of a course: shapes, not colours, say what a cone is and where the car goes."""

from __future__ import annotations

import math
import re
import xml.etree.ElementTree as ET

import numpy as np
import pytest

from conewise.course.toml_file import read_toml
from conewise.reports.course_words import feature_words
from conewise.reports.plan import plan_svg

TEXT = """\
name = "Lot <1> & more"
[site]
outline = [[-10, -20], [100, -20], [100, 20], [-10, 20]]
anchor = { latitude = 51, longitude = 7 }
heading_to_north = "90 deg"
[[site.obstacle]]
id = "pole"
kind = "pole"
centre = [30, 15]
[[site.patch]]
friction = 0.6
outline = [[0, 0], [5, 0], [5, 5]]
[cones]
s1 = [0, 3]
s2 = [0, -3]
a = [20, 0]
b = [38, 0]
p = { at = [20, 0.7], points_to = "a" }
o = [55, 0]
f1 = [80, 3]
f2 = [80, -3]
[[feature]]
kind = "start"
left = "s1"
right = "s2"
[[feature]]
kind = "slalom"
cones = ["a", "b"]
first = "left"
[[feature]]
kind = "cone"
cone = "o"
pass = "either"
[[feature]]
kind = "finish"
left = "f1"
right = "f2"
"""
LEFT = "first cone to your left"
SVG = "{http://www.w3.org/2000/svg}"


def course():
    return read_toml(TEXT, file="a.toml")


def drawn(**options):
    return ET.fromstring(plan_svg(course(), **options))  # the text is our own


def of_class(root, name):
    return [element for element in root.iter() if element.get("class") == name]


def titled(root, name):
    return [element for element in root.iter() if element.findtext(f"{SVG}title") == name]


def test_it_is_one_self_contained_picture_with_a_name():
    text = plan_svg(course())
    root = ET.fromstring(text)
    assert root.tag == f"{SVG}svg"
    assert root.get("role") == "img"
    assert root.findtext(f"{SVG}title") == "Plan of the course Lot <1> & more"
    assert "http" not in text.replace("http://www.w3.org/2000/svg", "")


def test_standing_cones_and_pointers_differ_in_shape():
    root = drawn()
    standing = [e for e in of_class(root, "standing") if e.find(f"{SVG}title") is not None]
    pointers = [e for e in of_class(root, "pointer") if e.find(f"{SVG}title") is not None]
    assert {e.tag for e in standing} == {f"{SVG}rect"}
    assert {e.tag for e in pointers} == {f"{SVG}path"}
    assert (len(standing), len(pointers)) == (7, 1)


def centre(rect):
    return [float(rect.get(k)) + float(rect.get(s)) / 2 for k, s in (("x", "width"), ("y", "height"))]


def test_a_pointer_lies_beside_its_cone_and_points_at_it():
    root = drawn()
    x, y, angle = map(float, re.findall(r"-?\d+\.\d+", titled(root, "p")[0].get("transform")))
    cx, cy = centre(titled(root, "a")[0])
    assert math.degrees(math.atan2(cy - y, cx - x)) == pytest.approx(angle, abs=0.5)  # drawn to a tenth of a pixel
    assert math.dist((x, y), (cx, cy)) > 10  # not under the square of the cone
    assert y < cy  # north of its cone is up the page


def test_ticks_show_the_side_to_pass_on():
    root = drawn()
    ticks = [[float(e.get(k)) for k in ("x1", "y1", "x2", "y2")] for e in of_class(root, "side")]
    beside = {name: [] for name in "abo"}
    for name in beside:
        cx, cy = centre(titled(root, name)[0])
        beside[name] = [math.copysign(1, t[3] - cy) for t in ticks if abs(t[0] - cx) < 8 and abs(t[1] - cy) < 8]
    # The first cone is on your left: pass below it on the page; then above; then either side.
    assert beside == {"a": [1.0], "b": [-1.0], "o": [-1.0, 1.0]}


def test_every_feature_has_its_number_and_no_number_hides_another():
    root = drawn()
    numbers = [e.text for e in root.iter(f"{SVG}text") if e.get("class") == "in"]
    assert numbers == ["1", "2", "3", "4"]
    places = [(float(e.get("cx")), float(e.get("cy"))) for e in of_class(root, "number")]
    assert min(math.dist(a, b) for i, a in enumerate(places) for b in places[:i]) > 18


def test_all_that_is_drawn_lies_on_the_sheet():
    root = drawn()
    _, _, width, height = map(float, root.get("viewBox").split())
    for rect in of_class(root, "standing"):
        x, y = centre(rect)
        assert 0 < x < width
        assert 0 < y < height


def test_the_scale_bar_is_as_long_as_it_says():
    root = drawn(system="us")
    label = next(e.text for e in root.iter(f"{SVG}text") if e.text.endswith(" ft"))
    bar = next(e.get("d") for e in of_class(root, "line") if "H" in e.get("d"))
    x1, x2 = (float(n) for n in re.match(r"M([\d.]+) [\d.]+H([\d.]+)", bar).groups())
    ends = [centre(titled(root, name)[0])[0] for name in ("s1", "f1")]  # 80 m apart
    assert (x2 - x1) / (ends[1] - ends[0]) * 80 / 0.3048 == pytest.approx(float(label.split()[0]), rel=1e-3)


def test_the_way_is_drawn_where_it_is_given():
    way = np.column_stack([np.linspace(0, 80, 5), np.full(5, 19.0)])
    assert of_class(drawn(way=way), "way")[0].get("d").count("L") == 4
    assert of_class(drawn(), "way")[0].get("d").count("L") == 4  # five crossings


def test_north_is_turned_like_the_plan():
    arrow = next(e for e in drawn().iter(f"{SVG}g"))
    assert "rotate(-90.0)" in arrow.get("transform")  # the y axis points east, so north is to the left


def test_a_gate_without_an_opening_is_called_shut():
    read = course()
    left, right = (p.cone for p in read.features[0].crossings[0])
    there = read.cone(right)
    cones = tuple(cone.changed(x=there.x, y=there.y) if cone.id == left else cone for cone in read.cones)
    assert feature_words(read.changed(cones=cones), read.features[0]) == "start, shut"


@pytest.mark.parametrize(
    ("index", "metric", "us"),
    [
        (0, "start, 5.72 m wide", "start, 18.8 ft wide"),
        (1, f"slalom of 2 cones, 18.0 m apart, {LEFT}", f"slalom of 2 cones, 59.1 ft apart, {LEFT}"),
        (2, "cone, on either side", "cone, on either side"),
    ],
)  # fmt: skip
def test_features_in_words(index, metric, us):
    read = course()
    assert feature_words(read, read.features[index]) == metric
    assert feature_words(read, read.features[index], system="us") == us


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ('kind = "wall"\ncones = ["a", "b"]\npass = "left"', "wall of 2 cones, 18.0 m apart, to your right"),
        (
            'kind = "slalom"\ncones = ["a", "b", "o"]\nfirst = "either"',
            "slalom of 3 cones, 17.0 to 18.0 m apart, either side first",
        ),
        ('kind = "hairpin"\ncones = ["a"]\npass = "right"', "hairpin round one cone, to your left"),
        ('kind = "split-gate"\nleft = "a"\nright = "b"\nfirst = "left"', f"split gate, 18.0 m apart, {LEFT}"),
        ('kind = "box"\ngates = [["a", "b"], ["b", "o"]]', "box of 2 gates, 16.7 to 17.7 m wide"),
    ],
)  # fmt: skip
def test_more_features_in_words(fields, words):
    read = read_toml(TEXT.replace('kind = "slalom"\ncones = ["a", "b"]\nfirst = "left"', fields), file="a.toml")
    assert feature_words(read, read.features[1]) == words

"""The map as a drawing that other programs can read."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from dataclasses import replace

import numpy as np
import pytest

from conewise.reports import figures
from conewise.reports.picture import png
from conewise.reports.units import METRIC, US
from tests.reports_fixture import fallback_answer, made_up_answer

SVG = "{http://www.w3.org/2000/svg}"
SIZES = {name: getattr(figures, name) for name in ("DESK", "HAND", "DESK_SUN", "HAND_SUN", "PRINT")}


@pytest.fixture(scope="module")
def answer():
    return made_up_answer()


def drawn(answer, units=METRIC, size=figures.PRINT):
    return ET.fromstring(figures.map_svg(answer, units, size))


def texts(tree, kind):
    return [element.text for element in tree.iter(f"{SVG}text") if kind in element.get("class", "").split()]


def of_class(tree, name):
    return [element for element in tree.iter() if name in element.get("class", "").split()]


def test_every_cone_is_drawn_and_pointers_have_another_shape(answer):
    tree = drawn(answer)
    cones = of_class(tree, "cone")
    pointers = [cone for cone in cones if cone.find(f"{SVG}polygon") is not None]
    assert len(cones) == len(answer.course.cones)
    assert len(pointers) == sum(not cone.is_standing for cone in answer.course.cones) > 0


def test_a_cone_passed_on_both_sides_shows_both(answer):
    first = answer.solution.cones[0]
    other = replace(first, is_left=not first.is_left, feature="again")
    twice = replace(answer, solution=replace(answer.solution, cones=(*answer.solution.cones, other)))
    assert len(of_class(drawn(twice), "both")) == 1


def test_slowest_speeds_are_the_run_s(answer):
    shown = {int(text) for text in texts(drawn(answer), "slowest")}
    wanted = {round(f.slowest_speed * 3.6) for f in answer.solution.features if f.kind not in {"start", "finish"}}
    assert len(shown) >= 5
    assert shown <= wanted


def test_the_dearest_cones_carry_their_price(answer):
    shown = texts(drawn(answer), "price")
    assert METRIC.price(answer.dearest_cones[0].price) in shown


@pytest.mark.parametrize("size", SIZES.values(), ids=SIZES)
def test_start_and_finish_are_always_named(answer, size):
    assert texts(drawn(answer, size=size), "end") == ["Start", "Finish"]


@pytest.mark.parametrize("size", SIZES.values(), ids=SIZES)
def test_the_whole_course_is_on_the_sheet(answer, size):
    frame = figures.fit(answer, size)
    corners = frame.on_sheet(np.array([(cone.x, cone.y) for cone in answer.course.cones]))
    assert corners.min() >= 0
    assert corners[:, 0].max() <= size.width
    assert corners[:, 1].max() <= frame.height <= size.most_height


def test_the_map_keeps_shape_and_hand(answer):
    """A plan distance is the scale times as long, and a left turn stays a left turn (y runs down on the sheet)."""
    for size in SIZES.values():
        frame = figures.fit(answer, size)
        origin, east, north = frame.on_sheet(np.array([(0.0, 0.0), (1.0, 0.0), (0.0, 1.0)]))
        a, b = east - origin, north - origin
        assert np.hypot(*a) == pytest.approx(frame.scale)
        assert a @ b == pytest.approx(0.0, abs=1e-9)
        assert a[0] * b[1] - a[1] * b[0] == pytest.approx(-(frame.scale**2))


def test_names_are_text(answer):
    hostile = replace(answer, solution=replace(answer.solution, course="</text><script>x</script>&"))
    tree = drawn(hostile)
    assert not list(tree.iter(f"{SVG}script"))
    assert texts(tree, "title")[0].startswith("</text><script>x</script>&, ")


def test_a_fallback_says_so_on_the_map():
    assert "fallback" in texts(drawn(fallback_answer()), "title")[0]


def test_units_are_named(answer):
    words = [element.text for element in drawn(answer, US).iter(f"{SVG}text")]
    assert "Speed [mph]" in words
    assert any(word.endswith(" ft") for word in words)


def test_the_picture_is_a_png_of_the_drawing_s_size(answer):
    """Signature and header as in ISO/IEC 15948:2004, Portable Network Graphics, 5.2 and 11.2.2."""
    drawing = figures.map_svg(answer, METRIC, figures.PRINT)
    picture = png(drawing)
    assert picture[:8] == b"\x89PNG\r\n\x1a\n"
    width, height = (int.from_bytes(picture[i : i + 4], "big") for i in (16, 20))
    tree = ET.fromstring(drawing)
    assert width / height == pytest.approx(
        float(tree.get("width")) / float(tree.get("height")), rel=2e-3
    )  # whole pixels


@pytest.mark.parametrize("size", ["DESK", "HAND"])
def test_north_points_north(answer, size):
    """The plan's y axis lies 30 degrees clockwise of true north, so north is 30 degrees to the left of it."""
    heading = np.deg2rad(30)
    turned = replace(answer, course=answer.course.changed(site=answer.course.site.changed(heading_to_north=heading)))
    frame = figures.fit(turned, SIZES[size])
    origin, north = frame.on_sheet(np.array([(0.0, 0.0), (-np.sin(heading), np.cos(heading))]))
    arrow = of_class(drawn(turned, size=SIZES[size]), "north")[0]
    tip, _, back, _ = (np.array(pair.split(","), float) for pair in arrow.get("points").split())
    drawn_way, true_way = (way / np.hypot(*way) for way in (tip - back, north - origin))
    assert drawn_way == pytest.approx(true_way, abs=0.02)  # corners are written to 0.1 px


def test_the_edge_of_a_lot_is_drawn_whole_or_where_the_course_comes_near():
    answer = made_up_answer()
    (whole,) = of_class(drawn(answer), "lot")
    assert whole.tag == f"{SVG}polygon"
    cones = np.array([(cone.x, cone.y) for cone in answer.course.cones])
    west, south = cones.min(axis=0) - 5.0

    def with_outline(*outline):
        site = answer.course.site.changed(outline=outline, patches=(), obstacles=())
        return of_class(drawn(replace(answer, course=answer.course.changed(site=site))), "lot")

    far = with_outline((west - 90, south - 90), (west + 900, south - 90), (west + 900, south + 900), (west - 90, 900))
    assert far == []
    near = with_outline((west, south - 90), (west + 900, south - 90), (west + 900, south + 900), (west, 900))
    assert near
    assert {edge.tag for edge in near} == {f"{SVG}polyline"}

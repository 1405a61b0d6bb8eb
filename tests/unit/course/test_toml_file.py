"""Course files in TOML: what is read, and what every mistake says."""

from __future__ import annotations

import math

import pytest

from conewise.course.files import read_course
from conewise.course.layout import (
    CourseExtentError,
    CourseFeature,
    DuplicateConeError,
    DuplicateFeatureError,
    FeatureKind,
    FeatureOrderError,
    PointerPassError,
    UnknownConeError,
)
from conewise.course.toml_table import CourseFieldError, Table
from conewise.errors import ConewiseError
from conewise.quantities import UnitError
from conewise.toml_source import TomlSyntaxError

SMALL = """\
name = "Small"

[cones]
s1 = [0, 3]
s2 = [0, -3]
a = [20, 0]
b = ["121 ft", 0]
p = { at = [20, 0.7], points_to = "a" }
f1 = [60, 3]
f2 = [60, -3]

[[feature]]
kind = "start"
left = "s1"
right = "s2"

[[feature]]
kind = "slalom"
cones = ["a", "b"]
first = "left"

[[feature]]
kind = "finish"
left = "f1"
right = "f2"
"""


SLALOM_FIELDS = 'kind = "slalom"\ncones = ["a", "b"]\nfirst = "left"'


def course(tmp_path, text, name="small.toml"):
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    return read_course(path)


def with_site(lines):
    return SMALL.replace("[cones]", f"[site]\n{lines}\n\n[cones]")


def sides(feature: CourseFeature):
    return [[(p.cone, p.pass_side.value) for p in crossing] for crossing in feature.crossings]


def test_a_small_course(tmp_path):
    read = course(tmp_path, SMALL)
    assert [f.id for f in read.features] == ["start", "slalom 1", "finish"]
    assert [f.kind for f in read.features] == [FeatureKind.START, FeatureKind.SLALOM, FeatureKind.FINISH]
    assert read.cone("b").x == pytest.approx(121 * 0.3048, abs=1e-12)  # international foot, exact
    assert read.cone("p").points_to == "a"
    assert not read.cone("p").is_standing
    assert read.rules == "club"
    assert read.staging == 0.3
    assert read.source.endswith("small.toml")


def test_the_drivers_left_cone_is_passed_on_its_right(tmp_path):
    """Common practice, no source: "first cone to your left" says where the cone is."""
    start, slalom, _ = course(tmp_path, SMALL).features
    assert sides(start) == [[("s1", "right"), ("s2", "left")]]
    assert sides(slalom) == [[("a", "right")], [("b", "left")]]


def test_a_free_slalom_leaves_every_side_open(tmp_path):
    slalom = course(tmp_path, SMALL.replace('first = "left"', 'first = "either"')).features[1]
    assert slalom.is_open
    assert {side for crossing in sides(slalom) for _, side in crossing} == {"either"}


@pytest.mark.parametrize(
    ("fields", "expected"),
    [
        ('kind = "cone"\ncone = "a"\npass = "left"', [[("a", "left")]]),
        ('kind = "wall"\ncones = ["a", "b"]\npass = "right"', [[("a", "right")], [("b", "right")]]),
        ('kind = "gate"\nleft = "a"\nright = "b"', [[("a", "right"), ("b", "left")]]),
        ('kind = "offset-gate"\nleft = "a"\nright = "b"', [[("a", "right"), ("b", "left")]]),
        ('kind = "split-gate"\nleft = "a"\nright = "b"\nfirst = "left"', [[("a", "right")], [("b", "left")]]),
        ('kind = "split-gate"\nleft = "a"\nright = "b"\nfirst = "right"', [[("b", "left")], [("a", "right")]]),
        (
            'kind = "box"\ngates = [["a", "b"], ["b", "a"]]',
            [[("a", "right"), ("b", "left")], [("b", "right"), ("a", "left")]],
        ),
        ('kind = "sweeper"\ngates = [["a", "b"]]', [[("a", "right"), ("b", "left")]]),
        ('kind = "hairpin"\ncones = ["a"]\npass = "right"', [[("a", "right")]]),
        (
            'kind = "gate"\ncrossings = [[{ cone = "a", pass = "either" }, { cone = "b", pass = "left" }]]',
            [[("a", "either"), ("b", "left")]],
        ),
    ],
)
def test_every_form_of_a_feature(tmp_path, fields, expected):
    text = SMALL.replace(SLALOM_FIELDS, fields)
    assert sides(course(tmp_path, text).features[1]) == expected


def test_the_site(tmp_path):
    site = course(
        tmp_path,
        with_site(
            "friction = 0.9\n"
            "outline = [[-10, -20], [80, -20], [80, 20]]\n"
            'heading_to_north = "12 deg"\n'
            "anchor = { latitude = 51.5, longitude = 7 }\n"
            'slope = { grade = "2 %", direction = "90 deg" }\n'
            '[[site.obstacle]]\nid = "pole"\nkind = "pole"\ncentre = [30, 15]\nradius = "1 ft"\n'
            "[[site.patch]]\nfriction = 0.6\noutline = [[0, 0], [1, 0], [1, 1]]\n"
        ),
    ).site
    assert site.friction == 0.9
    assert site.outline == ((-10.0, -20.0), (80.0, -20.0), (80.0, 20.0))
    assert site.heading_to_north == pytest.approx(math.radians(12))
    assert (site.anchor.latitude, site.anchor.longitude) == (51.5, 7.0)
    assert site.slope.grade == pytest.approx(0.02)
    assert site.slope.direction == pytest.approx(math.pi / 2)
    assert site.obstacles[0].radius == pytest.approx(0.3048)
    assert site.patches[0].friction == 0.6


def test_a_cone_may_serve_two_passes_and_a_course_may_cross_itself(tmp_path):
    text = SMALL.replace(
        '[[feature]]\nkind = "finish"',
        '[[feature]]\nkind = "cone"\ncone = "a"\npass = "right"\n\n[[feature]]\nkind = "finish"',
    )
    assert [f.cone_ids.count("a") for f in course(tmp_path, text).features] == [0, 1, 1, 0]


def test_names_of_any_language_line_ends_and_byte_order_marks(tmp_path):
    text = SMALL.replace("Small", "Küstenkurs 港 №1").replace("s1", '"Süd-1"').replace('""', '"')
    path = tmp_path / "küste.toml"
    path.write_bytes(b"\xef\xbb\xbf" + text.replace("\n", "\r\n").encode())
    read = read_course(path)
    assert read.name == "Küstenkurs 港 №1"
    assert read.cones[0].id == "Süd-1"


def test_utf_16_is_read_too(tmp_path):
    path = tmp_path / "wide.toml"
    path.write_bytes(SMALL.encode("utf-16"))
    assert read_course(path).name == "Small"


HEAD, *FEATURES = SMALL.split("[[feature]]")
START, SLALOM, FINISH = (f"[[feature]]{part}" for part in FEATURES)

MISTAKES = {
    "not TOML": (SMALL.replace("[0, 3]", "[0, 3"), TomlSyntaxError, "line 5", ""),
    "farther than any map": (SMALL.replace("[0, 3]", "[1e300, 3]"), CourseFieldError, "line 4", "s1"),
    "a million kilometres away": (SMALL.replace("[0, 3]", "[0, 1e9]"), CourseFieldError, "line 4", "s1"),
    "a cone in the next town": (SMALL.replace("[0, 3]", "[6000, 3]"), CourseExtentError, "line 4", "cone 's1'"),
    "a far corner": (with_site("outline = [[0, 9], [9, 9], [9, 9e4]]"), CourseExtentError, "line 4", "site, outline"),
    "a far obstacle": (
        with_site('[[site.obstacle]]\nid = "pole"\nkind = "pole"\ncentre = [9e4, 0]'),
        CourseExtentError,
        "line 4",
        "obstacle, 1",
    ),
    "a vast obstacle": (
        with_site('[[site.obstacle]]\nid = "pole"\nkind = "pole"\ncentre = [9, 0]\nradius = "80 km"'),
        CourseFieldError,
        "line 8",
        "radius",
    ),
    "a far patch": (
        with_site("[[site.patch]]\noutline = [[0, 0], [9, 9], [9, 9e4]]\nfriction = 1"),
        CourseExtentError,
        "line 4",
        "patch, 1",
    ),
    "an endless stop area": (f'{SMALL}\n[stop]\nlength = "10 km"\n', CourseFieldError, "line 28", "length"),
    "a unit of another dimension": (SMALL.replace("[0, 3]", '["60 psi", 3]'), UnitError, "line 4", "s1"),
    "no such unit": (SMALL.replace("[0, 3]", '["60 furlongs", 3]'), UnitError, "line 4", "s1"),
    "not a number": (SMALL.replace("[0, 3]", "[nan, 3]"), UnitError, "line 4", "s1"),
    "infinite": (SMALL.replace("[0, 3]", "[inf, 3]"), UnitError, "line 4", "s1"),
    "too large to be a number": (SMALL.replace("[0, 3]", f"[{'9' * 400}, 3]"), UnitError, "line 4", "s1"),
    "a truth value": (SMALL.replace("[0, 3]", "[true, 3]"), UnitError, "line 4", "s1"),
    "half a point": (SMALL.replace("[0, 3]", "[0]"), CourseFieldError, "line 4", "s1"),
    "an angle without its unit": (with_site("heading_to_north = 12"), UnitError, "line 4", "heading_to_north"),
    "friction of nothing": (with_site("friction = 0"), CourseFieldError, "line 4", "friction"),
    "an outline of two points": (with_site("outline = [[0, 0], [1, 1]]"), CourseFieldError, "line 4", "outline"),
    "an anchor beyond the pole": (
        with_site("anchor = { latitude = 91, longitude = 0 }"),
        CourseFieldError,
        "line 4",
        "latitude",
    ),
    "an obstacle of no shape": (
        with_site('[[site.obstacle]]\nid = "pole"\nkind = "pole"'),
        CourseFieldError,
        "line 4",
        "obstacle 'pole'",
    ),
    "staging too long": (f'staging = "40 ft"\n{SMALL}', CourseFieldError, "line 1", "staging"),
    "a doubled cone": (SMALL.replace("s2 =", "s1 ="), DuplicateConeError, "line 5", "cone 's1'"),
    "an unknown cone": (SMALL.replace('["a", "b"]', '["a", "z"]'), UnknownConeError, "line 17", "feature 'slalom 1'"),
    "a pointer passed": (SMALL.replace('["a", "b"]', '["a", "p"]'), PointerPassError, "line 17", "feature 'slalom 1'"),
    "a pointer to nothing": (SMALL.replace('points_to = "a"', 'points_to = "z"'), UnknownConeError, "line 8", "p"),
    "a pointer to a pointer": (SMALL.replace('points_to = "a"', 'points_to = "p"'), PointerPassError, "line 8", "p"),
    "an unknown kind": (SMALL.replace('"slalom"', '"slolam"'), CourseFieldError, "line 18", "kind"),
    "an unknown field": (SMALL.replace("first =", "frist ="), CourseFieldError, "line 17", "feature 2 'slalom 1'"),
    "a field too many": (
        SMALL.replace('first = "left"', 'first = "left"\nwidth = 3'),
        CourseFieldError,
        "line 21",
        "width",
    ),
    "an unknown table": (f"{SMALL}\n[sight]\nx = 1\n", CourseFieldError, "line 27", "sight"),
    "a side that is none": (SMALL.replace('first = "left"', 'first = "up"'), CourseFieldError, "line 20", "first"),
    "no cones in a slalom": (SMALL.replace('["a", "b"]', "[]"), CourseFieldError, "line 19", "cones"),
    "no name": (SMALL.replace('name = "Small"', ""), CourseFieldError, "", ""),
    "no cones at all": ('name = "x"', CourseFieldError, "", ""),
    "a name on two lines": (SMALL.replace('"Small"', '"Small\\nCourse"'), CourseFieldError, "line 1", "name"),
    "features doubled": (
        SMALL.replace('kind = "slalom"', 'id = "finish"\nkind = "slalom"'),
        DuplicateFeatureError,
        "line 23",
        "finish",
    ),
    "a single table of features": (HEAD + "[feature]\nkind = 'start'", CourseFieldError, "line 12", ""),
    "a box that is not made of pairs": (
        SMALL.replace(SLALOM_FIELDS, 'kind = "box"\ngates = [["a"]]'),
        CourseFieldError,
        "line 19",
        "gates",
    ),
    "a hairpin of nothing": (
        SMALL.replace(SLALOM_FIELDS, 'kind = "hairpin"'),
        CourseFieldError,
        "line 17",
        "hairpin 1",
    ),
}


@pytest.mark.parametrize("mistake", MISTAKES)
def test_a_mistake_is_told_with_its_place(tmp_path, mistake):
    text, kind, line, field = MISTAKES[mistake]
    with pytest.raises(kind) as caught:
        course(tmp_path, text)
    assert "small.toml" in caught.value.where
    assert line in caught.value.where
    assert field in caught.value.where
    assert caught.value.hint
    assert caught.value.message.endswith(".")


def test_the_metres_of_a_national_grid_are_read(tmp_path):
    """Northings of the usual grids reach 10 000 km: the false northing of UTM in the southern hemisphere."""
    moved = SMALL
    for place in ("0, 3", "0, -3", "20, 0", "20, 0.7", "60, 3", "60, -3"):
        x, y = map(float, place.split(","))
        moved = moved.replace(f"[{place}]", f"[{x + 5e5}, {y + 9.99e6}]")
    moved = moved.replace('["121 ft", 0]', "[500040, 9990000]")
    assert course(tmp_path, moved).cone("a").y == 9.99e6


def test_an_anchored_plan_lies_near_its_anchor(tmp_path):
    moved = with_site("anchor = { latitude = 51, longitude = 7 }").replace("[0, 3]", "[0, 3.0]")
    for place in ("0, 3.0", "0, -3", "20, 0", "20, 0.7", "60, 3", "60, -3"):
        x, y = place.split(",")
        moved = moved.replace(f"[{place}]", f"[{x},{float(y) + 60e3}]")
    with pytest.raises(CourseExtentError, match="from the anchor") as caught:
        course(tmp_path, moved.replace('["121 ft", 0]', "[40, 60000]"))
    assert "line 7" in caught.value.where


@pytest.mark.parametrize(
    ("features", "said"),
    [
        (FINISH + SLALOM + START, "start comes after the finish"),
        (SLALOM + START + FINISH, "start comes after 'slalom 1'"),
        (START + FINISH + SLALOM, "'slalom 1' comes after the finish"),
        (SLALOM, "no start"),
        (START + SLALOM, "no finish"),
        (START + START + FINISH, "2 features of the kind start"),
        ("", "no start"),
        (START.replace('"start"', '"gate"'), "no start"),
    ],
)
def test_an_impossible_order_is_told(tmp_path, features, said):
    with pytest.raises(FeatureOrderError, match=said) as caught:
        course(tmp_path, HEAD + features)
    assert "small.toml" in caught.value.where


def test_five_thousand_features(tmp_path):
    """5,000 features are read, and a mistake in the last one found."""
    cones = "".join(f"l{i} = [{i}, 3]\nr{i} = [{i}, -3]\n" for i in range(5000))
    gates = "".join(f'[[feature]]\nkind = "gate"\nleft = "l{i}"\nright = "r{i}"\n' for i in range(1, 4999))
    ends = [f'[[feature]]\nkind = "{k}"\nleft = "l{i}"\nright = "r{i}"\n' for k, i in (("start", 0), ("finish", 4999))]
    text = f'name = "Long"\n[cones]\n{cones}{ends[0]}{gates}{ends[1]}'
    assert len(course(tmp_path, text).features) == 5000
    with pytest.raises(UnknownConeError, match="no cone 'nowhere'") as caught:
        course(tmp_path, text.replace('"r4998"', '"nowhere"'))
    heading = text.splitlines().index('left = "l4998"') - 1  # counted from 1
    assert f"line {heading}," in caught.value.where


def test_no_mistake_is_anything_but_our_own_error():
    assert all(issubclass(kind, ConewiseError) for _, kind, _, _ in MISTAKES.values())


def test_lists_nested_without_end_are_a_syntax_error():
    with pytest.raises(TomlSyntaxError, match="nested too deeply"):
        Table.of_text("a = " + "[" * 100_000, file="deep.toml")


def test_an_unknown_field_is_told_with_all_that_are_known(tmp_path):
    path = tmp_path / "a.toml"
    path.write_text("stagging = 0.3\n" + SMALL, encoding="utf-8")
    with pytest.raises(CourseFieldError) as caught:
        read_course(path)
    assert caught.value.hint.startswith("Did you mean 'staging'? ")
    assert "rules, site, staging, stop, walk" in caught.value.hint

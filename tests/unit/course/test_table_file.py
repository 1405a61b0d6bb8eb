"""Tables of cones."""

from __future__ import annotations

import pytest

from conewise.course.layout import CourseExtentError, DuplicateFeatureError, FeatureOrderError, UnknownConeError
from conewise.course.table_file import ConeTableError, csv_text, left_out_of_csv, read_csv
from conewise.quantities import UnitError

TABLE = """\
cone,x_m,y_m,feature,kind,crossing,pass,points_to
s1,0,3,start,start,1,right,
s2,0,-3,start,start,1,left,
a1,20,0,slalom 1,slalom,1,right,
a2,37,0,slalom 1,slalom,2,left,
f1,80,3,finish,finish,1,right,
f2,80,-3,finish,finish,1,left,
p1,20,0.7,,,,,a1
"""


def crossings(course, name):
    feature = next(f for f in course.features if f.id == name)
    return [[(p.cone, p.pass_side.value) for p in crossing] for crossing in feature.crossings]


def test_a_table():
    course = read_csv(TABLE, file="folder/evening.csv")
    assert course.name == "evening"
    assert [f.id for f in course.features] == ["start", "slalom 1", "finish"]
    assert crossings(course, "start") == [[("s1", "right"), ("s2", "left")]]
    assert crossings(course, "slalom 1") == [[("a1", "right")], [("a2", "left")]]
    assert course.cone("p1").points_to == "a1"


def test_the_same_table_in_feet_with_semicolons_and_decimal_commas():
    text = TABLE.replace("0.7", "2,5").replace("x_m", "x_ft").replace("y_m", "y_ft")
    text = "\n".join(line.replace(",", ";") if "2,5" not in line else "p1;20;2,5;;;;;a1" for line in text.splitlines())
    course = read_csv(text, file="a.csv")
    assert course.cone("a1").x == pytest.approx(20 * 0.3048)
    assert course.cone("p1").y == pytest.approx(2.5 * 0.3048)


def test_tabs_and_quotation_marks():
    text = TABLE.replace(",", "\t").replace("slalom 1", '"slalom ""one"""')
    assert read_csv(text, file="a.csv").features[1].id == 'slalom "one"'


def test_a_unit_may_stand_in_a_cell():
    assert read_csv(TABLE.replace("a2,37", "a2,100 ft"), file="a.csv").cone("a2").x == pytest.approx(30.48)


def test_gates_need_no_crossing_numbers():
    text = "\n".join(line.replace(",1,right", ",,right").replace(",1,left", ",,left") for line in TABLE.splitlines())
    assert crossings(read_csv(text.replace(",2,left", ",,left"), file="a.csv"), "start") == [
        [("s1", "right"), ("s2", "left")]
    ]
    assert len(crossings(read_csv(text.replace(",2,left", ",,left"), file="a.csv"), "slalom 1")) == 2


def test_a_cone_may_be_passed_twice():
    text = TABLE.replace("f1,80", "a1,20,0,cone 1,cone,1,left,\nf1,80")
    assert crossings(read_csv(text, file="a.csv"), "cone 1") == [[("a1", "left")]]


@pytest.mark.parametrize(
    ("found", "given", "kind", "line", "said"),
    [
        ("a2,37", "a1,37", ConeTableError, "line 5", "another place"),
        ("a2,37", ",37", ConeTableError, "line 5", "no id"),
        ("a2,37", "a2,37 psi", UnitError, "line 5", "psi"),
        ("a2,37", "a2,nan", UnitError, "line 5", "finite"),
        ("a2,37", "a2,1e300", CourseExtentError, "line 5", "Cone 'a2'"),
        ("a2,37", "a2,1e9", CourseExtentError, "line 5", "reach to 10000000 m"),
        ("a2,37", "a2,37000", CourseExtentError, "line 5", "from the middle of the cones"),
        ("a2,37", "a2,", UnitError, "line 5", "number"),
        ("a2,37,0,slalom 1,slalom,2,left", "a2,37,0,slalom 1,slalom,2,up", ConeTableError, "line 5", "up"),
        ("slalom 1,slalom,1", "slalom 1,slolam,1", ConeTableError, "line 4", "slolam"),
        ("slalom 1,slalom,1,right", ",slalom,1,right", ConeTableError, "line 4", "no feature"),
        ("a1,20,0,slalom 1,slalom", "a1,20,0,slalom 1,", ConeTableError, "line 4", "'kind' is empty"),
        (",,,,a1", ",,,,z", UnknownConeError, "line 8", "'z'"),
        ("cone,x_m", "name,x_m", ConeTableError, "line 1", "'name'"),
        ("x_m", "x_furlong", ConeTableError, "line 1", "'x_furlong'"),
        (",y_m", ",feature", ConeTableError, "line 1", "'y' is missing"),
        ("p1,20,0.7,,,,,a1", "p1,20,0.7,,,,,a1,,", ConeTableError, "line 8", "10 fields"),
        ("s1,0,3,start,start,1,right,\n", "", None, "", ""),
        ("slalom 1,slalom,2", "finish,slalom,2", ConeTableError, "line 6", "is a slalom above and a finish here"),
        ("slalom 1,slalom,2", "start,slalom,2", DuplicateFeatureError, "a.csv", "'start'"),
        ("f1,80,3,finish,finish,1,right,\nf2,80,-3,finish,finish,1,left,", "", FeatureOrderError, "a.csv", "no finish"),
    ],
)
def test_a_mistake_is_told_with_its_line(found, given, kind, line, said):
    assert found in TABLE
    text = TABLE.replace(found, given, 1)
    if kind is None:
        assert crossings(read_csv(text, file="a.csv"), "start") == [[("s2", "left")]]
        return
    with pytest.raises(kind) as caught:
        read_csv(text, file="a.csv")
    assert line in caught.value.where
    assert said in caught.value.message
    assert caught.value.hint


def test_cones_alone_are_no_course():
    with pytest.raises(ConeTableError, match="no features") as caught:
        read_csv("cone,x,y\na,0,0\n", file="a.csv")
    assert "feature, kind and pass" in caught.value.hint


def test_a_head_alone_is_no_course():
    with pytest.raises(ConeTableError, match="no cones"):
        read_csv("cone,x,y\n", file="a.csv")


def test_what_is_written_is_read():
    course = read_csv(TABLE, file="a.csv")
    again = read_csv(csv_text(course), file="a.csv")
    assert again == course


def test_what_is_left_out_is_said():
    course = read_csv(TABLE, file="a.csv")
    assert left_out_of_csv(course) == ["name"]
    assert left_out_of_csv(course.changed(rules="student", staging=1.0)) == ["name", "rules", "staging distance"]

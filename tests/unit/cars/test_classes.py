"""Classes: what a rule set may say, what it may not, and the class of a car with its reason."""

from __future__ import annotations

from pathlib import Path

import pytest

import conewise
from conewise.cars.classes import UnknownClassError, class_findings, class_named, class_of
from conewise.cars.classes_file import RulesContradictError, read_classes
from conewise.errors import InputError
from tests.cars import demo_car

DEMO = Path(conewise.__file__).parent / "demo" / "rules" / "three-valleys.toml"
STREET = '[[class]]\ncode = "S"\nallows = ["tyre"]\n'
LIMIT = '[[class.limit]]\nfield = "front.wheel.width"\n'


@pytest.fixture
def rules(tmp_path):
    def read(text):
        path = tmp_path / "rules.toml"
        path.write_text(text, encoding="utf-8")
        return read_classes(path)

    return read


def test_a_car_is_in_the_first_class_that_takes_it():
    classes, car = read_classes(DEMO), demo_car("marigold")
    assert class_of(car, car.modified, classes).code == "S"
    moved = class_of(car, {*car.modified, "bar"}, classes)
    assert (moved.code, moved.index) == ("T", 0.821)
    assert moved.reason == "S does not allow changes of the kind bar; T takes it (changed: bar, damper, tyre)"


def test_a_limit_is_kept_by_the_number_itself():
    classes, car = read_classes(DEMO), demo_car("marigold")  # wheels 8 in wide, treadwear 200
    wider = car.with_values({"front.wheel.width": car.values["front.wheel.width"].__class__(
        value=0.2159, uncertainty=0.0, origin=car.values["front.wheel.width"].origin)})  # fmt: skip
    told = class_of(wider, car.modified, classes)
    assert told.code == "T"
    assert "front.wheel.width must be at most 203 mm; it is 216 mm" in told.reason


def test_seat_time_and_safety_items_are_nobodys_business():
    classes, car = read_classes(DEMO), demo_car("marigold")
    assert class_of(car, {"driver", "safety"}, classes).code == "S"
    assert class_of(car, {"restraint"}, classes).code == "T"


def test_no_class_takes_what_every_class_refuses(rules):
    classes = rules(STREET)
    told = class_of(demo_car("pepper"), {"power"}, classes)
    assert (told.code, told.index, told.car_class) == ("", 1.0, None)
    assert told.reason == "S does not allow changes of the kind power"


def test_a_class_for_one_drive_takes_no_other(rules):
    classes = rules(STREET + 'drives = ["rear"]\n')
    assert "rear drive" in class_of(demo_car("pepper"), (), classes).reason
    assert class_of(demo_car("marigold"), (), classes).code == "S"


def test_a_class_is_found_by_code_or_name():
    classes = read_classes(DEMO)
    assert class_named("touring", classes, where="x") is class_named("t", classes, where="x") is classes[1]
    with pytest.raises(UnknownClassError) as caught:
        class_named("open", classes, where="x")
    assert "S (Street), T (Touring), P (Prepared)" in caught.value.hint


BAD = {
    "no class": ('title = "x"\n', "no class"),
    "no code": ('[[class]]\nname = "x"\n', "code"),
    "unknown kind": ('[[class]]\ncode = "S"\nallows = ["tyres"]\n', "tyres"),
    "unknown key": (STREET + "indx = 0.8\n", "indx"),
    "index of zero": (STREET + "index = 0\n", "index"),
    "index in words": (STREET + 'index = "fast"\n', "index"),
    "two of one code": (STREET + STREET, "the code 'S'"),
    "unknown field": (STREET + '[[class.limit]]\nfield = "front.tyre.width"\nat_most = "2 m"\n', "front.tyre.width"),
    "no end": (STREET + LIMIT, "at_least"),
    "another dimension": (STREET + LIMIT + 'at_most = "8 kg"\n', "kg"),
    "no unit": (STREET + '[[class.limit]]\nfield = "mass.total"\nat_least = 950\n', "unit"),
    "two dimensions": (STREET + '[[class.limit]]\nfield = ["mass.total", "front.tyre.treadwear"]\nat_least = 1\n',
                       "different dimensions"),
    "class as text": ('class = "S"\n', "list of tables"),
}  # fmt: skip


@pytest.mark.parametrize(("text", "words"), BAD.values(), ids=BAD)
def test_bad_rules_are_said_with_their_place(rules, text, words):
    with pytest.raises(InputError) as caught:
        rules(text)
    assert words in caught.value.message
    assert "rules.toml" in caught.value.where


def test_limits_that_no_car_can_keep_are_refused(rules):
    both = LIMIT + 'at_least = "9 in"\n' + LIMIT + 'at_most = "8 in"\n'
    with pytest.raises(RulesContradictError) as caught:
        rules(STREET + both)
    assert "front.wheel.width must be at least 229 mm and at most 203 mm" in caught.value.message


def test_a_class_behind_one_that_takes_all_of_its_cars_is_found(rules):
    classes = rules(STREET + '[[class]]\ncode = "T"\nallows = ["tyre"]\n' + LIMIT + 'at_most = "8 in"\n')
    codes = [finding.code for finding in class_findings(demo_car("marigold"), classes)]
    assert codes == ["class-unreachable"]
    other_way = rules(STREET + LIMIT + 'at_most = "8 in"\n' + '[[class]]\ncode = "T"\nallows = ["tyre"]\n')
    assert not class_findings(demo_car("marigold"), other_way)


def test_a_class_that_hangs_on_a_typical_value_says_so(rules):
    classes = rules(STREET + '[[class.limit]]\nfield = "body.yaw_inertia"\nat_most = "9000 kg m2"\n')
    found = class_findings(demo_car("marigold"), classes)
    assert [finding.code for finding in found] == ["class-rests-on-typical"]
    assert "body.yaw_inertia" in found[0].message


def test_other_topics_of_a_rule_set_are_passed_over(rules):
    assert rules('gate_width = "15 ft"\n[helmet]\nstandard = "any"\n' + STREET)[0].code == "S"

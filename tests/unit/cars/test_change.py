"""Changes: what is read, what they do to a car, and what hangs on them."""

from pathlib import Path

import numpy as np
import pytest

import conewise
from conewise.cars.car import DifferentialKind
from conewise.cars.change import (
    OTHER_TYRE,
    Change,
    Edit,
    ImpossibleChangeError,
    MovedMass,
    NoSuchNumberError,
    changed_car,
)
from conewise.cars.changes_file import read_changes
from conewise.cars.edit import with_numbers
from conewise.cars.toml_file import CarFieldError
from conewise.cars.typical import numbers
from conewise.errors import InputError
from conewise.quantities import Origin, Sourced
from conewise.vehicle.build import model_parameters
from tests.cars import demo_car

DEMO = Path(conewise.__file__).parent / "demo" / "changes"


def amount(value, uncertainty=0.0):
    return Sourced(value=value, uncertainty=uncertainty, origin=Origin.SPEC_SHEET)


def edit(fields, action, value):
    names = (fields,) if isinstance(fields, str) else fields
    return Edit(fields=names, action=action, value=value)


def change(*edits, **others):
    return Change(name="trial", edits=edits, **others)


@pytest.fixture
def file(tmp_path):
    def read(text):
        path = tmp_path / "changes.toml"
        path.write_text(text, encoding="utf-8")
        return read_changes(path)

    return read


ONE = '[[change]]\nname = "one"\n[[change.edit]]\nfield = "front.camber"\n'


def test_set_add_and_scale():
    car = demo_car("pepper")
    assert changed_car(car, change(edit("mass.total", "set", amount(900.0)))).value("mass.total") == 900.0
    assert changed_car(car, change(edit("mass.total", "add", amount(-10.0)))).value("mass.total") == 1085.0
    assert changed_car(car, change(edit("mass.total", "scale", amount(0.5)))).value("mass.total") == 547.5


def test_one_edit_of_two_fields_is_one_uncertain_amount():
    both = change(edit(("front.tyre.friction", "rear.tyre.friction"), "scale", amount(1.1, 0.02)))
    assert len(both.uncertain) == 1
    car = demo_car("marigold")
    high = changed_car(car, both, draws=[1.0])
    assert high.value("front.tyre.friction") == pytest.approx(car.value("front.tyre.friction") * 1.12)
    assert high.value("rear.tyre.friction") == pytest.approx(car.value("rear.tyre.friction") * 1.12)


def test_another_offset_moves_the_track_width_by_twice_the_difference():
    # d_track = -2 dET, "Wheel offset" calculator page: ET38 to ET25 is 26 mm
    car = demo_car("marigold")
    other = changed_car(car, change(edit("front.wheel.offset", "add", amount(-0.013))))
    assert other.value("front.track") - car.value("front.track") == pytest.approx(0.026, abs=1e-12)
    assert other.value("rear.track") == car.value("rear.track")


@pytest.mark.parametrize("name", ["marigold", "boulder"])
def test_lighter_wheels_lighten_the_car_and_its_axles(name):
    car = demo_car(name)
    before = model_parameters(car)
    after = model_parameters(changed_car(car, change(edit("front.wheel.mass", "add", amount(-2.0)))))
    assert after.mass - before.mass == pytest.approx(-4.0, abs=1e-9)
    assert after.unsprung_mass_front - before.unsprung_mass_front == pytest.approx(-4.0, abs=1e-9)
    assert after.unsprung_mass_rear == before.unsprung_mass_rear
    assert after.wheel_inertia_front < before.wheel_inertia_front
    weight = [p.mass * p.cg_to_rear / p.wheelbase for p in (before, after)]
    assert weight[1] - weight[0] == pytest.approx(-4.0, abs=1e-9)  # all of it on the front axle


@pytest.mark.parametrize("name", ["marigold", "boulder", "pepper"])
def test_a_tyre_moves_friction_stiffness_load_radius_mass_and_inertia(name):
    car = demo_car(name)
    before = model_parameters(car)
    tyre = change(
        edit(("front.tyre.section_width", "rear.tyre.section_width"), "add", amount(0.02)),
        edit(("front.tyre.treadwear", "rear.tyre.treadwear"), "set", amount(100.0)),
    )
    after = model_parameters(changed_car(car, tyre))
    for field in ("friction_lateral", "friction_longitudinal", "reference_load", "rolling_radius", "wheel_inertia"):
        assert getattr(after, f"{field}_front") > getattr(before, f"{field}_front"), field
        assert getattr(after, f"{field}_rear") > getattr(before, f"{field}_rear"), field
    assert after.stiffness_peak_front != before.stiffness_peak_front
    assert after.mass > before.mass


def test_a_given_friction_moves_in_proportion_to_the_treadwear():
    car = demo_car("marigold")
    other = with_numbers(car, {"front.tyre.treadwear": 100.0})
    from conewise.cars.estimate import friction_of_treadwear

    wanted = car.value("front.tyre.friction") * friction_of_treadwear(100) / friction_of_treadwear(200)
    assert other.value("front.tyre.friction") == pytest.approx(wanted, rel=1e-12)


def test_a_tyre_code_without_a_load_index_gets_a_usual_load():
    car = demo_car("marigold")
    other = changed_car(car, change(edit("front.tyre.size", "set", "225/45R15")))
    assert other.value("front.tyre.section_width") == 0.225
    assert other.value("front.tyre.load_capacity") == pytest.approx(545, rel=0.035)  # index 87, data books, from memory


def test_a_wheel_code_sets_width_and_offset():
    car = demo_car("boulder")
    other = changed_car(car, change(edit("front.wheel.size", "set", "18x10 +28")))
    assert other.value("front.wheel.width") == pytest.approx(0.254)
    assert other.value("front.track") - car.value("front.track") == pytest.approx(0.020, abs=1e-12)


@pytest.mark.parametrize("kind", list(DifferentialKind))
def test_another_differential_is_whole(kind):
    car = changed_car(demo_car("pepper"), change(edit("front.differential.kind", "set", kind.value)))
    p = model_parameters(car)
    assert car.front.differential.kind is kind
    assert (p.differential_preload_front > 1000) == (kind is DifferentialKind.LOCKED)
    assert (p.differential_drive_front > 0) == (kind is DifferentialKind.LIMITED_SLIP)


def test_words_for_brakes_transmission_and_drive():
    car = demo_car("marigold")
    assert model_parameters(changed_car(car, change(edit("brakes.abs", "set", value=True)))).abs_share == 1.0
    assert changed_car(car, change(edit("transmission.kind", "set", "dual-clutch"))).transmission.kind == "dual-clutch"
    assert model_parameters(changed_car(car, change(edit("drive", "set", "front")))).front_drive_share == 1.0


def test_a_moved_mass_moves_centre_of_gravity_and_inertia():
    car = demo_car("boulder")  # yaw inertia given
    p = model_parameters(car)
    moved = Change(name="x", masses=(MovedMass(mass=amount(20.0), position=1.0, height=1.0),))
    q = model_parameters(changed_car(car, moved))
    assert q.mass == pytest.approx(p.mass + 20)
    assert q.cg_to_front * q.mass == pytest.approx(p.cg_to_front * p.mass + 20 * p.wheelbase, rel=1e-12)
    assert q.cg_height * q.mass == pytest.approx(p.cg_height * p.mass + 20 * 1.0, rel=1e-12)
    reduced = 20 * p.mass / (p.mass + 20)  # parallel axes
    assert q.yaw_inertia - p.yaw_inertia == pytest.approx(reduced * (p.wheelbase - p.cg_to_front) ** 2, rel=1e-9)


def test_a_mass_put_in_and_taken_out_leaves_the_car_as_it_was():
    car = demo_car("boulder")
    there = {"position": 0.9, "height": 0.0}  # on the road, which is a height too
    put_in, taken_out = (Change(name="x", masses=(MovedMass(mass=amount(m), **there),)) for m in (30.0, -30.0))
    heavy = changed_car(car, put_in)
    before, after = (model_parameters(c).vector() for c in (car, changed_car(heavy, taken_out)))
    assert after == pytest.approx(before, rel=1e-9)
    assert heavy.value("body.cg_height") < car.value("body.cg_height")
    assert heavy.value("body.roll_inertia") > car.value("body.roll_inertia")


def test_a_mass_on_the_side_adds_to_roll_and_yaw_by_parallel_axes():
    car = demo_car("boulder")
    p = model_parameters(car)
    side = MovedMass(mass=amount(25.0), lateral=0.4)
    q = model_parameters(changed_car(car, Change(name="x", masses=(side,))))
    assert q.yaw_inertia - p.yaw_inertia == pytest.approx(25 * p.mass / (p.mass + 25) * 0.4**2, rel=1e-9)
    sprung_height = (
        p.mass * p.cg_height
        - p.unsprung_mass_front * p.rolling_radius_front
        - p.unsprung_mass_rear * p.rolling_radius_rear
    ) / p.sprung_mass
    square = 0.4**2 + (p.cg_height - sprung_height) ** 2
    reduced = 25 * p.sprung_mass / (p.sprung_mass + 25)
    assert q.roll_inertia - p.roll_inertia == pytest.approx(reduced * square, rel=1e-9)


def test_a_mass_at_the_centre_of_gravity_moves_nothing_else():
    car = demo_car("boulder")
    p = model_parameters(car)
    q = model_parameters(changed_car(car, Change(name="x", masses=(MovedMass(mass=amount(-20.0)),))))
    assert q.mass == pytest.approx(p.mass - 20)
    assert q.cg_height == pytest.approx(p.cg_height, rel=1e-12)
    assert q.cg_to_front == pytest.approx(p.cg_to_front, rel=1e-9)


def test_a_change_and_its_reverse_come_back():
    car = demo_car("marigold")
    there = with_numbers(car, {"front.wheel.mass": 20.0, "front.wheel.offset": 0.01, "mass.driver": 90.0})
    v = numbers(car)
    back = with_numbers(there, {name: v[name] for name in ("front.wheel.mass", "front.wheel.offset", "mass.driver")})
    assert model_parameters(back).vector() == pytest.approx(model_parameters(car).vector(), rel=1e-12, abs=1e-12)


def test_impossible_and_missing_numbers_are_said():
    car = demo_car("pepper")
    with pytest.raises(ImpossibleChangeError, match=r"mass\.total") as caught:
        changed_car(car, change(edit("mass.total", "add", amount(-2000.0)), source="c.toml"))
    assert "c.toml" in caught.value.where
    with pytest.raises(ImpossibleChangeError, match=r"front\.camber to -28\.0 deg"):
        changed_car(car, change(edit("front.camber", "set", amount(-28.0 * np.pi / 180.0))))
    with pytest.raises(NoSuchNumberError, match=r"rear\.brake\.pad_friction"):
        changed_car(car, change(edit("rear.brake.pad_friction", "scale", amount(0.9))))


def test_a_gear_that_the_car_does_not_have_cannot_be_set():
    with pytest.raises(NoSuchNumberError, match=r"transmission\.gears\.7"):
        changed_car(demo_car("pepper"), change(edit("transmission.gears.7", "set", amount(0.7))))
    shorter = changed_car(demo_car("pepper"), change(edit("transmission.gears.2", "set", amount(2.1))))
    assert shorter.transmission.gears[1].value == 2.1


def test_set_gives_a_number_that_the_car_does_not_have():
    car = changed_car(demo_car("pepper"), change(edit("front.bar_stiffness", "set", amount(3e4))))
    assert car.value("front.bar_stiffness") == 3e4


@pytest.mark.parametrize(
    ("path", "car"), [("winter", "marigold"), ("winter", "boulder"), ("winter", "pepper"), ("roadster", "marigold")]
)
def test_the_demo_changes_fit_the_demo_cars_and_each_moves_something(path, car):
    base = demo_car(car)
    before = model_parameters(base).vector()
    for one in read_changes(DEMO / f"{path}.toml"):
        after = model_parameters(changed_car(base, one)).vector()
        assert np.isfinite(after).all()
        assert np.abs(after - before).max() > 0, one.name


def test_the_demo_changes_are_of_many_kinds():
    kinds = {one.kind for name in ("winter", "roadster") for one in read_changes(DEMO / f"{name}.toml")}
    assert {
        "mass",
        "tyre",
        "wheel",
        "spring",
        "bar",
        "damper",
        "camber",
        "power",
        "gearing",
        "differential",
        "brake",
    } <= kinds


@pytest.mark.parametrize(
    ("lines", "uncertainty"),
    [('add = "-1 deg"', np.deg2rad(0.1)), ("scale = 1.2", 0.02), ('set = "-2 deg"', np.deg2rad(0.25))],
)
def test_usual_uncertainty_of_an_edit(file, lines, uncertainty):
    assert file(ONE + lines)[0].edits[0].value.uncertainty == pytest.approx(uncertainty)


BAD = {
    "no change": ("", "empty"),
    "nothing in it": ('title = "x"\n', "no field 'title'"),
    "no name": ("[[change]]\n", "name"),
    "no edit": ('[[change]]\nname = "x"\n', "changes nothing"),
    "two ways": (ONE + 'add = "1 deg"\nscale = 2\n', "exactly one"),
    "no way": (ONE, "exactly one"),
    "unknown field": (ONE.replace("camber", "cambr") + "scale = 2\n", "front.cambr"),
    "wrong dimension": (ONE + 'add = "2 mm"\n', "unit of length"),
    "factor below zero": (ONE + "scale = -1\n", "more than zero"),
    "mixed dimensions": (
        ONE.replace('"front.camber"', '["front.camber", "front.track"]') + 'add = "1 deg"\n',
        "different dimensions",
    ),
    "a code scaled": (ONE.replace("front.camber", "front.tyre.size") + "scale = 2\n", "only be set"),
    "a bad code": (ONE.replace("front.camber", "front.tyre.size") + 'set = "wide"\n', "wide"),
    "a bad word": (ONE.replace("front.camber", "rear.differential.kind") + 'set = "torsen"\n', "torsen"),
    "a word for a flag": (ONE.replace("front.camber", "brakes.abs") + 'set = "on"\n', "true or false"),
    "negative price": (ONE.replace('"one"', '"one"\nprice = -5') + "scale = 2\n", "zero or more"),
    "unknown kind": (ONE.replace('"one"', '"one"\nkind = "magic"') + "scale = 2\n", "magic"),
    "same name twice": ((ONE + "scale = 2\n") * 2, "Two changes"),
    "moved mass without a mass": ('[[change]]\nname = "x"\n[[change.moved_mass]]\nheight = "1 m"\n', "mass is missing"),
    "no list": ('change = "x"\n', "list of tables"),
}


@pytest.mark.parametrize(("text", "words"), BAD.values(), ids=BAD)
def test_bad_changes_are_said_with_their_place(file, text, words):
    with pytest.raises(InputError) as caught:
        file(text)
    assert words in str(caught.value)
    assert "changes.toml" in caught.value.where
    assert caught.value.exit_code == 2


def test_the_line_of_a_second_change_is_named(file):
    with pytest.raises(CarFieldError) as caught:
        file(ONE + "scale = 2\n\n" + ONE.replace("one", "two").replace("camber", "cambr") + "scale = 2\n")
    assert "line 10" in caught.value.where


def another_tyre(*more):
    size = Edit(fields=("front.tyre.size", "rear.tyre.size"), action="set", value="225/45R15 87V")
    return Change(name="other tyres", kind="tyre", edits=(size, *more))


def test_another_tyre_brings_the_spread_of_its_make():
    car, change = demo_car("marigold"), another_tyre()
    assert change.other_tyres == ("front", "rear")
    assert [(amount.value, amount.uncertainty) for amount in change.uncertain] == [(1.0, OTHER_TYRE)]
    usual, better = changed_car(car, change), changed_car(car, change, draws=[1.0])
    ratio = better.value("front.tyre.friction") / usual.value("front.tyre.friction")
    assert ratio == pytest.approx(1.0 + OTHER_TYRE)
    longitudinal = (numbers(c)["rear.tyre.friction_longitudinal"] for c in (better, usual))
    assert next(longitudinal) / next(longitudinal) == pytest.approx(ratio)


def test_a_friction_that_is_told_has_its_own_spread():
    told_friction = edit(("front.tyre.friction", "rear.tyre.friction"), "set", amount(1.2))
    change = another_tyre(told_friction)
    assert change.other_tyres == ()
    assert len(change.uncertain) == 1


def test_another_tyre_is_new():
    old = demo_car("marigold").with_values({"front.tyre.age": amount(8 * 365.25 * 86400)})
    new = changed_car(old, another_tyre())
    assert new.value("front.tyre.age") == 0.0
    assert (new.front.tyre.date_code, new.front.tyre.speed_symbol) == ("", "V")
    # 8 years old: 6 hundredths under a fresh one, of a friction that was given at that age
    assert new.value("front.tyre.friction") / old.value("front.tyre.friction") == pytest.approx(1 / 0.94, rel=0.02)


def test_a_wheel_leaves_the_tyre_alone():
    wheel = Edit(fields=("front.wheel.size",), action="set", value="15x7 +35")
    change = Change(name="wheel", kind="wheel", edits=(wheel,))
    assert change.other_tyres == ()
    assert changed_car(demo_car("marigold"), change).front.tyre.date_code == "2324"


def test_another_pressure_moves_the_tyre_and_nobody_knows_which_way():
    car = demo_car("marigold")
    softer = change(edit(("front.tyre.pressure", "rear.tyre.pressure"), "scale", amount(0.9)))
    usual = changed_car(car, softer)
    low, high = (changed_car(car, softer, draws=[0.0, slope]) for slope in (1.0, -1.0))
    friction = [c.value("front.tyre.friction") / car.value("front.tyre.friction") for c in (low, usual, high)]
    # slope 0 (0.15) and loss 0.3 of the squared relative change, see `pressure`: 10 % softer
    assert friction == pytest.approx([1 - 0.015 - 0.003, 1 - 0.003, 1 + 0.015 - 0.003], abs=1e-6)
    assert usual.value("front.tyre.pressure") == pytest.approx(0.9 * car.value("front.tyre.pressure"))
    assert usual.value("front.tyre.spring_rate") < numbers(car)["front.tyre.spring_rate"]


def test_a_first_pressure_says_nothing_of_grip():
    pepper = demo_car("pepper")
    told_now = changed_car(pepper, change(edit("front.tyre.pressure", "set", amount(2.2e5))))
    assert told_now.value("front.tyre.pressure") == 2.2e5
    assert told_now.value("front.tyre.friction") == pepper.value("front.tyre.friction")

"""Parts files: what a shop can say, and what is refused with its place."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest

import conewise
from conewise.cars.car_file import read_car
from conewise.cars.change import ImpossibleChangeError, changed_car, changed_driver
from conewise.cars.changes_file import read_parts
from conewise.cars.driver import typical_driver
from conewise.errors import InputError
from conewise.money import Money
from tests.cars import demo_car

DEMO = Path(conewise.__file__).parent / "demo" / "parts" / "workshop-list.toml"
TYRE = '[[part]]\nname = "{}"\n{}\n[[part.edit]]\nfield = "front.tyre.treadwear"\nset = 100\n'
BAR = '[[part]]\nname = "bar"\n{}\n[[part.edit]]\nfield = "front.bar_diameter"\nadd = "1 mm"\n'


@pytest.fixture
def parts(tmp_path):
    def read(text):
        path = tmp_path / "parts.toml"
        path.write_text(text, encoding="utf-8")
        return read_parts(path)

    return read


def test_every_part_of_the_demo_fits_the_car_that_it_is_for():
    car, driver = demo_car("marigold"), typical_driver("expert")
    for part in read_parts(DEMO):
        assert changed_car(car, part) is not None
        assert changed_driver(driver, part) is not None


def test_prices_have_the_currency_of_the_file_or_their_own(parts):
    found = parts('currency = "EUR"\n' + BAR.format("price = 210.50") + TYRE.format("tyre", 'price = "300 USD"'))
    assert [part.price for part in found] == [Money(Decimal("210.5"), "EUR"), Money(Decimal(300), "USD")]
    assert parts(BAR.format("price = 9"))[0].price == Money(Decimal(9))
    assert parts(BAR.format(""))[0].price is None


def test_two_parts_of_one_place_or_that_set_one_field_exclude_each_other(parts):
    one, other, bar = parts(TYRE.format("a", "") + TYRE.format("b", "") + BAR.format('place = "here"'))
    assert one.excludes(other)
    assert not one.excludes(bar)
    same_place = parts(BAR.format('place = "here"') + TYRE.format("a", 'place = "here"'))
    assert same_place[0].excludes(same_place[1])
    named = parts(BAR.format("") + TYRE.format("a", 'conflicts = "bar"'))
    assert named[0].excludes(named[1])
    assert named[1].excludes(named[0])


def test_a_restraint_system_does_nothing_before_it_is_confirmed(parts):
    text = '[[part]]\nname = "seat"\nkind = "restraint"\n{}\n[[part.driver]]\nfield = "handwheel_rate"\nscale = 1.1\n'
    driver = typical_driver("regular")
    waiting, fitted = parts(text.format(""))[0], parts(text.format("confirmed = true"))[0]
    assert not waiting.has_effect
    assert changed_driver(driver, waiting) is driver
    assert fitted.has_effect
    rate = changed_driver(driver, fitted).handwheel_rate.value
    assert rate == pytest.approx(1.1 * driver.handwheel_rate.value)


def test_a_lighter_seat_that_is_not_confirmed_gains_nothing_by_its_mass_either(parts):
    text = (
        '[[part]]\nname = "seat"\nkind = "restraint"\n{}\n[[part.driver]]\nfield = "handwheel_rate"\nscale = 1.1\n'
        '[[part.moved_mass]]\nmass = "-9 kg"\n'
    )
    car, driver = demo_car("marigold"), typical_driver("regular")
    waiting, fitted = parts(text.format(""))[0], parts(text.format("confirmed = true"))[0]
    assert not waiting.has_effect
    assert changed_car(car, waiting) is car
    assert changed_driver(driver, waiting) is driver
    assert changed_car(car, fitted).value("mass.total") == pytest.approx(car.value("mass.total") - 9.0)
    heavier = text.format("").replace("-9 kg", "-9000 kg")
    with pytest.raises(ImpossibleChangeError):
        changed_car(car, parts(heavier)[0])


def test_what_a_part_does_for_a_driver_is_drawn_with_its_own_amount(parts):
    text = BAR.format("") + '[[part.driver]]\nfield = "friction_share"\nadd = 0.01\nuncertainty = 0.02\n'
    both = parts(text + '[[part.moved_mass]]\nmass = "-5 kg"\n')[0]
    assert [amount.value for amount in both.uncertain] == pytest.approx([0.001, 0.01, -5.0])
    driver, car = typical_driver("regular"), demo_car("marigold")
    drawn = changed_driver(driver, both, draws=[0.0, 1.0, 0.0]).friction_share.value
    assert drawn == pytest.approx(0.90 + 0.01 + 0.02)
    lighter = changed_car(car, both, draws=[0.0, 3.0, 1.0])
    assert lighter.value("mass.total") == pytest.approx(car.value("mass.total") - 5.0 + both.masses[0].mass.uncertainty)


def test_a_driver_cannot_use_more_than_all_of_the_friction(parts):
    text = '[[part]]\nname = "day"\nkind = "driver"\n[[part.driver]]\nfield = "friction_share"\nadd = 0.2\n'
    with pytest.raises(ImpossibleChangeError):
        changed_driver(typical_driver("expert"), parts(text)[0])


def test_a_part_without_an_edit_is_a_part_without_seconds(parts):
    brace = parts('[[part]]\nname = "brace"\n')[0]
    assert not brace.has_effect
    assert brace.kind == "other"


BAD = {
    "no part": ("", "empty"),
    "only a currency": ('currency = "EUR"\n', "no part"),
    "unknown currency": ('currency = "EURO"\n' + BAR.format(""), "EURO"),
    "unknown component": (BAR.format("").replace("bar_diameter", "strut_rate"), "front.strut_rate"),
    "unknown kind": (BAR.format('kind = "stickers"'), "stickers"),
    "unknown key": (BAR.format('colour = "red"'), "colour"),
    "negative price": (BAR.format("price = -1"), "zero or more"),
    "price in words": (BAR.format('price = "cheap"'), "cheap"),
    "negative hours": (BAR.format("hours = -2"), "zero or more"),
    "needs nobody": (BAR.format('needs = ["wings"]'), "'wings'"),
    "needs itself": (BAR.format('needs = ["bar"]'), "'bar'"),
    "conflicts with nobody": (BAR.format('conflicts = ["baar"]'), "'baar'"),
    "needs as a number": (BAR.format("needs = 3"), "a list of texts"),
    "two of one name": (BAR.format("") + BAR.format(""), "Two changes are called 'bar'"),
    "driver field": (BAR.format("") + '[[part.driver]]\nfield = "courage"\nadd = 1\n', "courage"),
    "driver without field": (BAR.format("") + "[[part.driver]]\nadd = 1\n", "field is missing"),
    "two actions": (BAR.format("") + '[[part.driver]]\nfield = "pedal_time"\nadd = "1 s"\nscale = 2\n', "exactly one"),
    "needs what it excludes": (
        BAR.format('place = "p"') + TYRE.format("t", 'place = "p"\nneeds = "bar"'), "cannot be fitted",
    ),
    "required in words": (BAR.format('required = "yes"'), "true or false"),
}  # fmt: skip


@pytest.mark.parametrize(("text", "words"), BAD.values(), ids=BAD)
def test_bad_parts_are_said_with_their_place(parts, text, words):
    with pytest.raises(InputError) as caught:
        parts(text)
    assert words in str(caught.value)
    assert "parts.toml" in caught.value.where


def test_what_was_modified_is_a_list_of_kinds(tmp_path):
    path = tmp_path / "car.toml"
    path.write_text('kind = "roadster"\nmodified = ["tyre", "bar", "tyre"]\n', encoding="utf-8")
    assert read_car(path).modified == ("tyre", "bar")
    for wrong in ('"tyre"', '["tyres"]', "[1]"):
        path.write_text(f'kind = "roadster"\nmodified = {wrong}\n', encoding="utf-8")
        with pytest.raises(InputError) as caught:
            read_car(path)
        assert "modified" in caught.value.message

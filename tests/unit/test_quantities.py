"""Quantities: every unit against the library pint, what is refused, and how values are shown."""

import math

import pint
import pytest

from conewise.quantities import AIR_DENSITY, GRAVITY, UnitError, in_unit, parse, show, shown_unit

REGISTRY = pint.UnitRegistry()

# Our spelling, dimension, and what pint calls it.
UNITS = [
    ("m", "length", "meter"),
    ("mm", "length", "millimeter"),
    ("cm", "length", "centimeter"),
    ("km", "length", "kilometer"),
    ("in", "length", "inch"),
    ('"', "length", "inch"),
    ("ft", "length", "foot"),
    ("feet", "length", "foot"),
    ("yd", "length", "yard"),
    ("mi", "length", "mile"),
    ("m/s", "speed", "meter/second"),
    ("km/h", "speed", "kilometer/hour"),
    ("mph", "speed", "mile/hour"),
    ("kn", "speed", "knot"),
    ("ft/s", "speed", "foot/second"),
    ("deg", "angle", "degree"),
    ("°", "angle", "degree"),
    ("mrad", "angle", "milliradian"),
    ("kg", "mass", "kilogram"),
    ("g", "mass", "gram"),
    ("t", "mass", "metric_ton"),
    ("lb", "mass", "pound"),
    ("oz", "mass", "ounce"),
    ("kPa", "pressure", "kilopascal"),
    ("MPa", "pressure", "megapascal"),
    ("bar", "pressure", "bar"),
    ("psi", "pressure", "psi"),
    ("atm", "pressure", "standard_atmosphere"),
    ("kgf/cm2", "pressure", "kilogram_force/centimeter**2"),
    ("N m", "torque", "newton*meter"),
    ("lb ft", "torque", "force_pound*foot"),
    ("lb-ft", "torque", "force_pound*foot"),
    ("ft·lb", "torque", "force_pound*foot"),
    ("lbf in", "torque", "force_pound*inch"),
    ("kgf m", "torque", "kilogram_force*meter"),
    ("N", "force", "newton"),
    ("kN", "force", "kilonewton"),
    ("lb", "force", "force_pound"),
    ("kgf", "force", "kilogram_force"),
    ("N/m", "spring-rate", "newton/meter"),
    ("N/mm", "spring-rate", "newton/millimeter"),
    ("kN/m", "spring-rate", "kilonewton/meter"),
    ("lb/in", "spring-rate", "force_pound/inch"),
    ("lbf/in", "spring-rate", "force_pound/inch"),
    ("lb/ft", "spring-rate", "force_pound/foot"),
    ("kgf/mm", "spring-rate", "kilogram_force/millimeter"),
    ("W", "power", "watt"),
    ("kW", "power", "kilowatt"),
    ("hp", "power", "horsepower"),
    ("PS", "power", "metric_horsepower"),
    ("ms", "time", "millisecond"),
    ("min", "time", "minute"),
    ("h", "time", "hour"),
    ("rpm", "angular-rate", "revolution/minute"),
    ("deg/s", "angular-rate", "degree/second"),
    ("%", "ratio", "percent"),
    ("lb ft²", "moment-of-inertia", "pound*foot**2"),
    ("kg m2", "moment-of-inertia", "kilogram*meter**2"),
    ("ft2", "area", "foot**2"),
    ("in2", "area", "inch**2"),
    ("cm^2", "area", "centimeter**2"),
    ("N s/m", "damping", "newton*second/meter"),
    ("N s/mm", "damping", "newton*second/millimeter"),
    ("lb s/in", "damping", "force_pound*second/inch"),
    ("g/cm3", "density", "gram/centimeter**3"),
    ("lb/ft3", "density", "pound/foot**3"),
    ("g", "acceleration", "standard_gravity"),
    ("ft/s2", "acceleration", "foot/second**2"),
    ("N m/deg", "angular-stiffness", "newton*meter/degree"),
    ("lb ft/deg", "angular-stiffness", "force_pound*foot/degree"),
    ("N m s/deg", "angular-damping", "newton*meter*second/degree"),
    ("Hz", "frequency", "1/second"),
    ("cpm", "frequency", "1/minute"),
]


@pytest.mark.parametrize(("unit", "dimension", "name"), UNITS, ids=[f"{d} {u}" for u, d, _ in UNITS])
def test_a_unit_has_the_size_that_pint_gives_it(unit, dimension, name):
    wanted = REGISTRY.Quantity(1.0, name).to_base_units().magnitude
    found = parse(f"1 {unit}", dimension, where="x")
    assert found == pytest.approx(wanted, rel=1e-12)
    assert in_unit(found, dimension, unit) == pytest.approx(1.0, rel=1e-15)


@pytest.mark.parametrize(("text", "kelvin"), [("20 C", 293.15), ("68 F", 293.15), ("-40 °F", 233.15), ("0 K", 0.0)])
def test_temperatures_have_their_zero(text, kelvin):
    # definitions of the Celsius and Fahrenheit scales
    assert parse(text, "temperature", where="x") == pytest.approx(kelvin, abs=1e-9)


def test_constants():
    assert GRAVITY == 9.80665  # 3rd CGPM, 1901
    assert AIR_DENSITY == 1.225  # ISO 2533, 1975


def test_spring_rate_and_torque_of_the_handbook():
    # 1 lbf/in = 175.126835 N/m, 1 lbf ft = 1.355818 N m: NIST SP 811, 2008, appendix B
    assert parse("1 lb/in", "spring-rate", where="x") == pytest.approx(175.126835, rel=1e-8)
    assert parse("1 lb ft", "torque", where="x") == pytest.approx(1.355818, rel=1e-6)


@pytest.mark.parametrize("text", ["12 ft 6 in", "12' 6\"", "12.5 ft", "+12ft6in", "150 in"])
def test_feet_and_inches(text):
    assert parse(text, "length", where="x") == pytest.approx(3.81, rel=1e-12)


def test_a_negative_length_of_feet_and_inches_is_negative_as_a_whole():
    assert parse("-1 ft 6 in", "length", where="x") == pytest.approx(-0.4572, rel=1e-12)


@pytest.mark.parametrize(("value", "dimension"), [(3, "length"), ("3", "length"), (3.0, "ratio"), ("3", "ratio")])
def test_a_bare_number_is_metres_or_plain(value, dimension):
    assert parse(value, dimension, where="x") == 3.0


@pytest.mark.parametrize(
    ("dimension", "named"),
    [
        ("pressure", ["psi", "bar", "kPa"]),
        ("torque", ["N m", "lb ft"]),
        ("spring-rate", ["lb/in", "N/mm"]),
        ("power", ["kW", "hp"]),
        ("mass", ["kg", "lb"]),
        ("angle", ["deg"]),
        ("speed", ["mph", "km/h"]),
        ("damping", ["N s/m"]),
    ],
)
@pytest.mark.parametrize("value", [32, "32"])
def test_a_bare_number_is_refused_with_the_likely_units(dimension, named, value):
    with pytest.raises(UnitError, match="the unit is missing") as caught:
        parse(value, dimension, where="front.field", file="car.toml, line 3")
    assert all(unit in caught.value.hint for unit in named)


def test_a_wrong_dimension_names_file_line_and_field():
    with pytest.raises(UnitError) as caught:
        parse("60 psi", "length", where="body.wheelbase", file="car.toml, line 7")
    assert caught.value.where == "car.toml, line 7, body.wheelbase"
    assert "body.wheelbase" in caught.value.message
    assert "unit of pressure" in caught.value.message
    assert "a length" in caught.value.hint
    assert caught.value.exit_code == 2


@pytest.mark.parametrize(
    "value", [math.nan, math.inf, -math.inf, "nan", "inf kg", "-Infinity kg", "nan kg", "1e999 kg"]
)
def test_what_is_not_finite_is_refused(value):
    with pytest.raises(UnitError, match="not a finite number"):
        parse(value, "mass", where="mass.total")


@pytest.mark.parametrize("value", [True, None, [1, "kg"], {"value": 1}])
def test_what_is_no_quantity_is_refused(value):
    with pytest.raises(UnitError):
        parse(value, "mass", where="mass.total")


@pytest.mark.parametrize(
    "value", ["", "kg", "heavy", "1,5 kg", "1,200 kg", "12 12 kg", "5 stones", "- 5 kg", "1 kg kg"]
)
def test_text_that_is_no_quantity_is_refused(value):
    with pytest.raises(UnitError):
        parse(value, "mass", where="mass.total")


def test_a_misspelt_unit_is_told_the_nearest():
    with pytest.raises(UnitError, match='did you mean "metres"'):
        parse("3 metrs", "length", where="x")


def test_a_long_text_is_cut_in_the_message():
    with pytest.raises(UnitError) as caught:
        parse("x" * 5000, "length", where="x")
    assert len(caught.value.message) < 200


@pytest.mark.parametrize(
    ("value", "dimension", "system", "text"),
    [
        (18.288, "length", "us", "60.0 ft"),
        (0.025, "length", "metric", "25.0 mm"),
        (0.0254, "length", "us", "1.00 in"),
        (78807.0, "spring-rate", "metric", "78.8 N/mm"),
        (1043.26, "mass", "metric", "1043 kg"),
        (220632.0, "pressure", "us", "32.0 psi"),
        (0.0, "angle", "metric", "0.00 deg"),
        (-0.0384, "angle", "metric", "-2.20 deg"),
        (293.15, "temperature", "us", "68.0 F"),
        (0.75, "ratio", "metric", "0.750"),
        (100.0, "torque", "us", "73.8 lb ft"),
    ],
)
def test_how_values_are_shown(value, dimension, system, text):
    assert show(value, dimension, system) == text


@pytest.mark.parametrize("system", ["metric", "us"])
@pytest.mark.parametrize("dimension", sorted({d for _, d, _ in UNITS} | {"temperature"}))
def test_what_is_shown_can_be_read_again(dimension, system):
    value = 12.3456
    text = f"{in_unit(value, dimension, shown_unit(dimension, system))!r} {shown_unit(dimension, system)}"
    assert parse(text, dimension, where="x") == pytest.approx(value, rel=1e-12)

"""Sizes of tyres and wheels against published tables and worked examples; see CITATION.md."""

import csv
from pathlib import Path

import pytest

from conewise.cars.estimate import load_capacity, measuring_rim
from conewise.cars.tyre_size import LOAD_INDEX, SPEED_SYMBOL, tyre_size, wheel_size

INCH = 0.0254


def rows(name):
    with (Path(__file__).parent / name).open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


@pytest.mark.parametrize("row", rows("diameters.csv"), ids=lambda row: row["code"])
def test_side_wall_and_diameter(row):
    size = tyre_size(row["code"])
    assert size.sidewall * 1e3 == pytest.approx(float(row["sidewall_mm"]), abs=0.01)
    assert size.diameter * 1e3 == pytest.approx(float(row["diameter_mm"]), abs=0.01)


def test_diameter_change_of_a_plus_one_size():
    # 225/45R17 to 245/40R18: +2.980 %, closed form
    change = tyre_size("245/40R18").diameter / tyre_size("225/45R17").diameter - 1
    assert change * 100 == pytest.approx(2.980, abs=1e-3)


@pytest.mark.parametrize("row", rows("measuring_rims.csv"), ids=lambda row: f"{row['width']}/{row['aspect']}")
def test_measuring_rim(row):
    size = tyre_size(f"{row['width']}/{row['aspect']}R15")
    assert size.measuring_rim / INCH == pytest.approx(float(row["rim_in"]), abs=1e-9)
    # the smooth stand-in without steps: half a step of rounding, and 0.3 in for the steps of K
    assert measuring_rim(size.section_width, size.aspect) / INCH == pytest.approx(float(row["rim_in"]), abs=0.55)


@pytest.mark.parametrize(
    ("code", "rim_in"),
    [
        ("215/45R17", 7.0),
        ("245/40R18", 8.5),
        ("255/35R18", 9.0),
        ("265/35R18", 9.5),
        ("205/50R15", 6.5),
        ("285/30R18", 10.0),
    ],
)
def test_measuring_rim_of_data_books(code, rim_in):
    # tyre data books, from memory
    assert tyre_size(code).measuring_rim / INCH == pytest.approx(rim_in, abs=1e-9)


@pytest.mark.parametrize("row", rows("load_index.csv"), ids=lambda row: row["index"])
def test_load_index(row):
    index, mass = int(row["index"]), float(row["kg"])
    assert LOAD_INDEX[index] == mass
    assert tyre_size(f"205/50R15 {index}V").load_capacity == mass


@pytest.mark.parametrize("index", sorted(LOAD_INDEX))
def test_load_index_follows_the_preferred_numbers(index):
    # 45 kg times 10^(index / 80), series R80 of ISO 3, rounded to the table's steps: within 2 %
    assert LOAD_INDEX[index] == pytest.approx(45 * 10 ** (index / 80), rel=0.02)


def test_speed_symbols():
    # car makers' owner pages, "Dimension designation for tyre"
    wanted = {"Q": 160, "R": 170, "S": 180, "T": 190, "U": 200, "H": 210, "V": 240, "W": 270, "Y": 300}
    assert {symbol: SPEED_SYMBOL[symbol] for symbol in wanted} == wanted


@pytest.mark.parametrize(
    ("code", "index"),
    [("195/50R15", 82), ("205/50R15", 86), ("225/45R17", 91), ("245/40R18", 93), ("205/55R16", 91), ("255/35R19", 92)],
)
def test_a_usual_load_index_is_estimated_from_the_size(code, index):
    # the usual, not the reinforced, index of data books, from memory; the power law is good to 3.3 %
    size = tyre_size(code)
    found = load_capacity(size.section_width, size.aspect, size.rim_diameter)
    assert found == pytest.approx(LOAD_INDEX[index], rel=0.035)


def test_wheel_spacing_worked_example():
    old, new = wheel_size("17x7.5 +38"), wheel_size("17x8 +25")
    assert old.backspacing * 1e3 == pytest.approx(133.25, abs=1e-9)
    assert new.backspacing * 1e3 == pytest.approx(126.60, abs=1e-9)
    assert (new.front_spacing - old.front_spacing) * 1e3 == pytest.approx(19.35, abs=1e-9)
    assert wheel_size("18x8 ET35").backspacing / INCH == pytest.approx(5.378, abs=5e-4)  # page prints 5.38


def test_section_width_on_another_rim():
    # 0.4 of the change in rim width, UN Regulation 30 (from memory): half an inch is 5.08 mm
    size = tyre_size("225/45R17")
    wider = size.section_on(size.measuring_rim + 0.5 * INCH)
    assert (wider - size.section_width) * 1e3 == pytest.approx(5.08, abs=1e-9)


@pytest.mark.parametrize(
    ("code", "per_mile", "tolerance"),
    # worked examples of tyre-size calculators on the web: 807.61 for the unloaded 225/45R17, 754 for 225/55R17; the
    # others by 1609344 / (pi D), closed form
    [
        ("225/45R17", 807.61, 0.05), ("225/55R17", 754.0, 0.6), ("215/45R17", 819.24, 0.05),
        ("245/40R18", 784.25, 0.05), ("265/35R18", 797.06, 0.05),
    ],
)  # fmt: skip
def test_revolutions_of_the_unloaded_tyre(code, per_mile, tolerance):
    assert tyre_size(code).revolutions * 1609.344 == pytest.approx(per_mile, abs=tolerance)


@pytest.mark.parametrize(
    ("index", "pounds"),
    # a load-index table in pounds, as repeated on the web under "Tire Rating Charts: Speed Rating and Load Index"
    [
        (71, 761),
        (75, 852),
        (80, 992),
        (84, 1102),
        (88, 1235),
        (91, 1356),
        (94, 1477),
        (98, 1653),
        (100, 1764),
        (105, 2039),
        (110, 2337),
    ],
)
def test_load_index_in_pounds(index, pounds):
    assert LOAD_INDEX[index] / 0.45359237 == pytest.approx(pounds, abs=1.5)  # the table rounds to whole pounds


def test_an_old_size_carries_the_same_load_in_its_own_words():
    assert tyre_size("205/50VR15 86").speed_symbol == "V"
    assert tyre_size("LT225/75R16 115/112Q").load_capacity == LOAD_INDEX[115]

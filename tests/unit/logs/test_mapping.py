"""What a person says about columns: options, files, and what is kept of it."""

from __future__ import annotations

import numpy as np
import pytest

from conewise.logs.columns import Column, Table
from conewise.logs.mapping import (
    MappingFileError,
    Meaning,
    fingerprint,
    mapping_option,
    mapping_text,
    meaning,
    read_mapping,
    remember,
    remembered,
)
from conewise.logs.units import QUANTITIES, ColumnUnitError, in_own_unit, is_unit_of


def columns(*names):
    return tuple(Column(name=name, unit=unit, values=np.zeros(3)) for name, unit in names)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("speed:km/h", Meaning("speed", "km/h")),
        (" Speed : mph ", Meaning("speed", "mph")),
        ("lateral acceleration:-g", Meaning("lateral_acceleration", "-g")),
        ("sensor-rate-x", Meaning("sensor_rate_x", "")),
        ("time:epoch ms", Meaning("time", "epoch ms")),
        ("brake:bar", Meaning("brake", "bar")),
        ("ignore", Meaning("ignore", "")),
    ],
)
def test_a_meaning_is_read_as_it_is_said(text, expected):
    assert meaning(text, where="x") == expected


@pytest.mark.parametrize("text", ["spead:km/h", "speed:kg", "time:m", "latitude:m/s", "gear:bar", "", ":s"])
def test_a_meaning_that_is_none_names_what_there_is(text):
    with pytest.raises(ColumnUnitError) as caught:
        meaning(text, where="column 'a'")
    assert caught.value.where == "column 'a'"
    assert caught.value.hint.startswith("Known: ")


def test_a_word_like_no_quantity_is_answered_with_all_of_them():
    with pytest.raises(ColumnUnitError) as caught:
        meaning("bar:baz", where="column 'a'")
    assert caught.value.hint == f"Known: {', '.join(QUANTITIES)}."


def test_an_option_is_cut_at_its_last_equals_sign():
    assert mapping_option("a = b=speed:km/h") == ("a = b", "speed:km/h")
    for wrong in ("speed", "=speed:km/h"):
        with pytest.raises(MappingFileError):
            mapping_option(wrong)


def test_a_mapping_file_comes_back_as_it_was_written(tmp_path):
    said = {"Speed [km/h]": "speed:km/h", 'a "b" \\ c': "ignore", "Größe": "x:m", "tab\there": "time:ms"}
    path = tmp_path / "columns.toml"
    path.write_text(mapping_text(said), encoding="utf-8")
    assert read_mapping(path) == said


@pytest.mark.parametrize(
    "text", ["[columns", "x = 1", "[columns]\na = 3", '[columns]\na = "speed:km/h"\n[more]\nb = 1', "[column]\n"]
)
def test_a_mapping_file_that_is_none_is_refused(tmp_path, text):
    path = tmp_path / "columns.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(MappingFileError) as caught:
        read_mapping(path)
    assert str(path) in caught.value.where
    with pytest.raises(MappingFileError):
        read_mapping(tmp_path / "none.toml")


def test_a_mapping_file_with_a_wrong_meaning_names_the_column(tmp_path):
    path = tmp_path / "columns.toml"
    path.write_text('[columns]\nv = "spead:km/h"\n', encoding="utf-8")
    with pytest.raises(ColumnUnitError) as caught:
        read_mapping(path)
    assert caught.value.where.endswith("columns.toml, v")


def test_a_fingerprint_is_of_names_and_units_in_their_order():
    same = fingerprint(columns(("Time", "s"), ("Speed", "")))
    assert fingerprint(columns((" time", "S"), ("speed", ""))) == same
    assert fingerprint(columns(("Speed", ""), ("Time", "s"))) != same
    assert fingerprint(columns(("Time", "s"), ("Speed", "km/h"))) != same


def test_answers_add_up(tmp_path):
    table = Table(file="a.csv", columns=columns(("t", ""), ("v", "")))
    assert remembered(tmp_path, table) == {}
    assert remembered(None, table) == {}
    remember(tmp_path, table, {"t": "time:s"})
    remember(tmp_path, table, {"v": "speed:mph"})
    remember(tmp_path, table, {"v": "speed:km/h"})
    assert remembered(tmp_path, table) == {"t": "time:s", "v": "speed:km/h"}


@pytest.mark.parametrize(
    ("value", "quantity", "unit", "expected"),
    [
        (36.0, "speed", "km/h", 10.0),
        (10.0, "speed", "mph", 4.4704),  # exact: a mile is 1609.344 m
        (10.0, "speed", "knots", 5.144444),
        (1.0, "lateral_acceleration", "g", 9.80665),
        (1.0, "lateral_acceleration", "-g", -9.80665),
        (180.0, "course", "deg", np.pi),
        (4807.038, "latitude", "ddmm.mmmm", 48.1173),
        (-12311.12, "longitude", "dddmm.mmmm", -123.185333),
        (481173000.0, "latitude", "1e-7 deg", 48.1173),
        (0.5, "latitude", "rad", 28.647890),
        (6000.0, "engine_speed", "rpm", 628.318531),
        (50.0, "throttle", "%", 0.5),
        (1000.0, "altitude", "ft", 304.8),
    ],
)
def test_units_of_columns(value, quantity, unit, expected):
    assert is_unit_of(unit, quantity)
    assert in_own_unit(np.array([value]), quantity, unit)[0] == pytest.approx(expected, rel=1e-6)


def test_a_brake_pressure_is_a_share_of_the_largest():
    assert in_own_unit(np.array([0.0, 20.0, 40.0]), "brake", "bar") == pytest.approx([0.0, 0.5, 1.0])
    assert in_own_unit(np.zeros(2), "brake", "psi") == pytest.approx([0.0, 0.0])

"""The answer as data: what a script may rely on."""

from __future__ import annotations

import json

import pytest

from conewise.reports.record import line_record
from tests.reports_fixture import fallback_answer, made_up_answer, wet_answer

PROMISED = {
    "stations": {"s_m", "x_m", "y_m", "speed_m_s", "ax_m_s2", "ay_m_s2", "gear"},
    "cones": {"id", "x_m", "y_m", "price_s_per_m", "margin_m"},
    "features": {"id", "kind", "time_s", "entry", "slowest", "exit"},
    "gradients": {"name", "unit", "reference_step", "s_per_unit", "bend_s_per_unit", "s_per_step", "s_per_percent"},
    "checks": {"name", "ok", "value", "limit"},
}


@pytest.fixture(scope="module")
def record():
    return json.loads(json.dumps(line_record(made_up_answer())))


def test_the_promised_keys_are_there(record):
    assert {"time_s", "level", "distance_m", "fallback"} <= record.keys()
    for name, keys in PROMISED.items():
        entry = record[name] if isinstance(record[name], dict) else record[name][0]
        assert keys <= entry.keys(), name


def test_arrays_have_one_length(record):
    stations = record["stations"]
    assert {len(values) for values in stations.values()} == {len(stations["s_m"])}


def test_times_of_features_add_up(record):
    assert sum(feature["time_s"] for feature in record["features"]) == pytest.approx(record["time_s"])


def test_a_gradient_is_consistent_with_itself(record):
    power = next(g for g in record["gradients"] if g["name"] == "engine.peak_power")
    assert power["s_per_step"] == pytest.approx(power["s_per_unit"] * power["reference_step"])
    assert power["s_per_percent"] == pytest.approx(power["s_per_unit"] * power["value"] / 100)
    assert power["s_per_step_low"] < power["s_per_step"] < power["s_per_step_high"]


def test_a_parameter_of_zero_has_no_percent(record):
    assert next(g for g in record["gradients"] if g["name"] == "front.toe")["s_per_percent"] is None


def test_a_fallback_names_feature_and_reason():
    found = line_record(fallback_answer())
    assert set(found["fallback"]) == {"feature", "reason"}
    assert found["stations"]["command"] is None


def test_no_fallback_is_null(record):
    assert record["fallback"] is None


def test_a_band_has_both_ends():
    band = line_record(wet_answer())["surface_band"]
    assert band["fastest_s"] < band["slowest_s"]
    assert (band["surface_low"], band["surface_high"]) == (0.6, 0.8)

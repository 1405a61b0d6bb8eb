"""The words and the record of an answer about settings."""

from __future__ import annotations

import json

import pytest

from conewise.reports.settings_answer import Gain, OneClick
from tests.settings_fixture import as_it_is, row, settings_answer


@pytest.mark.parametrize(
    ("gain", "words"),
    [
        (Gain(value=0.12, low=0.05, high=0.2), "+0.12 s"),
        (Gain(value=-0.12, low=-0.2, high=-0.05), "−0.12 s"),
        (Gain(value=0.12, low=-0.05, high=0.2), "cannot tell: −0.05 to +0.20 s"),
        (Gain(value=0.002, low=-0.005, high=0.009), "under 0.01 s"),
        (Gain(value=float("nan"), low=-float("inf"), high=float("inf")), "not solved"),
        (Gain(value=0.006, low=0.001, high=0.02), "under 0.01 s"),
    ],
)
def test_a_sign_that_is_not_sure_is_not_told(gain, words):
    assert gain.words == words


def test_a_cost_is_a_gain_turned():
    gain = Gain(value=0.1, low=0.05, high=0.2)
    assert gain.turned == Gain(value=-0.1, low=-0.2, high=-0.05)
    assert gain.turned.turned == gain


def test_the_first_sentence_names_what_to_move_and_its_interval():
    assert settings_answer().headline == "Move front bar: +0.12 s a run (90 % interval +0.05 to +0.19 s)."
    assert "leave them as they are" in as_it_is().headline


def test_a_move_for_safety_says_why():
    lost = Gain(value=-0.04, low=-0.06, high=-0.02)
    repaired = settings_answer(together=lost, repaired="as they are, a bound is not kept.")
    assert repaired.headline == "Move front bar: as they are, a bound is not kept."


def test_a_safety_bound_is_information_and_stays():
    bound = settings_answer().bounds[0]
    assert bound.cost_words == "costs about 0.05 s. It is kept all the same."
    assert settings_answer().bounds[1].cost_words == "costs nothing here"


@pytest.mark.parametrize(
    ("value", "dimension", "system", "words"),
    [
        (-0.0384, "angle", "us", "−2.20 deg"),
        (206842.7, "pressure", "metric", "2.07 bar"),
        (206842.7, "pressure", "us", "30.0 psi"),
        (0.761, "ratio", "us", "0.761"),
    ],
)
def test_values_are_shown_in_the_units_asked_for(value, dimension, system, words):
    assert row(dimension=dimension).shown(value, system) == words


def test_the_record_has_its_units_and_reads_as_json():
    record = json.loads(json.dumps(settings_answer().as_record()))
    assert record["ok"] is True
    assert record["gain_s"] == 0.118
    setting = record["settings"][2]
    assert (setting["unit"], round(setting["now"], 3)) == ("bar", 2.068)
    assert record["settings"][0]["one_click_up"] == {
        "cost_s": None,
        "cost_low_s": None,
        "cost_high_s": None,
        "reason": "end of its range",
    }
    assert record["bounds"][0]["cost_s"] == 0.05
    assert record["bounds"][1]["binds"] is False
    assert as_it_is().as_record()["gain_s"] == 0.0


def test_doubts_are_no_success():
    doubted = settings_answer(doubts=("lot: failed a check.",))
    assert doubted.exit_code == 6
    assert doubted.as_record()["ok"] is False
    assert OneClick(reason="not allowed: understeer").words == "not allowed: understeer"


def test_where_the_model_leans_without_telling_is_worth_a_test():
    words = settings_answer().leaning_words("us")
    assert words.startswith(
        "Worth a test with times: the model leans to front tyre pressure 32.0 psi; −0.04 to +0.08 s"
    )
    assert settings_answer(leaning=None).leaning_words("us") == ""
    tiny = Gain(value=0.005, low=-0.01, high=0.02)
    assert settings_answer(leaning=tiny).leaning_words("us") == ""

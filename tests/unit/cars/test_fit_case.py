"""Answers of a fit as findings, and lengths in words."""

import pytest

from conewise.cars.fit_case import FitState, short_length
from tests.fits import case


@pytest.mark.parametrize(
    ("state", "is_safety", "severity"),
    [
        (FitState.NO, True, "stop"),
        (FitState.OPEN, True, "warning"),
        (FitState.OPEN, False, "note"),
        (FitState.FITS, True, "note"),
    ],
)
def test_an_answer_is_a_finding(state, is_safety, severity):
    item = case().item("strut-gap", state, "Only 2 mm left.", needs="Measure.", is_safety=is_safety)
    assert (item.finding.severity, item.finding.code, item.finding.where) == (severity, "strut-gap", "front")
    assert item.finding.message == "Only 2 mm left. Measure."


def test_lengths_in_both_systems():
    assert (short_length(0.00508, "metric"), short_length(0.00508, "us")) == ("5.1 mm", "0.20 in")

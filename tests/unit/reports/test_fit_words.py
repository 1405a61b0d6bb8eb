"""Sentences of a fit."""

import pytest

from conewise.reports import fit_words
from conewise.workflows.fit import FitQuestion, answer_fit
from tests.cars import DEMO
from tests.fits import DAY


def fit(**asked):
    return answer_fit(FitQuestion(car=DEMO / "marigold.toml", **asked), day=DAY)


def test_the_answer_comes_first():
    no, unsure = fit(wheel="15x9 -10", tyre="245/40R15"), fit(wheel="15x8 +26", tyre="205/50R15 86V")
    assert fit_words.answer_sentence(no).startswith("Fits as far as is known: no. ")
    assert "fender gap" in fit_words.refusal(no)
    assert fit_words.answer_sentence(unsure).startswith("Fits: not known yet, do not drive on it.")
    assert fit_words.refusal(unsure) == ""


@pytest.mark.parametrize(
    ("wheel", "words"), [("15x8 +28", "stays"), ("15x8 +8", "20.0 mm outwards"), ("15x8 +38", "10.0 mm inwards")]
)
def test_scrub_radius_in_words(wheel, words):
    assert words in fit_words.scrub_sentence(fit(wheel=wheel).axles[0])


def test_speedometer():
    # 205/55R15 over 205/50R15: 606.5 / 586 mm
    taller = fit(tyre="205/55R15 88V")
    assert "103.5 km/h: it shows 3.5% too little" in fit_words.speedometer_sentence(taller, "metric")
    assert "62.1 mph" in fit_words.speedometer_sentence(taller, "us")
    assert "what it showed" in fit_words.speedometer_sentence(fit(spacer=0.006), "metric")

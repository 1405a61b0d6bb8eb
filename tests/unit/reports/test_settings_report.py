"""The page of an answer about settings."""

from __future__ import annotations

from conewise.reports.settings_report import settings_html
from conewise.reports.units import METRIC, US
from tests.settings_fixture import row, settings_answer

HOSTILE = "<img src=x onerror=alert(1)>"


def test_the_page_says_what_the_command_says():
    answer = settings_answer()
    page = settings_html(answer, METRIC)
    for words in (answer.headline, "cannot tell", "hardly matters", "costs about 0.05 s", "2.07 bar", "1.25"):
        assert words in page
    assert all(caution.replace("'", "&#39;") in page for caution in answer.cautions)
    assert "30.0 psi" in settings_html(answer, US)


def test_names_are_text():
    page = settings_html(settings_answer(car=HOSTILE, rows=(row(HOSTILE, note=HOSTILE),)), METRIC)
    assert "<img" not in page


def test_nothing_comes_from_anywhere_else():
    page = settings_html(settings_answer(), METRIC)
    assert "http://" not in page.replace("http://www.w3.org/", "")
    assert "https://" not in page


def test_now_and_best_stand_on_the_range():
    page = settings_html(settings_answer(), METRIC)
    assert "--at:50.0%" in page
    assert "--at:100.0%" in page

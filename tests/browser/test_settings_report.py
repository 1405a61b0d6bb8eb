"""The report of a search for settings as a reader meets it."""

from __future__ import annotations

import itertools
from dataclasses import replace

import pytest

from conewise.reports.settings_report import settings_html
from conewise.reports.units import METRIC, US
from tests.browser.reading import HOSTILE, LOOKS, WIDTHS, assert_reads_well_in_every_look, wear_in_report
from tests.settings_fixture import as_it_is, row, settings_answer

pytestmark = pytest.mark.browser

LONG = "The adjustable rear bar with the borrowed links from the northern section"
ANSWERS = {
    "plain": settings_answer,
    "still": as_it_is,
    "long": lambda: replace(settings_answer(), rows=(row(LONG, note=LONG), *settings_answer().rows)),
    "hostile": lambda: settings_answer(car=HOSTILE, rows=(row(HOSTILE),)),
}
SCENES = {"plain": LOOKS, "still": ["light"], "long": ["light"]}  # the looks in which it is read


@pytest.fixture(scope="module")
def pages(tmp_path_factory):
    """The reports as files."""
    folder = tmp_path_factory.mktemp("settings")
    for name, build in ANSWERS.items():
        units = US if name == "long" else METRIC
        (folder / f"{name}.html").write_text(settings_html(build(), units), encoding="utf-8")
    return folder


@pytest.mark.parametrize(("name", "width"), list(itertools.product(SCENES, WIDTHS)))
def test_it_reads_well(opened, name, width):
    looks = SCENES[name]
    assert_reads_well_in_every_look(opened(name, width), looks=looks, worn=wear_in_report)


@pytest.mark.parametrize("width", WIDTHS)
def test_gain_and_sentence_are_on_the_first_screen(opened, width):
    page = opened(width=width)
    for place in (".time", ".try"):
        box = page.locator(place).bounding_box()
        assert box["y"] + box["height"] < 844


def test_names_are_text_and_nothing_breaks(opened):
    page = opened("hostile")
    assert page.evaluate("window.broken") is None


def test_the_look_is_kept_without_a_run_on_the_page(opened):
    page = opened("plain")
    page.locator("input[value=dark]").check()
    assert page.evaluate("document.documentElement.dataset.look") == "dark"

"""The report of a debrief as a reader meets it."""

from __future__ import annotations

import itertools
import re

import pytest

from conewise.reports.debrief_report import debrief_html
from conewise.reports.units import METRIC, US
from tests.browser.boxes import assert_at_least
from tests.browser.reading import (
    HOSTILE,
    LOOKS,
    WIDTHS,
    assert_keeps_to_itself,
    assert_reads_well_in_every_look,
    audit,
    wear_in_report,
)
from tests.debrief_fixture import compared_runs, named_debrief, reduced_debrief, told_debrief

pytestmark = pytest.mark.browser

LONG = "Second run of the evening, with the borrowed wheels and a passenger from the northern section"
ANSWERS = {
    "plain": told_debrief,
    "reduced": reduced_debrief,
    "compared": compared_runs,
    "long": lambda: named_debrief(LONG),
    "hostile": lambda: named_debrief(HOSTILE),
}
SCENES = {
    "plain": LOOKS,
    "reduced": ["light"],
    "compared": ["light"],
    "long": ["light"],
}  # the looks in which it is read


@pytest.fixture(scope="module")
def pages(tmp_path_factory):
    """The reports as files."""
    folder = tmp_path_factory.mktemp("debriefs")
    for name, build in ANSWERS.items():
        units = US if name == "long" else METRIC
        (folder / f"{name}.html").write_text(debrief_html(build(), units), encoding="utf-8")
    return folder


@pytest.mark.parametrize(("name", "width"), list(itertools.product(SCENES, WIDTHS)))
def test_it_reads_well(opened, name, width):
    looks = SCENES[name]
    assert_reads_well_in_every_look(opened(name, width), looks=looks, worn=wear_in_report)


@pytest.mark.parametrize(("name", "width"), list(itertools.product(["plain", "reduced", "compared"], WIDTHS)))
def test_the_gap_is_the_largest_text(opened, name, width):
    texts = audit(opened(name, width))["found"]
    largest = max(texts, key=lambda t: t["size"])
    assert re.fullmatch(r"[\d.]+ s", largest["text"])
    assert sum(t["size"] == largest["size"] for t in texts) == 1


@pytest.mark.parametrize("width", WIDTHS)
def test_gap_focus_and_evidence_are_on_the_first_screen(opened, width):
    page = opened(width=width)
    for place in (".time", ".try", ".try + p"):
        box = page.locator(place).bounding_box()
        assert box["y"] + box["height"] < 844
    assert page.locator("details.also").evaluate("seen => seen.open") is False


def test_nothing_is_fetched_and_nothing_complains_in_any_look(opened):
    page = opened("hostile")
    for look in LOOKS:
        wear_in_report(page, look)
    assert_keeps_to_itself(page)


def test_every_axis_has_its_quantity_and_unit(opened):
    page = opened()
    names = page.locator("[data-axis]").all_inner_texts()
    assert len(names) == page.locator(".plot").count() + 1 == 3
    assert not [name for name in names if not re.search(r"\w+.* \[[^\]]+\]", name)]


@pytest.mark.parametrize("width", WIDTHS)
def test_one_cursor_shows_both_runs_on_map_and_traces(opened, width):
    page = opened(width=width)
    dots = page.locator(".map[data-matrix]:visible").locator(".here, .beside")

    def places():
        return [tuple(float(dot.get_attribute(name)) for name in ("cx", "cy")) for dot in dots.all()]

    page.locator("#traces").focus()
    start = places()
    assert len(start) == 2
    page.keyboard.press("End")
    assert page.locator("[data-show=later]").inner_text() == f"+{told_debrief().gap:.2f} s"
    assert all(a != b for a, b in zip(start, places(), strict=True))
    hair = page.evaluate("getComputedStyle(document.querySelector('.hair')).getPropertyValue('--at')")
    assert hair == "100%"
    page.keyboard.press("Home")
    assert places() == start


def test_a_cone_tells_how_far_the_car_was(opened):
    page = opened()
    cone = page.locator(".map[data-matrix]:visible .cone").first
    cone.focus()
    assert re.search(r"the car was −?\d+ ±\d+ cm from its base", page.locator("#cone").inner_text())


def test_touch_targets_are_large_enough(opened):
    """44 px: Web Content Accessibility Guidelines 2.2, W3C 2023, success criterion 2.5.5."""
    page = opened(width=390)
    assert_at_least(44, page.locator(".looks label, summary"))

"""The report of an advice as a reader meets it."""

from __future__ import annotations

import itertools
import re

import pytest

from conewise.reports.advice_report import advice_html
from tests.advice_fixture import made_up_advice, named_advice, plain_advice
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

pytestmark = pytest.mark.browser

LONG = "Adjustable platform with helper springs and the reinforced upper mounts of the northern section"
ANSWERS = {
    "plain": made_up_advice,
    "bare": plain_advice,
    "long": lambda: named_advice(LONG),
    "hostile": lambda: named_advice(HOSTILE),
}
SCENES = {"plain": LOOKS, "bare": ["light"], "long": ["light"]}  # the looks in which it is read


@pytest.fixture(scope="module")
def pages(tmp_path_factory):
    """The reports as files."""
    folder = tmp_path_factory.mktemp("advice")
    for name, build in ANSWERS.items():
        (folder / f"{name}.html").write_text(advice_html(build()), encoding="utf-8")
    return folder


@pytest.mark.parametrize(("name", "width"), list(itertools.product(SCENES, WIDTHS)))
def test_it_reads_well(opened, name, width):
    looks = SCENES[name]
    assert_reads_well_in_every_look(opened(name, width), looks=looks, worn=wear_in_report)


@pytest.mark.parametrize("width", WIDTHS)
def test_the_gain_is_the_largest_text(opened, width):
    texts = audit(opened(width=width))["found"]
    largest = max(texts, key=lambda t: t["size"])
    assert re.fullmatch(r"[\d.]+ s", largest["text"])
    assert sum(t["size"] == largest["size"] for t in texts) == 1


@pytest.mark.parametrize("width", WIDTHS)
def test_gain_name_and_best_package_come_first(opened, width):
    page = opened(width=width)
    for place in (".time", ".try"):
        box = page.locator(place).first.bounding_box()
        assert box["y"] + box["height"] < 844
    assert page.locator(".best-package .package-step").count() == 3


def test_nothing_is_fetched_and_nothing_complains_in_any_look(opened):
    page = opened("hostile")
    for look in LOOKS:
        wear_in_report(page, look)
    assert_keeps_to_itself(page)


def test_every_axis_has_its_quantity_and_unit(opened):
    names = opened().locator("[data-axis]").all_inner_texts()
    assert names == ["Gain [s]", "Gain [s]"]


@pytest.mark.parametrize("width", WIDTHS)
def test_bars_and_intervals_lie_where_the_numbers_say(opened, width):
    page = opened(width=width)
    chart = page.locator("section", has=page.get_by_role("heading", name="Changes to the car"))
    ends = [float(text.replace("−", "-")) for text in chart.locator(".ends span").all_inner_texts()[::2]]
    for row in chart.locator(".worth:not(.head)").all():
        frame, fill, line = (row.locator(p).bounding_box() for p in (".gain-bar", ".fill", ".whisker"))
        low, high = (
            float(n) for n in re.findall(r"[-+]?[\d.]+", row.locator(".note").last.inner_text().replace("−", "-"))
        )
        width_shown = frame["width"] / (ends[1] - ends[0])
        assert line["x"] == pytest.approx(frame["x"] + (low - ends[0]) * width_shown, abs=0.006 * width_shown + 1)
        assert line["width"] == pytest.approx((high - low) * width_shown, abs=0.011 * width_shown + 1)
        zero = frame["x"] - ends[0] * width_shown
        assert fill["x"] - 1 <= zero <= fill["x"] + fill["width"] + 1


def test_touch_targets_are_large_enough(opened):
    """44 px: Web Content Accessibility Guidelines 2.2, W3C 2023, success criterion 2.5.5."""
    page = opened(width=390)
    assert_at_least(44, page.locator(".looks label, summary"))

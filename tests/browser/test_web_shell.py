"""What every page of the app has, as a reader meets it."""

from __future__ import annotations

import itertools

import pytest

from tests.browser.boxes import assert_at_least
from tests.browser.reading import LOOKS, WIDTHS, assert_reads_well

pytestmark = pytest.mark.browser

PAGES = ("/", "/?event=april&driver=fay", "/prepare", "/prove", "/help", "/jobs", "/choices", "/nothing-here")
MOST_BYTES = 300_000  # of a page with all that it loads


@pytest.mark.parametrize(("path", "width", "look"), list(itertools.product(PAGES, WIDTHS, LOOKS)))
def test_it_reads_well(visit, audit_script, path, width, look):
    page = visit(path, width, look)
    assert_reads_well(page.evaluate(audit_script), look, least=12)
    assert not [words for words in page.complaints if "404" not in words]


@pytest.mark.parametrize("path", PAGES)
def test_a_page_is_small(visit, path):
    page = visit(path)
    sizes = page.evaluate(
        "[...performance.getEntriesByType('navigation'), ...performance.getEntriesByType('resource')]"
        ".map((entry) => entry.transferSize)"
    )
    assert 0 < sum(sizes) < MOST_BYTES


@pytest.mark.parametrize("path", PAGES)
def test_touch_targets_are_large_enough(visit, path):
    """44 px: Web Content Accessibility Guidelines 2.2, W3C 2023, success criterion 2.5.5."""
    page = visit(path, 390)
    targets = page.locator(
        "a:visible:not(.skip):not(article a), button:visible, select:visible, .looks label, label.option, summary"
    )
    assert targets.count() > 8
    assert_at_least(44, targets)


def test_the_look_is_worn_at_once_and_kept(visit):
    page = visit()
    page.get_by_label("Sunlight").check()
    style = "(() => { const s = getComputedStyle(document.body); return [s.color, s.backgroundColor]; })()"
    assert page.evaluate(style) == ["rgb(0, 0, 0)", "rgb(255, 255, 255)"]
    page.reload()
    assert page.locator("html").get_attribute("data-look") == "sunlight"


def test_another_driver_is_chosen_in_two_steps(visit):
    page = visit()
    page.locator(".chosen summary").click()
    page.get_by_label("Driver").select_option("Gus Holloway")
    page.wait_for_url("**driver=gus**")
    assert "Gus Holloway · Thistle" in page.locator(".chosen summary").inner_text()


def test_the_keyboard_reaches_the_content_first(visit):
    page = visit()
    page.keyboard.press("Tab")
    assert page.locator(".skip").evaluate("link => link === document.activeElement")
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "main"

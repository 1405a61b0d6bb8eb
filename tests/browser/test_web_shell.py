"""What every page of the app has, as a reader meets it."""

from __future__ import annotations

import itertools

import pytest

from tests.browser.boxes import assert_at_least
from tests.browser.reading import HAND, WIDTHS, assert_reads_well_in_every_look, assert_small

pytestmark = pytest.mark.browser

PAGES = ("/", "/?event=april&driver=fay", "/prepare", "/prove", "/help", "/jobs", "/choices", "/nothing-here")
TARGETS = "a:visible:not(.skip):not(article a), button:visible, select:visible, .looks label, label.option, summary"


@pytest.mark.parametrize(("path", "width"), list(itertools.product(PAGES, WIDTHS)))
def test_it_is_small_has_large_targets_and_reads_well(visit, path, width):
    """44 px: Web Content Accessibility Guidelines 2.2, W3C 2023, success criterion 2.5.5."""
    page = visit(path, width)
    assert_small(page)
    if width == HAND:
        assert page.locator(TARGETS).count() > 8
        assert_at_least(44, page.locator(TARGETS))
    assert_reads_well_in_every_look(page, least=12)
    assert not [words for words in page.complaints if "404" not in words]


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

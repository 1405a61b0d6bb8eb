"""The report of a run as a reader meets it: nothing cut, nothing on top of another, nothing fetched."""

from __future__ import annotations

import itertools
import re

import pytest

from conewise.reports.line_report import line_html
from conewise.reports.units import METRIC, US
from tests.browser.boxes import assert_at_least
from tests.browser.reading import LOOKS, WIDTHS, assert_reads_well_in_every_look, audit, wear_in_report
from tests.reports_fixture import fallback_answer, long_answer, made_up_answer, wet_answer

pytestmark = pytest.mark.browser

HOSTILE = "<script>window.broken = 1</script><b>&amp; 'Lot' \"7\""
ANSWERS = {
    "plain": made_up_answer,
    "wet": wet_answer,
    "fallback": fallback_answer,
    "long": long_answer,
    "hostile": lambda: made_up_answer(name=HOSTILE, car="<img src=x onerror='window.broken = 1'>"),
}
SCENES = {  # the looks in which it is read
    "plain": LOOKS,
    "long": ["light", "sunlight"],
    "wet": ["light"],
    "fallback": ["light"],
    "hostile": ["light"],
}


@pytest.fixture(scope="module")
def pages(tmp_path_factory):
    """The reports as files."""
    folder = tmp_path_factory.mktemp("reports")
    for name, build in ANSWERS.items():
        units = US if name == "long" else METRIC
        (folder / f"{name}.html").write_text(line_html(build(), units), encoding="utf-8")
    return folder


@pytest.mark.parametrize(("name", "width"), list(itertools.product(SCENES, WIDTHS)))
def test_it_reads_well(opened, name, width):
    looks = SCENES[name]
    assert_reads_well_in_every_look(opened(name, width), looks=looks, worn=wear_in_report)


@pytest.mark.parametrize(("name", "width"), list(itertools.product(["plain", "wet", "fallback"], WIDTHS)))
def test_the_answer_is_the_largest_text_and_on_the_first_screen(opened, name, width):
    texts = audit(opened(name, width))["found"]
    largest = max(texts, key=lambda t: t["size"])
    assert re.fullmatch(r"[\d.]+( to [\d.]+)? s", largest["text"])
    assert sum(t["size"] == largest["size"] for t in texts) == 1
    assert max(box["bottom"] for box in largest["boxes"]) < 844


def test_a_fallback_is_said_before_the_time(opened):
    words = opened("fallback").locator(".verdict").inner_text()
    assert words.index("Fallback") < words.index(" s\n")


def test_nothing_is_fetched_and_nothing_complains_in_any_look(opened):
    page = opened("hostile")
    for look in LOOKS:
        wear_in_report(page, look)
    assert [url for url in page.asked if not url.startswith(("file:", "data:"))] == []
    assert len(page.asked) == 1
    assert page.complaints == []


def test_names_stay_names(opened):
    page = opened("hostile")
    assert page.evaluate("window.broken") is None
    assert page.locator(".what strong").inner_text() == HOSTILE
    assert HOSTILE in page.title()
    assert page.locator("img").count() == 0


def test_every_axis_has_its_quantity_and_unit(opened):
    page = opened()
    names = page.locator(".trace [data-axis=y]").all_inner_texts()
    assert len(names) == page.locator(".plot").count() == 6
    names += page.locator("[data-axis=x]").all_inner_texts()
    assert len(names) == 9
    assert not [name for name in names if not re.search(r"\w+.* \[[^\]]+\]", name)]
    assert "Speed [km/h]" in page.locator(".desk:not(.sun) svg text").all_text_contents()


@pytest.mark.parametrize(("width", "is_open"), [(1280, True), (390, False)])
def test_what_is_secondary_is_folded_on_a_narrow_page_and_never_lost(opened, width, is_open):
    page = opened(width=width)
    folds = page.locator("details.fold")
    assert folds.count() >= 5
    assert {folds.nth(i).evaluate("fold => fold.open") for i in range(folds.count())} == {is_open}
    assert page.locator("text=Before you drive").is_visible()
    assert not page.locator("details", has_text="Before you drive").count()  # cautions are not folded away
    page.set_viewport_size({"width": 1672 - width, "height": 844})
    page.wait_for_function(f"document.querySelector('details.fold').open === {str(not is_open).lower()}")


def test_every_pace_is_named_on_the_ruler(opened):
    for width in WIDTHS:
        page = opened(width=width)
        names = page.locator(".mark b")
        assert names.all_inner_texts() == ["1.00", "0.95", "0.90", "0.80", "0.70"]
        assert all(names.nth(i).is_visible() for i in range(5))


def test_words_of_a_feature_card_are_not_broken(opened):
    page = opened(width=390)
    heights = page.evaluate(
        "[...document.querySelectorAll('.features tbody td')].map(cell => cell.getBoundingClientRect().height)"
    )
    assert max(heights) <= 44  # one line of label, one of number


def place_of_cursor(page):
    here = page.locator(".map[data-matrix]:visible .here")
    return float(here.get_attribute("cx")), float(here.get_attribute("cy"))


def place_of_hair(page):
    return page.evaluate("getComputedStyle(document.querySelector('.hair')).getPropertyValue('--at')")


def test_the_mouse_moves_one_cursor_on_map_and_traces(opened):
    page = opened()
    start, hair = place_of_cursor(page), place_of_hair(page)
    plot = page.locator(".trace.speed .plot")
    plot.scroll_into_view_if_needed()
    box = plot.bounding_box()
    page.mouse.move(box["x"] + box["width"] * 0.5, box["y"] + 20)
    middle = place_of_cursor(page)
    assert middle != start
    assert float(place_of_hair(page).rstrip("%")) == pytest.approx(50, abs=0.5)
    sheet = page.locator(".map[data-matrix]:visible")
    sheet.scroll_into_view_if_needed()
    box = sheet.bounding_box()
    page.mouse.move(box["x"] + start[0] + 1, box["y"] + start[1] + 1)
    assert place_of_cursor(page) == pytest.approx(start, abs=8)
    assert float(place_of_hair(page).rstrip("%")) == pytest.approx(float(hair.rstrip("%")), abs=1)


def test_the_keyboard_moves_the_cursor(opened):
    page = opened()
    page.locator("#traces").focus()
    start = place_of_cursor(page)
    page.keyboard.press("ArrowRight")
    assert page.locator("#traces").get_attribute("aria-valuenow") == "1"
    page.keyboard.press("End")
    assert place_of_hair(page) == "100%"
    assert place_of_cursor(page) != start
    page.keyboard.press("Home")
    assert place_of_cursor(page) == start
    page.keyboard.press("PageDown")
    assert page.locator("[data-show=feature]").inner_text().startswith("2 ")


def test_a_finger_on_the_traces_moves_the_cursor(opened):
    page = opened(width=390)
    start = place_of_cursor(page)
    plot = page.locator(".trace.speed .plot")
    plot.scroll_into_view_if_needed()
    box = plot.bounding_box()
    page.touchscreen.tap(box["x"] + box["width"] * 0.7, box["y"] + 60)
    assert place_of_cursor(page) != start


@pytest.mark.parametrize("width", WIDTHS)
def test_a_cone_tells_its_price_by_tap_and_by_focus(opened, width):
    page = opened(width=width)
    cone = page.locator(".map[data-matrix]:visible .cone[data-cone=C6]")
    cone.focus()
    assert re.match(r"Cone C6, on your left: 0\.\d{3} s per 10 cm more room", page.locator("#cone").inner_text())
    sheet = page.locator(".map[data-matrix]:visible").bounding_box()
    other = page.locator(".map[data-matrix]:visible .cone[data-cone=C50]")
    x, y = float(other.get_attribute("data-x")), float(other.get_attribute("data-y"))
    scale = sheet["width"] / float(page.locator(".map[data-matrix]:visible").get_attribute("viewBox").split()[2])
    page.mouse.move(sheet["x"] + x * scale, sheet["y"] + y * scale)
    assert "C50" in page.locator("#cone").inner_text()


def test_the_appearance_is_chosen_and_kept(opened):
    page = opened()
    light = page.evaluate("getComputedStyle(document.body).backgroundColor")
    page.get_by_label("Dark").check()
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") != light
    page.reload()
    page.wait_for_selector("body[data-ready]")
    assert page.get_by_label("Dark").is_checked()


def test_sunlight_is_black_on_white_with_thick_lines(opened):
    page = opened(look="sunlight")
    style = page.evaluate(
        "(() => { const s = getComputedStyle(document.body); return [s.color, s.backgroundColor]; })()"
    )
    assert style == ["rgb(0, 0, 0)", "rgb(255, 255, 255)"]
    curves = page.evaluate("[...document.querySelectorAll('.plot .curve')].map((c) => getComputedStyle(c).strokeWidth)")
    assert set(curves) == {"3px"}


def test_touch_targets_are_large_enough(opened):
    """44 px: Web Content Accessibility Guidelines 2.2, W3C 2023, success criterion 2.5.5."""
    page = opened(width=390)
    assert_at_least(44, page.locator(".looks label, summary"))


def test_us_units_are_shown_throughout(browser, tmp_path):
    path = tmp_path / "us.html"
    path.write_text(line_html(made_up_answer(), US), encoding="utf-8")
    page = browser.new_page()
    page.goto(path.as_uri())
    words = page.locator("main").inner_text()
    page.close()
    assert "mph" in words
    assert not re.search(r"km/h|\[cm\]|\[m\]", words.replace("92 km/h", ""))

"""Runs are written down with a few taps and no text keyboard; what comes twice is asked; mistakes are undone."""

from __future__ import annotations

import itertools
from dataclasses import replace

import pytest
from playwright.sync_api import expect

from conewise.event.cars import EventCar
from conewise.event.people import Person
from conewise.workflows.book_place import opened
from tests.browser.boxes import box_of, boxes_of
from tests.browser.reading import LOOKS, WIDTHS, assert_reads_well_in_every_look, wear
from tests.web_app import served, settings_over

pytestmark = pytest.mark.browser

GLOVE, BETWEEN = 64, 12  # of targets that are hit with gloves on [px]


@pytest.fixture
def lot(tmp_path, demonstration):
    """The address of an app of the test's own."""
    with served(settings_over(tmp_path, demonstration)) as address:
        yield address


@pytest.fixture
def desk(visit, lot):
    """The page with the pad, on a phone."""
    return visit("/drive/runs", 390, address=lot)


@pytest.fixture(scope="module")
def with_strip(tmp_path_factory, demonstration):
    """The address of an app that shows the demo book, with the strip above every page that says so."""
    folder = tmp_path_factory.mktemp("strip")
    settings = settings_over(folder, demonstration)
    with served(replace(settings, demo=folder, is_demo=True)) as address:
        yield address


@pytest.mark.parametrize("path", ["/drive/runs?event=september", "/field?event=september"])
def test_every_key_is_on_the_first_screen_of_a_phone(visit, with_strip, path):
    page = visit(path, 390, address=with_strip)
    assert (page.locator(".banner").count() == 1) == path.startswith("/drive")
    keys = page.locator(".keys > button:visible")
    for look in LOOKS:
        wear(page, look)
        assert keys.count() == 19
        assert max(box["y"] + box["height"] for box in boxes_of(keys)) <= 844, look


def tap(page, *keys):
    for key in keys:
        page.locator(f"[data-key='{key}']").click()


def rows(page):
    return [row.inner_text().split("\n") for row in page.locator("[data-part=runs] > li").all()]


def runs(page, lot):
    return page.request.get(f"{lot}/api/events/september/run-list").json()["runs"]


def settled(page):
    """Once what was tapped is kept and sent."""
    page.get_by_role("button", name="Undo").or_(page.locator("[data-part=refused]")).first.wait_for(state="attached")
    page.wait_for_timeout(100)
    page.get_by_text("Everything is on the laptop.").wait_for()


def test_a_run_with_a_cone_takes_at_most_eight_taps_and_no_text_keyboard(desk, lot):
    taps = [desk.locator(".driver", has_text="Fay").first.click]
    taps += [lambda key=key: tap(desk, key) for key in (*"41234", "cone", "save")]
    assert len(taps) <= 8
    for one in taps:
        one()
        assert desk.evaluate("document.activeElement.matches('input, textarea, [contenteditable]')") is False
    settled(desk)
    (kept,) = [run for run in runs(desk, lot) if run["run"] == 3]
    assert (kept["driver"], kept["raw_time_s"], kept["cones"], kept["total_s"]) == ("fay", 41.234, 1, 43.234)
    assert kept["id"].startswith("e-")
    assert desk.locator("[data-part=pad] input, [data-part=pad] textarea").count() == 0


def test_the_next_driver_is_chosen_already(desk):
    assert desk.locator("h1").inner_text() == "Bo Carver, Marigold, run 3"
    tap(desk, *"36001", "save")
    desk.get_by_text("Kept: Bo Carver, run 3: 36001").wait_for()
    assert desk.locator("h1").inner_text() == "Dee Ellery, Marigold, run 3"
    expect(desk.locator("[data-part=next] .driver")).to_contain_text(["Dee", "Fay", "Robin", "Bo"])


@pytest.mark.parametrize(("key", "outcome", "is_void"), [("DNF", "dnf", False), ("re-run", "timed", True)])
def test_a_run_without_a_time_takes_one_tap(desk, lot, key, outcome, is_void):
    if is_void:
        tap(desk, *"36001")
    tap(desk, key)
    settled(desk)
    (kept,) = [run for run in runs(desk, lot) if run["run"] == 3]
    assert (kept["driver"], kept["outcome"], kept["is_void"]) == ("bo", outcome, is_void)


def test_the_page_says_how_it_reads_the_digits(desk):
    read = desk.locator("[data-part=reading]")
    for keys, said in (
        ("36001", "36.001 s, with penalties 36.001 s"),
        ("1:02.345", "62.345 s, with penalties 62.345 s"),
    ):
        tap(desk, *keys)
        assert read.inner_text() == said
        tap(desk, *["delete"] * 9)
    tap(desk, *"36001", "cone", "cone", "no-cone")
    assert read.inner_text() == "36.001 s, with penalties 38.001 s"


def test_what_could_mean_two_times_is_asked(desk, lot):
    tap(desk, *"102345")
    assert desk.locator("[data-part=ask] button").all_inner_texts() == ["1:02.345", "102.345"]
    assert not desk.locator("[data-part=save]").is_visible()
    desk.get_by_role("button", name="1:02.345").click()
    settled(desk)
    assert [run["raw_time_s"] for run in runs(desk, lot) if run["run"] == 3] == [62.345]


@pytest.mark.parametrize(
    ("keys", "said"), [("", "Type the time first."), ("36", "Too few digits"), ("999999", "no time")]
)
def test_what_is_no_time_is_not_kept(desk, lot, keys, said):
    tap(desk, *keys, "save")
    assert said in desk.locator("[data-part=reading]").inner_text()
    assert not [run for run in runs(desk, lot) if run["run"] == 3]


def test_many_cones_are_asked_back(desk, lot):
    tap(desk, *"36001", *["cone"] * 10, "save")
    assert "10 cones in one run?" in desk.locator("[data-part=reading]").inner_text()
    assert not [run for run in runs(desk, lot) if run["run"] == 3]
    desk.get_by_role("button", name="Yes, 10 cones: keep").click()
    settled(desk)
    assert [run["cones"] for run in runs(desk, lot) if run["run"] == 3] == [10]


def test_a_run_is_undone_for_ten_seconds(desk, lot):
    tap(desk, *"36001", "save")
    settled(desk)
    desk.get_by_role("button", name="Undo").click()
    desk.locator("[data-part=runs]", has_not_text="36.001").wait_for()
    settled(desk)
    assert not [run for run in runs(desk, lot) if run["run"] == 3]
    assert desk.locator("h1").inner_text() == "Bo Carver, Marigold, run 3"


def places(page):
    """Where every key and driver stands, and how large it is."""
    return page.evaluate(
        """() => [...document.querySelectorAll("[data-key], [data-part=next] .driver")].map((one) => {
            const {x, y, width, height} = one.getBoundingClientRect();
            return [x, y + scrollY, width, height];
        })"""
    )


@pytest.mark.parametrize("look", ["light", "sunlight"])  # dark has other colours alone
@pytest.mark.parametrize("path", ["/drive/runs?event=september", "/field?event=september"])
def test_no_key_moves_when_a_run_is_kept_and_its_undo_comes_and_goes(visit, with_strip, path, look):
    page = visit(path, 390, look, address=with_strip)
    page.clock.install()
    before = places(page)
    assert len(before) == 23
    page.locator("[data-part=all] summary").click()
    page.locator("[data-part=everyone] .driver", has_text="Fay").click()  # the heading of some takes two lines
    assert places(page) == before
    tap(page, *"36001", "save")
    undo = page.get_by_role("button", name="Undo")
    undo.wait_for()
    assert places(page) == before
    box = box_of(page.locator("[data-part=undo]"))
    assert box["x"] + box["width"] <= 390
    for seen in ("[data-part=who]", "[data-part=time]", "[data-part=all] summary"):  # nothing that is needed is covered
        other = box_of(page.locator(seen))
        assert (
            other["y"] + other["height"] <= box["y"]
            or other["y"] >= box["y"] + box["height"]
            or (other["x"] + other["width"] <= box["x"])
        ), seen
    assert page.locator("[data-part=undo] span").evaluate("it => it.scrollHeight") <= GLOVE
    page.clock.fast_forward(11_000)
    expect(undo).to_be_hidden()
    assert places(page) == before
    assert page.locator("[data-part=who]").evaluate("it => it.scrollHeight - it.clientHeight") < 5


LONG = "Maximiliana Featherstonehaugh-Cholmondeley of the Upper Meadow"


AROUND = """() => ["[data-part=next]", "[data-part=undo] span", "[data-part=who]"].map((part) => {
    const {top, bottom} = document.querySelector(part).getBoundingClientRect();
    return {top, bottom};
})"""  # what stands above the undo, its words, and what stands below


@pytest.fixture
def long_names(tmp_path, demonstration):
    """The address of an app whose drivers and cars have long names, one of them a single word."""
    settings = settings_over(tmp_path, demonstration)
    with opened(settings.book, now=settings.now) as book:
        for one, name in (("dee", LONG), ("fay", "Llanfairpwllgwyngyllgogerychwyrndrobwllllantysiliogogogoch")):
            kept = book.one(Person, one)
            book.change(kept.record.changed(name=name), version=kept.version)
        car = book.one(EventCar, "marigold")
        book.change(car.record.changed(name=f"{car.record.name}, the one with the {LONG}"), version=car.version)
    with served(settings) as address:
        yield address


@pytest.mark.parametrize("path", ["/drive/runs?event=september", "/field?event=september"])
def test_a_long_name_is_whole_in_heading_and_undo_and_no_key_moves(visit, long_names, path):
    page = visit(path, 390, address=long_names)
    page.clock.install()
    before = None
    for n in range(page.locator("[data-part=everyone] .driver").count()):
        page.locator("[data-part=all] summary").click()
        page.locator("[data-part=everyone] .driver").nth(n).click()
        before = before or places(page)
        assert places(page) == before
        tap(page, *f"36{n:03d}", "save")
        page.get_by_role("button", name="Undo").wait_for()
        assert places(page) == before
        for part in ("[data-part=who]", "[data-part=undo] span"):
            cut = page.locator(part).evaluate(
                "it => [it.scrollHeight - it.clientHeight, it.scrollWidth - it.clientWidth]"
            )
            assert max(cut) <= 4, part
        above, kept, below = page.evaluate(AROUND)
        assert above["bottom"] <= kept["top"]
        assert kept["bottom"] <= below["top"] + 1
        page.clock.fast_forward(11_000)


def test_undo_goes_away_after_ten_seconds(visit, lot):
    page = visit("/drive/runs", 390, address=lot)
    page.clock.install()
    tap(page, *"36001", "save")
    page.get_by_role("button", name="Undo").wait_for()
    page.clock.fast_forward(9_000)
    expect(page.get_by_role("button", name="Undo")).to_be_visible()
    page.clock.fast_forward(2_000)
    expect(page.get_by_role("button", name="Undo")).to_be_hidden()


def test_a_correction_keeps_what_was_there(desk, lot):
    (was,) = [run for run in runs(desk, lot) if run["id"] == "september-ana-2"]
    assert was["cones"] == 0
    row = desk.locator("[data-part=runs] > li", has_text="Ana Brook, run 2")
    row.get_by_role("button", name="Correct").click()
    assert desk.locator("[data-part=time]").inner_text() == was["written"]
    tap(desk, "cone")
    desk.get_by_role("button", name="Cones counted again").click()
    row.get_by_text("corrected once").click()
    assert was["written"] in row.locator("ol").inner_text()
    (kept,) = [run for run in runs(desk, lot) if run["id"] == "september-ana-2"]
    assert (kept["written"], kept["version"]) == (f"{was['written']}+1", 2)
    assert kept["total_s"] == was["total_s"] + 2
    assert [one["reason"] for one in kept["history"]] == ["", "Cones counted again"]


def test_two_people_who_enter_the_same_run_are_asked(desk, visit, lot):
    other = visit("/drive/runs", 390, address=lot)
    tap(desk, *"36001", "save")
    settled(desk)
    tap(other, *"36002", "save")
    other.get_by_text("Bo Carver has run 3 already: 36.001").wait_for()
    assert [run["written"] for run in runs(desk, lot) if run["run"] == 3] == ["36.001"]
    other.get_by_role("button", name="The same run: drop mine").click()
    settled(other)
    assert [run["written"] for run in runs(desk, lot) if run["driver"] == "bo" and run["run"] >= 3] == ["36.001"]


def test_the_keyboard_of_a_laptop_does_it_too(visit, lot):
    page = visit("/drive/runs", address=lot)
    page.keyboard.type("36001+")
    page.keyboard.press("Enter")
    settled(page)
    assert [run["written"] for run in runs(page, lot) if run["run"] == 3] == ["36.001+1"]


def test_keys_are_large_and_far_apart(desk):
    boxes = boxes_of(desk.locator(".keys button:visible, [data-part=next] button"))
    assert len(boxes) > 20
    assert min(box["height"] for box in boxes) >= GLOVE
    assert min(box["width"] for box in boxes) >= GLOVE
    for a, b in itertools.combinations(boxes, 2):
        beside = max(a["x"], b["x"]) - min(a["x"] + a["width"], b["x"] + b["width"])
        below = max(a["y"], b["y"]) - min(a["y"] + a["height"], b["y"] + b["height"])
        assert max(beside, below) >= BETWEEN


@pytest.mark.parametrize("width", WIDTHS)
def test_it_reads_well_while_a_run_is_typed(visit, width):
    page = visit("/drive/runs", width)
    tap(page, *"62345", "cone")
    assert_reads_well_in_every_look(page)
    assert page.complaints == []


@pytest.mark.parametrize("key", ["save", "DNF"])
def test_a_double_tap_keeps_one_run(desk, lot, key):
    before = runs(desk, lot)
    desk.locator(".driver", has_text="Fay").first.click()
    tap(desk, *"41234")
    desk.locator(f"[data-key='{key}']").dblclick()
    desk.wait_for_timeout(300)
    settled(desk)
    kept = [run for run in runs(desk, lot) if run not in before]
    assert [(run["driver"], run["run"]) for run in kept] == [("fay", 3)]

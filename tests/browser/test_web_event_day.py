"""Pages of the event day as a reader meets them; looks are written down with one tap."""

from __future__ import annotations

import itertools

import pytest

from tests.browser.boxes import assert_at_least, boxes_of
from tests.browser.reading import HAND, WIDTHS, assert_reads_well_in_every_look, assert_small
from tests.web_app import served, settings_over

pytestmark = pytest.mark.browser

PAGES = (
    "/prepare/ready",
    "/prepare/event",
    "/drive/results",
    "/drive/overview",
    "/drive/driver?driver=fay",
    "/drive/build-up?driver=robin",
    "/walk/drill",
    "/emergency",
)


TARGETS = "main :is(button, select, summary, label.option, .button, .onward a, .needs a):visible"


@pytest.mark.parametrize(("path", "width"), list(itertools.product(PAGES, WIDTHS)))
def test_it_is_small_has_large_targets_and_reads_well(visit, path, width):
    page = visit(path, width)
    assert_small(page)
    if width == HAND and path != "/drive/results":  # which has none
        assert_at_least(44, page.locator(TARGETS))
    assert_reads_well_in_every_look(page, least=20)
    assert page.complaints == []


@pytest.fixture
def lot(tmp_path, demonstration):
    with served(settings_over(tmp_path, demonstration)) as address:
        yield address


@pytest.fixture
def board(visit, lot):
    page = visit("/prepare/ready?event=september", 390, address=lot)
    page.locator(".judged", has_text="Pepper").locator("summary").first.click()
    return page


def n_open(page):
    return int(page.locator("h1").inner_text().split()[0])


def item(page, words):
    return page.locator(".judged", has_text="Pepper").locator("li.item", has_text=words)


def test_an_item_is_ticked_with_one_tap_and_undone(board):
    before = n_open(board)
    board.get_by_label("Who looks").select_option("Bo Carver")
    item(board, "Wheel bearings").get_by_role("button", name="Passed").click()
    board.get_by_text("Written down.").wait_for()
    assert n_open(board) == before - 1
    assert board.get_by_label("Who looks").input_value() == "Bo Carver"
    board.get_by_role("button", name="Undo").click()
    board.get_by_text(f"{before} items are open").wait_for()


def test_two_people_at_one_item_are_told_and_nothing_is_lost(board, visit, lot):
    other = visit("/prepare/ready?event=september", 390, address=lot)
    other.locator(".judged", has_text="Pepper").locator("summary").first.click()
    item(board, "Wheel bearings").get_by_text("Not passed, or a note").click()
    item(board, "Wheel bearings").get_by_label("Note").fill("left rear")
    item(board, "Wheel bearings").get_by_role("button", name="Failed").click()
    board.get_by_text("Written down.").wait_for()
    item(other, "Wheel bearings").get_by_role("button", name="Passed").click()
    other.get_by_text("looked at it meanwhile").wait_for()
    assert "Failed" in item(other, "Wheel bearings").inner_text()
    assert "left rear" in item(other, "Wheel bearings").inner_text()


def test_what_happens_to_a_car_opens_it_again(visit, lot):
    page = visit("/prepare/ready?event=september", address=lot)
    before = n_open(page)
    car = page.locator(".judged", has_text="Boulder")
    car.locator("summary").first.click()
    car.get_by_text("Something happened to this car").click()
    car.get_by_role("button", name="Leak").click()
    page.get_by_text("Written down.").wait_for()
    assert n_open(page) > before
    assert "Open again" in car.inner_text()


def test_targets_of_the_board_fit_gloves(board):
    buttons = board.locator(".judged[open] button:visible, .judged > summary")
    assert buttons.count() > 20
    boxes = boxes_of(buttons)
    assert min(box["height"] for box in boxes) >= 64
    for a, b in itertools.pairwise(boxes):
        beside = max(a["x"], b["x"]) - min(a["x"] + a["width"], b["x"] + b["width"])
        below = max(a["y"], b["y"]) - min(a["y"] + a["height"], b["y"] + b["height"])
        assert max(beside, below) >= 12


def test_packing_and_money_are_kept(visit, lot):
    page = visit("/prepare/event?event=september", 390, address=lot)
    box = page.locator("[data-packing] input").first
    box.check()
    page.get_by_label("Amount with currency").fill("31.50")
    page.get_by_role("button", name="Write down").click()
    page.locator(".problem").wait_for()
    page.get_by_label("Amount with currency").fill("31.50 EUR")
    page.get_by_role("button", name="Write down").click()
    page.get_by_text("Fuel: 31.50 EUR").wait_for()
    page.reload()
    assert page.locator("[data-packing] input").first.is_checked()

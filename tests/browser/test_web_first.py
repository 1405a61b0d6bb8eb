"""From an empty book to a course with a time, in a browser."""

from __future__ import annotations

import re
from datetime import UTC, datetime

import pytest

from tests.browser.reading import WIDTHS, assert_reads_well, assert_reads_well_in_every_look, audit
from tests.web_app import served, settings_over

pytestmark = pytest.mark.browser


@pytest.fixture
def empty_server(tmp_path):
    with served(settings_over(tmp_path, None, now=lambda: datetime.now(UTC))) as address:
        yield address


def read_at_every_width(page):
    """What is found on the page at each width, which reads well."""
    read = []
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": 844})
        read.append(audit(page))
        assert_reads_well(read[-1], "light", least=12)
    return read


@pytest.mark.slow
def test_from_nothing_to_a_time(visit, empty_server):
    page = visit("/", address=empty_server)
    read_at_every_width(page)
    page.get_by_role("link", name="Your first event").click()
    screens, entries = 0, 0
    answers = [
        {"What is the car called?": "Bramble"},
        {"What is the event called?": "Back lot", "Who drives?": "Ada Quill"},
        {"What is the course called?": "Back lot one"},
    ]
    for fields in answers:
        screens += 1
        page.wait_for_selector("body[data-ready]")
        read_at_every_width(page)
        for label, words in fields.items():
            page.get_by_label(label).fill(words)
            entries += 1
        page.get_by_role("button", name=re.compile("Next|Keep")).click()
    page.wait_for_url("**/time?**")
    assert (screens, entries) == (3, 4)
    time = page.locator("[data-time]")
    page.locator("progress").wait_for(state="detached", timeout=240_000)
    assert re.fullmatch(r"\d\d\.\d\d s", time.inner_text())
    assert re.fullmatch(r"\d{3} m", page.locator("[data-distance]").inner_text())
    for read in read_at_every_width(page):
        largest = max(read["found"], key=lambda text: text["size"])
        assert largest["text"] == time.inner_text()
        assert max(box["bottom"] for box in largest["boxes"]) < 844
    assert page.complaints == []


@pytest.mark.parametrize("width", WIDTHS)
def test_the_pages_of_the_first_event_read_well(visit, empty_server, width):
    page = visit("/first", width, address=empty_server)
    assert_reads_well_in_every_look(page, least=12)


def test_a_wrong_answer_is_said_beside_its_field(visit, empty_server):
    page = visit("/first", 390, address=empty_server)
    page.get_by_label("What is the car called?").fill("Bramble")
    page.get_by_label("Mass without driver").fill("very heavy")
    page.get_by_role("button", name=re.compile("Next|Keep")).click()
    page.wait_for_selector("#problem")
    assert "very heavy" in page.locator("#problem").inner_text()
    assert page.evaluate("document.activeElement.name") == "mass"

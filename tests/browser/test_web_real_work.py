"""Long work from the page to its answer: the worker process solves a short course; a server is killed on the way."""

from __future__ import annotations

import os
import signal
import time
from datetime import UTC, datetime
from importlib.resources import files

import pytest
from playwright.sync_api import expect

from conewise.store.texts import ChangesText
from conewise.workflows.book_place import BookPlace, opened
from conewise.workflows.recordings import recordings
from tests.web_app import ServedApart, free_port, keep_short_course, served, settings_over

pytestmark = [pytest.mark.browser, pytest.mark.slow]

WAIT = 500_000  # for an answer on a machine that has much else to do [ms]
CHANGES = """
[[change]]
name = "stickier"
kind = "tyre"
price = 500
[[change.edit]]
field = ["front.tyre.friction", "rear.tyre.friction"]
scale = 1.05

[[change]]
name = "lighter"
kind = "mass"
price = 90
[[change.edit]]
field = "mass.total"
add = "-20 kg"
"""


def now():
    return datetime.now(UTC)


@pytest.fixture(scope="module")
def settings(tmp_path_factory, demonstration):
    """Over a demo book with a course that is solved within seconds, and a list of two changes."""
    made = settings_over(tmp_path_factory.mktemp("real"), demonstration, now=now)
    keep_short_course(made.book)
    with opened(made.book, now=now) as book:
        book.add(ChangesText(id="two", text=CHANGES))
    return made


@pytest.fixture(scope="module")
def app_server(settings):
    """The app with its worker."""
    with served(settings) as address:
        yield address


def ask(page, course="short", car="pepper", **chosen):
    """Fill in the form of Change or of the settings, and ask."""
    for box in page.locator("input[name=courses]").all():
        box.set_checked(box.get_attribute("value") == course)
    page.locator("select[name=car_file]").select_option(car)
    for name, value in chosen.items():
        page.locator(f"select[name={name}]").select_option(value)
    page.get_by_role("button", name="Work it out").click()
    page.wait_for_url("**job=*")


def test_gains_sharpen_and_become_the_advice(visit):
    page = visit("/change?event=september")
    ask(page, parts="", changes="two")
    expect(page.locator("#words")).to_contain_text("changes are solved.", timeout=WAIT)
    assert page.locator(".intervals tr", has_text="stickier").count() == 1
    assert page.locator(".stacked").count() == 0  # the whole answer is not there yet
    page.locator(".stacked tr", has_text="stickier").first.wait_for(timeout=WAIT)
    screen = page.request.get(page.url.split("/change")[0] + "/api/jobs").json()
    assert [job["state"] for job in screen if job["kind"] == "advise"] == ["done"]
    assert "by its slope" not in page.locator(".intervals tr", has_text="stickier").inner_text()
    assert page.complaints == []


def test_advice_is_stopped_on_its_page(visit):
    page = visit("/change?event=september")
    ask(page, parts="", changes="two", course="harbour-yard", surface="wet")
    page.locator("#work:not([hidden]) #stop").click(timeout=WAIT)
    expect(page.locator("#words")).to_contain_text("Stopped", timeout=WAIT)
    page.reload()
    expect(page.locator("#words")).to_contain_text("Stopped", timeout=WAIT)


def test_settings_are_searched(visit):
    page = visit("/change/settings?event=september")
    ask(page, car="marigold")
    row = page.locator("table.stacked tr", has_text="pressure").first
    row.wait_for(timeout=WAIT)
    assert "bar" in row.inner_text()
    assert page.locator("h1.focus-text").inner_text() != ""
    assert page.complaints == []


def test_the_line_comes_with_its_prices_and_paces(visit):
    page = visit("/walk/line?course=short&with_car=pepper")
    page.locator("#work").wait_for(state="detached", timeout=WAIT)
    expect(page.locator("#flag")).to_have_text("A finding says stop: not to be run so.")
    expect(page.locator("main")).to_contain_text("The stop box ends 45 m behind the finish")
    seconds = float(page.locator("#times .time").inner_text().split()[0])
    assert 5.0 < seconds < 30.0
    assert page.locator("#pace input[type=range]").count() == 1
    assert page.complaints == []


def demo_recording():
    return (files("conewise.demo") / "logs" / "harbour-yard-evening.csv").read_bytes()


def test_recordings_queue_are_debriefed_and_the_last_answer_stays(visit):
    page = visit("/debrief?event=september&driver=dee")
    table, *rows = demo_recording().splitlines(keepends=True)
    first = {"name": "evening.csv", "mimeType": "text/csv", "buffer": table + b"".join(rows)}
    second = {"name": "again.csv", "mimeType": "text/csv", "buffer": table + b"".join(rows[:-1])}
    page.locator("#files").set_input_files([first, second])
    queue = page.locator("#queue li")
    queue.filter(has_text="Place 2").first.wait_for(timeout=WAIT)
    show = page.locator("#queue a", has_text="Show")
    focus = page.locator(".focus-text")
    focus.or_(show).first.wait_for(timeout=WAIT)
    page.goto(page.url.split("/debrief")[0] + "/debrief?event=september&driver=dee")
    focus.wait_for(timeout=WAIT)
    shown = focus.inner_text()
    jobs = page.request.get(page.url.split("/debrief")[0] + "/api/jobs").json
    [other] = [job for job in jobs() if not job["is_over"]]
    assert other["kind"] == "debrief"
    row = page.locator(f"#queue li[data-job='{other['id']}']")
    expect(row).to_contain_text("Stop")
    assert focus.inner_text() == shown  # while the other one is worked out
    row.get_by_role("button", name="Stop").click()
    expect(row).to_contain_text("Stopped.", timeout=WAIT)
    assert focus.inner_text() == shown
    told = [(job["kind"], job["state"]) for job in jobs()]
    assert told.count(("log-check", "done")) == 2
    assert told.count(("debrief", "done")) == 1


def test_a_recording_on_its_way_when_the_server_is_killed_goes_over_once(visit, tmp_path, demonstration):
    made = settings_over(tmp_path, demonstration, now=now)
    port = free_port()
    server = ServedApart(made.book, port)
    try:
        page = visit("/debrief?event=september&driver=fay", 390, address=server.address)
        os.kill(server.process.pid, signal.SIGSTOP)  # it takes the call, and reads no more of it than its buffers hold
        page.locator("#files").set_input_files(
            {"name": "evening.csv", "mimeType": "text/csv", "buffer": demo_recording() * 20}
        )
        row = page.locator("#queue li", has_text="evening.csv")
        expect(row).to_contain_text("On its way")
        page.wait_for_timeout(500)
        server.kill()
        expect(row).to_contain_text("The file waits here", timeout=30_000)
        assert list(made.book.glob("incoming/??/*")) == []
        server = ServedApart(made.book, port)
        expect(row).not_to_contain_text("The file waits here", timeout=60_000)
        place = BookPlace(book=made.book, now=now)
        end = time.monotonic() + WAIT / 1000
        while not (kept := [one for one in recordings(place) if one.person == "fay"]):
            assert time.monotonic() < end
            page.wait_for_timeout(500)
        page.wait_for_timeout(3000)
        assert [one.name for one in recordings(place) if one.person == "fay"] == [kept[0].name] == ["evening.csv"]
    finally:
        server.kill()

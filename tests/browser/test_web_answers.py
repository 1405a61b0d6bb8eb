"""Change, proof and cars as a reader meets them; gains that sharpen while they are solved."""

from __future__ import annotations

import itertools
from dataclasses import replace
from datetime import UTC, datetime

import pytest
from playwright.sync_api import expect

from conewise.advisor.advice import Rung
from conewise.money import money
from conewise.reports.advice_screen import rows_screen
from conewise.web.work import finite
from conewise.workflows.book_place import BookPlace, opened
from conewise.workflows.jobs import Asker, Jobs
from conewise.workflows.recordings import take_upload
from tests.advice_fixture import made_up_advice
from tests.browser.boxes import assert_at_least
from tests.browser.reading import HAND, WIDTHS, assert_reads_well_in_every_look, assert_small
from tests.settings_fixture import settings_answer
from tests.web_answers import ADVISE, SETTINGS, advice_result, keep_job, settings_result
from tests.web_app import at_rest, served, settings_over

pytestmark = pytest.mark.browser

DEE = "event=september&driver=dee"
PAGES = {
    "change": f"/change?{DEE}",
    "nothing asked": "/change?event=september&driver=gus",
    "settings": f"/change/settings?{DEE}",
    "which times": "/prove",
    "proof": "/prove?times={times}&name=bar.csv",
    "plan": "/prove/plan?runs=8",
    "car": f"/prepare/car?{DEE}",
    "fit": "/prepare/fit?file=marigold&wheel=16x8+%2B30&tyre=225/45R16",
}


def now():
    return datetime.now(UTC)


@pytest.fixture(scope="module")
def book(tmp_path_factory, demonstration):
    """Settings over a demo book with answers that are there already."""
    settings = settings_over(tmp_path_factory.mktemp("answers"), demonstration)
    advice = made_up_advice()
    rungs = tuple(
        Rung(names=names, price=money(f"{price} EUR", where=""), expected=gain)
        for names, price, gain in ((("a bar",), 295, 0.09), (("tyres", "a bar"), 1055, 0.39))
    )
    advice = replace(advice, packages=replace(advice.packages, rungs=rungs))
    keep_job(settings.book, "advise", ADVISE, advice_result(advice))
    keep_job(settings.book, "settings", SETTINGS, settings_result(settings_answer()))
    return settings


@pytest.fixture(scope="module")
def times(book, demonstration):
    content = (demonstration / "times" / "harbour-yard-bar-test.csv").read_bytes()
    return take_upload(BookPlace(book=book.book, now=now), content, "bar.csv").address


@pytest.fixture(scope="module")
def app_server(book):
    """The app over that book; nobody works."""
    with at_rest(), served(book) as address:
        yield address


@pytest.mark.parametrize(("name", "width"), list(itertools.product(PAGES, WIDTHS)))
def test_it_is_small_has_large_targets_says_its_answer_largest_and_reads_well(visit, times, name, width):
    page = visit(PAGES[name].format(times=times), width)
    assert_small(page)
    if width == HAND:
        assert_answer_is_largest_and_targets_are_large(page)
    assert_reads_well_in_every_look(page, least=12)
    assert page.complaints == []


def assert_answer_is_largest_and_targets_are_large(page):
    """44 px: Web Content Accessibility Guidelines 2.2, W3C 2023, success criterion 2.5.5."""
    assert_at_least(44, page.locator("main :is(button, .button, select, .fold > summary, .links a, .option):visible"))
    size = "e => parseFloat(getComputedStyle(e).fontSize)"
    others = page.evaluate(
        f"[...document.querySelectorAll('main *')].filter(e => e.children.length === 0 && !e.matches('.focus-text'))"
        f".filter(e => e.getBoundingClientRect().top < innerHeight && !e.closest('h2')).map({size})"
    )
    assert page.locator(".focus-text").first.evaluate(size) > max(others)


def test_another_budget_buys_something_else(visit):
    page = visit(PAGES["change"])
    slider = page.locator("#money input")
    slider.evaluate("e => { e.value = 400; e.dispatchEvent(new Event('input')); }")
    assert "buys a bar: about 0.09 s" in page.locator("#money-buys").inner_text()
    slider.evaluate("e => { e.value = 100; e.dispatchEvent(new Event('input')); }")
    assert "buys nothing" in page.locator("#money-buys").inner_text()


def test_gains_sharpen_on_the_page_while_they_are_solved(visit, book):
    """What a worker would do, done here: the slopes, one solved change, the end."""
    advice = made_up_advice()
    rough = rows_screen(advice.rows)
    for row in rough:
        row["is_solved"] = False
    with opened(book.book, now=now, create=False) as there:
        jobs = Jobs(there)
        job = jobs.submit("advise-live", "advise", {"question": ADVISE | {"surface": "damp"}}, asker=Asker())
        jobs.take("advise")
        jobs.report(job.id, 0.1, "1 of 8 runs solved", so_far=finite({"car": "x", "rows": rough, "base": []}))
        page = visit(f"/change?{DEE}&job=advise-live")
        page.get_by_text("0 of 10 changes are solved.").wait_for()
        tyres = page.locator(".intervals tr", has_text="tyres 225/45R15")
        assert "by its slope" in tyres.inner_text()
        rough[2]["is_solved"] = True
        jobs.report(job.id, 0.4, "3 of 8 runs solved", so_far=finite({"car": "x", "rows": rough, "base": []}))
        page.get_by_text("1 of 10 changes are solved.").wait_for()
        assert "by its slope" not in tyres.inner_text()
        assert "Best so far: tyres" in page.locator("#headline").inner_text()
        jobs.finish(job.id, finite(advice_result(advice)))
        page.get_by_text("Best package").wait_for()


def test_a_times_file_is_sent_and_judged(visit, demonstration):
    page = visit("/prove", 390)
    page.locator("input[type=file]").set_input_files(demonstration / "times" / "harbour-yard-bar-test.csv")
    page.get_by_role("button", name="Take the file").click()
    page.get_by_role("heading", name="The change helped").wait_for()


@pytest.mark.parametrize("width", WIDTHS)
def test_words_in_a_number_field_are_refused_beside_it_and_stay(visit, width):
    page = visit(f"/change?{DEE}", width)
    page.get_by_label("Most hours of work").fill("ten")
    page.get_by_role("button", name="Work it out").click()
    said = page.locator("label:has([name=hours]) + .problem")
    expect(said).to_have_text("'ten' is no number. Write digits, such as 12 or 1.5.")
    hours = page.get_by_label("Most hours of work")
    assert (hours.input_value(), hours.get_attribute("aria-invalid")) == ("ten", "true")
    assert hours.get_attribute("aria-describedby") == said.get_attribute("id")
    hours.fill("10")
    page.get_by_label("Runs of the driver").fill("2.5")
    page.get_by_role("button", name="Work it out").click()
    expect(page.locator("label:has([name=runs]) + .problem")).to_have_text(
        "'2.5' is no whole number. Write digits, such as 12."
    )
    assert page.locator(".problem").count() == 1
    page.get_by_label("Runs of the driver").fill("")
    while page.locator("[name=courses]:checked").count():
        page.locator("[name=courses]:checked").first.uncheck()
    page.get_by_role("button", name="Work it out").click()
    expect(page.locator("fieldset:has([name=courses]) > .problem")).to_contain_text("No course is ticked.")
    assert [request for request in page.asked if request.endswith("/api/jobs")] == page.asked[
        -1:
    ]  # asked for once, refused


def kept_jobs(book):
    with opened(book.book, now=now, create=False) as there:
        return {job.id: job.state.value for job in Jobs(there).every("advise")}


def test_two_tabs_ask_for_themselves_and_what_waits_says_so(visit, book):
    before = kept_jobs(book)
    one = visit(f"/change?{DEE}")
    two = one.context.new_page()
    two.goto(one.url)
    two.wait_for_selector("body[data-ready]")
    for page, hours in ((one, "3"), (two, "4")):
        page.get_by_label("Most hours of work").fill(hours)
        page.get_by_role("button", name="Work it out").click()
        page.wait_for_url("**job=advise-*")
    asked = {job: state for job, state in kept_jobs(book).items() if job not in before}
    assert list(asked.values()) == ["waiting", "waiting"]
    expect(one.locator("#words")).to_have_text("Waits for its turn.")
    expect(two.locator("#words")).to_contain_text(
        "Waits: one answer is worked out before this one. What to change next ("
    )
    one.get_by_role("button", name="Stop").click()
    expect(one.locator("#words")).to_have_text("Stopped before anything was solved. Ask anew below.")
    expect(two.locator("#words")).to_have_text("Waits for its turn.")
    expect(one.locator("#gains")).to_be_hidden()
    two.get_by_role("button", name="Stop").click()
    expect(two.locator("#words")).to_contain_text("Stopped before")
    one.reload()
    expect(one.locator("#words")).to_contain_text("Stopped before")
    expect(one.get_by_role("heading", name="Gain a run")).to_be_hidden()

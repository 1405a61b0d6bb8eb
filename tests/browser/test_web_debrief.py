"""The debrief page as a reader meets it: the answer, the map and the charts under one cursor, files on their way."""

from __future__ import annotations

import itertools
from datetime import UTC, datetime

import pytest
from playwright.sync_api import expect

from conewise.reports.debrief_screen import told_screen
from conewise.reports.units import UNIT_SYSTEMS
from conewise.web.work import finite
from conewise.workflows.book_place import opened
from conewise.workflows.jobs import Asker, Jobs
from conewise.workflows.recorded import NoRunError
from tests.browser.boxes import assert_at_least, box_of
from tests.browser.reading import HAND, WIDTHS, assert_reads_well_in_every_look, assert_small
from tests.debrief_fixture import compared_runs, reduced_debrief, told_debrief
from tests.web_answers import DEBRIEF, debrief_result, keep_job
from tests.web_app import at_rest, served, settings_over

pytestmark = pytest.mark.browser

DEE = "event=september&driver=dee"
PAGES = {
    "nothing yet": "/debrief?event=september&driver=fay",
    "told": f"/debrief?{DEE}&job=told",
    "reduced": f"/debrief?{DEE}&job=reduced",
    "two runs": f"/debrief?{DEE}&job=two",
}


@pytest.fixture(scope="module")
def settings_of_module(tmp_path_factory, demonstration):
    """Over a demo book."""
    return settings_over(tmp_path_factory.mktemp("debriefs"), demonstration)


@pytest.fixture(scope="module")
def app_server(settings_of_module):
    """The app over a demo book with answers that are there already; nobody works."""
    settings = settings_of_module
    unclear = {"run": None, "why": "The recorded run took 38.193 s; no run is within 0.5 s of that."}
    keep_job(settings.book, "debrief", DEBRIEF, debrief_result(reduced_debrief()), job_id="reduced")
    keep_job(settings.book, "compare", DEBRIEF, debrief_result(compared_runs()), job_id="two")
    keep_job(settings.book, "debrief", DEBRIEF, debrief_result(told_debrief(), kept=unclear), job_id="told")
    with at_rest(), served(settings) as address:
        yield address


@pytest.mark.parametrize(("name", "width"), list(itertools.product(PAGES, WIDTHS)))
def test_it_is_small_has_targets_for_gloves_and_reads_well(visit, name, width):
    """64 px on the debrief, for gloves; 44 px elsewhere, WCAG 2.2, W3C 2023, success criterion 2.5.5."""
    page = visit(PAGES[name], width)
    assert_small(page)
    if width == HAND:
        assert_at_least(64, page.locator("main :is(button, .button, .fold > summary):visible"))
        assert_at_least(44, page.locator("main :is(select, .links a):visible"))
    assert_reads_well_in_every_look(page, least=12)
    assert page.complaints == []


@pytest.mark.parametrize("width", WIDTHS)
def test_the_one_thing_is_the_largest_text_and_leads_to_its_place(visit, width):
    page = visit(PAGES["told"], width)
    size = "e => parseFloat(getComputedStyle(e).fontSize)"
    focus = page.locator(".focus-text")
    others = page.evaluate(
        f"[...document.querySelectorAll('.first *, #answer *')].filter(e => e.children.length === 0 &&"
        f" !e.closest('svg') && !e.matches('.focus-text')).map({size})"
    )
    assert focus.evaluate(size) > max(others)
    assert box_of(focus)["y"] < 844
    page.get_by_role("link", name="On the map").click()
    assert page.locator("#map").evaluate("e => Math.abs(e.getBoundingClientRect().top) < innerHeight")
    assert page.locator(".map polyline.focus:visible").count() == 1


def test_map_and_charts_have_one_cursor(visit):
    page = visit(PAGES["told"])
    here = page.locator(".sheet-for.desk:not(.sun) circle.here")
    before = here.get_attribute("cx")
    plot = page.locator(".chart-plot").first
    plot.scroll_into_view_if_needed()
    box = box_of(plot)
    page.mouse.move(box["x"] + 0.7 * box["width"], box["y"] + 40)
    page.wait_for_timeout(100)
    assert here.get_attribute("cx") != before
    told = page.locator("#here").inner_text()
    cone = page.locator(".sheet-for.desk:not(.sun) .cone").first
    cone.scroll_into_view_if_needed()
    cone.focus()
    assert "cone" in page.locator("#cone").inner_text().lower() or page.locator("#cone").inner_text()
    line = page.locator(".sheet-for.desk:not(.sun) polyline.driven")
    where = box_of(line)
    points = line.evaluate(
        "e => { const p = e.points.getItem(5), m = e.getScreenCTM(); return [p.x * m.a + m.e, p.y * m.d + m.f]; }"
    )
    assert where
    page.mouse.move(*points)
    page.wait_for_timeout(100)
    assert page.locator("#here").inner_text() != told


def test_the_place_to_work_on_is_marked_in_the_charts(visit):
    page = visit(PAGES["told"])
    focus = page.evaluate("getComputedStyle(document.documentElement).getPropertyValue('--focus').trim()")
    red, green, blue = (int(focus[k : k + 2], 16) for k in (1, 3, 5))
    n_marked = page.locator(".chart-plot canvas").first.evaluate(
        "(c, [r, g, b]) => { const d = c.getContext('2d').getImageData(0, 0, c.width, c.height).data; let n = 0;"
        " for (let i = 0; i < d.length; i += 4)"
        " n += Math.abs(d[i] - r) + Math.abs(d[i + 1] - g) + Math.abs(d[i + 2] - b) < 9; return n; }",
        [red, green, blue],
    )
    assert n_marked > 500  # pixels


def test_several_files_queue_with_their_places_and_the_answer_stays(visit):
    page = visit(PAGES["told"], 390)
    files = [
        {"name": f"run-{k}.csv", "mimeType": "text/csv", "buffer": f"time [s],speed [km/h]\n0,{k}\n".encode()}
        for k in (1, 2)
    ]
    page.locator("#files").set_input_files(files)
    rows = page.locator("#queue li")
    rows.filter(has_text="Place 2").wait_for()
    assert rows.filter(has_text="Place 1").count() == 1
    assert page.locator(".focus-text").inner_text() == told_debrief().focuses[0].advice
    for _ in files:
        page.locator("#queue button", has_text="Stop").first.click()
        page.wait_for_timeout(600)
    rows.filter(has_text="Stopped.").nth(1).wait_for()


def test_a_file_that_is_chosen_before_the_script_runs_is_sent(browser, app_server):
    context = browser.new_context(viewport={"width": 390, "height": 844})
    page = context.new_page()
    held = []
    page.route("**/js/views/debrief*.js", lambda route: held.append(route))  # noqa: PLW0108  # Playwright marks what it is given
    page.goto(app_server + PAGES["nothing yet"], wait_until="commit")
    page.locator("#files").set_input_files({"name": "early.exe", "mimeType": "text/plain", "buffer": b"MZ"})
    while not held:
        page.wait_for_timeout(50)
    assert page.locator("#queue li", has_text="early.exe").count() == 0
    held[0].continue_()
    page.locator("#queue li", has_text="early.exe").locator(".problem").wait_for()
    assert page.locator("#files").evaluate("field => field.files.length") == 0
    context.close()


def test_a_file_that_is_no_recording_is_refused_beside_its_name(visit):
    page = visit(PAGES["nothing yet"])
    page.locator("#files").set_input_files({"name": "x.exe", "mimeType": "text/plain", "buffer": b"MZ"})
    row = page.locator("#queue li", has_text="x.exe")
    row.locator(".problem").wait_for()
    assert "Recordings end in .csv" in row.inner_text()
    row.get_by_role("button", name="Put away: x.exe").click()
    row.wait_for(state="detached")


def test_what_failed_is_put_away_for_good(visit, settings_of_module):
    question = {"log": "harbour-yard-evening", "course": "harbour-yard", "car_file": "marigold", "run": 77}
    with opened(settings_of_module.book, now=lambda: datetime.now(UTC), create=False) as book:
        jobs = Jobs(book)
        jobs.submit("debrief-lost", "debrief", {"question": question}, asker=Asker())
        while jobs.take("debrief").id != "debrief-lost":
            pass
        jobs.fail("debrief-lost", NoRunError("evening.csv"))
    page = visit(PAGES["nothing yet"], 390)
    row = page.locator("#queue li[data-failed=debrief-lost]")
    assert "--" not in row.inner_text()
    assert "its times give one thing to work on" in row.inner_text()
    row.get_by_role("button", name="Put away").click()
    row.wait_for(state="detached")
    page.reload()
    page.wait_for_selector("body[data-ready]")
    assert page.locator("#queue li[data-failed=debrief-lost]").count() == 0


@pytest.mark.parametrize("typed", ["two", "0", "1.5"])
def test_a_run_that_is_no_number_is_refused_beside_its_field(visit, typed):
    page = visit(PAGES["told"])
    n_before = page.locator("#queue li").count()
    page.locator("[name=against_run]").fill(typed)
    page.locator("#compare button").click()
    expect(page.locator("label:has([name=against_run]) + .problem")).to_contain_text(f"'{typed}' is ")
    assert page.locator("[name=against_run]").input_value() == typed
    assert page.locator("#queue li").count() == n_before


def test_columns_are_asked_for(visit, tmp_path, demonstration, monkeypatch):
    """Of a file whose check ended with a question; the answer makes the next check."""
    from tests.web.test_debrief_page import UNCLEAR

    monkeypatch.setattr("conewise.web.workshop.Workshop.open", lambda *_: None)
    settings = settings_over(tmp_path, demonstration)
    from conewise.workflows.book_place import BookPlace
    from conewise.workflows.recordings import take_upload

    sent = take_upload(BookPlace(book=settings.book, now=settings.now), UNCLEAR, "night.csv")
    asked = {"sent": sent.address, "name": sent.name, "sent_at": "1", "columns": [], "event": "september",
             "person": "dee", "car": "", "course": "", "car_file": "", "system": "metric"}  # fmt: skip
    questions = [
        {"column": "a", "unit": "", "values": [0.0, 0.1], "guesses": ["time:s"], "probabilities": [0.7]},
        {
            "column": "b",
            "unit": "",
            "values": [10.0, 11.0],
            "guesses": ["speed:km/h", "speed:mph"],
            "probabilities": [0.5, 0.3],
        },
    ]
    keep_job(settings.book, "log-check", asked, {"questions": questions})
    with served(settings) as address:
        page = visit(PAGES["nothing yet"], 390, address=address)
        form = page.locator("#queue form")
        form.get_by_text("speed, mph").click()
        form.get_by_role("button", name="Go on").click()
        page.locator("#queue", has_text="Place 1").wait_for()
        told = page.evaluate("fetch('/api/jobs').then((answer) => answer.json())")
        assert ["a=time:s", "b=speed:mph"] in [job["question"]["columns"] for job in told]


@pytest.mark.parametrize("width", WIDTHS)
def test_times_of_run_and_features_stand_there_while_the_rest_is_worked_out(
    visit, tmp_path, demonstration, monkeypatch, width
):
    monkeypatch.setattr("conewise.web.workshop.Workshop.open", lambda *_: None)
    settings = settings_over(tmp_path, demonstration)
    told = told_screen(told_debrief().told, UNIT_SYSTEMS["metric"])
    with opened(settings.book, now=lambda: datetime.now(UTC), create=False) as book:
        jobs = Jobs(book)
        jobs.submit("begun", "debrief", {"question": DEBRIEF}, asker=Asker())
        assert jobs.take("debrief")
        jobs.report("begun", 0.3, "Solving the best run", so_far=finite({"told": told}))
    with served(settings) as address:
        page = visit(PAGES["nothing yet"].replace("fay", "dee"), width, address=address)
        block = page.locator("#queue .told-run")
        block.wait_for()
        assert f"Run {told['run']}: {told['time']:.2f} s" in block.inner_text()
        rows = block.locator("tbody tr")
        assert rows.count() == len(told["rows"])
        for row, shown in zip(told["rows"], rows.all(), strict=True):
            cells = [cell.inner_text() for cell in shown.locator("td").all()]
            assert cells == [f"{row['time']:.2f}", *(f"{speed:.0f}" for speed in row["speeds"])]
        assert_reads_well_in_every_look(page, least=12)
        assert page.complaints == []

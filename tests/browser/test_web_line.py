"""The page of the line: what is shown of a run, and how map, charts and marker go together.

The run is made up: what the solver makes of a course is tested elsewhere, and the page takes any answer.
"""

from __future__ import annotations

import json
import re
from dataclasses import replace

import pytest
from playwright.sync_api import expect

from conewise.reports.record import line_record
from conewise.web.work import finite
from tests.browser.boxes import box_of
from tests.browser.reading import WIDTHS, assert_reads_well_in_every_look, audit
from tests.reports_fixture import made_up_answer
from tests.web_app import served, settings_over

pytestmark = pytest.mark.browser

PATH = "/walk/line?event=april&course=made-up-lot&with_car=marigold"


def record(**changes):
    """An answer as the work "line" gives it; `slower` scales its times."""
    slower = changes.pop("slower", 1.0)
    answer = made_up_answer(**changes)
    solution = answer.solution
    solution = replace(
        solution, time=solution.time * slower, elapsed=solution.elapsed * slower, speed=solution.speed / slower
    )
    return finite(line_record(replace(answer, solution=solution)))


@pytest.fixture(scope="module")
def address(tmp_path_factory, demonstration):
    """A server with the made-up course in its book."""
    from tests.web_app import client_of

    settings = settings_over(tmp_path_factory.mktemp("line"), demonstration)
    with client_of(settings) as client:
        course = made_up_answer().course.model_dump(mode="json")
        assert client.post("/api/courses", json={"course": course}).json()["id"] == "made-up-lot"
    with served(settings) as found:
        yield found


@pytest.fixture
def line(browser, address):
    """A function that opens the page; the jobs it asks for are answered with `answers`, one for each question."""
    contexts = []

    def open_page(path=PATH, width=1280, look="light", *, answers=None):
        context = browser.new_context(viewport={"width": width, "height": 844}, has_touch=width < 500)
        contexts.append(context)
        context.add_cookies([{"name": "conewise-look", "value": look, "url": address}])
        page = context.new_page()
        page.questions, page.complaints = [], []
        page.on("console", lambda message: page.complaints.append(message.text))
        page.on("pageerror", lambda error: page.complaints.append(str(error)))
        given = answers or [record(), record(slower=0.98)]

        def job(number):
            return {"id": f"line-{number}", "kind": "line", "state": "done", "is_over": True, "progress": 1.0,
                    "message": "", "result": given[number], "error": None}  # fmt: skip

        def asked(route):
            page.questions.append(route.request.post_data_json)
            route.fulfill(status=202, json=job(len(page.questions) - 1))

        def events(route):
            number = int(route.request.url.split("/")[-2].removeprefix("line-"))
            body = f"event: job\ndata: {json.dumps(job(number))}\n\n"
            route.fulfill(status=200, content_type="text/event-stream", body=body)

        page.route("**/api/course/line", lambda route: route.abort())
        page.route("**/api/jobs", asked)
        page.route("**/api/jobs/*/events", events)
        page.goto(address + path)
        page.wait_for_selector("body[data-ready]")
        page.locator(".line-times .time").first.wait_for()
        page.locator(".chart-plot").first.wait_for()
        return page

    yield open_page
    for context in contexts:
        context.close()


def cursor(page, which=0):
    found = page.locator(".here").nth(which).get_attribute("transform")
    return tuple(float(n) for n in re.findall(r"[-\d.]+", found)[:2])


def test_it_asks_for_what_the_address_says(line):
    page = line(f"{PATH}&as_driver=novice&surface=damp&other=marigold:1")
    assert [(q["kind"], q["question"], q["slot"].rpartition("-")[0]) for q in page.questions] == [
        (
            "line",
            {"course": "made-up-lot", "driver": "novice", "surface": "damp", "car": "marigold", "setup": 0},
            "line-0",
        ),
        (
            "line",
            {"course": "made-up-lot", "driver": "novice", "surface": "damp", "car": "marigold", "setup": 1},
            "line-1",
        ),
    ]


@pytest.mark.parametrize("width", WIDTHS)
def test_it_reads_well(line, width):
    page = line(width=width)
    assert_reads_well_in_every_look(page)
    assert [words for words in page.complaints if "ERR_FAILED" not in words] == []


def test_the_time_is_the_largest_text_and_on_the_first_screen(line):
    page = line(width=390)
    texts = audit(page)["found"]
    largest = max(texts, key=lambda one: one["size"])
    assert re.fullmatch(r"[\d.]+ s", largest["text"])
    assert max(box["bottom"] for box in largest["boxes"]) < 844


def test_every_axis_has_its_quantity_and_unit(line):
    page = line()
    names = page.locator("[data-axis]").all_inner_texts()
    assert len(names) >= 8
    assert not [name for name in names if not re.search(r"\w+.* \[[^\]]+\]", name)]


def test_charts_and_map_have_one_cursor(line):
    page = line()
    plot = page.locator(".chart-plot").first
    plot.scroll_into_view_if_needed()
    box = box_of(plot)
    before = cursor(page)
    page.mouse.move(box["x"] + box["width"] * 0.6, box["y"] + 30)
    assert cursor(page) != before
    told = page.locator("#here dd").all_inner_texts()
    speed = float(told[3].split()[0])
    assert float(page.locator(".chart-value").first.inner_text().split()[0]) == pytest.approx(speed, abs=0.1)
    at = cursor(page)
    page.locator(".course-map").evaluate("map => map.scrollIntoView({block: 'center'})")
    sheet = box_of(page.locator(".course-svg"))
    page.mouse.move(sheet["x"] + at[0] + 1, sheet["y"] + at[1] + 1)
    assert cursor(page) == pytest.approx(at, abs=6)


def test_the_charts_stand_along_time_too(line):
    page = line()
    page.get_by_label("By time").check()
    assert set(page.locator("[data-axis=x]").all_inner_texts()) == {"Time since the start [s]"}
    plot = page.locator(".chart-plot").first
    plot.focus()
    page.keyboard.press("End")
    time = float(page.locator(".line-times .time").first.inner_text().split()[0])
    assert float(page.locator("#here dd").nth(1).inner_text().split()[0]) == pytest.approx(time, abs=0.05)


def test_the_marker_drives_the_run_in_slow_time(line):
    page = line()
    page.locator("#rate").select_option("0.25")
    page.get_by_role("button", name="Drive", exact=True).click()
    expect(page.get_by_role("button", name="Pause")).to_be_visible()
    page.wait_for_timeout(1200)
    page.get_by_role("button", name="Pause").click()
    driven = float(page.locator("#here dd").nth(1).inner_text().split()[0])
    assert 0.1 < driven < 1.2  # about 0.3 s of the run; a loaded machine may take longer between the clicks
    assert cursor(page) != (0.0, 0.0)


def test_gear_and_pedals_are_those_at_the_cursor(line):
    answer = record()
    page = line(answers=[answer])
    page.locator(".chart-plot").first.focus()
    for key in ("Home", "PageDown", "PageDown"):
        page.keyboard.press(key)
    metres = float(page.locator("#here dd").nth(2).inner_text().split()[0])
    stations = answer["stations"]
    near = min(range(len(stations["s_m"])), key=lambda i: abs(stations["s_m"][i] - stations["s_m"][0] - metres))
    assert page.locator(".gear-now").inner_text() == str(stations["gear"][near])
    shares = [float(words.split()[0]) for words in page.locator(".pedals .amount").all_inner_texts()]
    command = 100 * stations["command"][near]
    assert shares == pytest.approx([max(command, 0), max(-command, 0)], abs=6)


def test_cones_have_their_price_and_best_room(line):
    answer = record()
    page = line(answers=[answer])
    dearest = max(answer["cones"], key=lambda cone: cone["price_s_per_m"])
    first = page.locator(".cone-table tbody tr").first
    cells = first.locator("td").all_inner_texts()
    assert float(cells[0]) == pytest.approx(dearest["price_s_per_m"] * 0.1, abs=6e-4)
    best = {one["id"]: one["margin_m"] for one in answer["margin_plan"]["margins"]}
    assert float(cells[2]) == pytest.approx(100 * best[dearest["id"]], abs=0.6)
    first.locator("button").click()
    assert page.locator(".cone.chosen").get_attribute("data-cone") == dearest["id"]
    assert f"{dearest['price_s_per_m'] * 0.1:.3f} s per 10 cm" in page.locator("#told").inner_text()
    priced = [cone for cone in answer["cones"] if cone["price_s_per_m"] * 0.1 > 0.0005]
    assert page.locator(".price-ring").count() == len(priced)


def test_the_pace_slider_says_what_each_step_costs(line):
    answer = record()
    page = line(answers=[answer])
    slider = page.get_by_label("Share of the friction that is used")
    slider.focus()
    page.keyboard.press("Home")
    slow, full = answer["build_up"][0], answer["build_up"][-1]
    assert page.locator(".pace-time").inner_text().startswith(f"{slow['time_s']:.2f} s")
    assert f"{slow['time_s'] - full['time_s']:.2f} s more" in page.locator("#pace .note").last.inner_text()
    page.keyboard.press("End")
    assert page.locator(".pace-time").inner_text().startswith(f"{full['time_s']:.2f} s")


def test_two_set_ups_stand_side_by_side(line):
    page = line(f"{PATH}&other=marigold:1", answers=[record(), record(slower=0.98)])
    times = page.locator(".line-times .time")
    expect(times).to_have_count(2)
    first, second = (float(words.split()[0]) for words in times.all_inner_texts())
    assert page.locator(".second-time").inner_text().endswith(f"−{first - second:.2f} s: faster")
    assert page.locator(".here").count() == 2
    assert page.locator(".course-svg .other").count() == 1
    assert "Time by which the other is later [s]" in page.locator("[data-axis=y]").all_inner_texts()
    page.locator(".chart-plot").first.focus()
    page.keyboard.press("End")
    assert page.locator("#here dd").last.inner_text() == f"{first - second:.2f} s ahead"


def test_a_fallback_and_a_failed_check_are_said_before_the_time(line):
    answer = record() | {"is_checked": False, "fallback": {"feature": "x", "reason": "y"}}
    page = line(answers=[answer])
    words = page.locator(".line-head").inner_text()
    assert words.index("A check of this run failed") < words.index(" s\n")
    assert "estimate on a fixed line" in words


def test_without_a_car_it_says_what_to_do(visit):
    page = visit("/walk/line?event=april")
    assert "No line yet." in page.locator("main").inner_text()

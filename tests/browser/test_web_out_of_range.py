"""The phone's page where the laptop does not answer: of use all the same, and nothing lost and nothing double after.

The phone calls the laptop by a name that is not its own, over plain http, as on a local network: there a browser gives
no service worker, no `crypto.randomUUID` and no `crypto.subtle`.
"""

from __future__ import annotations

import time
from contextlib import contextmanager
from pathlib import Path

import pytest

from conewise.web.settings import LOOPBACK
from conewise.workflows import web_sessions
from conewise.workflows.book_place import BookPlace
from tests.browser.boxes import boxes_of
from tests.browser.conftest import ARGUMENTS
from tests.browser.reading import assert_reads_well_in_every_look
from tests.conftest import chromium_path
from tests.web_app import client_of, served, settings_over

pytestmark = pytest.mark.browser

NAME = "phone.test"
MAPPED = [*ARGUMENTS, f"--host-resolver-rules=MAP {NAME} 127.0.0.1"]
HALF_AN_HOUR = 30 * 60 * 1000  # [ms]


class Laptop:
    """The laptop with its book: can go out of reach, and comes back under the address it had."""

    def __init__(self, settings):
        self.settings = settings
        self.port = 0
        self._running = None

    def start(self):
        self._running = served(self.settings, port=self.port)
        self.port = int(self._running.__enter__().rsplit(":", 1)[1])
        self.address = f"http://{NAME}:{self.port}"
        return self

    def let_in(self, context, role="mentor", person=""):
        """Give a browser the cookie of a device that was let in."""
        place = BookPlace(book=self.settings.book, now=self.settings.now)
        secret = web_sessions.let_in(place, device="a phone", role=role, person=person)
        cookie = {"name": self.settings.session_cookie, "value": secret, "url": self.address, "httpOnly": True}
        context.add_cookies([cookie | {"sameSite": "Strict", "expires": time.time() + 86_400}])

    def stop(self):
        if self._running is not None:
            self._running.__exit__(None, None, None)
            self._running = None

    def runs(self):
        """What the book has of the runs after those of the demo."""
        with client_of(self.settings) as client:
            runs = client.get("/api/events/september/run-list").json()["runs"]
        return sorted((run["driver"], run["run"], run["written"]) for run in runs if run["id"].startswith("e-"))


@pytest.fixture
def laptop(tmp_path, demonstration):
    found = Laptop(settings_over(tmp_path, demonstration, hosts=(*LOOPBACK, NAME))).start()
    yield found
    found.stop()


@pytest.fixture(scope="module")
def phones(browser):
    """A Chromium to which the laptop is another computer."""
    opened = browser.browser_type.launch(executable_path=chromium_path(), args=MAPPED)
    yield opened
    opened.close()


@pytest.fixture
def phone(phones, laptop):
    """A function that opens the phone's page in a context of its own, or in one that is given."""
    contexts, asked = [], []

    def open_page(context=None, *, look="light", clock=False, role="mentor", person=""):
        if context is None:
            context = phones.new_context(viewport={"width": 390, "height": 844}, has_touch=True)
            context.add_cookies([{"name": "conewise-look", "value": look, "url": laptop.address}])
            contexts.append(context)
        if not any(cookie["name"] == laptop.settings.session_cookie for cookie in context.cookies()):
            laptop.let_in(context, role, person)
        page = context.new_page()
        page.asked, page.errors = asked, []
        page.on("request", lambda request: asked.append(request.url))
        page.on("pageerror", lambda error: page.errors.append(str(error)))
        if clock:
            page.clock.install()
        page.goto(f"{laptop.address}/field?event=september")
        page.locator("body[data-ready]").wait_for()
        return page

    yield open_page
    for context in contexts:
        context.close()
    assert [url for url in asked if not url.startswith((laptop.address, "blob:", "data:"))] == []


def turn(page, name):
    page.locator(f"[data-to={name}]").click()


def enter(page, digits, *more):
    """Tap a run in, and wait until the page has kept it."""
    for key in (*digits, *more, "save"):
        page.locator(f"[data-key='{key}']").click()
    page.get_by_text(f"{digits}{'+' + str(len(more)) if more else ''}", exact=False).first.wait_for()
    page.locator("[data-part=undo]:not([hidden])").wait_for()


def all_there(page):
    page.locator("[data-part=state]", has_text="Everything is on the laptop.").wait_for()


def waits(page, n):
    words = "1 entry waits" if n == 1 else f"{n} entries wait"
    page.locator("[data-part=state]", has_text=f"The laptop is out of reach: {words} on this device").wait_for()


@contextmanager
def out_of_reach(laptop):
    laptop.stop()
    yield
    laptop.start()


def test_the_phone_has_no_secure_context_and_needs_none(phone, laptop):
    page = phone()
    has = "[isSecureContext, 'serviceWorker' in navigator, 'randomUUID' in crypto, 'subtle' in crypto]"
    assert page.evaluate(has) == [False, False, False, False]
    enter(page, "36001")
    all_there(page)
    assert laptop.runs() == [("bo", 3, "36.001")]
    assert page.errors == []


def test_half_an_hour_out_of_range_loses_nothing_and_doubles_nothing(phone, laptop):
    page = phone(clock=True)
    with out_of_reach(laptop):
        for digits, more in (("36001", ["cone"]), ("37002", []), ("41003", ["cone", "cone"])):
            enter(page, digits, *more)
        page.clock.run_for(1_000)  # no second tap of the same hand
        page.locator("[data-key=DNF]").click()
        page.clock.run_for(1_000)
        waits(page, 4)
        page.clock.fast_forward(HALF_AN_HOUR)
        waits(page, 4)
        assert "waits on this device" in page.locator("[data-part=runs]").inner_text()
    page.clock.run_for(20_000)
    all_there(page)
    wanted = [("bo", 3, "36.001+1"), ("dee", 3, "37.002"), ("fay", 3, "41.003+2"), ("robin", 3, "DNF")]
    assert laptop.runs() == wanted
    page.clock.fast_forward(HALF_AN_HOUR)
    assert laptop.runs() == wanted
    assert page.errors == []


def test_map_card_and_drill_need_no_answer(phone, laptop):
    page = phone()
    with out_of_reach(laptop):
        before = len(page.asked)
        turn(page, "walk")
        page.locator(".feature").nth(2).click()
        assert page.locator(".walk-map .chosen text").text_content() == "3"
        turn(page, "card")
        page.get_by_label("Whose card").select_option("Robin Ivers")
        assert "Run 3 at" in page.locator(".card-next").inner_text()
        turn(page, "drill")
        page.get_by_role("button", name="Draw the course").click()
        page.get_by_role("button", name="Back to the cards").click()
        solve_drill(page)
        page.get_by_text("All right. On to the next stretch.").wait_for()
        turn(page, "card")
        page.get_by_text("The drill was right at").wait_for()
        assert [url for url in page.asked[before:] if "run-list" not in url] == []
    assert page.errors == []


def solve_drill(page):
    """Tap the features of the first stretch in their order and say their sides."""
    course = page.evaluate("JSON.parse(document.getElementById('data-pack').textContent).course")
    for card in course["cards"][: course["stages"][0]]:
        page.locator(".card-laid", has_text=card["looks"]).first.click()
    for place, card in enumerate(course["cards"][: course["stages"][0]]):
        if card["side"]:
            row = page.locator(".answer-rows > li").nth(place)
            row.get_by_role("button", name=card["side"].title()).click()
    page.get_by_role("button", name="Check").click()


def test_a_phone_that_was_locked_sends_when_it_wakes(phone, laptop):
    page = phone()
    session = page.context.new_cdp_session(page)
    with out_of_reach(laptop):
        enter(page, "36001")
        waits(page, 1)
        session.send("Page.setWebLifecycleState", {"state": "frozen"})
        page.wait_for_timeout(500)
    session.send("Page.setWebLifecycleState", {"state": "active"})
    all_there(page)
    assert laptop.runs() == [("bo", 3, "36.001")]


def test_an_answer_that_is_lost_doubles_nothing(phone, laptop):
    page = phone()
    lost = []

    def lose(route):
        lost.append(route.request.post_data_json)
        if len(lost) < 3:  # the laptop writes it down, and the answer never arrives
            with client_of(laptop.settings) as client:
                assert client.post("/api/events/september/runs", json=lost[-1]).status_code == 200
            route.abort()
        else:
            route.continue_()

    page.route("**/runs", lose)
    page.route("**/run-list", lambda route: route.abort())
    enter(page, "36001")
    waits(page, 1)
    for _ in range(2):
        page.evaluate("dispatchEvent(new Event('online'))")
        page.wait_for_timeout(300)
    all_there(page)
    assert len({one["id"] for one in lost}) == 1
    assert len(lost) == 3
    assert laptop.runs() == [("bo", 3, "36.001")]


def test_two_pages_of_one_phone_double_nothing(phone, laptop):
    page = phone()
    other = phone(page.context)
    with out_of_reach(laptop):
        enter(page, "36001")
        waits(page, 1)
        other.evaluate("dispatchEvent(new Event('online'))")
    for one in (page, other):
        one.evaluate("dispatchEvent(new Event('online'))")
    all_there(page)
    assert laptop.runs() == [("bo", 3, "36.001")]


def test_a_run_that_is_undone_out_of_range_never_goes_over(phone, laptop):
    page = phone()
    with out_of_reach(laptop):
        enter(page, "36001")
        enter(page, "37002")
        page.get_by_role("button", name="Undo").click()
        waits(page, 1)
    page.evaluate("dispatchEvent(new Event('online'))")
    all_there(page)
    assert laptop.runs() == [("bo", 3, "36.001")]


def test_what_another_wrote_down_meanwhile_is_asked(phone, laptop):
    page = phone()
    with out_of_reach(laptop):
        enter(page, "36001")
        waits(page, 1)
        with client_of(laptop.settings) as client:
            sent = {"id": "e-other", "driver": "bo", "car": "marigold", "run": 3, "time": "36.100"}
            assert client.post("/api/events/september/runs", json=sent).status_code == 200
    page.evaluate("dispatchEvent(new Event('online'))")
    page.get_by_text("Bo Carver has run 3 already: 36.100").wait_for()
    page.get_by_role("button", name="It is run 4").click()
    all_there(page)
    assert laptop.runs() == [("bo", 3, "36.100"), ("bo", 4, "36.001")]


@pytest.mark.parametrize(
    ("status", "code", "said"),
    [(401, "not-let-in", "does not let this device in"), (409, "book-locked", "out of reach")],
)
def test_what_the_laptop_cannot_take_now_waits(phone, laptop, status, code, said):
    page = phone()
    told = {"ok": False, "code": code, "message": "", "where": "", "hint": ""}
    page.route("**/runs", lambda route: route.fulfill(status=status, json=told))
    page.route("**/run-list", lambda route: route.fulfill(status=status, json=told))
    enter(page, "36001")
    page.locator("[data-part=state]", has_text=said).wait_for()
    assert page.locator("[data-part=refused]").is_hidden()
    page.unroute_all()
    page.evaluate("dispatchEvent(new Event('online'))")
    all_there(page)
    assert laptop.runs() == [("bo", 3, "36.001")]


@pytest.fixture
def pocket(browser, tmp_path):
    """A function that opens the phone's browser on its own profile, again and again."""
    opened = []

    def open_browser():
        context = browser.browser_type.launch_persistent_context(
            tmp_path / "profile", executable_path=chromium_path(), args=MAPPED, viewport={"width": 390, "height": 844}
        )
        opened.append(context)
        return context

    yield open_browser
    for context in opened:
        context.close()


def test_a_page_that_was_closed_opens_again_out_of_range_and_sends_later(phone, laptop, pocket):
    context = pocket()
    page = phone(context)
    with out_of_reach(laptop):
        enter(page, "36001", "cone")
        waits(page, 1)
        context.close()  # the whole browser
        context = pocket()
        page = phone(context)  # from what the browser kept: the laptop does not answer
        turn(page, "runs")
        waits(page, 1)
        enter(page, "37002")
        waits(page, 2)
        turn(page, "walk")
        assert page.locator(".walk-map .cone").count() > 20
        assert "2 entries wait" in page.locator("[data-part=waiting]").inner_text()
        context.close()
    page = phone(pocket())
    turn(page, "runs")
    all_there(page)
    assert laptop.runs() == [("bo", 3, "36.001+1"), ("dee", 3, "37.002")]
    assert page.errors == []


def test_digits_that_were_not_kept_yet_are_there_again(phone, laptop, pocket):
    context = pocket()
    page = phone(context)
    for key in "360":
        page.locator(f"[data-key='{key}']").click()
    page.wait_for_timeout(300)
    context.close()
    page = phone(pocket())
    assert page.locator("[data-part=time]").inner_text() == "360"


def test_walk_sheet_and_card_are_saved_as_one_file_that_says_what_waits(phone, laptop, phones, tmp_path):
    page = phone()
    with out_of_reach(laptop):
        enter(page, "36001")
        waits(page, 1)
        turn(page, "card")
        page.get_by_label("Whose card").select_option("Robin Ivers")
        turn(page, "walk")
        with page.expect_download() as loading:
            page.get_by_role("button", name="Save walk sheet").click()
        assert loading.value.suggested_filename == "september-walk-and-card.html"
        file = Path(tmp_path / "saved.html")
        loading.value.save_as(file)
    context = phones.new_context(viewport={"width": 390, "height": 844}, java_script_enabled=False)
    saved = context.new_page()
    asked = []
    saved.on("request", lambda request: asked.append(request.url))
    saved.goto(file.as_uri())
    words = saved.locator("body").inner_text()
    for wanted in (
        "slalom of 6 cones",
        "Robin Ivers",
        "Run 3 at",
        "Bo Carver, run 3: 36001",
        "This file enters no runs",
    ):
        assert wanted in words
    assert saved.locator("svg .cone").count() > 20
    assert saved.locator("script").count() == 0
    assert len(asked) == 1
    context.close()


@pytest.mark.parametrize("name", ["walk", "card", "drill", "runs"])
def test_every_part_reads_well(phone, name):
    page = phone()
    turn(page, name)
    assert_reads_well_in_every_look(page, least=10)
    assert page.errors == []


def test_targets_fit_gloves(phone):
    page = phone()
    for name in ("walk", "drill", "runs"):
        turn(page, name)
        boxes = boxes_of(page.locator("main button:visible:not(.run-row button)"))
        assert len(boxes) > 8
        assert min(box["height"] for box in boxes) >= 64, name
        for i, a in enumerate(boxes):
            for b in boxes[i + 1 :]:
                beside = max(a["x"], b["x"]) - min(a["x"] + a["width"], b["x"] + b["width"])
                below = max(a["y"], b["y"]) - min(a["y"] + a["height"], b["y"] + b["height"])
                assert max(beside, below) >= 12, name


def test_no_private_detail_is_on_the_phone(phone):
    assert "555 0100" not in phone().content()


def test_a_driver_has_the_own_card_and_a_recorder_the_runs(phone):
    driver = phone(role="driver", person="robin")
    assert driver.locator("[data-to]").all_inner_texts() == ["Walk", "Card", "Drill"]
    turn(driver, "card")
    assert driver.get_by_label("Whose card").locator("option").all_inner_texts() == ["Robin Ivers"]
    recorder = phone(role="recorder")
    assert recorder.locator("[data-to]").all_inner_texts() == ["Runs"]
    enter(recorder, "36001")
    all_there(recorder)
    assert driver.errors + recorder.errors == []

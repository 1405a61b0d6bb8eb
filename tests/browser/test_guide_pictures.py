"""The pictures of the guide show the pages as they are. `make pictures` makes them anew."""

from __future__ import annotations

import json

import pytest

from conewise.workflows.demo_book import keep_demo_book
from tests.tour import (
    HAND,
    PAGES,
    SCENES,
    SHOWN,
    clock,
    keep_answers,
    named_pictures,
    picture,
    seen,
    send_times,
    solve_answers,
)
from tests.web_app import at_rest, served, settings_over

pytestmark = pytest.mark.browser

MOST_BYTES = 1_500_000  # of all pictures: the repository stays small
MOST_OF_ONE = 200_000


@pytest.fixture(scope="module")
def is_anew(request):
    return request.config.getoption("--update-pictures")


@pytest.fixture(scope="module")
def demonstration(tmp_path_factory):
    """The demonstration, written while the clock stands still: pages show when a version was kept."""
    folder = tmp_path_factory.mktemp("still") / "demo"
    keep_demo_book(folder, now=clock)
    return folder


@pytest.fixture(scope="module")
def book(tmp_path_factory, demonstration, is_anew):
    if is_anew:
        solve_answers(settings_over(tmp_path_factory.mktemp("solved"), demonstration, now=clock))
    settings = settings_over(tmp_path_factory.mktemp("tour"), demonstration, now=clock)
    keep_answers(settings)
    return settings


@pytest.fixture(scope="module")
def times(book, demonstration):
    return send_times(book, demonstration)


@pytest.fixture(scope="module")
def app_server(book):
    """The app over that book; nobody works."""
    with at_rest(), served(book) as address:
        yield address


@pytest.fixture(scope="module")
def known():
    return json.loads(PAGES.read_text(encoding="utf-8")) if PAGES.exists() else {}


@pytest.fixture
def scene(browser, app_server, times):
    """A function that opens the page of a picture, and does what was done before it."""
    contexts = []

    def open_scene(name):
        asked = SCENES[name]
        width, height = asked.screen
        is_phone = asked.screen == HAND
        context = browser.new_context(
            viewport={"width": width, "height": height},
            has_touch=is_phone,
            device_scale_factor=1.5 if is_phone else 1,
            reduced_motion="reduce",
        )
        contexts.append(context)
        page = context.new_page()
        page.goto(app_server + asked.path.format(times=times))
        page.wait_for_selector("body[data-ready]")
        page.locator(asked.waits_for).first.wait_for()
        asked.done(page)
        page.wait_for_load_state("networkidle")
        page.wait_for_timeout(300)
        return page

    yield open_scene
    for context in contexts:
        context.close()


@pytest.mark.parametrize("name", SCENES)
def test_a_picture_shows_the_page_as_it_is(scene, known, is_anew, name):
    page = scene(name)
    now = seen(page)
    path = SHOWN / f"{name}.webp"
    if is_anew:
        if now != known.get(name) or not path.exists():
            path.write_bytes(picture(page))
            known[name] = now
            PAGES.write_text(json.dumps(dict(sorted(known.items())), indent=1) + "\n", encoding="utf-8")
        return
    assert path.exists(), f"{path.name} is not there; `make pictures` makes it"
    stale = [what for what in ("words", "look") if now[what] != known.get(name, {}).get(what)]
    assert not stale, f"the page of {path.name} has other {' and another '.join(stale)} since; run `make pictures`"


def test_a_page_that_changed_is_told_from_one_that_did_not(scene):
    page = scene("start")
    before = seen(page)
    assert seen(scene("start")) == before
    page.evaluate("document.querySelector('main h1').append(' now')")
    other = seen(page)
    assert other["words"] != before["words"]
    assert other["look"] == before["look"]
    page.evaluate("document.querySelector('main h1').style.setProperty('font-weight', '700')")
    assert seen(page)["look"] != before["look"]


def test_the_pictures_are_those_that_the_guide_shows_and_are_small():
    files = {path.name: path.stat().st_size for path in SHOWN.iterdir()}
    assert set(files) == named_pictures()
    assert {f"{name}.webp" for name in SCENES} <= set(files)
    assert sum(files.values()) < MOST_BYTES
    assert max(files.values()) < MOST_OF_ONE


def test_help_shows_them_under_the_policy_of_the_pages(visit):
    page = visit("/help#pages")
    pictures = page.locator("article img")
    assert pictures.count() == len(SCENES)
    for one in pictures.all():
        one.scroll_into_view_if_needed()
        assert one.get_attribute("alt")
        page.wait_for_function("image => image.complete && image.naturalWidth > 300", arg=one.element_handle())
    assert page.complaints == []

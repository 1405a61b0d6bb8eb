"""A Chromium with a fresh profile for all browser tests."""

from __future__ import annotations

import pytest

from tests.conftest import chromium_path
from tests.web_app import demo_folder, served, settings_over

ARGUMENTS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
PATIENCE = 20_000  # how long a page may take to say what is expected of it, on a machine with other work [ms]


@pytest.fixture(scope="session")
def browser():
    from playwright.sync_api import expect, sync_playwright

    expect.set_options(timeout=PATIENCE)
    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=chromium_path(), args=ARGUMENTS)
        yield opened
        opened.close()


@pytest.fixture
def opened(browser, pages):
    """A function that opens one of the module's `pages`, and looks after its closing."""
    contexts = []

    def open_page(name="plain", width=1280, look="light"):
        scheme = "dark" if look == "dark" else "light"
        context = browser.new_context(
            viewport={"width": width, "height": 844}, color_scheme=scheme, has_touch=width < 500
        )
        contexts.append(context)
        page = context.new_page()
        page.asked, page.complaints = [], []
        page.on("request", lambda request: page.asked.append(request.url))
        page.on("console", lambda message: page.complaints.append(message.text))
        page.on("pageerror", lambda error: page.complaints.append(str(error)))
        page.goto((pages / f"{name}.html").as_uri())
        page.wait_for_selector("body[data-ready]")
        if look == "sunlight":
            page.get_by_label("Sunlight").check()
        return page

    yield open_page
    for context in contexts:
        context.close()


@pytest.fixture(scope="session")
def demonstration(tmp_path_factory):
    """Folder of the demonstration; read only."""
    return demo_folder(tmp_path_factory)


@pytest.fixture(scope="module")
def app_server(tmp_path_factory, demonstration):
    """The address of the app over a copy of the demo book; the tests of a module share it."""
    with served(settings_over(tmp_path_factory.mktemp("served"), demonstration)) as address:
        yield address


@pytest.fixture
def visit(browser, app_server):
    """A function that opens a page of the app as one device does; no request may leave this computer.

    `page.asked` has every request so far, `page.complaints` what the browser complained about.
    """
    contexts, asked = [], []

    def open_page(path="/", width=1280, look="light", *, address=app_server):
        context = browser.new_context(viewport={"width": width, "height": 844}, has_touch=width < 500)
        contexts.append(context)
        context.add_cookies([{"name": "conewise-look", "value": look, "url": address}])
        page = context.new_page()
        page.asked, page.complaints = asked, []
        context.on("request", lambda request: asked.append(request.url))
        page.on("console", lambda message: page.complaints.append(message.text))
        page.on("pageerror", lambda error: page.complaints.append(str(error)))
        page.goto(address + path)
        page.wait_for_selector("body[data-ready]")
        return page

    yield open_page
    for context in contexts:
        context.close()
    assert [url for url in asked if not url.startswith(("http://127.0.0.1:", "data:", "blob:http://127.0.0.1:"))] == []

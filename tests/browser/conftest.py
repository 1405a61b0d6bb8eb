"""A Chromium with a fresh profile for all browser tests."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.conftest import chromium_path

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


@pytest.fixture(scope="session")
def browser():
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=chromium_path(), args=ARGUMENTS)
        yield opened
        opened.close()


@pytest.fixture(scope="session")
def audit_script():
    return (Path(__file__).parent / "audit.js").read_text(encoding="utf-8")


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

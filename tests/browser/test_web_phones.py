"""A phone is let in, and shown out again, in browsers."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import UTC, datetime

import pytest

from conewise.web.app import create_app
from conewise.web.server import listen, running
from tests.browser.boxes import box_of
from tests.browser.reading import WIDTHS, assert_reads_well, assert_reads_well_in_every_look, audit
from tests.web_app import serving, settings_over

pytestmark = pytest.mark.browser

PHONE = "127.0.0.2"  # loopback too, but no name of the laptop: the app takes it for another device


@pytest.fixture
def network(tmp_path, demonstration):
    """Laptop's and phones' address of one app, and the app."""
    sockets = [listen(0)]
    port = sockets[0].getsockname()[1]
    sockets.append(listen(port, PHONE))
    settings = settings_over(tmp_path, demonstration, now=lambda: datetime.now(UTC))
    settings = replace(settings, origin=f"http://{PHONE}:{port}", hosts=(*settings.hosts, PHONE))
    app = create_app(settings)
    with serving(running(app), sockets):
        yield f"http://127.0.0.1:{port}", settings.origin, app


def test_a_phone_is_let_in_by_the_code_that_its_camera_reads(browser, network):
    laptop_address, phone_address, app = network
    laptop = browser.new_page(viewport={"width": 1280, "height": 844})
    laptop.goto(f"{laptop_address}/phones")
    laptop.get_by_label("Recorder: write runs down").check()
    laptop.get_by_role("button", name="Show a code").click()
    laptop.wait_for_selector(".code svg")
    assert box_of(laptop.locator(".code svg"))["width"] > 200
    context = browser.new_context(viewport={"width": 390, "height": 844}, has_touch=True)
    phone = context.new_page()
    asked = []
    phone.on("request", lambda request: asked.append(request.url))
    code = app.state.pairings.offer("recorder")
    phone.goto(f"{phone_address}/pair#{code}")
    phone.wait_for_selector("body[data-ready]")
    assert_reads_well(audit(phone), "light", least=6)
    assert code not in phone.url
    phone.get_by_label("What is this device called?").fill("Timing tent")
    phone.get_by_role("button", name="Let me in").click()
    phone.wait_for_url("**/field")
    assert not [url for url in asked if code in url.split("#")[0]]
    laptop.goto(f"{laptop_address}/phones")
    row = laptop.locator("li", has_text="Timing tent")
    assert "recorder" in row.inner_text()
    row.get_by_role("button").click()
    phone.goto(f"{phone_address}/drive/runs")
    assert phone.url.endswith("/pair")
    context.close()
    laptop.close()


@pytest.mark.parametrize("width", WIDTHS)
def test_the_page_of_phones_reads_well(browser, network, width):
    address, _, _ = network
    context = browser.new_context(viewport={"width": width, "height": 844})
    page = context.new_page()
    page.goto(f"{address}/phones")
    page.get_by_role("button", name="Show a code").click()
    page.wait_for_selector(".code svg")
    assert_reads_well_in_every_look(page, least=12)
    context.close()


def test_a_code_that_is_no_good_is_said(browser, network):
    _, phone_address, _ = network
    page = browser.new_page()
    page.goto(f"{phone_address}/pair#nonsense")
    page.get_by_role("button", name="Let me in").click()
    page.wait_for_selector(".problem")
    assert re.search(r"not good.*three minutes", page.locator(".problem").inner_text())
    page.close()

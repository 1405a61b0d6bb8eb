"""Pages in Chromium: time of the first one from nothing, and what each page loads. `python -m bench.bench_web`."""

from __future__ import annotations

import os
import tempfile
from datetime import UTC, datetime
from pathlib import Path
from statistics import median

from playwright.sync_api import sync_playwright

from conewise.web.settings import WebSettings
from conewise.web.way import STEPS, WAY
from conewise.workflows.demo_book import keep_demo_book
from tests.browser.conftest import ARGUMENTS
from tests.conftest import chromium_path
from tests.web_app import served

N_LOADS = 5
SLOWER = 6  # how much slower a phone's processor is taken to be
PAGES = (
    *(f"/{step}" for step in STEPS),
    *(place.path for places in WAY.values() for place in places),
    "/help",
    "/jobs",
)
SIZES = """[...performance.getEntriesByType('navigation'), ...performance.getEntriesByType('resource')]
    .reduce((sum, entry) => sum + entry.transferSize, 0)"""
READY = "performance.getEntriesByName('ready')[0].startTime"
MARK = "new MutationObserver(() => document.body?.dataset.ready && !performance.getEntriesByName('ready').length && performance.mark('ready')).observe(document, {subtree: true, childList: true, attributes: true})"  # noqa: E501


def loaded(playwright, address, path, *, slower=1):
    """Time until the page is ready [ms] and what it loaded [bytes], in a browser that was just started."""
    browser = playwright.chromium.launch(executable_path=chromium_path(), args=ARGUMENTS)
    page = browser.new_page()
    page.add_init_script(MARK)
    if slower > 1:
        page.context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": slower})
    page.goto(address + path)
    page.wait_for_selector("body[data-ready]", timeout=120_000)
    found = page.evaluate(READY), page.evaluate(SIZES)
    browser.close()
    return found


def main():
    """Print what was measured."""
    print(f"load of the machine {os.getloadavg()[0]:.1f} on {os.cpu_count()} processors")
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        demo = Path(folder)
        keep_demo_book(demo, now=lambda: datetime.now(UTC))
        settings = WebSettings(book=demo / "book", demo=demo, now=lambda: datetime.now(UTC))
        with served(settings) as address:
            for slower in (1, SLOWER):
                times = [loaded(playwright, address, "/", slower=slower)[0] for _ in range(N_LOADS)]
                said = f"median {median(times):.0f} ms of {sorted(map(round, times))}"
                print(f"first page, processor {slower} times slower: {said}")
            for path in dict.fromkeys(PAGES):
                print(f"{path:<28} {loaded(playwright, address, path)[1] / 1000:6.0f} kB")


if __name__ == "__main__":
    main()

"""A Chromium with a fresh profile; skipped with a clear line where there is none."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

import pytest

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
NAMES = ("chromium", "chromium-browser", "google-chrome")


@pytest.fixture(scope="session")
def browser():
    from playwright.sync_api import sync_playwright

    found = next((path for path in map(shutil.which, NAMES) if path), None)
    if found is None:
        message = "no Chromium on the path; install one, or leave the browser tests to the continuous run"
        if os.environ.get("CONEWISE_REQUIRE_BROWSER") == "1":
            pytest.fail(message)
        pytest.skip(message)
    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=found, args=ARGUMENTS)
        yield opened
        opened.close()


@pytest.fixture(scope="session")
def audit_script():
    return (Path(__file__).parent / "audit.js").read_text(encoding="utf-8")

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

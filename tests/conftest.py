"""What every test shares: seeds that are printed, one thread, Chromium, golden texts."""

from __future__ import annotations

import os
import re
import shutil
import zlib
from pathlib import Path

os.environ.setdefault("OMP_NUM_THREADS", "1")  # before NumPy is loaded

import numpy as np
import pytest
from hypothesis import settings

BASE_SEED = int(os.environ.get("CONEWISE_SEED", "20260501"))
# The one without windows first: it takes a third of the processor time.
CHROMIUM_NAMES = ("chromium-headless-shell", "chromium", "chromium-browser", "google-chrome")
GOLDEN = Path(__file__).parent / "golden"

settings.register_profile("ci", deadline=None, derandomize=True, max_examples=40, database=None)
settings.register_profile("desk", deadline=None, max_examples=40, print_blob=True)
settings.load_profile("ci" if os.environ.get("CI") == "true" else "desk")


def pytest_addoption(parser):
    parser.addoption("--update-golden", action="store_true", help="write the golden texts anew")
    parser.addoption("--update-pictures", action="store_true", help="make the pictures of the guide anew")


def pytest_report_header():
    return f"seed {BASE_SEED} (CONEWISE_SEED changes it); chromium: {chromium_path() or 'not found'}"


def pytest_runtest_setup(item):
    if item.get_closest_marker("browser") is None or chromium_path() is not None:
        return
    reason = f"no Chromium on the PATH ({', '.join(CHROMIUM_NAMES)})"
    if os.environ.get("CONEWISE_REQUIRE_BROWSER") == "1":
        pytest.fail(reason, pytrace=False)
    pytest.skip(reason)


def chromium_path():
    """The first Chromium on the PATH, or None."""
    return next(filter(None, map(shutil.which, CHROMIUM_NAMES)), None)


@pytest.fixture
def chromium():
    """The path of Chromium, for Playwright's `executable_path`. Mark the test with `browser`."""
    return chromium_path()


@pytest.fixture
def rng(request):
    """A random generator of the test's own; its seed is printed and is the same in every run."""
    seed = zlib.crc32(request.node.nodeid.encode()) ^ BASE_SEED
    print(f"seed of {request.node.name}: {seed}")
    return np.random.default_rng(seed)


@pytest.fixture
def golden(request):
    """A function that holds a text against tests/golden/NAME.txt."""

    def check(name, text):
        path = GOLDEN / f"{name}.txt"
        text = normalised(text)
        if request.config.getoption("--update-golden"):
            path.parent.mkdir(exist_ok=True)
            path.write_text(text, encoding="utf-8")
        assert path.exists(), f"{path.name} is not there; `make golden` writes it"
        assert text == path.read_text(encoding="utf-8")

    return check


def normalised(text):
    """The text without what differs from run to run: dates, versions, solve times, trailing blanks."""
    text = re.sub(r"\d{4}-\d{2}-\d{2}([ T]\d{2}:\d{2}(:\d{2})?)?", "DATE", text)
    text = re.sub(r"conewise \d+\.\d+\.\d+", "conewise VERSION", text)
    text = re.sub(r"in \d+\.\d+ s\b", "in N s", text)
    return "\n".join(line.rstrip() for line in text.splitlines()) + "\n"

"""Exact versions cover what the package asks for; missing data and browsers skip at a desk and fail in CI."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest
from packaging.requirements import Requirement

from tests import recorded

PROJECT = Path(__file__).resolve().parents[2]
ASKED = tomllib.loads((PROJECT / "pyproject.toml").read_text(encoding="utf-8"))["project"]


def canonical(name):
    return re.sub(r"[-_.]+", "-", name).lower()


def locked(name):
    """Version of every package in one lock file."""
    lines = (PROJECT / "requirements" / name).read_text(encoding="utf-8").splitlines()
    pins = [line for line in lines if line and not line.startswith(("#", "-r "))]
    assert all(re.fullmatch(r"[\w.-]+==[\w.!+]+", pin) for pin in pins)
    versions = {canonical(package): version for package, version in (pin.split("==") for pin in pins)}
    assert len(versions) == len(pins)
    return versions


@pytest.mark.parametrize(
    ("asked", "locks"),
    [
        (ASKED["dependencies"], ["run.lock"]),
        (ASKED["optional-dependencies"]["test"], ["run.lock", "test.lock"]),
    ],
    ids=["run", "test"],
)
def test_locks_satisfy_what_is_asked_for(asked, locks):
    versions = {}
    for name in locks:
        versions |= locked(name)
    for requirement in map(Requirement, asked):
        assert versions[canonical(requirement.name)] in requirement.specifier


def test_the_test_lock_adds_to_the_other():
    assert not set(locked("run.lock")) & set(locked("test.lock"))
    assert "-r run.lock\n" in (PROJECT / "requirements" / "test.lock").read_text(encoding="utf-8")


def test_missing_data_skips_at_a_desk(monkeypatch, tmp_path):
    monkeypatch.setenv("CONEWISE_DATA", str(tmp_path))
    monkeypatch.delenv("CONEWISE_REQUIRE_DATA", raising=False)
    with pytest.raises(pytest.skip.Exception, match="CONEWISE_DATA"):
        recorded.recorded("gpx", "car_with_holes.gpx")


def test_missing_data_fails_where_it_is_required(monkeypatch, tmp_path):
    monkeypatch.setenv("CONEWISE_DATA", str(tmp_path))
    monkeypatch.setenv("CONEWISE_REQUIRE_DATA", "1")
    with pytest.raises(pytest.fail.Exception, match="CONEWISE_DATA"):
        recorded.recorded("gpx", "car_with_holes.gpx")


def test_data_is_found_in_the_folder_named(monkeypatch, tmp_path):
    monkeypatch.setenv("CONEWISE_DATA", str(tmp_path))
    (tmp_path / "a.csv").touch()
    assert recorded.recorded("a.csv") == tmp_path / "a.csv"


@pytest.mark.parametrize("required", [True, False])
def test_a_missing_browser_skips_or_fails(pytester, monkeypatch, required):
    monkeypatch.setenv("PATH", str(pytester.path))
    monkeypatch.setenv("CONEWISE_REQUIRE_BROWSER", "1" if required else "0")
    pytester.makeconftest((PROJECT / "tests" / "conftest.py").read_text(encoding="utf-8"))
    pytester.makepyprojecttoml("[tool.pytest.ini_options]\nmarkers = ['browser: needs Chromium']\n")
    pytester.makepyfile("import pytest\n@pytest.mark.browser\ndef test_page(): raise AssertionError")
    outcome = pytester.runpytest("-p", "no:cacheprovider").parseoutcomes()
    assert outcome == ({"errors": 1} if required else {"skipped": 1})

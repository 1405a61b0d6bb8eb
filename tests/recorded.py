"""Recorded data that stays outside the repository: finds it, or says clearly why a test cannot run."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

PROJECT = Path(__file__).resolve().parents[1]


def data_folder() -> Path:
    """The folder of recorded data: CONEWISE_DATA, or `shared/data` beside the project."""
    named = os.environ.get("CONEWISE_DATA")
    return Path(named) if named else PROJECT.parent / "shared" / "data"


def recorded(*parts: str) -> Path:
    """The path of one recorded file or folder; without it the test is skipped, or fails in CI."""
    path = data_folder().joinpath(*parts)
    if path.exists():
        return path
    reason = f"no recorded data at {path}; name its folder with CONEWISE_DATA"
    if os.environ.get("CONEWISE_REQUIRE_DATA") == "1":
        pytest.fail(reason, pytrace=False)
    pytest.skip(reason)

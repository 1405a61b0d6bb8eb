"""The app over a copy of the demo book, and over an empty one."""

from __future__ import annotations

import pytest

from tests.web_app import client_of, demo_folder, settings_over


@pytest.fixture(scope="session")
def demonstration(tmp_path_factory):
    """Folder of the demonstration; read only."""
    return demo_folder(tmp_path_factory)


@pytest.fixture
def settings(tmp_path, demonstration):
    """Over a copy of the demo book, which the test may change."""
    return settings_over(tmp_path, demonstration)


@pytest.fixture
def client(settings):
    """A client on this computer, over the demo book."""
    with client_of(settings) as opened:
        yield opened


@pytest.fixture
def empty(tmp_path):
    """A client over no book at all."""
    with client_of(settings_over(tmp_path, None)) as opened:
        yield opened


@pytest.fixture(autouse=True)
def logs_of_faults(tmp_path, monkeypatch):
    """Faults of the program go to the test's own folder, and are printed with its failure."""
    folder = tmp_path / "log"
    folder.mkdir()
    monkeypatch.setattr("platformdirs.user_log_path", lambda *_, **__: folder)
    yield folder
    for log in folder.glob("report-*.log"):
        print(log.read_text(encoding="utf-8"))

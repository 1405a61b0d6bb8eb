"""Files are written whole or not at all."""

from __future__ import annotations

import pytest

from conewise.reports.files import FileEndingError, UnwritableFileError, refuse_unwritable, write_whole


def test_a_file_is_written_and_replaced(tmp_path):
    path = tmp_path / "a.html"
    write_whole(path, b"first")
    write_whole(path, b"second")
    assert path.read_bytes() == b"second"
    assert [entry.name for entry in tmp_path.iterdir()] == ["a.html"]


@pytest.mark.parametrize("name", [".", "missing/a.html"])
def test_a_place_that_cannot_be_written_is_named(tmp_path, name):
    with pytest.raises(UnwritableFileError) as caught:
        write_whole(tmp_path / name, b"x")
    assert str(tmp_path) in caught.value.where
    assert caught.value.exit_code == 2


def test_a_file_that_can_be_written_is_neither_made_nor_touched(tmp_path):
    there = tmp_path / "a.SVG"
    there.write_bytes(b"first")
    refuse_unwritable(there, "A map", ".svg")
    refuse_unwritable(tmp_path / "b", "Anything")
    assert [(entry.name, entry.read_bytes()) for entry in tmp_path.iterdir()] == [("a.SVG", b"first")]


def test_a_system_that_refuses_is_said_in_its_own_words(tmp_path, monkeypatch):
    def refuse(**_):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr("conewise.reports.files.tempfile.mkstemp", refuse)
    with pytest.raises(UnwritableFileError, match="Permission denied"):
        refuse_unwritable(tmp_path / "a.html", "A report", ".html")


def test_another_ending_names_those_that_will_do(tmp_path):
    with pytest.raises(FileEndingError) as caught:
        refuse_unwritable(tmp_path / "a.txt", "A report", ".html", ".htm")
    assert "'a.txt'" in caught.value.message
    assert ".html or .htm" in caught.value.hint

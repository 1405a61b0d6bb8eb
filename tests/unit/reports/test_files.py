"""Files are written whole or not at all."""

from __future__ import annotations

import pytest

from conewise.reports.files import UnwritableFileError, write_whole


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

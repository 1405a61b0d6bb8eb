"""The book asked for is the one that is opened; without one it is that of the user's data."""

from __future__ import annotations

from pathlib import Path

from conewise.workflows.book_place import book_folder, opened
from tests.days import SOURCE


def test_the_folder_that_is_asked_for(tmp_path):
    assert book_folder(tmp_path / "mine") == tmp_path / "mine"
    assert book_folder(None).name == "book"
    assert book_folder(Path("relative")).is_absolute()


def test_a_new_book_is_made_where_it_is_asked_for(tmp_path):
    with opened(tmp_path / "mine", now=SOURCE.now) as book:
        assert book.folder == tmp_path / "mine"

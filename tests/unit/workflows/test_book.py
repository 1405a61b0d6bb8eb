"""Where the book is."""

from __future__ import annotations

from pathlib import Path

import platformdirs

from conewise.workflows.book import book_folder


def test_the_book_is_in_the_user_s_data_unless_another_folder_is_said(tmp_path):
    assert book_folder(tmp_path / "mine") == tmp_path / "mine"
    assert book_folder(Path("mine")).is_absolute()
    own = book_folder(None)
    assert own.is_relative_to(platformdirs.user_data_path("conewise", appauthor=False))

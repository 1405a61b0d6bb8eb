"""The check of a whole book finds what was changed behind its back."""

from __future__ import annotations

import sqlite3
from contextlib import closing

import pytest

from conewise.store.check import check_book
from conewise.store.days import keep_day
from tests.books import example_day, opened

PHOTO = b"a photo"

# A change behind the book's back, and the finding that must say so.
CHANGES = {
    "another number in a record": ("UPDATE revision SET content = replace(content, '62.345', '52.345')", "book-record"),
    "another person in the history": ("UPDATE revision SET by = 'Zoe' WHERE kind = 'run'", "book-record"),
    "another link": ("UPDATE run SET person = 'ada' WHERE id = 'run-1'", "book-column"),
    "another driver among the entries": ("UPDATE entry SET person = 'ada'", "book-column"),
    "an entry that is gone": ("DELETE FROM entry", "book-column"),
    "a version that is gone": ("UPDATE revision SET version = 7 WHERE record = 'run-1'", "book-gap"),
    "a record that is gone": ("DELETE FROM expense", "book-version"),
    "a link to nobody": ("DELETE FROM person WHERE id = 'ada'", "book-pages"),
    "other private details": ("UPDATE private_detail SET content = replace(content, 'bee', 'cat')", "book-record"),
}


@pytest.fixture
def book(tmp_path):
    with opened(tmp_path / "book") as book:
        keep_day(book, example_day(), by="Ada Quill")
        book.keep_file(PHOTO, "dent.jpg")
        yield book


def codes(book, severity="stop"):
    return {finding.code for finding in check_book(book) if finding.severity == severity}


def test_a_book_that_nobody_has_touched_is_whole(book):
    assert codes(book) == set()


@pytest.mark.parametrize("what", CHANGES)
def test_a_change_behind_its_back_is_found(book, what):
    statement, code = CHANGES[what]
    with closing(sqlite3.connect(book.database)) as database:
        assert database.execute(statement).rowcount > 0
        database.commit()
    assert code in codes(book)


def test_files_that_are_lost_or_left_over_are_found(book):
    path = next(path for path in book.files.folder.rglob("*") if path.is_file())
    (path.parent / ".being-written-x").write_bytes(b"half")
    assert "book-spare-file" in codes(book, "note")
    path.write_bytes(b"a phot0")
    assert codes(book) == {"book-file"}
    path.unlink()
    assert codes(book) == {"book-file"}


def test_a_folder_that_others_may_read_is_a_warning(book):
    book.folder.chmod(0o755)
    assert "book-open" in codes(book, "warning")

"""A book that stays open between requests: one for all threads, and never the one that was there before."""

from __future__ import annotations

import shutil
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime

import pytest

from conewise.store import book as store
from conewise.store.errors import NoBookError
from conewise.store.texts import CourseText
from conewise.workflows.book_place import BookPlace, OpenBooks
from tests.books import COURSE

N_WRITES = 40


def now():
    return datetime(2026, 5, 1, tzinfo=UTC)


@pytest.fixture
def place(tmp_path):
    books = OpenBooks()
    yield BookPlace(book=tmp_path / "book", now=now, books=books)
    books.close()


def test_it_is_opened_once(place, monkeypatch):
    n_opened = []
    monkeypatch.setattr(
        "conewise.workflows.book_place.open_book", lambda *a, **k: n_opened.append(a) or store.open_book(*a, **k)
    )
    for _ in range(3):
        with place.opened() as book:
            book.every(CourseText)
    assert len(n_opened) == 1


def test_without_a_book_nothing_is_kept_open(place):
    with pytest.raises(NoBookError), place.opened(create=False):
        pass
    with place.opened() as book:
        book.add(CourseText(id="a", text=COURSE))
    with place.opened(create=False) as book:
        assert book.one(CourseText, "a").version == 1


def test_threads_write_and_read_at_once_and_nothing_is_lost(place):
    def write(number):
        with place.opened() as book:
            book.add(CourseText(id=f"c-{number}", text=COURSE))
            return book.one(CourseText, f"c-{number}").id

    with place.opened():
        pass
    with ThreadPoolExecutor(20) as pool:
        assert set(pool.map(write, range(N_WRITES))) == {f"c-{number}" for number in range(N_WRITES)}
    with place.opened() as book:
        assert len(book.every(CourseText)) == N_WRITES


def test_a_book_that_took_its_place_is_the_one_that_is_read(place, tmp_path):
    with place.opened() as book:
        book.add(CourseText(id="old", text=COURSE))
    with store.open_book(tmp_path / "other", now=now) as other:
        other.add(CourseText(id="new", text=COURSE))
    shutil.move(place.folder, tmp_path / "aside")
    shutil.move(tmp_path / "other", place.folder)
    with place.opened(create=False) as book:
        assert [kept.id for kept in book.every(CourseText)] == ["new"]
        book.add(CourseText(id="newer", text=COURSE))
    with store.open_book(tmp_path / "aside", now=now) as aside:
        assert [kept.id for kept in aside.every(CourseText)] == ["old"]


def test_who_may_not_see_private_details_has_a_book_of_its_own(tmp_path):
    books = OpenBooks()
    folder = tmp_path / "book"
    with (
        BookPlace(book=folder, now=now, books=books).opened() as mine,
        BookPlace(book=folder, now=now, books=books, hides_private=True).opened() as theirs,
    ):
        assert (mine.hides_private, theirs.hides_private) == (False, True)
    books.close()

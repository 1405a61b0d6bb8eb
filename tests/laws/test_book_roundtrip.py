"""Any book comes back whole from its export and from its backup."""

from __future__ import annotations

import tempfile
from pathlib import Path

from hypothesis import HealthCheck, given, settings

from conewise.store.backup import backup, restore
from conewise.store.check import check_book
from conewise.store.content import without_private
from conewise.store.export import export
from conewise.store.intake import take_in
from tests.books import Clock, contents, fill, filled, opened

_SLOW = settings(max_examples=5, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])


def complaints(book):
    """What a thorough check finds, but for how full the disk is."""
    return [finding for finding in check_book(book) if finding.code != "book-room"]


@_SLOW
@given(filled())
def test_an_export_and_a_backup_give_the_same_book(steps):
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        with opened(folder / "book") as book, opened(folder / "other", now=Clock()) as other:
            fill(book, steps)
            book.keep_file(b"a photo", "dent, front left.jpg")
            export(book, folder / "out", with_private=True)
            take_in(other, folder / "out")
            backup(book, folder / "book.zip")
            assert contents(other) == contents(book)
            assert complaints(other) == complaints(book) == []
        restore(folder / "book.zip", folder / "restored", now=Clock())
        with opened(folder / "restored", create=False) as restored, opened(folder / "book") as book:
            assert contents(restored) == contents(book)


@_SLOW
@given(filled())
def test_without_private_details_nothing_else_is_lost(steps):
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        with opened(folder / "book") as book, opened(folder / "other") as other:
            fill(book, steps)
            export(book, folder / "out")
            take_in(other, folder / "out")
            ours, theirs = contents(book), contents(other)
            assert theirs["ever"] == ours["ever"]
            for kind, kept in ours["now"].items():
                bare = [(one.id, without_private(one.record), one.version, one.at) for one in kept]
                assert [(one.id, one.record, one.version, one.at) for one in theirs["now"][kind]] == bare

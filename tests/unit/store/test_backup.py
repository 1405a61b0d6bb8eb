"""Backups: whole or refused; a restore replaces nothing before it has read everything."""

from __future__ import annotations

import json
import zipfile

import pytest

from conewise.event.people import Person
from conewise.store import schema
from conewise.store.backup import backup, restore, verify
from conewise.store.days import keep_day
from conewise.store.errors import (
    BackupError,
    BookLockedError,
    BookThereError,
    NewerBookError,
    NotABookError,
    TargetThereError,
    UnwritableTargetError,
)
from conewise.store.files import target_unwritten
from conewise.store.kinds import BY_NAME
from tests.books import Clock, contents, example_day, opened


@pytest.fixture
def book(tmp_path):
    with opened(tmp_path / "book") as book:
        keep_day(book, example_day())
        book.keep_file(b"a photo " * 999, "dent.jpg")
        yield book


@pytest.fixture
def path(book, tmp_path):
    backup(book, tmp_path / "book.zip")
    return tmp_path / "book.zip"


def rewritten(path, change):
    """The backup with its parts changed by a function of name and content; None leaves a part out."""
    with zipfile.ZipFile(path) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    with zipfile.ZipFile(path, "w") as archive:
        for name, content in parts.items():
            new = change(name, content)
            if new is not None:
                archive.writestr(name, new)
    return path


def listed(change):
    """A change to the list of parts alone."""

    def changed(name, content):
        if name != "manifest.json":
            return content
        rows = json.loads(content)
        change(rows)
        return json.dumps(rows)

    return changed


def test_a_backup_says_what_it_holds_and_is_its_owner_s_alone(book, path):
    summary = verify(path)
    assert (summary.schema, summary.n_files) == (schema.CURRENT, 1)
    assert summary.n_bytes > 8000
    assert path.stat().st_mode & 0o077 == 0
    assert not [other for other in path.parent.iterdir() if other.name.startswith(".")]


def test_a_file_that_is_there_stays(book, path):
    before = path.read_bytes()
    with pytest.raises(TargetThereError):
        backup(book, path)
    assert path.read_bytes() == before
    backup(book, path, force=True)


def test_a_target_that_cannot_be_written_is_blamed_and_not_the_book(book, tmp_path):
    target = tmp_path / "taken"
    target.mkdir()
    with pytest.raises(UnwritableTargetError) as refused:
        backup(book, target, force=True)
    assert refused.value.where == str(target)
    assert "--book" not in str(refused.value.hint)


def test_a_file_of_the_book_that_cannot_be_read_is_not_blamed_on_the_target(tmp_path):
    target, kept = tmp_path / "backups" / "a.zip", tmp_path / "book" / "files" / "ab"
    reason = PermissionError(13, "Permission denied", str(kept))
    assert target_unwritten(reason, target) is reason
    own = PermissionError(13, "Permission denied", str(target.parent / ".backup-1"))
    assert isinstance(target_unwritten(own, target), UnwritableTargetError)


def test_private_details_are_in_a_backup(path, tmp_path):
    restore(path, tmp_path / "other", now=Clock())
    with opened(tmp_path / "other") as other:
        assert other.one(Person, "ben").record.medical == "bee stings"


SPOILED = {
    "a byte of a file": lambda name, content: b"A" + content[1:] if name.startswith("files/") else content,
    "a byte of the database": lambda name, content: (
        content[:-1] + bytes([content[-1] ^ 1]) if name == "book.sqlite" else content
    ),
    "no file": lambda name, content: None if name.startswith("files/") else content,
    "no list": lambda name, content: None if name == "manifest.json" else content,
    "another list": lambda name, content: "[1, 2]" if name == "manifest.json" else content,
    "no database": listed(lambda rows: rows["parts"].pop(0)),
    "a part outside": listed(lambda rows: rows["parts"][1].update(path="../evil")),
    "another format": listed(lambda rows: rows.update(format="conewise backup 9")),
    "a file called by another content": listed(lambda rows: rows["parts"][1].update(path="files/ab/ab" + "0" * 62)),
    "a size without end": listed(lambda rows: rows["parts"][1].update(bytes=float("inf"))),
    "a list without end": lambda name, content: "[" * 100_000 if name == "manifest.json" else content,
    "more than is said": listed(lambda rows: rows["parts"][1].update(bytes=10)),
}


@pytest.mark.parametrize("what", SPOILED)
def test_a_backup_that_is_not_whole_changes_nothing(book, path, tmp_path, what):
    before = contents(book)
    with pytest.raises(BackupError):
        restore(rewritten(path, SPOILED[what]), book.folder, now=Clock(), force=True)
    assert contents(book) == before
    assert {one.name for one in tmp_path.iterdir()} == {"book", "book.zip"}


def test_a_backup_that_asks_for_a_password_is_refused(path, tmp_path):
    """Bit 0 of the flags says so, in the header of each part and in the directory (ZIP application note, 4.4.4)."""
    content = bytearray(path.read_bytes())
    for mark, flags in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        start = content.find(mark)
        while start >= 0:
            content[start + flags] |= 1
            start = content.find(mark, start + 4)
    path.write_bytes(content)
    with pytest.raises(BackupError):
        restore(path, tmp_path / "other", now=Clock())


@pytest.mark.parametrize("method", [zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA])
def test_a_backup_packed_in_another_way_is_refused(path, tmp_path, method):
    with zipfile.ZipFile(path) as archive, zipfile.ZipFile(tmp_path / "again.zip", "w", method) as again:
        for name in archive.namelist():
            again.writestr(name, archive.read(name))
    with pytest.raises(BackupError):
        restore(tmp_path / "again.zip", tmp_path / "other", now=Clock())


@pytest.mark.parametrize("share", [0.0, 0.5, 0.99])
def test_a_backup_that_was_cut_off_is_refused(path, tmp_path, share):
    content = path.read_bytes()
    path.write_bytes(content[: int(len(content) * share)])
    with pytest.raises(BackupError):
        restore(path, tmp_path / "other", now=Clock())
    assert not (tmp_path / "other").exists()


def test_a_later_backup_is_refused_in_words(path, tmp_path):
    rewritten(path, listed(lambda rows: rows.update(schema=99)))
    with pytest.raises(NewerBookError):
        restore(path, tmp_path / "other", now=Clock())
    with pytest.raises(BackupError):
        restore(tmp_path / "none.zip", tmp_path / "other", now=Clock())


def test_a_file_is_no_place_for_a_book(path, tmp_path):
    (tmp_path / "note").write_text("mine")
    with pytest.raises(NotABookError):
        restore(path, tmp_path / "note", now=Clock(), force=True)
    assert (tmp_path / "note").read_text() == "mine"


def test_a_book_that_is_there_is_kept_beside_the_new_one(book, path):
    book.remove(BY_NAME["packed"].record, "packed-1")
    with pytest.raises(BookThereError):
        restore(path, book.folder, now=Clock())
    now = contents(book)
    book.close()
    summary = restore(path, book.folder, now=Clock(), force=True)
    assert summary.aside.name == "book-before-2026-05-01-080001"
    with opened(summary.aside, create=False) as old, opened(book.folder, create=False) as new:
        assert contents(old) == now
        assert contents(new) != now


def test_a_book_that_is_being_written_to_is_not_replaced(book, path, monkeypatch):
    monkeypatch.setattr("conewise.store.backup.WAIT", 0.1)
    with book.writing() as writer:
        writer.add(Person(id="dan", name="Dan"))
        with pytest.raises(BookLockedError):
            restore(path, book.folder, now=Clock(), force=True)
    assert book.find(Person, "dan") is not None

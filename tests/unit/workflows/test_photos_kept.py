"""Photos kept before details were cut out are found and cleaned; nothing of what they told stays on the disk."""

from __future__ import annotations

import pytest

from conewise.event.cars import CheckEntry
from conewise.store.check import check_book
from conewise.store.days import keep_day
from conewise.workflows.book import check
from conewise.workflows.photo_details import picture_alone
from conewise.workflows.photos_kept import clean_photos, photo_findings
from tests.books import Clock, example_day, opened
from tests.photos import SECRETS, photo

HEIC = b"\0\0\0\x18ftypheic" + SECRETS[0]


@pytest.fixture
def earlier(tmp_path):
    """A book as an earlier version kept it: a check with a photo as it came, two versions of another's, a HEIC."""
    folder = tmp_path / "book"
    with opened(folder) as book:
        keep_day(book, example_day(), by="Ada Quill")
        one = book.one(CheckEntry, "check-1")
        told = {kind: book.keep_file(photo(kind), f"dent.{kind}") for kind in ("jpeg", "png")}
        book.keep_file(picture_alone(photo("webp"), "image/webp"), "clean.webp")
        book.keep_file(HEIC, "lamp.heic")
        book.keep_file(b"time,speed\n", "drive.csv")
        book.change(one.record.changed(photo=told["png"]), version=one.version)
        book.change(one.record.changed(photo=told["jpeg"]), version=one.version + 1)
        book.files.keep(photo("webp"))  # left by a write that was broken off
    return folder


def on_the_disk(folder):
    return b"".join(path.read_bytes() for path in folder.glob("files/??/*"))


def test_photos_that_tell_more_than_the_picture_are_named(earlier):
    with opened(earlier) as book:
        told, stuck = photo_findings(book)
    assert (told.severity, told.code) == ("warning", "book-photo")
    for name in ("dent.jpeg", "dent.png"):
        assert name in told.message
    assert "clean.webp" not in told.message
    assert "--clean-photos" in told.message
    assert "lamp.heic" in stuck.message


def test_their_pictures_stay_and_what_they_told_is_gone(earlier):
    assert all(secret in on_the_disk(earlier) for secret in SECRETS)
    with opened(earlier) as book:
        assert clean_photos(book) == 3
        assert clean_photos(book) == 0
        kept = book.one(CheckEntry, "check-1")
        assert book.files.content(kept.record.photo) == picture_alone(photo("jpeg"), "image/jpeg")
        assert [version.reason for version in book.history(CheckEntry, "check-1")][-1] == (
            "place, device and moment taken out of the photo"
        )
        assert {finding.code for finding in check_book(book)} <= {"book-room"}
        assert [finding.message[:38] for finding in photo_findings(book)] == ["Photos out of which place and device c"]
    left = on_the_disk(earlier).replace(HEIC, b"")
    assert not [secret for secret in SECRETS if secret in left]


def test_the_check_of_a_book_offers_it_and_does_it_when_asked(earlier):
    offered = check(earlier, now=Clock())
    assert [finding.code for finding in offered.findings if finding.code == "book-photo"] == ["book-photo"] * 2
    assert offered.is_whole
    assert "n_photos_cleaned" not in offered.as_dict()
    done = check(earlier, now=Clock(), clean=True)
    assert done.as_dict()["n_photos_cleaned"] == 3
    assert len([finding for finding in done.findings if finding.code == "book-photo"]) == 1


def test_in_a_book_with_damage_no_photo_is_touched(earlier):
    with opened(earlier) as book:
        csv = next(one for one in book.files.addresses() if book.files.content(one) == b"time,speed\n")
        path = book.files.path(csv)
    path.chmod(0o600)
    path.write_bytes(b"time,spe")
    before = on_the_disk(earlier)
    told = check(earlier, now=Clock(), clean=True)
    assert not told.is_whole
    assert told.n_cleaned == 0
    assert "book-photos-left" in {finding.code for finding in told.findings}
    assert on_the_disk(earlier) == before

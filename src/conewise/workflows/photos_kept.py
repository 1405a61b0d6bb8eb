"""Photos that a book kept before details were cut out: which ones tell more than the picture, and taking that out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from conewise.event.cars import CheckEntry
from conewise.findings import Finding
from conewise.store.errors import DamagedBookError, FileNotKeptError
from conewise.workflows.photo_details import DamagedPhotoError, picture_alone
from conewise.workflows.photos import picture_type

if TYPE_CHECKING:
    from collections.abc import Iterator

    from conewise.store.book import Book

BY = "book check"
_WHY = "place, device and moment taken out of the photo"
_MOST_NAMED = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class TellingPhoto:
    """A photo of a book with more in it than the picture.

    name: as it was called; None where it was left by a write that was broken off.
    picture: what is to be kept of it; None where that cannot be told from the rest.
    """

    address: str
    name: str | None
    picture: bytes | None


def telling_photos(book: Book) -> Iterator[TellingPhoto]:
    """Photos of a book that tell more than the picture; every file is read."""
    with book.reading() as reader:
        names = reader.file_names()
    for address in book.files.addresses():
        try:
            content = book.files.content(address)
        except (FileNotKeptError, DamagedBookError):  # the check of the book says so
            continue
        kind = picture_type(content)
        if not kind:
            continue
        picture = None if kind == "image/heic" else _alone(content, kind)
        if picture != content:
            yield TellingPhoto(address=address, name=names.get(address), picture=picture)


def photo_findings(book: Book) -> list[Finding]:
    """What a check of a book says about them."""
    found = list(telling_photos(book))
    where = str(book.files.folder)
    told = [photo.name or photo.address[:12] for photo in found if photo.picture is not None]
    stuck = [photo.name or photo.address[:12] for photo in found if photo.picture is None]
    findings = []
    if told:
        message = (
            f"Photos that may still tell where, when and with what they were taken: {_listed(told)}. "
            "`conewise book check --clean-photos` takes that out; backups and exports made before keep it."
        )
        findings.append(Finding("warning", "book-photo", message, where))
    if stuck:
        message = (
            f"Photos out of which place and device cannot be taken: {_listed(stuck)}. "
            "Keep the look again with the photo saved as JPEG."
        )
        findings.append(Finding("warning", "book-photo", message, where))
    return findings


def clean_photos(book: Book) -> int:
    """Keep the pictures of such photos in their place; how many there were.

    Every check that names one gets a new version that names the picture; the photo itself goes from the disk. Earlier
    versions of a check go on naming what is no more. All photos are read before the first one is written.
    """
    n_cleaned = 0
    for photo in [one for one in telling_photos(book) if one.picture is not None]:
        assert photo.picture is not None
        if photo.name is not None:
            _put_picture(book, photo.address, photo.name, photo.picture)
        book.files.remove(photo.address)
        n_cleaned += 1
    return n_cleaned


def _put_picture(book: Book, photo: str, name: str, picture: bytes) -> None:
    """Make the book name a picture in place of the photo at an address."""
    address = book.files.keep(picture)
    with book.writing(by=BY) as writer:
        writer.note_file(address, name, len(picture))
        for kept in writer.every(CheckEntry, photo=photo):
            writer.change(kept.record.changed(photo=address), version=kept.version, reason=_WHY)
        writer.forget_file(photo)


def _alone(content: bytes, kind: str) -> bytes | None:
    try:
        return picture_alone(content, kind)
    except DamagedPhotoError:
        return None


def _listed(names: list[str]) -> str:
    more = f" and {len(names) - _MOST_NAMED} more" if len(names) > _MOST_NAMED else ""
    return ", ".join(names[:_MOST_NAMED]) + more

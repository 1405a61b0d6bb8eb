"""Photos of what was looked at: kept in the book as pictures alone, shown again by their address."""

from __future__ import annotations

from typing import TYPE_CHECKING

from conewise.errors import InputError, NotFoundError, no_such_file
from conewise.workflows.photo_details import DamagedPhotoError, picture_alone

if TYPE_CHECKING:
    from pathlib import Path

    from conewise.store.book import Book

MOST_BYTES = 20_000_000
# How the content of a picture begins: offset, bytes, and what it is called on the web.
_BEGINNINGS = (
    (0, b"\xff\xd8\xff", "image/jpeg"),
    (0, b"\x89PNG\r\n\x1a\n", "image/png"),
    (8, b"WEBP", "image/webp"),
    (4, b"ftypheic", "image/heic"),
    (4, b"ftypheix", "image/heic"),
    (4, b"ftypmif1", "image/heic"),
)


class PhotoMissingError(NotFoundError):
    """A photo that a check names is not there."""

    code = "photo-missing"
    default_hint = "Put the picture beside the event file and name it there, or leave the photo out."

    def __init__(self, path: Path, *, where: str) -> None:
        super().__init__(no_such_file(path, "photo")[0], where=where)


class NotAPhotoError(InputError):
    """A file that is no picture, or too large a one."""

    code = "photo"
    default_hint = "Give a picture as JPEG, PNG or WebP, of 20 MB at most."

    def __init__(self, name: str, problem: str, *, where: str) -> None:
        super().__init__(f"'{name}' {problem}.", where=where)


def picture_type(content: bytes) -> str:
    """What a picture is called on the web, such as "image/jpeg", by how it begins; "" for anything else."""
    return next((name for at, words, name in _BEGINNINGS if content[at : at + len(words)] == words), "")


def refuse_no_photo(content: bytes, name: str, *, where: str) -> None:
    """Say that a file is no photo that can be kept.

    Raises
    ------
    NotAPhotoError
        If it is too large, no picture by how it begins (its name is not asked), or of a format out of which place and
        device cannot be taken.
    """
    if len(content) > MOST_BYTES:
        raise NotAPhotoError(name, "has more than 20 MB", where=where)
    kind = picture_type(content)
    if not kind:
        raise NotAPhotoError(name, "is no picture", where=where)
    if kind == "image/heic":
        problem = "is HEIC, out of which place and device cannot be taken; save it as JPEG"
        raise NotAPhotoError(name, problem, where=where)


def photo_beside(event: Path, name: str, *, where: str) -> bytes:
    """The photo that a check of an event file names, found beside that file.

    Raises
    ------
    PhotoMissingError, NotAPhotoError
    """
    path = event.parent / name
    if not path.is_file():
        raise PhotoMissingError(path, where=where)
    if path.stat().st_size > MOST_BYTES:
        raise NotAPhotoError(path.name, "has more than 20 MB", where=where)
    content = path.read_bytes()
    refuse_no_photo(content, path.name, where=where)
    return content


def photo_alone(content: bytes, name: str) -> bytes:
    """The picture of a photo: where it was taken, when, and with what is taken out; which way up it is shown stays.

    Raises
    ------
    NotAPhotoError
        If it is none, or damaged.
    """
    refuse_no_photo(content, name, where="photo")
    try:
        return picture_alone(content, picture_type(content))
    except DamagedPhotoError:
        raise NotAPhotoError(name, "is a damaged picture", where="photo") from None


def keep_photo(book: Book, content: bytes, name: str) -> str:
    """Keep the picture of a photo and return its address, which a check then names. Raises as `photo_alone`."""
    return book.keep_file(photo_alone(content, name), name)


def kept_photo(book: Book, address: str) -> tuple[bytes, str]:
    """A photo of the book with its type, such as "image/jpeg".

    Raises
    ------
    FileNotKeptError, DamagedBookError
        If the book does not have it as it was kept.
    NotAPhotoError
        If that file of the book is no picture.
    """
    content = book.files.content(address)
    if not picture_type(content):
        raise NotAPhotoError(address[:12], "is no picture", where="photo")
    return content, picture_type(content)

"""A whole book in one file, and back: a zip with a list of what is in it and the hash of each part."""

from __future__ import annotations

import hashlib
import json
import os
import re
import shutil
import tempfile
import zipfile
import zlib
from contextlib import contextmanager
from dataclasses import dataclass, replace
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING

from conewise.store import schema
from conewise.store.book import DATABASE, PRIVATE_FOLDER, Book, open_book
from conewise.store.connection import WAIT, snapshot
from conewise.store.errors import (
    BackupError,
    BookThereError,
    DiskFullError,
    NewerBookError,
    NotABookError,
    NoTargetFolderError,
    TargetThereError,
)
from conewise.store.files import hash_of, settle, target_unwritten, unwritten
from conewise.store.folder import incoming, swap_in

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from datetime import datetime
    from typing import IO

FORMAT = "conewise backup 1"

_LIST = "manifest.json"
_MOST_LIST = 50_000_000  # [byte]
_PART = re.compile(r"book\.sqlite|files/[0-9a-f]{2}/[0-9a-f]{64}")
_CHUNK = 1 << 20
_SPARE = 50_000_000  # room to leave on the disk [byte]
_METHODS = {zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED}  # how parts may be packed
_UNREADABLE = (zipfile.BadZipFile, zlib.error, EOFError, RuntimeError)  # damaged, or asking for a password


@dataclass(frozen=True, slots=True, kw_only=True)
class BackupSummary:
    """What a backup holds.

    n_bytes: what it takes when unpacked.
    aside: where a book that was in the way has gone.
    """

    path: Path
    made_at: str
    schema: int
    n_files: int
    n_bytes: int
    aside: Path | None = None


@dataclass(frozen=True, slots=True)
class _Part:
    path: str
    n_bytes: int
    sha256: str


def backup(book: Book, target: Path, *, force: bool = False) -> BackupSummary:
    """Write the whole book to one file and read it back. Others may go on writing meanwhile.

    Private details are in it: it is the whole book.

    Parameters
    ----------
    book : Book
    target : Path
        The file to write, for its owner alone.
    force : bool, default False
        Whether a file that is there may be replaced.

    Raises
    ------
    TargetThereError
        If the file is there and `force` is not said.
    NoTargetFolderError
        If its folder is not there.
    DiskFullError, UnwritableTargetError
        If it cannot be written; a file that was there stays whole.
    """
    if target.exists() and not force:
        raise TargetThereError(target)
    if not target.parent.is_dir():
        raise NoTargetFolderError(target)
    try:
        with tempfile.TemporaryDirectory(dir=target.parent, prefix=".backup-") as folder:
            database, packed = Path(folder) / DATABASE, Path(folder) / "packed.zip"
            with book.connection() as connection:
                snapshot(connection, database)
            _pack(book, database, packed)
            summary = replace(verify(packed), path=target)
            packed.chmod(0o600)
            packed.replace(target)
            settle(target.parent)
    except OSError as reason:
        raise target_unwritten(reason, target) from reason
    return summary


def _pack(book: Book, database: Path, packed: Path) -> None:
    """Write the zip, its list of parts last."""
    parts = [_part(database, DATABASE)]
    with zipfile.ZipFile(packed, "x", zipfile.ZIP_DEFLATED) as archive:
        archive.write(database, DATABASE)
        for address in book.files.addresses():
            path = book.files.path(address)
            part = _part(path, f"files/{address[:2]}/{address}")
            archive.write(path, part.path, zipfile.ZIP_DEFLATED)
            parts.append(part)
        listed = {
            "format": FORMAT,
            "schema": schema.CURRENT,
            "program": f"conewise {version('conewise')}",
            "made_at": book.now().isoformat(timespec="seconds"),
            "parts": [{"path": part.path, "bytes": part.n_bytes, "sha256": part.sha256} for part in parts],
        }
        archive.writestr(_LIST, json.dumps(listed, indent=1))
    with packed.open("rb+") as file:
        os.fsync(file.fileno())


def _part(path: Path, name: str) -> _Part:
    return _Part(name, path.stat().st_size, hash_of(path))


def verify(path: Path) -> BackupSummary:
    """Read a backup whole and hold every part to its hash.

    Raises
    ------
    BackupError
        If it is no backup, or not whole.
    NewerBookError
        If a later version of the program made it.
    """
    with _opened(path) as archive:
        parts, summary = _listed(archive, path)
        for part in parts:
            _copy(archive, part, None, path)
    return summary


def restore(path: Path, folder: Path, *, now: Callable[[], datetime], force: bool = False) -> BackupSummary:
    """Make a backup the book of a folder. It is read whole, checked and unpacked beside it before anything is replaced.

    Parameters
    ----------
    path : Path
        The backup.
    folder : Path
        Of the book. A book that is there is kept, under another name beside it.
    now : callable
        The clock, with a time zone.
    force : bool, default False
        Whether it may take the place of a book that is there.

    Raises
    ------
    BackupError
        If it is no backup, or not whole. Nothing is changed then.
    NewerBookError
        If a later version of the program made it.
    NotABookError
        If there is a file where the folder should be.
    BookThereError
        If there is a book and `force` is not said.
    BookLockedError, DiskFullError, UnwritableBookError
        If the book is being written to, or the system refuses.
    """
    if folder.exists() and not folder.is_dir():
        raise NotABookError("it is a file, not a folder", where=str(folder))
    is_there = folder.exists() and any(folder.iterdir())
    if is_there and not force:
        raise BookThereError(folder)
    stage = folder.with_name(f".{folder.name}.unpacking")
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        for left in (stage, incoming(folder)):
            shutil.rmtree(left, ignore_errors=not left.exists())
        stage.mkdir(mode=PRIVATE_FOLDER)
        with _opened(path) as archive:
            parts, summary = _listed(archive, path)
            _refuse_full(stage, summary.n_bytes)
            for part in parts:
                _copy(archive, part, stage / part.path, path)
        open_book(
            stage, now=now
        ).close()  # its pages and links are checked, and an earlier schema is brought up to date
        stage.rename(incoming(folder))
        settle(folder.parent)
    except OSError as reason:
        raise unwritten(reason, where=str(folder)) from reason
    finally:
        shutil.rmtree(stage, ignore_errors=True)
    aside = _put_in_place(folder, now=now, is_there=is_there)
    return replace(summary, aside=aside)


def _put_in_place(folder: Path, *, now: Callable[[], datetime], is_there: bool) -> Path | None:
    """Swap the unpacked book in; nobody can write to the old one meanwhile, nor afterwards."""
    if not (folder / DATABASE).exists():
        aside = _free_name(folder, now()) if is_there else None
        swap_in(folder, aside=aside or folder)
        return aside
    aside = _free_name(folder, now())
    old = Book(folder, now=now, wait=WAIT)
    try:
        with old.connection(writes=True):
            swap_in(folder, aside=aside)
    finally:
        old.close()
    return aside


def _free_name(folder: Path, moment: datetime) -> Path:
    stem = f"{folder.name}-before-{moment:%Y-%m-%d-%H%M%S}"
    number, path = 1, folder.with_name(stem)
    while path.exists():
        number += 1
        path = folder.with_name(f"{stem}-{number}")
    return path


def _opened(path: Path) -> zipfile.ZipFile:
    if not path.is_file():
        raise BackupError("there is no such file", path)
    try:
        return zipfile.ZipFile(path)
    except (zipfile.BadZipFile, UnicodeDecodeError, OSError):
        raise BackupError("it is no zip file, or its end is missing", path) from None


def _listed(archive: zipfile.ZipFile, path: Path) -> tuple[list[_Part], BackupSummary]:
    """The list of parts, held to what is in the archive."""
    try:
        if archive.getinfo(_LIST).file_size > _MOST_LIST:
            raise BackupError("its list of parts is too long", path)
        listed = json.loads(archive.read(_LIST))
        parts = [_Part(str(row["path"]), int(row["bytes"]), str(row["sha256"])) for row in listed["parts"]]
        number, made_at, kind = int(listed["schema"]), str(listed["made_at"]), str(listed["format"])
    except (KeyError, TypeError, ValueError, OverflowError, *_UNREADABLE):
        raise BackupError(
            "it has no list of its parts, so it is a zip file of something else or damaged", path
        ) from None
    if number > schema.CURRENT:
        raise NewerBookError(found=number, known=schema.CURRENT, where=str(path))
    if any(part.compress_type not in _METHODS for part in archive.infolist()):
        raise BackupError("its parts are packed in a way that backups are not", path)
    if kind != FORMAT:
        raise BackupError(f"its format is '{kind}'; '{FORMAT}' is read", path)
    for part in parts:
        if not _PART.fullmatch(part.path):
            raise BackupError(f"it has a part that no book has ('{part.path[:60]}')", path)
        if part.path != DATABASE and not part.path.endswith(part.sha256):
            raise BackupError(f"its part '{part.path[:24]}' is not called by what is in it", path)
    if DATABASE not in {part.path for part in parts}:
        raise BackupError("the database is missing in it", path)
    return parts, _made(path, parts, number, made_at)


def _made(path: Path, parts: list[_Part], number: int, made_at: str) -> BackupSummary:
    return BackupSummary(
        path=path, made_at=made_at, schema=number, n_files=len(parts) - 1, n_bytes=sum(part.n_bytes for part in parts)
    )


def _copy(archive: zipfile.ZipFile, part: _Part, target: Path | None, path: Path) -> None:
    """Read one part against its hash and size, and write it where a target is given."""
    digest, n_bytes = hashlib.sha256(), 0
    try:
        with archive.open(part.path) as source, _written(target) as copy:
            while piece := source.read(_CHUNK):
                n_bytes += len(piece)
                if n_bytes > part.n_bytes:
                    break
                digest.update(piece)
                if copy is not None:
                    copy.write(piece)
    except (KeyError, *_UNREADABLE):
        raise BackupError(f"its part '{part.path[:24]}' is damaged or missing", path) from None
    if (n_bytes, digest.hexdigest()) != (part.n_bytes, part.sha256):
        raise BackupError(f"its part '{part.path[:24]}' is not what was backed up", path)


@contextmanager
def _written(target: Path | None) -> Iterator[IO[bytes] | None]:
    """A new file for its owner alone, on the disk at the end; nothing where no target is given."""
    if target is None:
        yield None
        return
    for folder in (target.parent.parent, target.parent):
        folder.mkdir(exist_ok=True, mode=PRIVATE_FOLDER)
    with os.fdopen(os.open(target, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
        yield file
        file.flush()
        os.fsync(file.fileno())


def _refuse_full(folder: Path, n_bytes: int) -> None:
    if shutil.disk_usage(folder).free < n_bytes + _SPARE:
        raise DiskFullError(where=str(folder))

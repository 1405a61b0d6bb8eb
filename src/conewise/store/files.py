"""Files beside the database, called by the SHA-256 of what is in them: kept whole, never changed, the same one once."""

from __future__ import annotations

import errno
import hashlib
import os
import re
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

from conewise.store.errors import (
    DamagedBookError,
    DiskFullError,
    FileNotKeptError,
    UnwritableBookError,
    UnwritableTargetError,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

_ADDRESS = re.compile(r"[0-9a-f]{64}")
_FULL = {errno.ENOSPC, errno.EDQUOT, errno.EFBIG}
_CHUNK = 1 << 20


class Files:
    """A folder of files by content.

    folder: made where the first file is kept.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def keep(self, content: bytes) -> str:
        """Address of a content, which is on the disk by then.

        Raises
        ------
        DiskFullError, UnwritableBookError
            If it cannot be written; nothing is left of it.
        """
        address = hashlib.sha256(content).hexdigest()
        path = self.path(address)
        if path.exists():
            return address
        try:
            for folder in (self.folder, path.parent):
                folder.mkdir(exist_ok=True, mode=0o700)
            write_safely(path, content)
        except OSError as reason:
            raise unwritten(reason, where=str(path.parent)) from reason
        return address

    def content(self, address: str) -> bytes:
        """The content of an address.

        Raises
        ------
        FileNotKeptError
            If it is not there.
        DamagedBookError
            If it is not what was kept.
        """
        path = self.path(address)
        try:
            content = path.read_bytes()
        except FileNotFoundError:
            raise FileNotKeptError(address, where=str(path)) from None
        except OSError as reason:
            raise UnwritableBookError(reason.strerror or "the system refuses", where=str(path)) from None
        if hashlib.sha256(content).hexdigest() != address:
            raise DamagedBookError("a file is not what it was when it was kept", where=str(path))
        return content

    def remove(self, address: str) -> None:
        """Take a content away that no record names any more.

        Raises
        ------
        UnwritableBookError
            If the system does not let it go.
        """
        path = self.path(address)
        try:
            path.unlink(missing_ok=True)
            if path.parent.is_dir():
                settle(path.parent)
        except OSError as reason:
            raise unwritten(reason, where=str(path)) from reason

    def path(self, address: str) -> Path:
        """Where the content of an address is, or would be."""
        return self.folder / address[:2] / address

    def addresses(self) -> Iterator[str]:
        """Addresses of everything that is there."""
        for path in sorted(self.folder.glob("??/*")):
            if _ADDRESS.fullmatch(path.name):
                yield path.name

    def leftovers(self) -> tuple[Path, ...]:
        """Files that a broken write left behind; nothing of what was confirmed."""
        return tuple(path for path in sorted(self.folder.glob("??/*")) if not _ADDRESS.fullmatch(path.name))


def write_safely(path: Path, content: bytes) -> None:
    """Write a file for its owner alone: whole and on the disk, or not at all."""
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=".being-written-")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        Path(name).replace(path)
    except OSError:
        Path(name).unlink(missing_ok=True)
        raise
    settle(path.parent)


def settle(folder: Path) -> None:
    """Wait until a folder's own entries are on the disk, where the system can say so."""
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def hash_of(path: Path) -> str:
    """SHA-256 of a file, read piece by piece."""
    digest = hashlib.sha256()
    with path.open("rb") as file:
        while piece := file.read(_CHUNK):
            digest.update(piece)
    return digest.hexdigest()


def unwritten(reason: OSError, *, where: str) -> DiskFullError | UnwritableBookError:
    """What to say where the system did not write."""
    if reason.errno in _FULL:
        return DiskFullError(where=where)
    return UnwritableBookError(reason.strerror or "the system refuses", where=where)


def target_unwritten(reason: OSError, target: Path) -> OSError | DiskFullError | UnwritableTargetError:
    """What to say where a backup or an export was not written; the reason itself where another file is the trouble."""
    if reason.errno in _FULL:
        return DiskFullError(where=str(target))
    named = reason.filename
    if isinstance(named, str) and not Path(named).is_relative_to(target.parent):
        return reason
    return UnwritableTargetError(target, reason.strerror or "the system refuses")

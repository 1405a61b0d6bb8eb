"""Writing what a person asked to have on disk: whole or not at all."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

from conewise.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Sequence


class UnwritableFileError(InputError):
    """A file that cannot be written where it was asked for."""

    code = "unwritable-file"
    default_hint = "Name a file in a folder that exists and that you may write to."

    def __init__(self, path: Path, reason: str) -> None:
        self.path = path
        super().__init__(f"The file cannot be written: {reason}.", where=str(path))


class FileEndingError(InputError):
    """A file whose name does not end as its content asks."""

    code = "file-ending"
    default_hint = "Give the file the ending named."

    def __init__(self, path: Path, what: str, endings: Sequence[str]) -> None:
        self.path = path
        wanted = " or ".join(endings)
        super().__init__(
            f"{what} is not written to '{path.name}'.", where=str(path), hint=f"Give a file that ends in {wanted}."
        )


def refuse_unwritable(path: Path, what: str, *endings: str) -> None:
    """Say before the work that a file cannot be written where it was asked for.

    Parameters
    ----------
    path : Path
        Where to.
    what : str
        What will stand in it, for the message.
    *endings : str
        Endings of which the name must have one, such as ".svg"; any where none is given.

    Raises
    ------
    FileEndingError
        If the name ends otherwise.
    UnwritableFileError
        If the folder is missing, the path is a folder, or the system refuses.
    """
    if endings and path.suffix.lower() not in endings:
        raise FileEndingError(path, what, endings)
    handle, temporary = _begun(path)
    os.close(handle)
    temporary.unlink()


def write_whole(path: Path, content: bytes, *, is_private: bool = False) -> None:
    """Write a file in one step, so that a break leaves the old file or the new one.

    Parameters
    ----------
    path : Path
        Where to; its folder must exist.
    content : bytes
        The whole file.
    is_private : bool, default False
        Whether only its owner may ever read it.

    Raises
    ------
    UnwritableFileError
        If the folder is missing, the path is a folder, or the system refuses.
    """
    handle, temporary = _begun(path)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
        umask = os.umask(0)
        os.umask(umask)
        temporary.chmod(0o600 if is_private else 0o666 & ~umask)
        temporary.replace(path)
    except OSError as reason:
        temporary.unlink(missing_ok=True)
        raise UnwritableFileError(path, reason.strerror or "the system refuses") from reason


def _begun(path: Path) -> tuple[int, Path]:
    """An empty file beside the one to be written: its handle and its name."""
    if path.is_dir():
        raise UnwritableFileError(path, "there is a folder of that name")
    if not path.parent.is_dir():
        raise UnwritableFileError(path, "its folder does not exist")
    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    except OSError as reason:
        raise UnwritableFileError(path, reason.strerror or "the system refuses") from reason
    return handle, Path(name)

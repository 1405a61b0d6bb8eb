"""Writing what a person asked to have on disk: whole or not at all."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from conewise.errors import InputError


class UnwritableFileError(InputError):
    """A file that cannot be written where it was asked for."""

    code = "unwritable-file"
    default_hint = "Name a file in a folder that exists and that you may write to."

    def __init__(self, path: Path, reason: str) -> None:
        self.path = path
        super().__init__(f"The file cannot be written: {reason}.", where=str(path))


def write_whole(path: Path, content: bytes) -> None:
    """Write a file in one step, so that a break leaves the old file or the new one.

    Parameters
    ----------
    path : Path
        Where to; its folder must exist.
    content : bytes
        The whole file.

    Raises
    ------
    UnwritableFileError
        If the folder is missing, the path is a folder, or the system refuses.
    """
    if path.is_dir():
        raise UnwritableFileError(path, "there is a folder of that name")
    if not path.parent.is_dir():
        raise UnwritableFileError(path, "its folder does not exist")
    try:
        handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    except OSError as reason:
        raise UnwritableFileError(path, reason.strerror or "the system refuses") from reason
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
        umask = os.umask(0)
        os.umask(umask)
        Path(temporary).chmod(0o666 & ~umask)
        Path(temporary).replace(path)
    except OSError as reason:
        Path(temporary).unlink(missing_ok=True)
        raise UnwritableFileError(path, reason.strerror or "the system refuses") from reason

"""The table of runs beside an event file: one writer at a time, and on the disk before that is said."""

from __future__ import annotations

import os
import sys
import time
from contextlib import contextmanager
from typing import TYPE_CHECKING

from conewise.errors import ConflictError
from conewise.event.runs_file import run_table_text
from conewise.reports.files import UnwritableFileError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path
    from typing import BinaryIO

_TRIES, _PAUSE = 200, 0.05  # another writer is waited for so often, so long each time [s]


class RunsLockedError(ConflictError):
    """Another program holds the table of runs and does not let go."""

    code = "runs-locked"
    default_hint = "Wait for the other program to finish and do it again. Nothing of this run was written."

    def __init__(self, path: Path) -> None:
        super().__init__("Another program is writing to the table of runs.", where=str(path))


def add_row(path: Path, row: Callable[[str], dict[str, str]]) -> None:
    """Add one row at the end of a table of runs; a table that is not there is begun.

    Parameters
    ----------
    path : Path
    row : callable
        Is given the text of the table as it is while nobody else writes, and returns the cells of the row; what it
        raises leaves the table as it was.

    Raises
    ------
    RunsLockedError
        If another program does not let go of the table.
    UnwritableFileError
        If the system refuses.
    RunsFileError
        If the table has no column for a cell.
    """
    try:
        with _held(path) as file:
            file.seek(0)
            plain = file.read().decode("utf-8-sig", "replace").replace("\r\n", "\n").replace("\r", "\n")
            if not plain.strip():
                plain = ""
            whole = run_table_text([row(plain)], before=plain)
            file.seek(0, os.SEEK_END)
            file.write(whole[len(plain) :].encode())
            file.flush()
            os.fsync(file.fileno())
        _keep_name(path)
    except OSError as reason:
        raise UnwritableFileError(path, reason.strerror or "the system refuses") from reason


@contextmanager
def _held(path: Path) -> Iterator[BinaryIO]:
    """The file, opened to read and to add to, while no other writer has it."""
    with path.open("a+b") as file:
        for _ in range(_TRIES):
            if _locked(file):
                break
            time.sleep(_PAUSE)
        else:
            raise RunsLockedError(path)
        try:
            yield file
        finally:
            _let_go(file)


if sys.platform == "win32":
    import msvcrt

    _FAR = 1 << 40  # a byte that no table reaches stands for the whole of it

    def _locked(file: BinaryIO) -> bool:
        file.seek(_FAR)
        try:
            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True

    def _let_go(file: BinaryIO) -> None:
        file.seek(_FAR)
        msvcrt.locking(file.fileno(), msvcrt.LK_UNLCK, 1)

    def _keep_name(path: Path) -> None:
        """Nothing more to do: the system keeps names with the files."""

else:
    import fcntl

    def _locked(file: BinaryIO) -> bool:
        try:
            fcntl.flock(file.fileno(), fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        return True

    def _let_go(file: BinaryIO) -> None:
        fcntl.flock(file.fileno(), fcntl.LOCK_UN)

    def _keep_name(path: Path) -> None:
        """The name of a table that was begun, on the disk."""
        folder = os.open(path.parent, os.O_RDONLY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)

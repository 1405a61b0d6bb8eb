"""Keeping a library quiet that prints into the standard output without being asked."""

from __future__ import annotations

import ctypes
import os
import sys
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

_STDOUT = 1  # file descriptor


@contextmanager
def silent() -> Iterator[None]:
    """Meanwhile nothing that C code prints comes out; what this program printed before does.

    HiGHS (1.12 with SciPy 1.17) prints a line for every solution that it repairs, whatever its options say; the JSON
    of a command must not hold it.
    """
    library = ctypes.CDLL("ucrtbase" if sys.platform == "win32" else None)
    if sys.stdout is not None:
        sys.stdout.flush()
    library.fflush(None)
    if not _is_open(_STDOUT):
        yield
        return
    kept, nowhere = os.dup(_STDOUT), os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, _STDOUT)
        yield
    finally:
        library.fflush(None)  # what waits in the library's buffer goes nowhere too
        os.dup2(kept, _STDOUT)
        os.close(kept)
        os.close(nowhere)


def _is_open(descriptor: int) -> bool:
    """Whether a program was started with it: a service may have no standard output, and nothing to keep quiet."""
    try:
        os.fstat(descriptor)
    except OSError:
        return False
    return True

"""Putting one folder in the place of another, so that a break leaves the old one or the new one."""

from __future__ import annotations

from typing import TYPE_CHECKING

from conewise.store.errors import UnwritableBookError
from conewise.store.files import settle

if TYPE_CHECKING:
    from pathlib import Path


def incoming(folder: Path) -> Path:
    """Where a whole and checked folder waits to take the place of `folder`."""
    return folder.with_name(f".{folder.name}.incoming")


def swap_in(folder: Path, *, aside: Path) -> None:
    """Put the incoming folder in the place of `folder`, which moves aside where it is there.

    Raises
    ------
    UnwritableBookError
        If the system refuses, for example because a program has the folder open.
    """
    try:
        if folder.exists():
            folder.rename(aside)
        incoming(folder).rename(folder)
        settle(folder.parent)
    except OSError as reason:
        raise UnwritableBookError(reason.strerror or "the system refuses", where=str(folder)) from None


def finish_swap(folder: Path) -> None:
    """Finish what a break interrupted after the old folder had moved aside."""
    if incoming(folder).is_dir() and not folder.exists():
        swap_in(folder, aside=folder)

"""Processes beside this one: the keyboard leaves them alone, and nothing is said of them when they are ended early."""

from __future__ import annotations

import os
import signal
import threading
import warnings
from contextlib import contextmanager, suppress
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Generator, Iterable, Iterator

_QUIET = "ignore:resource_tracker:UserWarning"  # of what a process that was ended left, and is cleared away


def quiet(environment: dict[str, str]) -> dict[str, str]:
    """An environment in which processes that clear up after others do not warn of it on the terminal."""
    said = environment.get("PYTHONWARNINGS", "")
    return environment if _QUIET in said else environment | {"PYTHONWARNINGS": f"{said},{_QUIET}".lstrip(",")}


def answers_aside(work: Iterable[Any], *, n_processes: int) -> Generator[Any]:
    """What delayed calls return, each as soon as it is there, from processes of their own.

    Parameters
    ----------
    work : iterable
        As `joblib.delayed` makes them.
    n_processes : int

    Notes
    -----
    Processes start deaf to the keyboard, so that even one that is still loading says nothing; who waits for them ends
    them.
    """
    found = begun(work, n_processes=n_processes, return_as="generator_unordered")
    try:
        for answer in found:  # noqa: UP028  # closed below, where nothing is said of it
            yield answer
    finally:
        with unsaid():
            found.close()


def begun(work: Iterable[Any], *, n_processes: int, **options: Any) -> Any:
    """Delayed calls on their way in processes of their own; `options` of `joblib.Parallel`."""
    from joblib import Parallel

    os.environ.update(quiet(dict(os.environ)))
    with _keyboard_held():
        return Parallel(n_jobs=n_processes, backend="loky", **options)(work)


@contextmanager
def _keyboard_held() -> Iterator[None]:
    """Processes that begin in it never hear of the keyboard; this one does not either, for a tenth of a second."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, signal.SIG_DFL if before is None else before)


@contextmanager
def unsaid() -> Iterator[None]:
    """Nothing is said of tasks that nobody waits for any more."""
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", message=r"\d+ tasks", category=UserWarning)
        yield


def end_group(group: int) -> None:
    """End a group of processes, also where its leader has gone; what clears up after them stays to do so."""
    if os.name == "posix":
        with suppress(ProcessLookupError, PermissionError):
            os.killpg(group, signal.SIGTERM)

"""Looks after the worker: starts it when there is work, ends it with the server, and takes care of what it leaves."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
from collections import Counter
from dataclasses import dataclass, field
from datetime import timedelta
from typing import TYPE_CHECKING

from conewise.errors import ConewiseError
from conewise.processes import end_group, quiet
from conewise.workflows.book_place import BookPlace, OpenBooks
from conewise.workflows.jobs import Jobs, JobState, jobs_of

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime
    from pathlib import Path

LOOK = 0.5  # between looks [s]
SILENT = timedelta(seconds=6)  # then a running job's process is taken to be gone
STUBBORN = timedelta(seconds=4)  # then a job that does not stop is ended with its process
KEPT = timedelta(days=7)  # jobs that are over
MOST_TRIES = 2  # of a job that takes its process with it


class WorkerEndedError(ConewiseError):
    """A job whose process ended twice without an answer."""

    code = "worker-ended"
    default_hint = "The machine may be short of memory: close other programs and ask again."

    def __init__(self) -> None:
        super().__init__(f"The work ended {MOST_TRIES} times without an answer, and without saying why.")


@dataclass(kw_only=True)
class _Worker:
    """One process and the book it works for."""

    place: BookPlace
    process: subprocess.Popen[bytes]
    tries: Counter[str] = field(default_factory=Counter)


class Workshop:
    """The workers of a server, one for each book that has work. Safe to be used from several threads."""

    def __init__(self, now: Callable[[], datetime], books: OpenBooks | None = None) -> None:
        self._now = now
        self._books = books
        self._lock = threading.Lock()
        self._workers: dict[Path, _Worker] = {}
        self._closed = threading.Event()
        self._watching: threading.Thread | None = None

    def resume(self, folder: Path) -> None:
        """Go on with what waits in a book or was at work when an earlier server ended."""
        with jobs_of(self._place(folder)) as jobs:
            jobs.forget(older_than=KEPT)
            is_open = bool(jobs.unfinished())
        if is_open:
            self.open(folder)

    def open(self, folder: Path) -> None:
        """See to it that somebody works for a book."""
        with self._lock:
            if folder in self._workers or self._closed.is_set():
                return
            self._workers[folder] = _Worker(place=self._place(folder), process=_started(folder))
            if self._watching is None:
                self._watching = threading.Thread(target=self._watch, daemon=True)
                self._watching.start()

    def close(self) -> None:
        """End the workers; what they were at waits for the next server."""
        self._closed.set()
        if self._watching is not None:
            self._watching.join()
        with self._lock:
            for worker in self._workers.values():
                _end(worker.process)
                with jobs_of(worker.place) as jobs:
                    jobs.give_up(silent_for=timedelta(0))
            self._workers.clear()

    def _place(self, folder: Path) -> BookPlace:
        return BookPlace(book=folder, now=self._now, books=self._books)

    def _watch(self) -> None:
        while not self._closed.wait(LOOK):
            with self._lock:
                workers = list(self._workers.values())
            for worker in workers:
                with jobs_of(worker.place) as jobs:
                    self._look_after(worker, jobs)

    def _look_after(self, worker: _Worker, jobs: Jobs) -> None:
        """End a job that does not stop, start a process that has gone, and let its work wait again."""
        now = self._now()
        active = [job for job in jobs.unfinished() if job.state in {JobState.RUNNING, JobState.STOPPING}]
        if any(job.state is JobState.STOPPING and job.seen_at < now - STUBBORN for job in active):
            _end(worker.process)
        if worker.process.poll() is None:
            jobs.give_up(silent_for=SILENT)
            return
        for job in active:
            worker.tries[job.id] += job.state is JobState.RUNNING
            if worker.tries[job.id] >= MOST_TRIES:
                jobs.fail(job.id, WorkerEndedError())
        jobs.give_up(silent_for=timedelta(0))
        _end(worker.process)
        worker.process = _started(worker.place.folder)


def _started(folder: Path) -> subprocess.Popen[bytes]:
    """A worker for a book, in a group of its own, so that the keyboard stops the server alone."""
    flags = getattr(subprocess, "CREATE_NEW_PROCESS_GROUP", 0)
    return subprocess.Popen(  # noqa: S603  # this program itself
        [sys.executable, "-m", "conewise.web.worker", str(folder)],
        stdin=subprocess.PIPE,
        stdout=subprocess.DEVNULL,
        env=quiet(os.environ | {"OMP_NUM_THREADS": "1"}),  # its matrices are small
        start_new_session=os.name == "posix",
        creationflags=flags,
    )


def _end(process: subprocess.Popen[bytes]) -> None:
    end_group(process.pid)
    process.kill()
    process.wait()
    if process.stdin is not None:
        process.stdin.close()

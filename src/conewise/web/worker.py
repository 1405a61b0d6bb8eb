"""The process that does long work for a server: takes jobs of a book, tells how far they are, stops when asked."""

from __future__ import annotations

import argparse
import os
import signal
import sys
import threading
import time
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from conewise.errors import ConewiseError
from conewise.findings import in_system, said_in
from conewise.processes import end_group
from conewise.web.work import Desk, finite, kind_named, kinds
from conewise.workflows.book_place import BookPlace, OpenBooks
from conewise.workflows.faults import fault
from conewise.workflows.jobs import jobs_of

if TYPE_CHECKING:
    from types import FrameType

    from conewise.quantities import System
    from conewise.workflows.jobs import Job, Jobs

BEAT = 0.5  # between signs of life [s]
LOOK = 0.15  # between looks for a job [s]
_NICENESS = 5  # below the server, so that pages stay quick


class JobStoppedError(ConewiseError):
    """Somebody asked the job to stop."""

    code = "job-stopped"
    default_hint = "Ask again where it is wanted after all."

    def __init__(self) -> None:
        super().__init__("The work was stopped.")


@dataclass(kw_only=True)
class Bench:
    """One job at work: what it tells, and whether it is to go on."""

    jobs: Jobs
    job: Job
    lock: threading.Lock = field(default_factory=threading.Lock)
    share: float = 0.0
    words: str = ""
    is_over: bool = False

    def tell(self, share: float, words: str) -> None:
        """Say how far it is."""
        self.share, self.words = share, words
        self._report()

    def show(self, so_far: Any) -> None:
        """Say what came of it already."""
        self._report(finite(so_far))

    def beat(self) -> None:
        """Give signs of life until it is over; where it is to stop, interrupt the work."""
        while not self.is_over:
            time.sleep(BEAT)
            with self.lock:
                goes_on = self.is_over or self.jobs.report(self.job.id, self.share, self.words)
                if not goes_on and not self.is_over:
                    signal.raise_signal(signal.SIGINT)

    def end(self) -> None:
        """No more signs of life, and no interruption from here on."""
        with self.lock:
            self.is_over = True

    def _report(self, so_far: Any = None) -> None:
        if not self.jobs.report(self.job.id, self.share, self.words, so_far=so_far):
            raise JobStoppedError


def work(jobs: Jobs, job: Job, place: BookPlace) -> None:
    """Do a job, and keep what came of it or what went wrong."""
    bench = Bench(jobs=jobs, job=job)
    beating = threading.Thread(target=bench.beat, daemon=True)
    beating.start()
    system: System = "metric"
    try:
        try:
            kind = kind_named(job.kind)
            asked = kind.asks.model_validate(job.asked.get("question", {}))
            system = getattr(asked, "system", system)
            desk = Desk(place=place, job=job.id, tell=bench.tell, show=bench.show)
            result = finite(kind.work(asked, desk))
        finally:
            bench.end()
    except JobStoppedError:
        bench.is_over = True
        jobs.stopped(job.id)
    except ConewiseError as error:
        error.message, error.findings = said_in(error.message, system), in_system(error.findings, system)
        jobs.fail(job.id, error)
    except Exception as error:  # noqa: BLE001  # the edge of this process: kept in a log, said with the job
        jobs.fail(job.id, fault(error, doing=f"job {job.kind}"))
    else:
        jobs.finish(job.id, result)


def run(place: BookPlace) -> None:
    """Take jobs of a book until this process is ended."""
    signal.signal(signal.SIGINT, interrupted)
    names = tuple(kinds())
    with jobs_of(place) as jobs:
        while True:
            try:
                _next(jobs, names, place)
            except JobStoppedError:  # it came when the job was over already
                time.sleep(LOOK)


def _next(jobs: Jobs, names: tuple[str, ...], place: BookPlace) -> None:
    job = jobs.take(*names)
    if job is None:
        time.sleep(LOOK)
    else:
        work(jobs, job, place)


def interrupted(number: int, frame: FrameType | None) -> None:
    """Stop the job, but not while a module is loaded: half of it would stay and spoil every later job.

    `Bench.beat` interrupts again soon after.
    """
    del number
    while frame is not None:
        if frame.f_code.co_filename.startswith("<frozen importlib"):
            return
        frame = frame.f_back
    raise JobStoppedError


def _end_with_the_server() -> None:
    """Leave as soon as the server does, whatever ended it: its end of the pipe is closed then."""
    while sys.stdin.buffer.read(1):
        continue
    if os.name == "posix" and os.getpgid(0) == os.getpid():
        end_group(os.getpid())
    os._exit(0)


def main() -> None:
    """Work for the server that started this process."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("book", type=Path)
    place = BookPlace(book=asked.parse_args().book, now=lambda: datetime.now(UTC), books=OpenBooks())
    threading.Thread(target=_end_with_the_server, daemon=True).start()
    if hasattr(os, "nice"):
        os.nice(_NICENESS)
    run(place)


if __name__ == "__main__":
    main()

"""Long work: asked for by one process, done by another, seen by all."""

from __future__ import annotations

import json
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Any

from sqlalchemy import delete, exists, select

from conewise.errors import ConflictError
from conewise.store.errors import NoSuchRecordError
from conewise.store.tables import JobAsker, JobResult, JobRow

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping
    from datetime import datetime, timedelta

    from sqlalchemy import ColumnElement
    from sqlalchemy.orm import Session

    from conewise.errors import ConewiseError
    from conewise.store.book import Book


class JobState(StrEnum):
    """Where a job stands."""

    WAITING = "waiting"
    RUNNING = "running"
    STOPPING = "stopping"  # somebody asked it to stop; it has not yet
    DONE = "done"
    FAILED = "failed"
    STOPPED = "stopped"


class JobNotFailedError(ConflictError):
    """Work that is not over, or has its answer, is not put away."""

    code = "job-not-failed"
    default_hint = "Stop it first where it is still at work; an answer goes by itself after a week."

    def __init__(self, job_id: str) -> None:
        super().__init__("Only work that failed or was stopped is put away.", where=job_id)


_OVER = {JobState.DONE, JobState.FAILED, JobState.STOPPED}


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """One piece of long work.

    asked: what it was asked to do.
    progress: share that is done, 0 to 1.
    result: what came of it; while it runs, what came of it so far. None in lists, which do not read it.
    error: what went wrong, in the shape that every face shows an error, once it has failed.
    seen_at: its last sign of life (UTC).
    """

    id: str
    kind: str
    state: JobState
    asked: Mapping[str, Any]
    progress: float
    message: str
    result: Any
    error: Mapping[str, Any] | None
    asked_at: datetime
    seen_at: datetime

    @property
    def is_over(self) -> bool:
        """Whether nothing more will come of it."""
        return self.state in _OVER


@dataclass(frozen=True, slots=True, kw_only=True)
class Asker:
    """Who waits for a job.

    device: what tells one device from another; empty for the laptop itself.
    slot: the place on its page that shows the answer; empty where there is none.
    """

    device: str = ""
    slot: str = ""


class Jobs:
    """The jobs of a book. Every change is a transaction of its own."""

    def __init__(self, book: Book) -> None:
        self._book = book

    def submit(self, job_id: str, kind: str, asked: Mapping[str, Any], *, asker: Asker, again: bool = False) -> Job:
        """A new job that waits to be taken; the one that is there where its id was submitted before.

        As long as it is not over the asker is one of those who wait for it. In a slot it takes the place of what was
        asked for there before, which stops where nobody else waits for it.

        Parameters
        ----------
        job_id : str
            Chosen by whoever asks, so that asking twice makes one job.
        kind : str
            What sort of work it is.
        asked : mapping
            What to do, as JSON can hold it.
        asker : Asker
            Who wants it.
        again : bool, default False
            Whether one that failed or was stopped waits anew.
        """
        with self._book.session() as session:
            if asker.slot:
                here = (JobAsker.device == asker.device, JobAsker.slot == asker.slot, JobAsker.job != job_id)
                _take_out(session, *here)
            row = self._asked(session, job_id, kind, asked, again=again)
            _wait_for(session, row, [asker])
            return _whole(session, row)

    def follow(self, job_id: str, kind: str, asked: Mapping[str, Any], *, after: str) -> Job | None:
        """A job that goes on where another ends, for all who wait for that one; None where nobody does any more.

        Where it failed or was stopped before it waits anew.

        Parameters
        ----------
        job_id, kind, asked
            As for `submit`.
        after : str
            Id of the other, which is not over.
        """
        with self._book.session() as session:
            rows = session.scalars(select(JobAsker).where(JobAsker.job == after)).all()
            if not rows:
                return None
            row = self._asked(session, job_id, kind, asked, again=True)
            _wait_for(session, row, [Asker(device=one.device, slot=one.slot) for one in rows])
            return _whole(session, row)

    def take(self, *kinds: str) -> Job | None:
        """The job that has waited longest, running from now on; None where none waits. No other process gets it.

        Parameters
        ----------
        *kinds : str
            Kinds of work that the caller can do; any where none is named.
        """
        query = select(JobRow).where(JobRow.state == JobState.WAITING).order_by(JobRow.asked_at, JobRow.id).limit(1)
        if kinds:
            query = query.where(JobRow.kind.in_(kinds))
        with self._book.session() as session:
            row = session.scalar(query)
            if row is None:
                return None
            row.state, row.seen_at = JobState.RUNNING, self._book.now()
            return _job(row)

    def report(self, job_id: str, progress: float, message: str = "", *, so_far: object = None) -> bool:
        """Say how far a job is, and hear whether to go on.

        Parameters
        ----------
        job_id : str
        progress : float
            Share that is done, 0 to 1.
        message : str, optional
            What is being done, for people.
        so_far : optional
            What came of it already, as JSON can hold it; None leaves what was said before.

        Returns
        -------
        bool
            False where somebody asked it to stop, or another process has ended it.
        """
        with self._book.session() as session:
            row = session.get(JobRow, job_id)
            if row is None or row.state != JobState.RUNNING:
                return False
            row.progress, row.message, row.seen_at = min(max(progress, 0.0), 1.0), message, self._book.now()
            if so_far is not None:
                session.merge(JobResult(job=job_id, content=json.dumps(so_far)))
            return True

    def finish(self, job_id: str, result: object) -> Job:
        """A job that is done, with what came of it; one that was asked to stop is stopped, and has its result too."""
        return self._ended(
            job_id, JobState.DONE, result=JobResult(job=job_id, content=json.dumps(result)), progress=1.0
        )

    def stopped(self, job_id: str) -> Job:
        """A job that was stopped before its end; what came of it so far stays. It waits anew where asked for since."""
        return self._ended(job_id, JobState.STOPPED)

    def fail(self, job_id: str, error: ConewiseError) -> Job:
        """A job that could not be done, with the reason."""
        return self._ended(job_id, JobState.FAILED, error=json.dumps(error.as_dict()))

    def stop(self, job_id: str) -> Job:
        """Ask a job to stop, whoever waits: one that waits is stopped, one that runs hears it at its next report."""
        with self._book.session() as session:
            row = _found(session.get(JobRow, job_id), job_id)
            session.execute(delete(JobAsker).where(JobAsker.job == job_id))
            _stop(row)
            return _job(row)

    def leave(self, job_id: str, asker: Asker) -> Job:
        """A job for which somebody waits no more: it stops where nobody is left, and goes on for the others.

        Where it was not asked for in the slot that is named, the device waits for it no more in any.
        """
        with self._book.session() as session:
            row = _found(session.get(JobRow, job_id), job_id)
            device = (JobAsker.job == job_id, JobAsker.device == asker.device)
            here = session.get(JobAsker, (job_id, asker.device, asker.slot)) if asker.slot else None
            session.execute(delete(JobAsker).where(*device, *([] if here is None else [JobAsker.slot == asker.slot])))
            if not _is_waited_for(session, job_id):
                _stop(row)
            return _job(row)

    def give_up(self, *, silent_for: timedelta) -> int:
        """Let the jobs of processes that have gone wait again, or be stopped where that was asked for.

        Parameters
        ----------
        silent_for : timedelta
            How long a running job may give no sign of life.

        Returns
        -------
        int
            How many there were.
        """
        query = select(JobRow).where(JobRow.seen_at < self._book.now() - silent_for)
        with self._book.session() as session:
            lost = session.scalars(query.where(JobRow.state.in_((JobState.RUNNING, JobState.STOPPING)))).all()
            for row in lost:
                if row.state == JobState.RUNNING or _is_waited_for(session, row.id):
                    _wait_anew(session, row)
                else:
                    row.state = JobState.STOPPED
        return len(lost)

    def put_away(self, job_id: str) -> None:
        """Take out a job that failed or was stopped.

        Raises
        ------
        NoSuchRecordError
            If there is none.
        JobNotFailedError
            If it is not over, or has its answer.
        """
        with self._book.session() as session:
            row = _found(session.get(JobRow, job_id), job_id)
            if row.state not in {JobState.FAILED, JobState.STOPPED}:
                raise JobNotFailedError(job_id)
            session.execute(delete(JobRow).where(JobRow.id == job_id))

    def forget(self, *, older_than: timedelta) -> int:
        """Take out jobs that are over and were last heard of long ago; how many there were."""
        old = (JobRow.seen_at < self._book.now() - older_than, JobRow.state.in_(_OVER))
        with self._book.session() as session:
            gone = session.scalars(delete(JobRow).where(*old).returning(JobRow.id)).all()  # with their results
        return len(gone)

    def one(self, job_id: str) -> Job:
        """The job of an id.

        Raises
        ------
        NoSuchRecordError
            If there is none.
        """
        with self._book.reading() as reader:
            return _whole(reader.session, _found(reader.session.get(JobRow, job_id), job_id))

    def every(self, *kinds: str) -> tuple[Job, ...]:
        """All jobs of the kinds named, or of any, without their results; the latest first."""
        return self._listed(*([JobRow.kind.in_(kinds)] if kinds else []))

    def unfinished(self) -> tuple[Job, ...]:
        """Jobs that are not over, without their results; the latest first."""
        open_states = (JobState.WAITING, JobState.RUNNING, JobState.STOPPING)
        return self._listed(JobRow.state.in_(open_states))

    def _asked(self, session: Session, job_id: str, kind: str, asked: Mapping[str, Any], *, again: bool) -> JobRow:
        """The row of a job; a new one where there is none."""
        moment = self._book.now()
        row = session.get(JobRow, job_id)
        if row is None:
            row = JobRow(
                id=job_id, kind=kind, state=JobState.WAITING, asked=json.dumps(dict(asked)), progress=0.0,
                message="", asked_at=moment, seen_at=moment,
            )  # fmt: skip
            session.add(row)
            session.flush()
        elif again and row.state in {JobState.FAILED, JobState.STOPPED}:
            _wait_anew(session, row)
            row.error, row.asked_at, row.seen_at = None, moment, moment
        return row

    def _listed(self, *where: ColumnElement[bool]) -> tuple[Job, ...]:
        query = select(JobRow).where(*where).order_by(JobRow.asked_at.desc(), JobRow.id)
        with self._book.reading() as reader:
            return tuple(map(_job, reader.session.scalars(query)))

    def _ended(self, job_id: str, state: JobState, *, result: JobResult | None = None, **values: Any) -> Job:
        with self._book.session() as session:
            row = _found(session.get(JobRow, job_id), job_id)
            is_asked_since = row.state == JobState.STOPPING and _is_waited_for(session, job_id)
            if is_asked_since and state is JobState.STOPPED:
                _wait_anew(session, row)
            elif row.state in {JobState.RUNNING, JobState.STOPPING}:
                is_stopped = row.state == JobState.STOPPING and state is JobState.DONE and not is_asked_since
                row.state = JobState.STOPPED if is_stopped else state
                session.execute(delete(JobAsker).where(JobAsker.job == job_id))
                row.seen_at = self._book.now()
                for name, value in values.items():
                    setattr(row, name, value)
                if result is not None:
                    session.merge(result)
            return _whole(session, row)


def without_devices(session: Session, devices: Collection[str]) -> None:
    """Devices that have gone wait for nothing: what nobody else waits for stops."""
    _take_out(session, JobAsker.device.in_(devices))


def _take_out(session: Session, *which: ColumnElement[bool]) -> None:
    """Who waits no more; the jobs for which nobody is left stop."""
    for job_id in session.scalars(delete(JobAsker).where(*which).returning(JobAsker.job)).all():
        row = session.get(JobRow, job_id)
        if row is not None and not _is_waited_for(session, job_id):
            _stop(row)


def _wait_for(session: Session, row: JobRow, askers: Collection[Asker]) -> None:
    if row.state not in _OVER:
        for asker in askers:
            session.merge(JobAsker(job=row.id, device=asker.device, slot=asker.slot))


def _found(row: JobRow | None, job_id: str) -> JobRow:
    if row is None:
        raise NoSuchRecordError("job", job_id)
    return row


def _is_waited_for(session: Session, job_id: str) -> bool:
    return bool(session.scalar(select(exists().where(JobAsker.job == job_id))))


def _stop(row: JobRow) -> None:
    if row.state == JobState.WAITING:
        row.state = JobState.STOPPED
    elif row.state == JobState.RUNNING:
        row.state = JobState.STOPPING


def _wait_anew(session: Session, row: JobRow) -> None:
    row.state, row.progress, row.message = JobState.WAITING, 0.0, ""
    _drop_result(session, row.id)


def _drop_result(session: Session, job_id: str) -> None:
    session.execute(delete(JobResult).where(JobResult.job == job_id))


def _whole(session: Session, row: JobRow) -> Job:
    """A job with its result."""
    kept = session.get(JobResult, row.id)
    return _job(row, result=None if kept is None else json.loads(kept.content))


def _job(row: JobRow, *, result: Any = None) -> Job:
    return Job(
        id=row.id, kind=row.kind, state=JobState(row.state), asked=json.loads(row.asked), progress=row.progress,
        message=row.message, result=result, error=None if row.error is None else json.loads(row.error),
        asked_at=row.asked_at, seen_at=row.seen_at,
    )  # fmt: skip

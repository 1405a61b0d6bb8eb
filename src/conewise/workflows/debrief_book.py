"""Debriefs and the book: whose run a recording is of, and what its debrief found, kept with the run."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from conewise.errors import ByFace, InputError, NotFoundError
from conewise.event.cars import EventCar
from conewise.event.day import Event
from conewise.event.people import Person
from conewise.event.runs import FeatureLoss, Run
from conewise.findings import Finding
from conewise.logs.seasons import stretch_kind
from conewise.workflows.named import BookLog, kept_source

if TYPE_CHECKING:
    from collections.abc import Sequence

    from conewise.reports.debrief_answer import DebriefAnswer
    from conewise.store.book import Book
    from conewise.store.repository import Kept
    from conewise.workflows.book_place import BookPlace
    from conewise.workflows.named import BookText, LogSource

MOST_APART = 0.5  # between the clock of the event and the recording, of one run; common practice, no source [s]
REASON = "debrief"
NOBODY_SAID = "Nobody said at which event, and by whom, this was recorded."
_MOST_LETTERS = 200


class NothingKnownError(InputError):
    """A debrief without a course or a car, and a recording that does not lead to one."""

    code = "debrief-of-what"

    def __init__(self, option: str, why: str) -> None:
        super().__init__(
            f"{option} is missing: {why}.",
            where=option,
            hint=f"Say {option}, or keep the recording with its event and driver: "
            "conewise book add FILE --event EVENT --driver DRIVER.",
        )


class WhichRunError(NotFoundError):
    """It is not clear which run of the book a recorded run is."""

    code = "debrief-which-run"

    def __init__(self, what: str, runs: Sequence[Run]) -> None:
        listed = ", ".join(f"{run.id} ({run.written or run.raw_time})" for run in runs[:8])
        choose = ByFace(f"Choose one of: {listed}.", typed=f"Say --keep-as RUN with one of: {listed}.")
        write = ByFace("Write the run down first.", typed="Write the run down first: conewise run add.")
        super().__init__(what, where=ByFace("kept_run", typed="--keep"), hint=choose if listed else write)


@dataclass(frozen=True, slots=True, kw_only=True)
class DebriefKept:
    """What came of keeping a debrief: the run as it is now, and its version."""

    run: Run
    version: int


def course_of_log(place: BookPlace, log: LogSource | None) -> BookText:
    """The course of the event that a recording of the book belongs to.

    Raises
    ------
    NothingKnownError
        If the recording is none of the book, or its event has no course.
    """
    if not isinstance(log, BookLog) or not log.record.event:
        raise NothingKnownError("--course", "nobody said at which event this was recorded")
    with place.opened(create=False) as book:
        event = book.one(Event, log.record.event).record
        if not event.course_file:
            raise NothingKnownError("--course", f"the event '{event.id}' names no course")
        return kept_source(book, "course", event.course_file)


def car_of_log(place: BookPlace, log: LogSource | None) -> BookText:
    """The car that a recording of the book was made in: as it says, else that of the driver's entry.

    Raises
    ------
    NothingKnownError
        If it is not known, or the car has no car file.
    """
    if not isinstance(log, BookLog):
        raise NothingKnownError("--car", "nobody said in which car this was recorded")
    with place.opened(create=False) as book:
        car = log.record.car or _entered(book, log)
        if not car:
            raise NothingKnownError("--car", "nobody said in which car this was recorded")
        name = book.one(EventCar, car).record.car_file
        if not name:
            raise NothingKnownError("--car", f"the car '{car}' has no car file")
        return kept_source(book, "car-file", name)


def _entered(book: Book, log: BookLog) -> str:
    event = book.find(Event, log.record.event) if log.record.event else None
    entries = event.record.entries if event else ()
    return next((entry.car for entry in entries if entry.person == log.record.person), "")


def refuse_unkeepable(place: BookPlace, log: LogSource, *, run_id: str) -> None:
    """Say before the work that a debrief could not be kept.

    Raises
    ------
    WhichRunError
        If no run is named and the recording leads to none.
    NoSuchRecordError
        If the book has no such run.
    """
    with place.opened(create=False) as book:
        if run_id:
            book.one(Run, run_id)
        elif not isinstance(log, BookLog) or not (log.record.event and log.record.person):
            raise WhichRunError(NOBODY_SAID, [])
        elif not book.every(Run, event=log.record.event, person=log.record.person):
            raise WhichRunError(f"{log.record.person} has no run at {log.record.event}.", [])


def with_written_time(
    place: BookPlace, answer: DebriefAnswer, *, log: LogSource | None, run_id: str = ""
) -> DebriefAnswer:
    """An answer that says where the measured time and the one that was written down at the event are far apart.

    The run is the one that is named, else the driver's run whose time is nearest.

    Raises
    ------
    NoSuchRecordError
        If the book has no run of the id that is named.
    """
    told = answer.told
    if told is None or not (run_id or isinstance(log, BookLog)):
        return answer
    with place.opened(create=False) as book, book.reading() as reader:
        if run_id:
            runs = [reader.one(Run, run_id).record]
        elif isinstance(log, BookLog) and log.record.event and log.record.person:
            of_driver = reader.every(Run, event=log.record.event, person=log.record.person)
            runs = [kept.record for kept in of_driver if not kept.record.is_void]
        else:
            return answer
        names = {run.person: reader.one(Person, run.person).record.name for run in runs}
    timed = [(abs(run.raw_time - told.time), run) for run in runs if run.raw_time is not None]
    apart, run = min(timed, key=lambda one: one[0], default=(0.0, None))
    if run is None or run.raw_time is None or apart <= MOST_APART:
        return answer
    return replace(answer, findings=(*answer.findings, _apart(run, names[run.person], told.time)))


def _apart(run: Run, name: str, measured: float) -> Finding:
    """Both times, and what to check."""
    assert run.raw_time is not None
    gap = measured - run.raw_time
    words = (
        f"The recording has {measured:.2f} s for this run; run {run.order} of {name} was written down with "
        f"{run.raw_time:.2f} s, {abs(gap):.2f} s {'less' if gap > 0 else 'more'}. Check whether it is the same run, "
        "whether the time was read or typed wrongly, and whether start and finish of the course stand where the clock "
        "of the event did."
    )
    return Finding("warning", "written-time-differs", words, f"run {run.order}")


def keep_debrief(
    place: BookPlace, answer: DebriefAnswer, *, log: LogSource | None = None, run_id: str = "", by: str = ""
) -> DebriefKept:
    """Keep with a run what its debrief found: time lost by feature, and what to work on. A new version of the run.

    Parameters
    ----------
    place : BookPlace
    answer : DebriefAnswer
        With its breakdown.
    log : BookLog or Path, optional
        The recording. One of the book with its event and driver leads to the run whose time it has.
    run_id : str, default ""
        Id of the run, where the recording does not lead to it.
    by : str, default ""
        For the history.

    Raises
    ------
    WhichRunError
        If it is not clear which run it is.
    NoSuchRecordError
        If the book has no such run.
    """
    assert answer.breakdown is not None
    told = answer.told
    with place.opened(create=False) as book, book.writing(by=by) as writer:
        if run_id:
            kept = writer.one(Run, run_id)
        else:
            seconds = answer.breakdown.measured if told is None else told.time
            every = () if not isinstance(log, BookLog) else writer.every(
                Run, event=log.record.event, person=log.record.person
            )  # fmt: skip
            kept = _run_of(every, log, seconds)
        run = _with_debrief(kept.record, answer, log=log.name if isinstance(log, BookLog) else "")
        if run == kept.record:
            return DebriefKept(run=run, version=kept.version)
        changed = writer.change(run, version=kept.version, reason=f"{REASON} of {told.file if told else answer.car}")
    return DebriefKept(run=run, version=changed.version)


def _run_of(every: Sequence[Kept[Run]], log: LogSource | None, seconds: float) -> Kept[Run]:
    """The run that has the time of the recorded one."""
    if not isinstance(log, BookLog) or not (log.record.event and log.record.person):
        raise WhichRunError(NOBODY_SAID, [])
    timed = [kept for kept in every if kept.record.raw_time is not None and not kept.record.is_void]
    near = [kept for kept in timed if abs((kept.record.raw_time or 0.0) - seconds) <= MOST_APART]
    if len(near) == 1:
        return near[0]
    what = "two runs are" if near else "no run is"
    raise WhichRunError(
        f"The recorded run took {seconds:.3f} s; {what} within {MOST_APART} s of that.",
        [kept.record for kept in near or timed],
    )


def _with_debrief(run: Run, answer: DebriefAnswer, *, log: str) -> Run:
    """A run with what a debrief found. What somebody noted as its focus stays; that of an earlier debrief goes."""
    breakdown, spans = answer.breakdown, {span.id: span for span in answer.geometry.spans}
    assert breakdown is not None
    losses = tuple(
        FeatureLoss(
            feature=gap.id,
            kind=stretch_kind(spans[gap.id], answer.geometry) if gap.id in spans else gap.kind,
            seconds=round(gap.measured - gap.best, 4),
            best=round(gap.best, 4),
        )
        for gap in breakdown.features
    )
    focus = run.focus
    if answer.focuses and (not focus or run.losses):
        first = answer.focuses[0]
        focus = f"{first.feature}: {first.advice}"[:_MOST_LETTERS].rstrip()
    return run.changed(losses=losses, focus=focus, log=log or run.log)

"""Recordings that come from a browser: taken as bytes, read, asked about where columns are unsure, kept in the book."""

from __future__ import annotations

import contextlib
import re
import shutil
import tempfile
from dataclasses import asdict, dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

from conewise.errors import InputError, NotFoundError
from conewise.event.day import Event
from conewise.event.people import Person
from conewise.event.runs import Run
from conewise.logs.mapping import UnclearColumnsError
from conewise.proof.times_file import refuse_size, times_of
from conewise.records import id_of
from conewise.store.files import Files
from conewise.store.logs import StoredLog, keep_log, kept_log
from conewise.toml_source import plain_text
from conewise.workflows.logs import Arms, LogOptions, log_summary, open_log
from conewise.workflows.named import car_from, course_from, kept_recording, kept_source

if TYPE_CHECKING:
    from collections.abc import Sequence

    from conewise.logs.mapping import Question
    from conewise.proof.times import Times
    from conewise.quantities import System
    from conewise.store.repository import Reader
    from conewise.workflows.book_add import Whose
    from conewise.workflows.book_place import BookPlace
    from conewise.workflows.logs import Log

MOST_BYTES = 60_000_000  # of a recording that is sent; the file readers take more from a disk
ENDINGS = (".csv", ".txt", ".tsv", ".dat", ".log", ".nmea", ".gpx", ".fit", ".mf4", ".mdf")
WAITS = timedelta(days=7)  # for an answer about its columns; then a file that was sent is let go
BROKEN = timedelta(hours=1)  # then what a server that was killed had half written is let go
BY = "debrief page"
_INCOMING = "incoming"
_MOST_LETTERS = 80
_SHOWN_VALUES = 5


class UploadSizeError(InputError):
    """A file that is larger than what is taken, or empty."""

    code = "upload-size"
    default_hint = "Cut the recording into shorter ones, and send them one by one."

    def __init__(self, name: str, n_bytes: int) -> None:
        if n_bytes == 0:
            super().__init__(f"'{name}' is empty.", where="file", hint="Copy it from the device again, and send it.")
        else:
            super().__init__(f"'{name}' has more than {MOST_BYTES // 10**6} MB.", where="file")


class UploadKindError(InputError):
    """A file that is no recording by its name."""

    code = "upload-kind"

    def __init__(self, name: str) -> None:
        super().__init__(
            f"'{name}' is no recording by its ending.",
            where="file",
            hint=f"Recordings end in {', '.join(ENDINGS[:-1])} or {ENDINGS[-1]}.",
        )


class UploadGoneError(NotFoundError):
    """A file that was sent and is no longer there."""

    code = "upload-gone"
    default_hint = "Send the file again."

    def __init__(self, address: str) -> None:
        super().__init__("The file that was sent is no longer there.", where=address)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sent:
    """A file as it was sent: its address among those that wait, and a name that is safe to show and to write."""

    address: str
    name: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Asks:
    """Columns that somebody must tell before the recording can be kept."""

    questions: tuple[Question, ...]


def safe_name(told: str) -> str:
    r"""The name of a file without folders, and without what is no letter, digit, dot, dash or space.

    Examples
    --------
    >>> safe_name("../../etc/run <1>.csv"), safe_name("C:\\logs\\ane.csv")
    ('run 1.csv', 'ane.csv')
    """
    last = re.split(r"[/\\]", told)[-1]
    plain = re.sub(r"[^\w.-]+", " ", last).strip(" .")
    stem, dot, ending = plain.rpartition(".")
    return f"{(stem if dot else plain)[:_MOST_LETTERS].strip() or 'recording'}{dot}{ending[:8] if dot else ''}"


def refuse_upload(name: str, n_bytes: int) -> None:
    """Say before or while a file comes that it is not taken.

    Raises
    ------
    UploadKindError, UploadSizeError
    """
    if not name.lower().endswith(ENDINGS):
        raise UploadKindError(name)
    if not 0 < n_bytes <= MOST_BYTES:
        raise UploadSizeError(name, n_bytes)


def take_upload(place: BookPlace, content: bytes, told: str) -> Sent:
    """Put a file that was sent where it waits to be read; what has waited too long is let go.

    Parameters
    ----------
    place : BookPlace
    content : bytes
    told : str
        Its name, as the browser said it.

    Raises
    ------
    UploadKindError, UploadSizeError
        If it is not taken.
    """
    name = safe_name(told)
    refuse_upload(name, len(content))
    return _put(place, content, name)


def take_times(place: BookPlace, content: bytes, told: str) -> Sent:
    """Put a times file that was sent where it waits to be judged.

    Raises
    ------
    TimesFileError
        If it is too large, or nothing in it can be used.
    """
    name = safe_name(told)
    refuse_size(len(content), name, where=name)
    times_of(plain_text(content), file=name)
    return _put(place, content, name)


def _put(place: BookPlace, content: bytes, name: str) -> Sent:
    waiting = _waiting(place)
    _let_go([waiting.path(address) for address in waiting.addresses()], before=place.now() - WAITS)
    _let_go(waiting.leftovers(), before=place.now() - BROKEN)
    return Sent(address=waiting.keep(content), name=name)


def _let_go(paths: Sequence[Path], *, before: datetime) -> None:
    for path in paths:
        with contextlib.suppress(FileNotFoundError):  # another request was quicker
            if path.stat().st_mtime < before.timestamp():
                path.unlink()


def keep_sent(
    place: BookPlace,
    sent: Sent,
    *,
    whose: Whose,
    columns: Sequence[str] = (),
    arms: Arms | None = None,
    system: System = "metric",
) -> Asks | tuple[str, dict[str, object]]:
    """Read a file that was sent and keep it as a recording of the book.

    Parameters
    ----------
    place : BookPlace
    sent : Sent
    whose : Whose
        Whose it is.
    columns : sequence of str
        `COLUMN=QUANTITY[:UNIT]`, what somebody answered.
    arms : Arms, optional
        Where antenna and sensor sit; one that is not said, as a recording of the same file has it that is kept.
    system : str
        Units of the summary.

    Returns
    -------
    Asks or tuple of str and dict
        What must be told first; else the id of the recording, and what is in it.

    Raises
    ------
    UploadGoneError
        If the file is no longer there.
    ConewiseError
        If it cannot be read; it is let go then.
    """
    path = _waiting(place).path(sent.address)
    if not path.is_file():
        return _kept_before(place, sent, system=system)
    with tempfile.TemporaryDirectory() as folder:
        named = Path(folder) / safe_name(sent.name)
        shutil.copyfile(path, named)
        try:
            log = open_log(named, LogOptions(columns=tuple(columns), arms=arms))
        except UnclearColumnsError as unclear:
            return Asks(questions=unclear.questions)
    log_id = _kept(place, sent, log, whose=whose, content=path.read_bytes())
    path.unlink(missing_ok=True)
    return log_id, log_summary(log, system=system).as_dict()


def _kept_before(place: BookPlace, sent: Sent, *, system: System) -> tuple[str, dict[str, object]]:
    """A recording that was kept from this file by work that ended before it could say so.

    Raises
    ------
    UploadGoneError
        If there is none.
    """
    with place.opened(create=False) as book:
        found = next((kept.id for kept in book.every(StoredLog) if kept.record.original == sent.address), "")
        if not found:
            raise UploadGoneError(sent.address)
        log = kept_log(book, found)
    return found, log_summary(log, system=system).as_dict()


def _kept(place: BookPlace, sent: Sent, log: Log, *, whose: Whose, content: bytes) -> str:
    """Keep a recording; one that the book has already keeps its id, another of the same name gets a number."""
    with place.opened(create=False) as book:
        known = {kept.id: kept.record for kept in book.every(StoredLog)}
        address = book.files.keep(content)
        same = next((key for key, record in known.items() if record.original == address), "")
        log_id = same or id_of(Path(sent.name).stem, known)
        if same:
            log = replace(log, arms=_told_or_kept(log.arms, kept_log(book, same).arms))
        keep_log(book, StoredLog(id=log_id, name=sent.name, **asdict(whose)), log=log, original=content, by=BY)
    return log_id


def _told_or_kept(told: Arms, kept: Arms) -> Arms:
    return Arms(
        antenna=kept.antenna if told.antenna is None else told.antenna,
        sensor=kept.sensor if told.sensor is None else told.sensor,
    )


def _waiting(place: BookPlace) -> Files:
    return Files(place.folder / _INCOMING)


def is_waiting(place: BookPlace, address: str) -> bool:
    """Whether a file that was sent still waits."""
    return _waiting(place).path(address).is_file()


def sent_times(place: BookPlace, address: str, *, name: str) -> Times:
    """The runs of a times file that was sent and waits.

    Raises
    ------
    UploadGoneError
        If it is no longer there.
    TimesFileError
        If it cannot be used.
    """
    path = _waiting(place).path(address)
    if not path.is_file():
        raise UploadGoneError(address)
    return times_of(plain_text(path.read_bytes()), file=safe_name(name))


def question_record(question: Question) -> dict[str, Any]:
    """A question about a column, as JSON can hold it."""
    return {
        "column": question.column,
        "unit": question.unit,
        "values": [float(value) for value in question.values[:_SHOWN_VALUES]],
        "guesses": list(question.guesses),
        "probabilities": [round(float(value), 3) for value in question.probabilities],
    }


@dataclass(frozen=True, slots=True, kw_only=True)
class Recording:
    """A recording of the book in a list.

    run: number of the run of the book that it was kept with; 0 where with none.
    """

    id: str
    name: str
    person: str
    person_name: str
    car: str
    start: datetime | None
    duration: float  # [s]
    run: int


def recordings(place: BookPlace, *, event: str = "") -> tuple[Recording, ...]:
    """Recordings of an event and of none, or all where no event is named, by driver and name."""
    with place.opened(create=False) as book, book.reading() as reader:
        logs = [kept.record for kept in reader.every(StoredLog) if not event or kept.record.event in ("", event)]
        names = {kept.id: kept.record.name for kept in reader.every(Person)}
        runs = {kept.record.log: kept.record.order for kept in reader.every(Run) if kept.record.log}
    found = [
        Recording(
            id=one.id, name=one.name, person=one.person, person_name=names.get(one.person, one.person), car=one.car,
            start=one.start, duration=one.duration, run=runs.get(one.id, 0),
        )
        for one in logs
    ]  # fmt: skip
    return tuple(sorted(found, key=lambda one: (one.person_name, one.name, one.id)))


def event_runs(place: BookPlace, event: str, *, person: str = "") -> list[tuple[str, str]]:
    """Timed runs of an event, of one person or of all, as id and words; what was struck out is left out."""
    with place.opened(create=False) as book, book.reading() as reader:
        runs = [kept.record for kept in reader.every(Run, event=event)]
        names = {kept.id: kept.record.name for kept in reader.every(Person)}
    wanted = [run for run in runs if run.raw_time is not None and not run.is_void and person in ("", run.person)]
    wanted.sort(key=lambda run: (names.get(run.person, run.person), run.order))
    return [(run.id, f"{names.get(run.person, run.person)} {run.order}: {run.raw_time:.3f}") for run in wanted]


def run_times(place: BookPlace, event: str, person: str) -> list[str]:
    """Times of a driver's runs at an event in their order, with cones: "47.31+1"."""
    with place.opened(create=False) as book, book.reading() as reader:
        runs = [kept.record for kept in reader.every(Run, event=event, person=person)]
    timed = [run for run in runs if run.raw_time is not None and run.outcome == "timed" and not run.is_void]
    return [f"{run.raw_time:.3f}" + (f"+{run.cones}" if run.cones else "") for run in sorted(timed, key=_order)]


def _order(run: Run) -> int:
    return run.order


def car_file_of(place: BookPlace, *, event: str = "", person: str = "", car: str = "") -> str:
    """Name of the car file that a driver of an event drives with; empty where it is not known."""
    from conewise.event.cars import EventCar

    with place.opened(create=False) as book, book.reading() as reader:
        found = car or _entered(reader, event, person)
        kept = reader.find(EventCar, found) if found else None
    return kept.record.car_file if kept else ""


def _entered(reader: Reader, event: str, person: str) -> str:
    kept = reader.find(Event, event) if event else None
    entries = kept.record.entries if kept else ()
    return next((entry.car for entry in entries if entry.person == person), "")


def runs_found(place: BookPlace, log: str, *, course: str, car: str) -> list[list[Any]]:
    """The runs that a recording of the book has on a course: number, kind, and time, where it has one. [s]

    A first look at the receiver alone tells them at once, with times to a tenth or so; where it sees none that
    finished, the recording is fused and laid as for a debrief.

    Raises
    ------
    ConewiseError
        If something is not there or cannot be read.
    """
    from conewise.course.reference import lay_out
    from conewise.solver.line_results import body_of
    from conewise.workflows import predict
    from conewise.workflows.recorded import recorded, seen_at_once

    with place.opened(create=False) as book:
        source = kept_recording(book, log)
        of_course, of_car = kept_source(book, "course", course), kept_source(book, "car-file", car)
    geometry, machine = lay_out(course_from(of_course)), car_from(of_car)
    body = body_of(predict.parameters(geometry, machine))
    seen = seen_at_once(source, geometry, body)
    if not any(run.finish for run in seen):
        seen = tuple(one.run for one in recorded(source, geometry, body).day.runs)
    return [[run.number, run.kind, run.time] for run in seen]

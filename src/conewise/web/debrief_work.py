"""The works "log-check", "debrief", "debrief-times" and "compare": a recording read and kept, its debrief, two runs."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, ValidationInfo

from conewise.quantities import System  # noqa: TC001  # pydantic reads the annotations
from conewise.records import Id, OptionalId  # noqa: TC001
from conewise.web.work import Desk, Kind, kind_named, register

if TYPE_CHECKING:
    from conewise.reports.debrief_answer import DebriefAnswer
    from conewise.reports.run_told import RunTold
    from conewise.workflows.debrief import DebriefQuestion

_WORDS = 6  # of progress, for about two thirds of a debrief
Words = Annotated[str, Field(min_length=1, max_length=200)]
Number = Annotated[int, Field(ge=1, le=1000)]


class _Asked(BaseModel):
    model_config = ConfigDict(extra="forbid")


def _arm(told: str, field: ValidationInfo) -> str:
    """The same text; an error where it is no place in a car."""
    from conewise.workflows.logs import arm_said

    arm_said(told, where=field.field_name or "")
    return told


class LogCheckAsked(_Asked):
    """A file that was sent, as something to read and to keep.

    sent: address of the file; name: as it was sent; sent_at: when, so that the same file once more is read once more.
    columns: `COLUMN=QUANTITY[:UNIT]`, what somebody answered.
    antenna, sensor: where they sit in the car, as somebody typed it; empty: not told.
    course, car_file: with both, its runs are found and the last finished one is debriefed.
    """

    sent: str = Field(pattern=r"^[0-9a-f]{64}$")
    name: Words
    sent_at: str = Field(max_length=40)
    columns: tuple[Words, ...] = Field(default=(), max_length=200)
    antenna: Annotated[str, Field(max_length=30), AfterValidator(_arm)] = ""
    sensor: Annotated[str, Field(max_length=30), AfterValidator(_arm)] = ""
    event: OptionalId = ""
    person: OptionalId = ""
    car: OptionalId = ""
    course: OptionalId = ""
    car_file: OptionalId = ""
    system: System = "metric"


class DebriefAsked(_Asked):
    """A run of a recording of the book; names are ids of the book.

    run: its number in the recording; the last finished one where None.
    hit: ids of the cones that it hit.
    others: recordings of the day on the same kind of tyre.
    kept_run: id of the run of the book that it is, where its time does not tell.
    """

    log: Id
    course: Id
    car_file: Id
    run: Number | None = None
    hit: tuple[Words, ...] = Field(default=(), max_length=100)
    surface: str = Field(default="", max_length=20)
    others: tuple[Id, ...] = Field(default=(), max_length=20)
    kept_run: OptionalId = ""
    system: System = "metric"


class CompareAsked(_Asked):
    """Two recorded runs; the last finished one of a recording where there is no number."""

    log: Id
    run: Number | None = None
    against: Id
    against_run: Number | None = None
    course: Id
    car_file: Id
    system: System = "metric"


class TimesAsked(_Asked):
    """The runs of a driver at an event, by their times and cones alone; names are ids of the book.

    times: as they stand in the book, so that another run is another question.
    """

    event: Id
    person: Id
    course: Id
    car_file: Id
    times: tuple[Annotated[str, Field(max_length=20)], ...] = Field(min_length=1, max_length=100)


def log_check(asked: LogCheckAsked, desk: Desk) -> dict[str, Any]:
    """What is to be told about its columns; else the recording as it is kept, its runs, and the job of its debrief."""
    from conewise.workflows.book_add import Whose
    from conewise.workflows.logs import arms_said
    from conewise.workflows.recordings import Asks, Sent, keep_sent, question_record

    desk.tell(0.1, f"Reading {asked.name}")
    kept = keep_sent(
        desk.place,
        Sent(address=asked.sent, name=asked.name),
        whose=Whose(event=asked.event, person=asked.person, car=asked.car),
        columns=asked.columns,
        arms=arms_said(asked.antenna, asked.sensor),
        system=asked.system,
    )
    if isinstance(kept, Asks):
        return {"questions": [question_record(one) for one in kept.questions]}
    log, summary = kept
    found = {"log": log, "summary": summary, "runs": None, "next": None}
    if asked.course and asked.car_file:
        desk.show(found)
        desk.tell(0.5, "Finding the runs")
        found |= _runs_and_next(asked, log, desk)
    return found


def _runs_and_next(asked: LogCheckAsked, log: str, desk: Desk) -> dict[str, Any]:
    from conewise.workflows.jobs import ask_next
    from conewise.workflows.recordings import runs_found

    runs = runs_found(desk.place, log, course=asked.course, car=asked.car_file)
    if all(time is None for _, _, time in runs):
        return {"runs": runs, "next": None}
    kind = kind_named("debrief")
    question = DebriefAsked(log=log, course=asked.course, car_file=asked.car_file, system=asked.system)
    job = ask_next(desk.place, kind.name, question.model_dump(mode="json"), names=kind.names, after=desk.job)
    return {"runs": runs, "next": None if job is None else job.id}


def debrief(asked: DebriefAsked, desk: Desk) -> dict[str, Any]:
    """The whole answer; what the recording alone says is shown as soon as it is known."""
    from conewise.reports.debrief_record import debrief_record
    from conewise.workflows.debrief import answer_debrief
    from conewise.workflows.debrief_book import with_written_time

    def first(told: RunTold) -> None:
        desk.show({"told": _told(told, asked.system)})

    question = _question(asked, desk)
    answer = answer_debrief(question, progress=desk.steps(_WORDS), first=first)
    answer = with_written_time(desk.place, answer, log=question.log, run_id=asked.kept_run)
    record = {name: value for name, value in debrief_record(answer).items() if name != "runs"}
    return {"record": record, **_shown(answer, asked.system), "kept": _kept(answer, asked, desk)}


def compare(asked: CompareAsked, desk: Desk) -> dict[str, Any]:
    """Two runs side by side; nothing is solved."""
    from conewise.reports.comparison_record import comparison_record
    from conewise.workflows.compared import SecondRun, answer_comparison
    from conewise.workflows.named import log_source

    first = DebriefAsked(log=asked.log, run=asked.run, course=asked.course, car_file=asked.car_file)
    other = None if asked.against == asked.log else log_source(asked.against, desk.place)
    told = asked.against if asked.against_run is None else f"run {asked.against_run} of {asked.against}"
    against = SecondRun(told=told, log=other, number=asked.against_run)
    answer = answer_comparison(_question(first, desk), against, progress=desk.steps(2))
    record = {name: value for name, value in comparison_record(answer).items() if name != "along"}
    return {"record": record, **_shown(answer, asked.system), "kept": None}


def from_times(asked: TimesAsked, desk: Desk) -> dict[str, Any]:
    """What times and cones say where there is no recording."""
    from conewise.reports.debrief_record import times_record
    from conewise.workflows.debrief_times import answer_times
    from conewise.workflows.named import source

    answer = answer_times(
        asked.times,
        course=source(asked.course, "course", desk.place),
        car=source(asked.car_file, "car-file", desk.place),
        surface=None,
        progress=desk.steps(2),
    )
    return {"record": times_record(answer), "screen": None, "kept": None}


def _question(asked: DebriefAsked, desk: Desk) -> DebriefQuestion:
    from conewise.workflows.debrief import DebriefQuestion
    from conewise.workflows.named import log_source, source

    return DebriefQuestion(
        log=log_source(asked.log, desk.place),
        course=source(asked.course, "course", desk.place),
        car=source(asked.car_file, "car-file", desk.place),
        run=asked.run,
        hit=frozenset(asked.hit),
        surface=asked.surface or None,
        others=tuple(log_source(one, desk.place) for one in asked.others),
        system=asked.system,
    )


def _told(told: RunTold, system: System) -> dict[str, Any]:
    """Times of the run and its features, for the page to show while the rest is worked out."""
    from conewise.reports.debrief_screen import told_screen
    from conewise.reports.units import UNIT_SYSTEMS

    return told_screen(told, UNIT_SYSTEMS[system])


def _shown(answer: DebriefAnswer, system: System) -> dict[str, Any]:
    """What the page and the printed sheet show."""
    from conewise.reports.debrief_pdf import sheet_parts
    from conewise.reports.debrief_screen import debrief_screen
    from conewise.reports.units import UNIT_SYSTEMS

    units = UNIT_SYSTEMS[system]
    data, drawings = sheet_parts(answer, units)
    return {"screen": debrief_screen(answer, units), "sheet": {"data": data, "drawings": drawings}}


def _kept(answer: DebriefAnswer, asked: DebriefAsked, desk: Desk) -> dict[str, Any]:
    """The run of the book that has the debrief now; else why it has not, and which runs it could be."""
    from conewise.workflows.debrief_book import WhichRunError, keep_debrief
    from conewise.workflows.named import log_source

    try:
        kept = keep_debrief(
            desk.place, answer, log=log_source(asked.log, desk.place), run_id=asked.kept_run, by="debrief page"
        )
    except WhichRunError as unclear:
        return {"run": None, "why": unclear.message}
    return {"run": kept.run.id, "order": kept.run.order, "person": kept.run.person, "why": ""}


_NAMES = {"course": "course", "car_file": "car-file"}
_OF_DAY = {"event": "event", "person": "person"}
_OF_LOG = _OF_DAY | {"car": "car", "sent": "file"}
_OF_RUN = {"log": "log", "others": "log", "kept_run": "run"}
register(Kind(name="log-check", asks=LogCheckAsked, work=log_check, own=_NAMES | _OF_LOG))
register(Kind(name="debrief", asks=DebriefAsked, work=debrief, names=_NAMES, own=_OF_RUN))
register(Kind(name="debrief-times", asks=TimesAsked, work=from_times, names=_NAMES, own=_OF_DAY))
register(Kind(name="compare", asks=CompareAsked, work=compare, names=_NAMES, own={"log": "log", "against": "log"}))

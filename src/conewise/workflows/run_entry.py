"""A run is written down: into the table beside an event file, or into the book. Nothing that stands there is lost."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from conewise.errors import ConflictError, InputError
from conewise.event.naming import People
from conewise.event.run_time import said_of, written, written_run
from conewise.event.runs import Run
from conewise.event.runs_file import RunsFileError, read_run_table, run_row, run_table_text
from conewise.scoring.counting import counted
from conewise.workflows.events import LoadedDay, load_day, with_runs
from conewise.workflows.results import answer_results
from conewise.workflows.run_table import add_row

if TYPE_CHECKING:
    from collections.abc import Sequence

    from conewise.event.day import EventDay
    from conewise.scoring.results import ResultRow, Results
    from conewise.store.writer import Writer

MANY_CONES = 10  # so many in one run are asked back; common practice, no source


class RunThereError(ConflictError):
    """The run is written down already."""

    code = "run-there"

    def __init__(self, name: str, before: Run, *, following: int) -> None:
        self.before, self.following = before, following
        super().__init__(
            f"{name} has run {before.order} already: {written(said_of(before))}.",
            where="--run",
            hint=f"Say --reason if this corrects it, or leave --run out: the next one is run {following}.",
        )


class RunTakenBackError(ConflictError):
    """The run was written down and taken back."""

    code = "run-taken-back"
    default_hint = "Enter it anew if it was driven after all."

    def __init__(self, run: str) -> None:
        super().__init__("This run was written down and taken back; it is not written down again.", where=run)


class OddRunError(InputError):
    """A run that may be meant, but rarely is."""

    code = "run-odd"

    def __init__(self, problem: str, *, where: str, hint: str) -> None:
        super().__init__(problem, where=where, hint=hint)


@dataclass(frozen=True, slots=True, kw_only=True)
class RunEntry:
    """A run as somebody says it.

    number: the next one where None.
    is_sure: an odd number or count of cones was asked back and is meant.
    run_id: made by whoever sends the run, so that it is written down once however often it comes; by the program where
        empty. In a book only.
    by: who says it, for the history.
    """

    driver: str  # id, number or name
    time: str
    number: int | None = None
    car: str = ""
    passenger: str = ""
    set_up: str = ""
    tyres: str = ""
    cold_pressures: str = ""  # front left, front right, rear left, rear right, and the unit
    hot_pressures: str = ""
    surface: str = ""
    focus: str = ""
    notes: str = ""
    driven_at: str = ""  # ISO 8601, by the clock of the place
    reason: str = ""  # of a correction
    is_sure: bool = False
    run_id: str = ""
    by: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class RunAdded:
    """A run that is written down, and the results with it."""

    run: Run
    total: float | None  # [s]
    why: str  # what became of a run without a total
    before: Run | None  # the run that it corrects
    loaded: LoadedDay
    results: Results

    @property
    def row(self) -> ResultRow | None:
        """The driver's row of the results."""
        rows = (row for row in self.results.rows if (row.person, row.car) == (self.run.person, self.run.car))
        return next(rows, None)


def add_run(loaded: LoadedDay, entry: RunEntry) -> RunAdded:
    """Write a run down.

    Which run is the next one is looked up while nobody else can write.

    Raises
    ------
    RunThereError
        If the run is there already and no reason is given.
    OddRunError
        If its number leaves runs out, or it has many cones, and that is not said to be meant.
    ConewiseError
        If the driver, the car or the time is not clear, or the book or the table cannot be written.
    """
    after, run, before = _in_book(loaded, entry) if loaded.runs_file is None else _in_table(loaded, entry)
    scored = counted(run, loaded.rules.penalty)
    return RunAdded(
        run=run, total=scored.total, why=scored.why, before=before, loaded=after, results=answer_results(after)
    )


def _in_table(loaded: LoadedDay, entry: RunEntry) -> tuple[LoadedDay, Run, Run | None]:
    """The day once a row is at the end of its table; what is refused is refused before anything is written."""
    assert loaded.runs_file is not None
    _cells(loaded.day, entry, loaded.day.runs)
    states: list[tuple[LoadedDay, Run, Run | None]] = []

    def row(text: str) -> dict[str, str]:
        current = with_runs(loaded, text.encode()) if text else loaded
        cells, before = _cells(current.day, entry, current.day.runs)
        after = with_runs(loaded, run_table_text([cells], before=text).encode())
        run = next(one for one in after.day.runs if (one.person, one.order) == (cells["driver"], int(cells["run"])))
        states.append((after, run, before))
        return cells

    add_row(loaded.runs_file, row)
    return states[-1]


def _in_book(loaded: LoadedDay, entry: RunEntry) -> tuple[LoadedDay, Run, Run | None]:
    """The day once a run is in the book: a new record, or a new version of the one that it corrects."""
    source = loaded.source
    assert source is not None
    with source.opened(create=False) as book, book.writing(by=entry.by) as writer:
        run, before = kept_run(writer, loaded.day, entry)
    return load_day(Path(loaded.day.event.id), source=source), run, before


def _found(before: Run, run: Run) -> dict[str, Any]:
    """What a debrief found of a run that is corrected: nothing any more where it found it of another time."""
    if run.raw_time != before.raw_time:
        return {}
    return {"losses": before.losses, "focus": run.focus or before.focus}


def kept_run(writer: Writer, day: EventDay, entry: RunEntry) -> tuple[Run, Run | None]:
    """Keep a run inside a transaction on the book: the run, and the one that it corrects.

    A run whose id came before is the run that is there, whatever else it says now.

    Raises
    ------
    RunTakenBackError
        If the run of that id was removed.
    RunThereError, OddRunError, ConewiseError
        See `add_run`.
    """
    if entry.run_id and (versions := writer.history(Run, entry.run_id)):
        if versions[-1].record is None:
            raise RunTakenBackError(entry.run_id)
        return versions[-1].record, None
    everyones = [kept.record for kept in writer.every(Run, event=day.event.id)]
    cells, before = _cells(day, entry, everyones)
    (run,) = read_run_table(run_table_text([cells]).encode(), day, file="--time").runs
    if before is not None:
        kept = writer.one(Run, before.id)
        run = run.changed(id=before.id, log=before.log, **_found(before, run))
        writer.change(run, version=kept.version, reason=run.reason)
        return run, before
    if entry.run_id:
        run = run.changed(id=entry.run_id)
    elif run.id in (taken := writer.ids(Run)):
        run = run.changed(id=_free(run.id, taken))
    writer.add(run)
    return run, None


def _free(base: str, taken: frozenset[str]) -> str:
    """An id that no other run has: a run that was numbered anew may have the usual one."""
    number = 2
    while f"{base[:54]}-{number}" in taken:
        number += 1
    return f"{base[:54]}-{number}"


def _cells(day: EventDay, entry: RunEntry, runs: Sequence[Run]) -> tuple[dict[str, str], Run | None]:
    """A run as the cells of a row, and the run that it corrects."""
    people = People(day)
    person = people.named(entry.driver, where="--driver")
    said = written_run(entry.time, where="--time")
    own = [run for run in runs if run.person == person.id]
    following = max((run.order for run in own), default=0) + 1
    number = entry.number or following
    before = next((run for run in own if run.order == number), None)
    if before is None and entry.reason:
        hint = "Leave the reason out, or say with --run which run it corrects."
        raise RunsFileError(f"{person.name} has no run {number} to correct.", where="--run", hint=hint)
    if before is not None and not entry.reason:
        raise RunThereError(person.name, before, following=following)
    if not entry.is_sure:
        _ask_back(person.name, number, following=following, cones=said.cones)
    passenger = people.named(entry.passenger, where="--passenger").id if entry.passenger else ""
    cells = {
        "driver": person.id, "run": str(number), "time": entry.time.strip(), "reason": entry.reason,
        "car": people.car_of(person, entry.car or (before.car if before else ""), where="--car"),
        "passenger": passenger or (before.passenger if before else ""), "driven_at": entry.driven_at,
        "focus": entry.focus, "notes": " ".join(entry.notes.split()), "set_up": entry.set_up, "tyres": entry.tyres,
        "cold_pressures": entry.cold_pressures, "hot_pressures": entry.hot_pressures, "surface": entry.surface,
    }  # fmt: skip
    if before is not None:
        cells = run_row(before, time=cells["time"]) | {name: value for name, value in cells.items() if value}
    return cells, before


def _ask_back(name: str, number: int, *, following: int, cones: int) -> None:
    if number > following:
        missing = f"run {following} is" if number == following + 1 else f"runs {following} to {number - 1} are"
        raise OddRunError(
            f"You say run {number}; the next run of {name} is {following}, and {missing} not written down.",
            where="--run",
            hint=f"Leave --run out for run {following}, or say --sure if it is run {number}.",
        )
    if cones >= MANY_CONES:
        raise OddRunError(
            f"You say {cones} cones in one run.",
            where="--time",
            hint=f"Say --sure if {name} hit so many; otherwise count again, such as 62.345+1.",
        )

"""What happened: results of an event day, and runs that are written down."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from conewise.event.naming import People
from conewise.event.run_time import written_run
from conewise.event.runs import Run
from conewise.event.runs_file import RunsFileError, read_run_table, run_row, run_table_text
from conewise.reports.files import UnwritableFileError
from conewise.scoring.counting import counted
from conewise.scoring.results import WHO_DECIDES, Results, day_results
from conewise.workflows.events import LoadedDay, load_day, with_runs

if TYPE_CHECKING:
    from conewise.event.runs_file import Correction
    from conewise.scoring.results import ResultRow


@dataclass(frozen=True, slots=True, kw_only=True)
class RunEntry:
    """A run as somebody says it."""

    driver: str  # id, number or name
    time: str
    number: int | None = None  # the next one where None
    car: str = ""
    passenger: str = ""
    focus: str = ""
    notes: str = ""
    reason: str = ""  # of a correction


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


def answer_results(loaded: LoadedDay) -> Results:
    """The results of a day as far as it has come."""
    return day_results(loaded.day, loaded.rules, indexes=loaded.indexes)


def add_run(loaded: LoadedDay, entry: RunEntry) -> RunAdded:
    """Write a run into the table of a day; nothing that stands there is lost.

    Raises
    ------
    ConewiseError
        If the driver, the car or the time is not clear, or the run is there already and no reason is given.
    """
    people = People(loaded.day)
    person = people.named(entry.driver, where="--driver")
    written_run(entry.time, where="--time")  # refused before anything else is looked at
    own = [run for run in loaded.day.runs if run.person == person.id]
    number = entry.number or max((run.order for run in own), default=0) + 1
    before = next((run for run in own if run.order == number), None)
    if before is None and entry.reason:
        hint = "Leave the reason out, or say with --run which run it corrects."
        raise RunsFileError(f"{person.name} has no run {number} to correct.", where="--run", hint=hint)
    if before is not None and not entry.reason:
        hint = "Say --reason if this corrects it, or leave --run out for the next one."
        raise RunsFileError(f"{person.name} has run {number} already: {before.written}.", where="--run", hint=hint)
    passenger = people.named(entry.passenger, where="--passenger").id if entry.passenger else ""
    cells = {
        "driver": person.id, "run": str(number), "time": entry.time.strip(), "reason": entry.reason,
        "car": people.car_of(person, entry.car or (before.car if before else ""), where="--car"),
        "passenger": passenger or (before.passenger if before else ""),
        "focus": entry.focus, "notes": " ".join(entry.notes.split()),
    }  # fmt: skip
    if before is not None:
        cells = run_row(before, time=cells["time"]) | {name: value for name, value in cells.items() if value}
    after = _kept_in_book(loaded, cells, before) if loaded.runs_file is None else _kept_in_table(loaded, cells)
    run = next(one for one in after.day.runs if (one.person, one.order) == (person.id, number))
    scored = counted(run, loaded.rules.penalty)
    return RunAdded(
        run=run, total=scored.total, why=scored.why, before=before, loaded=after, results=answer_results(after)
    )


def _kept_in_table(loaded: LoadedDay, cells: dict[str, str]) -> LoadedDay:
    """The day once a row is at the end of its table; refused before anything is written."""
    assert loaded.runs_file is not None
    content = _existing(loaded.runs_file)
    after = with_runs(loaded, run_table_text([cells], before=content.decode("utf-8-sig", "replace")).encode())
    _append(loaded.runs_file, cells, content)
    return after


def _kept_in_book(loaded: LoadedDay, cells: dict[str, str], before: Run | None) -> LoadedDay:
    """The day once a run is in the book: a new record, or a new version of the one that it corrects."""
    from conewise.workflows.book_place import opened

    source = loaded.source
    assert source is not None
    (run,) = read_run_table(run_table_text([cells]).encode(), loaded.day, file="--time").runs
    with opened(source.book, now=source.now, create=False) as book:
        if before is None:
            book.add(run)
        else:
            version = book.one(Run, before.id).version
            book.change(run.changed(id=before.id), version=version, reason=run.reason)
    return load_day(Path(loaded.day.event.id), source=source)


def _existing(path: Path) -> bytes:
    return path.read_bytes() if path.is_file() else b""


def _append(path: Path, cells: dict[str, str], content: bytes) -> None:
    """Add one row at the end of the file, so that what another process adds at the same time stays."""
    plain = content.decode("utf-8-sig", "replace").replace("\r\n", "\n").replace("\r", "\n")
    whole = run_table_text([cells], before=plain)
    added = whole[len(plain) :] if plain else whole
    try:
        with path.open("ab") as file:
            file.write(added.encode())
            file.flush()
    except OSError as reason:
        raise UnwritableFileError(path, reason.strerror or "the system refuses") from reason


def results_record(results: Results, corrections: tuple[Correction, ...] = ()) -> dict[str, Any]:
    """The results as one JSON object; times in seconds."""
    return {
        "ok": True,
        "event": results.event,
        "provisional": True,
        "who_decides": WHO_DECIDES,
        "counted_runs": results.rule.counted_runs,
        "ties": results.rule.ties,
        "rows": [_row_record(row) for row in results.rows],
        "not_entered": list(results.not_entered),
        "corrections": [
            {
                "driver": one.after.person,
                "run": one.after.order,
                "before": one.before.written,
                "after": one.after.written,
                "reason": one.reason,
            }
            for one in corrections
        ],
    }


def _row_record(row: ResultRow) -> dict[str, Any]:
    return {
        "place": row.place,
        "class": row.class_code,
        "driver": row.person,
        "name": row.name,
        "car": row.car,
        "number": row.number,
        "raw_time_s": row.raw_time,
        "cones": row.cones,
        "total_s": row.total,
        "behind_s": row.behind,
        "is_tied": row.is_tied,
        "index": row.index,
        "indexed_s": row.indexed,
        "overall_place": row.overall_place,
        "runs": [
            {
                "run": one.run.order,
                "raw_time_s": one.run.raw_time,
                "cones": one.run.cones,
                "outcome": one.run.outcome,
                "is_void": one.run.is_void,
                "total_s": one.total,
            }
            for one in row.runs
        ],
    }

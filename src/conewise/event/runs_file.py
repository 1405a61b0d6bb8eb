"""Runs in a table (CSV): one row a run; a later row with a reason corrects an earlier one, and both stay."""

from __future__ import annotations

import csv
import hashlib
import io
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from pydantic import ValidationError

from conewise import quantities
from conewise.errors import InputError
from conewise.event.naming import People
from conewise.event.run_time import said_of, written, written_run
from conewise.event.runs import Run
from conewise.toml_source import plain_text, short, text_problem

if TYPE_CHECKING:
    from collections.abc import Sequence

    from conewise.event.day import EventDay

COLUMNS = (
    "driver", "run", "time", "car", "passenger", "driven_at", "set_up", "tyres", "cold_pressures", "hot_pressures",
    "surface", "focus", "notes", "log", "reason",
)  # fmt: skip
_RESULT = ("person", "car", "order", "outcome", "raw_time", "cones", "is_void")
_NEEDED = ("driver", "run", "time")
_PLAIN = ("set_up", "tyres", "surface", "focus", "notes", "log", "reason")
_WHEELS = 4
_MOST_ID = 60  # letters


class RunsFileError(InputError):
    """A table of runs, or a row of it, cannot be used."""

    code = "runs-file"
    default_hint = "docs/formats-event.md shows a full table of runs with every column."

    def __init__(self, problem: str, *, where: str, hint: str = "") -> None:
        super().__init__(problem, where=where, hint=hint)


@dataclass(frozen=True, slots=True, kw_only=True)
class Correction:
    """A run that was written down anew."""

    before: Run
    after: Run
    reason: str

    @property
    def is_of_result(self) -> bool:
        """Whether it changes what results are made of; a note or a debrief, written to the run later, does not."""
        return any(getattr(self.before, name) != getattr(self.after, name) for name in _RESULT)


@dataclass(frozen=True, slots=True, kw_only=True)
class RunTable:
    """The runs of a day as they stand, in the order of the table, and what of their results was corrected."""

    runs: tuple[Run, ...] = ()
    corrections: tuple[Correction, ...] = ()


def read_run_table(content: bytes, day: EventDay, *, file: str) -> RunTable:
    """The runs of a table.

    Parameters
    ----------
    content : bytes
        Delimited text with a header; columns are parted by commas, semicolons or tabs.
    day : EventDay
        Whose people and cars the rows name.
    file : str
        For messages.

    Raises
    ------
    RunsFileError
        If it is no table, a column is unknown, or a row contradicts an earlier one without a reason.
    TimeFormError
        If a time cannot be understood.
    UnknownPersonError, AmbiguousPersonError, AmbiguousCarError
        If it is not clear who drove what.
    """
    text = plain_text(content)
    if problem := text_problem(text):
        raise RunsFileError(f"'{file}' {problem}.", where=file)
    reader = csv.reader(io.StringIO(text), delimiter=_delimiter(text), strict=True)
    people = People(day)
    current: dict[tuple[str, int], Run] = {}
    corrections: list[Correction] = []
    try:
        header = _header(next(reader, []), file)
        for row in reader:
            if not any(cell.strip() for cell in row):
                continue
            where = f"{file}, line {reader.line_num}"
            run = _run(_cells(header, row, where), people, day=day, where=where)
            key = (run.person, run.order)
            if key in current:
                corrections.append(_correction(current[key], run, day, where=where))
            current[key] = run
    except csv.Error as error:
        raise RunsFileError(f"The table breaks off: {error}.", where=f"{file}, line {reader.line_num}") from None
    return RunTable(runs=tuple(current.values()), corrections=tuple(one for one in corrections if one.is_of_result))


def run_row(run: Run, *, time: str = "") -> dict[str, str]:
    """A run as one row of the table; what is empty is left empty."""
    cells = {"driver": run.person, "run": str(run.order), "time": time or run.written or written(said_of(run))}
    cells |= {"car": run.car, "passenger": run.passenger}
    cells["driven_at"] = run.driven_at.isoformat() if run.driven_at else ""
    for name in ("cold_pressures", "hot_pressures"):
        pressures = getattr(run, name)
        cells[name] = " ".join(map(repr, pressures)) + " Pa" if pressures else ""
    return cells | {name: getattr(run, name) for name in _PLAIN}


def run_table_text(rows: Sequence[dict[str, str]], *, before: str = "") -> str:
    """Text of a table with more rows behind those that it has; with a header where it has none.

    The columns of a table that is there stay; RunsFileError where it has no column for what is to be written.
    """
    out = io.StringIO()
    delimiter = _delimiter(before) if before.strip() else ","
    header = list(COLUMNS)
    if before.strip():
        header = _header(next(csv.reader(io.StringIO(before), delimiter=delimiter)), "the table of runs")
        out.write(before if before.endswith("\n") else before + "\n")
    writer = csv.writer(out, delimiter=delimiter, lineterminator="\n")
    if not before.strip():
        writer.writerow(header)
    for row in rows:
        lost = [name for name, value in row.items() if value and name not in header]
        if lost:
            raise RunsFileError(
                f"The table has no column for {', '.join(lost)}.",
                where="header",
                hint="Add it to the first line.",
            )
        writer.writerow([row.get(name, "") for name in header])
    return out.getvalue()


def _delimiter(text: str) -> str:
    """What parts the columns of the header."""
    first = text.lstrip("\n").split("\n", 1)[0]
    return max(",;\t", key=first.count)


def _header(cells: Sequence[str], file: str) -> list[str]:
    header = [cell.strip().lower().replace(" ", "_") for cell in cells]
    where = f"{file}, line 1"
    for name in header:
        if name not in COLUMNS:
            raise RunsFileError(f"There is no column '{name}'.", where=where, hint=f"Columns: {', '.join(COLUMNS)}.")
        if header.count(name) > 1:
            raise RunsFileError(f"The column '{name}' stands twice.", where=where)
    missing = [name for name in _NEEDED if name not in header]
    if missing:
        raise RunsFileError(f"The column '{missing[0]}' is missing.", where=where)
    return header


def _cells(header: Sequence[str], row: Sequence[str], where: str) -> dict[str, str]:
    if len(row) > len(header):
        raise RunsFileError(
            f"This row has {len(row)} cells, the header {len(header)}.",
            where=where,
            hint='A comma within a cell needs quotation marks: "62,345".',
        )
    return {name: cell.strip() for name, cell in zip(header, row, strict=False)}


def _run(cells: dict[str, str], people: People, *, day: EventDay, where: str) -> Run:
    person = people.named(cells["driver"], where=f"{where}, driver")
    order = cells.get("run", "")
    if not order.isascii() or not order.isdigit():
        raise RunsFileError(f"The run is {short(order)}; its number (1, 2, ...) is wanted.", where=f"{where}, run")
    said = written_run(cells.get("time", ""), where=f"{where}, time")
    passenger = cells.get("passenger", "")
    values: dict[str, Any] = {
        "id": _run_id(day.event.id, person.id, int(order)),
        "event": day.event.id,
        "person": person.id,
        "car": people.car_of(person, cells.get("car", ""), where=f"{where}, car"),
        "order": int(order),
        "outcome": said.outcome,
        "raw_time": said.raw_time,
        "cones": said.cones,
        "is_void": said.is_void,
        "written": cells["time"],
        "passenger": people.named(passenger, where=f"{where}, passenger").id if passenger else "",
        "driven_at": cells.get("driven_at") or None,
    }
    for name in ("cold_pressures", "hot_pressures"):
        values[name] = _pressures(cells.get(name, ""), f"{where}, {name}")
    values |= {name: cells.get(name, "") for name in _PLAIN}
    if values["car"] and day.car(values["car"]) is None:
        known = ", ".join(car.id for car in day.cars)
        raise RunsFileError(f"There is no car '{values['car']}'.", where=f"{where}, car", hint=f"Cars: {known}.")
    try:
        return Run.model_validate(values)
    except ValidationError as error:
        first = error.errors()[0]
        name = str(first["loc"][0]) if first["loc"] else "time"
        problem = f"'{name}' cannot be {short(first['input'])}" if first["loc"] else first["msg"].split(": ", 1)[-1]
        raise RunsFileError(f"{problem}.", where=f"{where}, {name}") from None


def _run_id(event: str, person: str, order: int) -> str:
    """Id of a run, one and the same for one event, person and number; names that are too long end in a hash."""
    plain = f"{event}-{person}-{order}"
    if len(plain) <= _MOST_ID:
        return plain
    return f"{event[:20]}-{person[:20]}-{hashlib.sha256(plain.encode()).hexdigest()[:12]}-{order}"


def _pressures(text: str, where: str) -> tuple[float, ...] | None:
    """Four pressures with one unit behind them: front left, front right, rear left, rear right. [Pa]"""
    if not text:
        return None
    *numbers, unit = text.split()
    if len(numbers) != _WHEELS:
        hint = 'Write front left, front right, rear left, rear right and the unit: "32 32 30 30 psi".'
        raise RunsFileError(f"The pressures are {short(text)}; four and a unit are wanted.", where=where, hint=hint)
    return tuple(quantities.parse(f"{number} {unit}", "pressure", where=where) for number in numbers)


def _correction(before: Run, after: Run, day: EventDay, *, where: str) -> Correction:
    if not after.reason:
        raise RunsFileError(
            f"{day.called(after.person)} has run {after.order} already: {before.written}.",
            where=where,
            hint="Give the next number, or a reason in the column 'reason' if this row corrects the earlier one.",
        )
    return Correction(before=before, after=after, reason=after.reason)

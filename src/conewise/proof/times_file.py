"""Times files: a table of runs by the clock. A row that is not understood is a finding with its line."""

from __future__ import annotations

import csv
import io
from collections import defaultdict
from dataclasses import dataclass, replace
from datetime import date
from pathlib import PurePath
from typing import TYPE_CHECKING

import numpy as np

from conewise.errors import InputError, NotFoundError
from conewise.findings import Finding
from conewise.proof.times import FINISHED, Times
from conewise.proof.written import (
    MOST_CONES,
    UnreadableCellError,
    is_day_first,
    written_count,
    written_date,
    written_outcome,
    written_passenger,
    written_surface,
    written_time,
)
from conewise.toml_source import nearest, plain_text, text_problem

if TYPE_CHECKING:
    from pathlib import Path

COLUMNS = ("date", "event", "driver", "run", "raw_time_s", "cones", "outcome", "setup", "passenger", "surface_c")
MOST_RUN = 500
_NEEDED = ("raw_time_s", "setup")
_SHORT = {"raw_time": "raw_time_s", "surface": "surface_c", "set_up": "setup"}
MOST_BYTES = 20_000_000
_MOST_SHOWN = 20  # findings of one kind; the rest is counted
_ALONE = {"event": "one event", "driver": "one driver"}


class TimesFileError(InputError):
    """A times file of which nothing can be used."""

    code = "times-file"
    default_hint = f"Columns: {', '.join(COLUMNS)}; one row a run. docs/formats-times.md has a full example."

    def __init__(self, problem: str, *, where: str, hint: str = "") -> None:
        super().__init__(problem, where=where, hint=hint)


class TimesFileMissingError(NotFoundError):
    """There is no times file of that name."""

    code = "times-file-missing"

    def __init__(self, path: Path) -> None:
        super().__init__(f"There is no file '{path.name}' here.", where=str(path))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Run:
    """One row, understood."""

    line: int
    date: float
    event: str
    driver: str
    run: int
    raw_time: float
    cones: float
    outcome: str
    setup: str
    passenger: bool
    surface: float
    is_other_unit: bool = False  # of the surface's temperature, beside that of its column


def read_times(path: Path) -> Times:
    """The runs of a times file.

    Parameters
    ----------
    path : Path
        A delimited text, the first row with the names of the columns: see docs/formats-times.md.

    Returns
    -------
    Times
        In driving order; `findings` names every row that was left out, with its line.

    Raises
    ------
    TimesFileMissingError
        If there is no such file.
    TimesFileError
        If it is no text, a column that is needed is missing, or no row can be used.
    """
    if not path.is_file():
        raise TimesFileMissingError(path)
    refuse_size(path.stat().st_size, path.name, where=str(path))
    return times_of(plain_text(path.read_bytes()), file=str(path))


def refuse_size(n_bytes: int, name: str, *, where: str) -> None:
    """Refuse a file that is too large. Raises `TimesFileError`."""
    if n_bytes > MOST_BYTES:
        problem = f"'{name}' has more than {MOST_BYTES // 10**6} MB; a season of times is a small text."
        raise TimesFileError(problem, where=where)


def times_of(text: str, *, file: str) -> Times:
    """The runs of a table. Raises `TimesFileError` as `read_times`."""
    if unreadable := text_problem(text):
        raise TimesFileError(f"'{PurePath(file).name}' {unreadable}.", where=file)
    names, table, findings = _table(text, file)
    rows, problems, units = _rows(names, table, file)
    rows = _by_day(rows)
    rows, doubled = _single(rows, file)
    findings += _shown(problems) + _shown(units) + _shown(doubled)
    if not rows:
        problem = problems[0] if problems else None
        said = f" The first: {problem.message}" if problem else ""
        raise TimesFileError(f"No run can be used.{said}", where=problem.where if problem else file)
    order = _driving_order(rows)
    rows = [rows[index] for index in order]
    arrays = {
        name: np.array([getattr(row, name) for row in rows])
        for name in _Run.__dataclass_fields__
        if name in Times.__dataclass_fields__
    }
    return Times(file=file, findings=tuple(findings), **arrays)


def _table(text: str, file: str) -> tuple[list[str], list[tuple[int, list[str]]], list[Finding]]:
    """Names of the columns, rows with their lines, and what was not used."""
    head = text.lstrip().splitlines()[0]
    delimiter = max(";\t|,", key=head.count)
    try:
        reader = csv.reader(io.StringIO(text), delimiter=delimiter)
        table = [(reader.line_num, [cell.strip() for cell in row]) for row in reader if any(map(str.strip, row))]
    except csv.Error as error:
        raise TimesFileError(f"The table cannot be read: {error}.", where=file) from None
    line, cells = table[0]
    plain = [cell.lower().lstrip("# ").replace(" ", "_").replace("-", "_") for cell in cells]
    names = [_SHORT.get(name, name) for name in plain]
    for needed in _NEEDED:
        if needed not in names:
            raise TimesFileError(f"The column '{needed}' is missing.", where=f"{file}, line {line}")
    double = next((name for name in names if name and names.count(name) > 1), "")
    if double:
        raise TimesFileError(f"There are two columns '{double}'.", where=f"{file}, line {line}")
    unknown = [name for name in names if name and name not in {*COLUMNS, "surface_f"}]
    findings = [
        Finding(
            "note", "column-unused", f"The column '{name}' is not used. {nearest(name, list(COLUMNS))}".strip(), file
        )
        for name in unknown
    ]
    for name, one in _ALONE.items():
        if name not in names and not (name == "event" and "date" in names):
            findings.append(
                Finding("note", "column-missing", f"No column '{name}': all runs are taken as of {one}.", file)
            )
    if "run" not in names:
        words = "No column 'run': the rows are taken in the order in which they were driven."
        findings.append(Finding("note", "column-missing", words, file))
    return names, table[1:], findings


def _rows(
    names: list[str], table: list[tuple[int, list[str]]], file: str
) -> tuple[list[_Run], list[Finding], list[Finding]]:
    """The rows that are understood, what is wrong with the others, and temperatures not in the unit of their column."""
    known = {name: index for index, name in enumerate(names)}
    dates = [cells[known["date"]] for _, cells in table if "date" in known and len(cells) > known["date"]]
    day_first = is_day_first(dates)
    counts: dict[tuple[str, str, str], int] = defaultdict(int)
    rows, problems, units = [], [], []
    for line, cells in table:
        place = f"{file}, line {line}"
        if len(cells) > len(names) and any(cells[len(names) :]):
            words = (
                f"{len(cells)} fields, the first row names {len(names)}: row left out. "
                "A decimal comma between commas must stand in quotation marks."
            )
            problems.append(Finding("warning", "row-unread", words, place))
            continue
        texts = {name: cells[index] if index < len(cells) else "" for name, index in known.items()}
        try:
            run = _run(line, texts, counts, day_first=day_first)
        except UnreadableCellError as problem:
            problems.append(Finding("warning", "row-unread", f"{problem}: row left out.", place))
            continue
        rows.append(run)
        if run.is_other_unit:
            column = _surface_column(texts)
            words = f"'{texts[column]}' in the column {column}: taken as {run.surface:.1f} °C."
            units.append(Finding("warning", "surface-unit", words, place))
    return rows, problems, units


def _surface_column(texts: dict[str, str]) -> str:
    return "surface_c" if "surface_c" in texts else "surface_f"


def _run(line: int, texts: dict[str, str], counts: dict[tuple[str, str, str], int], *, day_first: bool | None) -> _Run:
    """One row; the number of a run is counted where the file has none."""
    event = texts.get("event") or texts.get("date") or "one event"
    driver = texts.get("driver") or "one driver"
    time = written_time(texts["raw_time_s"])
    outcome = written_outcome(texts.get("outcome", ""))
    outcome = time.outcome if outcome == FINISHED else outcome
    if outcome == FINISHED and not np.isfinite(time.raw):
        raise UnreadableCellError("no raw time and no outcome such as dnf")
    cones = written_count(texts.get("cones", ""), most=MOST_CONES)
    if time.cones is not None:
        if np.isfinite(cones) and cones != time.cones:
            raise UnreadableCellError(f"{time.cones} cones behind the time, {cones:.0f} in their column")
        cones = float(time.cones)
    day = texts.get("date", "")
    counts[event, day, driver] += 1
    run = counts[event, day, driver]
    if "run" in texts:
        number = written_count(texts["run"], most=MOST_RUN)
        if not number >= 1:
            raise UnreadableCellError(f"run is '{texts['run']}'; wanted is its number, from 1")
        run = int(number)
    column = _surface_column(texts)
    surface = written_surface(texts.get(column, ""), is_fahrenheit=column == "surface_f")
    return _Run(
        line=line,
        date=written_date(texts.get("date", ""), day_first=day_first),
        event=event,
        driver=driver,
        run=run,
        raw_time=time.raw if outcome == FINISHED else np.nan,
        cones=cones,
        outcome=outcome,
        setup=texts["setup"],
        passenger=written_passenger(texts.get("passenger", "")),
        surface=surface.value,
        is_other_unit=surface.is_other_unit,
    )


def _by_day(rows: list[_Run]) -> list[_Run]:
    """An event that goes on over several days has another course each day: each day is an event of its own."""
    days = defaultdict(set)
    for row in rows:
        if np.isfinite(row.date):
            days[row.event].add(row.date)
    return [
        replace(row, event=f"{row.event}, {date.fromordinal(int(row.date))}")
        if len(days[row.event]) > 1 and np.isfinite(row.date)
        else row
        for row in rows
    ]


def _single(rows: list[_Run], file: str) -> tuple[list[_Run], list[Finding]]:
    """Every run once: equal rows count once, and of rows that contradict each other none counts."""
    same = defaultdict(list)
    for row in rows:
        same[row.event, row.driver, row.run].append(row)
    kept, findings = [], []
    for (event, driver, number), found in same.items():
        first, *others = found
        who = f"run {number} of {driver}, {event}"
        place = f"{file}, line {', '.join(str(row.line) for row in found)}"
        if all(_content(row) == _content(first) for row in others):
            kept.append(first)
            if others:
                findings.append(
                    Finding("warning", "row-doubled", f"Stands here {len(found)} times, {who}: used once.", place)
                )
        else:
            words = f"Rows that contradict each other, {who}: none is used. A run driven again has a number of its own."
            findings.append(Finding("warning", "row-contradicted", words, place))
    return kept, findings


def _content(row: _Run) -> tuple[str, ...]:
    """What a row says, whatever its line."""
    return tuple(str(getattr(row, name)) for name in _Run.__dataclass_fields__ if name != "line")


def _driving_order(rows: list[_Run]) -> list[int]:
    """By day; events and drivers of a day as the file has them; then by the number of the run."""
    first: dict[tuple[str, str], int] = {}
    days: dict[str, float] = {}
    for row in rows:
        first.setdefault((row.event, ""), row.line)
        first.setdefault((row.event, row.driver), row.line)
        days[row.event] = min(days.get(row.event, np.inf), row.date if np.isfinite(row.date) else np.inf)
    keys = [(days[row.event], first[row.event, ""], first[row.event, row.driver], row.run) for row in rows]
    return sorted(range(len(rows)), key=lambda index: keys[index])


def _shown(findings: list[Finding]) -> list[Finding]:
    """The first findings, and how many more there are."""
    if len(findings) <= _MOST_SHOWN:
        return findings
    more = len(findings) - _MOST_SHOWN
    return [*findings[:_MOST_SHOWN], Finding("warning", findings[0].code, f"The same in {more} more places.")]

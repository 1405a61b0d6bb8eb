"""From the columns of a table to the channels of a log: what they mean, in the log's units, on one clock."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import numpy as np

from conewise.findings import Finding
from conewise.logs.clock import LogClockError, in_order, moment, seconds_of
from conewise.logs.held import fix_interval, new_values
from conewise.logs.log import KINDS, Channel, Log
from conewise.logs.mapping import Meaning, Question, UnclearColumnsError, UnknownColumnError, meaning, question
from conewise.logs.places import metres, speed_scale
from conewise.logs.recognition import SURE, Proposal, day_of, propose, reweighed
from conewise.logs.units import DATE, DATES, TIME, in_own_unit, is_unit_of, plain_unit, usual_units, without_unit

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from conewise.logs.columns import Array, Column, Table

# What a GNSS receiver measures, by what it measures together.
_RECEIVED = (
    ("latitude", "longitude"),
    ("altitude",), ("x", "y"), ("speed",), ("course",), ("horizontal_accuracy",), ("hdop",),
    ("satellites",), ("fix_quality",),
)  # fmt: skip
_MIXED = {"wheel_speed"}  # kinds of which several columns are one channel
_ABSURD = 1e25  # nanoseconds since 1970 are 2e18
_WORTH_ASKING = 1e-4  # probability of being the time from which a column is asked for where none is sure
_UNIT_TRUST = 0.06  # spread of the logarithm of speed over distance by time


@dataclass(frozen=True, slots=True)
class _Used:
    """A column with what it means."""

    column: Column
    meaning: Meaning
    probability: float
    is_said: bool = False


def log_of(table: Table, mapping: Mapping[str, str] | None = None) -> Log:
    """The log that a table holds.

    Parameters
    ----------
    table : Table
        Columns as the file has them.
    mapping : mapping of str to str, optional
        Column -> `quantity[:unit]`, for columns that a person has spoken about.

    Raises
    ------
    UnknownColumnError
        If the mapping names a column that is not there.
    UnclearColumnsError
        If it is not sure what a column is.
    LogClockError
        If there is no clock that runs.
    """
    table = _without_the_absurd(table)
    said = _said(table, mapping or {})
    proposals = proposed(table, said)
    used = _used(table, said, proposals)
    clock = _clock(table, used)
    _ask(table, used, said, proposals)
    columns = [entry for entry in used if entry.meaning.quantity in KINDS]
    if clock is None:
        return _own_clocks(table, columns)
    return _one_clock(table, columns, clock, used)


def proposed(table: Table, said: Mapping[str, Meaning] | None = None) -> dict[str, Proposal]:
    """What every column may be and how probable that is, by name; the unit of a speed held against the places."""
    proposals = dict(zip((c.name for c in table.columns), propose(table.columns), strict=True))
    used = _used(table, said or {}, proposals)
    clock = _clock(table, used)
    return proposals if clock is None else _with_speed_unit(used, proposals, clock)


def _without_the_absurd(table: Table) -> Table:
    """The table without numbers so large that only damage writes them."""
    columns = []
    for column in table.columns:
        absurd = np.abs(column.values) > _ABSURD
        columns.append(replace(column, values=np.where(absurd, np.nan, column.values)) if absurd.any() else column)
    return replace(table, columns=tuple(columns))


def _said(table: Table, mapping: Mapping[str, str]) -> dict[str, Meaning]:
    """What a person said, column by column."""
    return {_named(table, name): meaning(text, where=f"{table.file}, {name}") for name, text in mapping.items()}


def _named(table: Table, name: str) -> str:
    """The column that is meant: by its name, or by its name with its unit in brackets, as it is shown."""
    names = [column.name for column in table.columns]
    if name in names:
        return name
    bare, unit = without_unit(name)
    same = [
        column
        for column in table.columns
        if without_unit(column.name)[0] == bare and _may_be(unit, column.unit or without_unit(column.name)[1])
    ]
    if len(same) != 1:
        raise UnknownColumnError(name, known=names, file=table.file)
    return same[0].name


def _may_be(unit: str, told: str) -> bool:
    """Whether a unit that was typed is the one that the file tells, where both are there."""
    return not unit or not told or plain_unit(unit) == plain_unit(told)


def _used(table: Table, said: Mapping[str, Meaning], proposals: Mapping[str, Proposal]) -> list[_Used]:
    """Every column with the meaning said, or the one proposed."""
    out = []
    for column in table.columns:
        proposal = proposals[column.name]
        told = said.get(column.name)
        if told is None:
            out.append(_Used(column, Meaning(proposal.quantity, proposal.unit), proposal.probability))
        else:
            out.append(
                _Used(
                    column,
                    replace(told, unit=told.unit or _unit_of(column, told.quantity, proposal)),
                    1.0,
                    is_said=True,
                )
            )
    return out


def _unit_of(column: Column, quantity: str, proposal: Proposal) -> str:
    """The unit of a column whose quantity alone was said."""
    if quantity == DATE:
        return ""  # told by the digits, where they can be read one way only
    if column.unit and is_unit_of(column.unit, quantity):
        return column.unit
    return next((g.unit for g in proposal.guesses if g.quantity == quantity), usual_units(quantity)[0])


def _ask(table: Table, used: Sequence[_Used], said: Mapping[str, Meaning], proposals: Mapping[str, Proposal]) -> None:
    """Stop where it is not sure what a column is; times beside a sure one need no answer."""
    times = [entry for entry in used if entry.meaning.quantity == TIME]
    has_time = any(e.column.name in said or proposals[e.column.name].is_sure for e in times)
    has_time = has_time or all(column.time is not None for column in table.columns)
    unclear = []
    for entry in used:
        proposal = proposals[entry.column.name]
        spare = has_time and proposal.quantity == TIME and proposal.probability >= SURE
        if entry.column.name not in said and not proposal.is_sure and not spare:
            unclear.append(question(entry.column, proposal))
    if not has_time and not any(asked.guesses[0].startswith(TIME) for asked in unclear):
        unclear[:0] = _questions_for_time(used, said, proposals)
    if unclear:
        raise UnclearColumnsError(table.file, unclear)
    if not has_time:
        raise LogClockError("No column of this log is a time.", where=table.file)


def _questions_for_time(
    used: Sequence[_Used], said: Mapping[str, Meaning], proposals: Mapping[str, Proposal]
) -> list[Question]:
    """The question whether the likeliest column that runs forward is the time; none where no column does."""
    likely = [
        (guess.probability, entry.column, guess)
        for entry in used
        if entry.column.name not in said
        for guess in proposals[entry.column.name].guesses
        if guess.quantity == TIME and guess.probability > _WORTH_ASKING
    ]
    if not likely:
        return []
    _, column, guess = max(likely, key=lambda row: row[0])
    others = [other for other in proposals[column.name].guesses if other is not guess]
    return [question(column, replace(proposals[column.name], guesses=(guess, *others)))]


def _clock(table: Table, used: Sequence[_Used]) -> _Used | None:
    """The column of the time: the surest, and of those the finest; None where every column has its own clock."""
    if all(column.time is not None for column in table.columns):
        return None
    times = [entry for entry in used if entry.meaning.quantity == TIME and entry.probability >= 0.5]
    if not times:
        return None
    return max(
        times, key=lambda e: (e.is_said, e.probability >= SURE, np.unique(e.column.values[:5000]).size, _is_dated(e))
    )


def _is_dated(entry: _Used) -> bool:
    return entry.column.form == "datetime" or entry.meaning.unit.startswith("epoch")


def _with_speed_unit(used: Sequence[_Used], proposals: dict[str, Proposal], clock: _Used) -> dict[str, Proposal]:
    """The unit of a speed that tells none, from how fast the places move."""
    by_kind = {entry.meaning.quantity: entry for entry in used if entry.probability >= SURE}
    speed = by_kind.get("speed")
    plane = next((pair for pair in (("longitude", "latitude"), ("x", "y")) if set(pair) <= set(by_kind)), None)
    if speed is None or plane is None:
        return proposals
    seconds, _ = seconds_of(clock.column, clock.meaning.unit)
    east, north = (
        in_own_unit(e.column.values, e.meaning.quantity, e.meaning.unit) for e in map(by_kind.get, plane) if e
    )
    if plane[0] == "longitude":
        east, north = metres(east, north)
    scale = speed_scale(seconds, east, north, speed=speed.column.values)
    name = speed.column.name
    told = [guess for guess in proposals[name].guesses if guess.quantity == "speed"]
    if scale is None or len(told) < 2:
        return proposals
    weights = {}
    for guess in told:
        size = float(in_own_unit(np.ones(1), "speed", guess.unit)[0])
        weights[guess.unit] = guess.probability * float(np.exp(-0.5 * (np.log(scale * size) / _UNIT_TRUST) ** 2))
    return {**proposals, name: reweighed(proposals[name], weights)}


def _one_clock(table: Table, columns: list[_Used], clock: _Used, used: Sequence[_Used]) -> Log:
    """A log of a table whose rows share one time."""
    seconds, origin = seconds_of(clock.column, clock.meaning.unit)
    ordered = in_order(seconds, table.place)
    zero = float(ordered.time[0])
    time = ordered.time - zero
    start = moment(origin, zero) or _start(table, used, zero, clock)
    findings = [*table.findings, *_empty(table), *ordered.findings]
    chosen, left = _chosen(columns)
    findings += left
    values = {kind: _values(entries, kind)[ordered.keep] for kind, entries in chosen.items()}
    rows, held = _rows(time, values)
    findings += held
    channels = {}
    for kind, value in values.items():
        source = ", ".join(entry.column.name for entry in chosen[kind])
        own = rows.get(kind, slice(None))
        channels[kind] = channel(kind, time[own], value[own], source=source)
    return Log(file=table.file, channels=channels, start=start, findings=tuple(findings))


def _own_clocks(table: Table, columns: list[_Used]) -> Log:
    """A log of signals each of which has its own time."""
    chosen, findings = _chosen(columns)
    channels, found = {}, [*table.findings, *_empty(table)]
    for kind, entries in chosen.items():
        time = entries[0].column.time
        assert time is not None
        ordered = in_order(time, _sample_of(entries[0].column.name))
        same = [entry for entry in entries if entry.column.values.size == time.size]
        source = ", ".join(entry.column.name for entry in same)
        channels[kind] = channel(kind, ordered.time, _values(same, kind)[ordered.keep], source=source)
        found += ordered.findings
    zero = min((c.time[0] for c in channels.values() if c.time.size), default=0.0)
    channels = {kind: replace(c, time=c.time - zero) for kind, c in channels.items()}
    start = moment(table.start.timestamp(), zero) if table.start else None
    return Log(file=table.file, channels=channels, start=start, findings=(*_once(found), *findings))


def _sample_of(name: str) -> Callable[[int], str]:
    """Where a sample of a signal stands."""
    return lambda row: f"{name}, sample {row + 1}"


def _empty(table: Table) -> list[Finding]:
    """A note of columns in which nothing was recorded."""
    names = [column.name for column in table.columns if column.is_empty and column.form != "text"]
    if not names:
        return []
    shown = ", ".join(f"'{name}'" for name in names[:8]) + (", ..." if len(names) > 8 else "")
    return [Finding("note", "column-empty", f"Nothing was recorded in {shown}.", table.file)]


def _once(findings: Sequence[Finding]) -> list[Finding]:
    """Findings without those that say the same of every signal of a message."""
    return list({(f.code, f.message): f for f in findings}.values())


def channel(kind: str, time: Array, value: Array, *, source: str) -> Channel:
    """A channel of the samples that have a value."""
    known = np.isfinite(value) & np.isfinite(time)
    if known.all():
        return Channel(kind, time, value, source)
    return Channel(kind, time[known], value[known], source)


def _chosen(columns: Sequence[_Used]) -> tuple[dict[str, list[_Used]], list[Finding]]:
    """One column for each kind, or several where they are one channel; a note for those left out."""
    chosen: dict[str, list[_Used]] = {}
    for entry in columns:
        chosen.setdefault(entry.meaning.quantity, []).append(entry)
    findings = []
    for kind, entries in chosen.items():
        if kind in _MIXED or len(entries) == 1:
            continue
        best = max(entries, key=lambda e: (not e.column.is_empty, e.is_said, _distinct(e.column), e.probability))
        names = ", ".join(f"'{entry.column.name}'" for entry in entries if entry is not best)
        text = f"'{best.column.name}' is taken for {kind}; left out: {names}."
        findings.append(Finding("note", "column-twice", text, best.column.name))
        chosen[kind] = [best]
    return chosen, findings


def _distinct(column: Column) -> int:
    """How finely a column is recorded, in steps of ten so that probability decides between likes."""
    return int(np.log10(1 + np.unique(column.values[:20000]).size) * 3)


def _values(entries: Sequence[_Used], kind: str) -> Array:
    """The values of one or several columns in the kind's own unit."""
    own = [in_own_unit(entry.column.values, kind, entry.meaning.unit or usual_units(kind)[0]) for entry in entries]
    return own[0] if len(own) == 1 else np.asarray(np.mean(own, axis=0))


def _rows(time: Array, values: Mapping[str, Array]) -> tuple[dict[str, np.ndarray], list[Finding]]:
    """Rows with new values for everything that a receiver gave slower than the table runs."""
    groups = [[kind for kind in group if kind in values] for group in _RECEIVED]
    groups = [group for group in groups if group]
    others = [value for kind, value in values.items() if not any(kind in group for group in groups)]
    if not groups or not others or time.size < 20:
        return {}, []
    whole = [[np.nan_to_num(values[kind], nan=-1e9) for kind in group] for group in groups]
    if any(np.isnan(values[kind]).mean() > 0.3 for group in groups for kind in group):
        return {}, []  # the table leaves fields empty between fixes
    interval = fix_interval(time, whole)
    fastest = max(float(np.mean(np.diff(value) != 0.0)) for value in others)
    if interval is None or fastest < 0.8:
        return {}, []
    rows = {}
    for group, columns in zip(groups, whole, strict=True):
        kept = new_values(time, columns, interval=interval)
        rows.update(dict.fromkeys(group, kept))
    n_most = max(kept.size for kept in rows.values())
    text = (
        f"The table repeats what the receiver told until the next fix: {time.size} rows are {n_most} fixes, "
        f"about {1.0 / interval:.3g} a second."
    )
    return rows, [Finding("note", "values-held", text, ", ".join(rows))]


def _start(table: Table, used: Sequence[_Used], zero: float, clock: _Used) -> datetime | None:
    """Date and time of a clock without a date: from a column of dates, or from beside the table."""
    is_clock = clock.column.form == "clock" or clock.meaning.unit.startswith("hhmmss")
    day = _day(used)
    if is_clock:
        midnight = day if day is not None else _midnight(table.start)
        return moment(midnight, zero)
    return table.start


def _midnight(start: datetime | None) -> float | None:
    return None if start is None else start.replace(hour=0, minute=0, second=0, microsecond=0).timestamp()


def _day(used: Sequence[_Used]) -> float | None:
    """POSIX time of the midnight that a column of dates tells first; None where it can be read two ways."""
    for entry in used:
        if entry.meaning.quantity != DATE:
            continue
        known = entry.column.values[np.isfinite(entry.column.values)]
        if known.size == 0:
            continue
        if entry.column.form in {"date", "datetime"}:
            return float(known[0]) // 86400.0 * 86400.0
        orders = (plain_unit(entry.meaning.unit),) if entry.is_said and entry.meaning.unit else DATES
        days = {day for order in orders if (day := day_of(float(known[0]), order)) is not None}
        if len(days) == 1:
            return datetime(*days.pop(), tzinfo=UTC).timestamp()
    return None

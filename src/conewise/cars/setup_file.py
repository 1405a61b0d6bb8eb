"""Set-up histories in TOML: read, and added to without touching what a person wrote."""

from __future__ import annotations

import hashlib
from datetime import date, datetime, time
from pathlib import Path
from typing import TYPE_CHECKING, Any

from conewise.cars.car import field
from conewise.cars.changes_file import change_of
from conewise.cars.setup import Entry, SetupHistory
from conewise.cars.toml_file import CarFieldError, Table, read_toml
from conewise.errors import NotFoundError
from conewise.quantities import Sourced, in_unit, parse, si_unit
from conewise.toml_source import Lines

if TYPE_CHECKING:
    from conewise.cars.change import Change, MovedMass

KEY = "setup_of"
_DIGEST_DIGITS = 16
_TIME_HINT = "Write the time on the clock where the car is, without a zone: 2026-05-02T10:15:00."


class EntryMissingError(NotFoundError):
    """There is no entry of that number in a set-up history."""

    code = "entry-missing"

    def __init__(self, number: int, *, known: int, file: str) -> None:
        hint = f"The history has entries 1 to {known}." if known else "The history has no entry yet."
        super().__init__(f"There is no entry {number}.", where=file, hint=hint)


def is_history(table: Table) -> bool:
    """Whether a file is a set-up history."""
    return KEY in table


def read_history(path: Path) -> SetupHistory:
    """Set-up history of a TOML file.

    Raises
    ------
    CarFileMissingError
        If there is no such file.
    InputError
        If a value cannot be used; file, line and field are named.
    """
    return history_of(read_toml(path))


def history_of(table: Table) -> SetupHistory:
    """Set-up history of a table; see `read_history`."""
    base = table.text(KEY)
    digest = table.text("car_digest", default="")
    entries = tuple(_entry(item, number) for number, item in enumerate(table.tables("entry"), start=1))
    table.finish()
    return SetupHistory(base=base, digest=digest, entries=entries, source=table.file)


def base_path(history: SetupHistory) -> Path:
    """The car file that a history belongs to: beside the history unless its path is whole."""
    return Path(history.source).parent / history.base


def digest_of(path: Path) -> str:
    """A short digest of a car file, to notice that it was edited."""
    return hashlib.sha256(path.read_bytes()).hexdigest()[:_DIGEST_DIGITS]


def begun(car: Path) -> str:
    """Text of a new history of a car file beside it."""
    return (
        f"# Set-up history of {car.name}: every change with its date. The car file stays as it was before the first.\n"
        "# docs/formats-cars.md explains the keys. A change is taken back by its time `undone`, not by removing it.\n"
        f"{KEY} = {_quoted(car.name)}\n"
        f"car_digest = {_quoted(digest_of(car))}\n"
    )


def with_entry(text: str, change: Change, at: datetime) -> str:
    """The text of a history with one more entry at its end; every line that is there stays."""
    lines = ["", "[[entry]]", f"at = {_when(at)}", f"name = {_quoted(change.name)}"]
    if change.kind != "other":
        lines.append(f"kind = {_quoted(change.kind)}")
    if change.note:
        lines.append(f"note = {_quoted(change.note)}")
    for edit in change.edits:
        lines += ["", "[[entry.edit]]", f"field = {_names(edit.fields)}"]
        if isinstance(edit.value, Sourced):
            lines += _amount(edit.action, edit.value, edit.fields[0])
        else:
            lines.append(
                f"{edit.action} = {str(edit.value).lower() if edit.value in {True, False} else _quoted(edit.value)}"
            )
    for moved in change.masses:
        lines += ["", "[[entry.moved_mass]]", *_moved(moved)]
    return text.rstrip("\n") + "\n" + "\n".join(lines) + "\n"


def with_undone(text: str, number: int, when: datetime, *, file: str) -> str:
    """The text of a history with an entry taken back at a time; every line that is there stays.

    Raises
    ------
    EntryMissingError
        If there is no such entry.
    CarFieldError
        If it was taken back before, or the time is not after its own.
    """
    history = history_of(Table.of_text(text, file=file))
    if not 1 <= number <= len(history.entries):
        raise EntryMissingError(number, known=len(history.entries), file=file)
    entry = history.entries[number - 1]
    lines = Lines(text)
    heading = lines.of(("entry", number))
    where = f"{file}, line {heading}, entry.{number}"
    if entry.undone is not None:
        raise CarFieldError(
            f"Entry {number}, '{entry.change.name}', was undone on {entry.undone:%Y-%m-%d %H:%M}.", where=where
        )
    assert heading is not None
    own = lines.of(("entry", number), "at") or heading
    changed = "\n".join([*lines.raw[:own], f"undone = {_when(when)}", *lines.raw[own:]]) + "\n"
    if history_of(Table.of_text(changed, file=file)).entries[number - 1].undone != when.replace(microsecond=0):
        raise CarFieldError(
            f"Entry {number} is written in a way that cannot be added to.",
            where=where,
            hint=f"Write undone = {_when(when)} into it yourself.",
        )
    return changed


def moment(raw: Any) -> datetime | None:
    """A local time of a TOML value or of a text such as "2026-05-02 10:15"; None for what is none or has a zone."""
    if isinstance(raw, str):
        try:
            raw = datetime.fromisoformat(raw.strip())
        except ValueError:
            return None
    if isinstance(raw, datetime):
        return raw if raw.tzinfo is None else None
    return datetime.combine(raw, time()) if isinstance(raw, date) else None


def _entry(table: Table, number: int) -> Entry:
    at, undone = _moment(table, "at"), None
    if at is None:
        table.fail("The time of the entry is missing.", "at", hint=_TIME_HINT)
    if "undone" in table:
        undone = _moment(table, "undone")
        if undone is not None and undone <= at:
            table.fail(f"{table.path('undone')} is {undone}, not after the entry's own time, {at}.", "undone")
    return Entry(number=number, at=at, undone=undone, change=change_of(table))


def _moment(table: Table, key: str) -> datetime | None:
    raw = table.take(key)
    found = moment(raw)
    if raw is not None and found is None:
        table.fail(f"{table.path(key)} is {raw}; a date and a time are wanted.", key, hint=_TIME_HINT)
    return found


def _when(at: datetime) -> str:
    return at.replace(microsecond=0).isoformat()


def _quoted(text: object) -> str:
    escaped = str(text).replace("\\", "\\\\").replace('"', '\\"')
    return f'"{escaped}"'


def _names(fields: tuple[str, ...]) -> str:
    return _quoted(fields[0]) if len(fields) == 1 else f"[{', '.join(map(_quoted, fields))}]"


def _amount(action: str, value: Sourced, name: str) -> list[str]:
    facts = field(name)
    dimension, unit = ("ratio", "") if action == "scale" else (facts.dimension, facts.shown)
    return [
        f"{action} = {_quoted(exact_text(value.value, dimension, unit))}",
        f"uncertainty = {_quoted(exact_text(value.uncertainty, dimension, unit))}",
    ]


def exact_text(value: float, dimension: Any, unit: str) -> str:
    """A quantity in a unit, or in SI where only that is read back as the very same number."""
    for digits in (6, 9, 15):
        text = f"{in_unit(value, dimension, unit):.{digits}g} {unit}".strip()
        if parse(text, dimension, where="") == value:
            return text
    return f"{value!r} {si_unit(dimension)}".strip()


def _moved(moved: MovedMass) -> list[str]:
    rows = [
        f"mass = {_quoted(exact_text(moved.mass.value, 'mass', 'kg'))}",
        f"uncertainty = {_quoted(exact_text(moved.mass.uncertainty, 'mass', 'kg'))}",
    ]
    rows += [] if moved.position is None else [f"position = {moved.position!r}"]
    for key, value in (("height", moved.height), ("lateral", moved.lateral)):
        rows += [] if value is None else [f"{key} = {_quoted(exact_text(value, 'length', 'm'))}"]
    return rows

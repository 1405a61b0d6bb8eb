"""Event files in TOML: everything of one day but its runs, which stand in a table beside it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from conewise.errors import InputError, NotFoundError, no_such_file
from conewise.event.cars import CarChange, CheckEntry, EventCar
from conewise.event.day import Entry, Event, EventDay, Expense, Packed
from conewise.event.helmets import Helmet, Loan
from conewise.event.links import refuse_broken_links
from conewise.event.people import Person
from conewise.event.runs import RideAlong
from conewise.event.tables import Table, dimension_of
from conewise.file_forms import refuse_other_form
from conewise.records import Record, id_of
from conewise.toml_source import plain_text, text_problem
from conewise.toml_writing import toml_entries

if TYPE_CHECKING:
    from pathlib import Path

_MOST_BYTES = 5_000_000
# Tables of the file: heading, record, field of the day.
LISTS: dict[str, tuple[type[Record], str]] = {
    "person": (Person, "people"),
    "car": (EventCar, "cars"),
    "helmet": (Helmet, "helmets"),
    "loan": (Loan, "loans"),
    "check": (CheckEntry, "checks"),
    "change": (CarChange, "changes"),
    "ride_along": (RideAlong, "ride_alongs"),
    "expense": (Expense, "expenses"),
    "packed": (Packed, "packed"),
}
_UNITS = {"length": "m", "time": "s"}


class EventFileMissingError(NotFoundError):
    """There is no such file."""

    code = "event-file-missing"

    def __init__(self, path: Path) -> None:
        sentence, folder = no_such_file(path)
        near = sorted(p.name for p in folder.glob("*.toml")) if folder.is_dir() else []
        hint = f"TOML files there: {', '.join(near[:8])}." if near else "`conewise event new` writes one to start from."
        super().__init__(sentence, where=str(path), hint=hint)


class NotAnEventFileError(InputError):
    """The file is empty, no text, or has no event in it."""

    code = "event-file"
    default_hint = "`conewise event new` writes an event to start from; docs/formats-event.md shows a full example."

    def __init__(self, problem: str, *, where: str) -> None:
        super().__init__(problem, where=where)


def read_event(path: Path) -> EventDay:
    """The day of an event file, without runs.

    Raises
    ------
    EventFileMissingError
        If there is no such file.
    NotAnEventFileError
        If it is empty, no text, or has no [event].
    TomlSyntaxError
        If it is no TOML; the line is named.
    EventFieldError
        If a value cannot be used, an id stands twice, or something refers to nobody; line and field are named.
    """
    if not path.is_file():
        raise EventFileMissingError(path)
    if path.stat().st_size > _MOST_BYTES:
        raise NotAnEventFileError(f"'{path.name}' has more than 5 MB; this is a small text.", where=str(path))
    text = plain_text(path.read_bytes())
    if problem := text_problem(text):
        raise NotAnEventFileError(f"'{path.name}' {problem}.", where=str(path))
    return event_day(text, file=str(path))


def event_day(text: str, *, file: str) -> EventDay:
    """The day of a TOML text; see `read_event`."""
    top = Table.of_text(text, file=file)
    refuse_other_form(top.values, "event", where=file)
    if "event" not in top:
        raise NotAnEventFileError("There is no [event] in this file.", where=file)
    table = top.table("event")
    name = table.values.get("name")
    more: dict[str, Any] = {} if "id" in table or not isinstance(name, str) else {"id": id_of(name)}
    entry_tables = top.tables("entry")
    if "entries" in table:
        table.fail("Entries stand in a list of their own.", "entries", hint="Write each one under [[entry]].")
    entries = tuple(one.record(Entry) for one in entry_tables)
    event = table.record(Event, entries=entries, **more)
    lists = {field: _records(top, heading, event) for heading, (_, field) in LISTS.items()}
    top.finish()
    day = EventDay(event=event, **lists)
    refuse_broken_links(day, top)
    return day


def _records(top: Table, heading: str, event: Event) -> tuple[Record, ...]:
    """One list of the file, each entry with an id of its own."""
    kind, _ = LISTS[heading]
    tables = top.tables(heading)
    taken = {str(one.values["id"]) for one in tables if "id" in one}
    seen: set[str] = set()
    found = []
    for number, one in enumerate(tables, start=1):
        more: dict[str, Any] = {}
        if "event" not in one and "event" in kind.model_fields and kind.model_fields["event"].is_required():
            more["event"] = event.id
        if "id" not in one:
            name = one.values.get("name")
            more["id"] = id_of(name if isinstance(name, str) else f"{event.id}-{heading}-{number}", taken)
            taken.add(more["id"])
        record = one.record(kind, **more)
        key = str(record.model_dump(include={"id"})["id"])
        if key in seen:
            one.fail(f"The id '{key}' stands twice.", "id", hint="Give each one an id of its own.")
        seen.add(key)
        found.append(record)
    return tuple(found)


def event_text(day: EventDay) -> str:
    """TOML text of a day without its runs; `event_day` gives back an equal one."""
    blocks = ["# Event. Every field: docs/formats-event.md\n[event]\n" + _entries(day.event, without={"entries"})]
    blocks += [f"[[entry]]\n{_entries(entry)}" for entry in day.event.entries]
    for heading, (_, field) in LISTS.items():
        blocks += [f"[[{heading}]]\n{_entries(record)}" for record in getattr(day, field)]
    return "\n\n".join(blocks) + "\n"


def _entries(record: Record, without: frozenset[str] | set[str] = frozenset()) -> str:
    """The fields of a record that are not as usual, one a line."""
    return toml_entries({name: value for name, value in _fields(record).items() if name not in without})


def _fields(record: Record) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for name, info in type(record).model_fields.items():
        value = getattr(record, name)
        if value is None or (not info.is_required() and value == info.default):
            continue
        dimension = dimension_of(info)
        found[name] = _written(value) if dimension is None else f"{value!r} {_UNITS[dimension]}"
    return found


def _written(value: Any) -> Any:
    if isinstance(value, Record):
        return _fields(value)
    if isinstance(value, tuple):
        return [_written(item) for item in value]
    return value

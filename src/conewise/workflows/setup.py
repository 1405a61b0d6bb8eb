"""What was changed on a car, when, and how was it set up for a run: list, show, add, undo."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from conewise.cars.car import field
from conewise.cars.car_file import base_table, car_of
from conewise.cars.changes_file import changes_of, parts_of
from conewise.cars.plausible import check_car, value_in_words
from conewise.cars.setup import car_on
from conewise.cars.setup_file import (
    base_path,
    begun,
    digest_of,
    history_of,
    is_history,
    moment,
    with_entry,
    with_undone,
)
from conewise.cars.toml_file import Table, file_text, read_toml
from conewise.errors import InputError, NotFoundError
from conewise.findings import Finding, by_severity
from conewise.reports.files import write_whole
from conewise.toml_source import Lines
from conewise.vehicle.derived import safety_findings

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime
    from pathlib import Path

    from conewise.cars.car import Car
    from conewise.cars.change import Change
    from conewise.cars.setup import Entry, SetupHistory
    from conewise.quantities import System

_SUFFIX = ".setup.toml"
_EDIT = re.compile(r"\s*([\w.]+)\s*([+*]?)=\s*(.*?\S)\s*")


class TimeError(InputError):
    """A date and time that cannot be read."""

    code = "setup-time"

    def __init__(self, text: str) -> None:
        super().__init__(
            f"'{text}' is no date and time.",
            where="--on",
            hint="Write the time on the clock where the car is, without a zone: 2026-05-02T10:15 or 2026-05-02.",
        )


class ChangeMissingError(NotFoundError):
    """There is no change of that name in a file of changes."""

    code = "change-missing"

    def __init__(self, name: str, *, known: Sequence[str], file: Path) -> None:
        hint = f"The file has: {', '.join(known)}."
        super().__init__(f"There is no change called '{name}'.", where=str(file), hint=hint)


class NothingChangedError(InputError):
    """An entry that would change nothing."""

    code = "nothing-changed"

    def __init__(self, name: str) -> None:
        super().__init__(
            f"'{name}' changes nothing.",
            where="conewise car setup add",
            hint='Say what: --edit "front.camber = -2.4 deg", or --changes FILE with the change of that name.',
        )


class EditTextError(InputError):
    """An edit on the command line that is none."""

    code = "edit-text"

    def __init__(self, text: str) -> None:
        super().__init__(
            f"'{text}' is not an edit.",
            where="--edit",
            hint='Write "front.camber = -2.4 deg", "front.bar_diameter += 2 mm" or "rear.damping *= 0.9".',
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """One number in SI, or one word, before and after; None where there is none."""

    name: str
    before: float | str | None
    after: float | str | None

    @property
    def is_word(self) -> bool:
        """Whether it is a word, such as a kind of differential."""
        return isinstance(self.before, str) or isinstance(self.after, str)


@dataclass(frozen=True, slots=True, kw_only=True)
class SetupAnswer:
    """The set-up of a car at a time."""

    when: datetime
    label: str
    history: SetupHistory
    active: tuple[Entry, ...]
    base: Car
    car: Car
    findings: tuple[Finding, ...]
    done: tuple[Difference, ...] = ()  # what an entry or its undoing changed at that time

    @property
    def differences(self) -> tuple[Difference, ...]:
        """Numbers that are not those of the car file; what hangs on an edited number moves too."""
        return differences(self.base, self.car)

    def as_dict(self) -> dict[str, object]:
        """For JSON: SI units."""
        return {
            "when": self.when.isoformat(),
            "setup": self.label,
            "car": self.base.name,
            "entries": [entry_dict(entry, active=entry in self.active) for entry in self.history.entries],
            "differences": [
                {"name": d.name, "dimension": field(d.name).dimension, "before_si": d.before, "after_si": d.after}
                for d in self.differences
                if not d.is_word
            ],
            "words": [{"name": d.name, "before": d.before, "after": d.after} for d in self.differences if d.is_word],
            "findings": [
                {"severity": f.severity, "code": f.code, "message": f.message, "where": f.where} for f in self.findings
            ],
        }


def differences(before: Car, after: Car) -> tuple[Difference, ...]:
    """Numbers and words of one car that another does not have, or has otherwise, in the order of the car file."""
    old, new = _told(before), _told(after)
    names = (*new, *(name for name in old if name not in new))
    return tuple(
        Difference(name=name, before=old.get(name), after=new.get(name))
        for name in names
        if old.get(name) != new.get(name)
    )


def _told(car: Car) -> dict[str, float | str]:
    words: dict[str, float | str] = {
        "drive": car.drive,
        "transmission.kind": str(car.transmission.kind),
        "front.differential.kind": str(car.front.differential.kind),
        "rear.differential.kind": str(car.rear.differential.kind),
        "brakes.abs": "true" if car.brakes.abs else "false",
    }
    return words | {name: value.value for name, value in car.values.items()}


def entry_dict(entry: Entry, *, active: bool) -> dict[str, object]:
    """One entry for JSON."""
    return {
        "number": entry.number,
        "at": entry.at.isoformat(),
        "undone": None if entry.undone is None else entry.undone.isoformat(),
        "name": entry.change.name,
        "note": entry.change.note,
        "fields": [name for edit in entry.change.edits for name in edit.fields],
        "active": active,
    }


def when_named(text: str | None, now: datetime) -> datetime:
    """The time that a person named, or now; TimeError where it is none."""
    if text is None:
        return now
    found = moment(text)
    if found is None:
        raise TimeError(text)
    return found


def history_path(path: Path) -> Path:
    """Where the set-up history of a car stands: the file itself, or beside the car file."""
    return path if is_history(read_toml(path)) else path.with_name(path.stem + _SUFFIX)


def setup_on(path: Path, when: datetime, *, system: System = "metric") -> SetupAnswer:
    """The car as it was at a time.

    Parameters
    ----------
    path : Path
        Car file, or set-up history.
    when : datetime
        Local time without a zone.
    system : str, default "metric"
        Units of the findings.

    Returns
    -------
    SetupAnswer

    Raises
    ------
    CarFileMissingError
        If there is no such file.
    InputError
        If a file cannot be used; file, line and field are named.
    """
    place = history_path(path)
    text = file_text(place) if place.exists() else begun(path)
    return _answer(history_of(Table.of_text(text, file=str(place))), when, system)


def setup_add(path: Path, change: Change, when: datetime, *, system: System = "metric") -> SetupAnswer:
    """Write one more entry into the history of a car; the first one begins it.

    Parameters
    ----------
    path : Path
        Car file, or set-up history.
    change : Change
    when : datetime
        From when on the change is on the car.
    system : str, default "metric"
        Units of the findings.

    Returns
    -------
    SetupAnswer
        Just after the change.

    Raises
    ------
    InputError
        If the change cannot be made to this car at that time; nothing is written then.
    UnwritableFileError
        If the history cannot be written where it stands.
    """
    place = history_path(path)
    old = file_text(place) if place.exists() else begun(path)
    return _written(place, (old, with_entry(old, change, when)), when, system)


def setup_undo(path: Path, number: int, when: datetime, *, system: System = "metric") -> SetupAnswer:
    """Take an entry back from a time on; what was before stays told.

    Raises
    ------
    EntryMissingError
        If there is no such entry.
    InputError
        If it was undone before, or the car cannot be without it; nothing is written then.
    """
    place = history_path(path)
    old = file_text(place) if place.exists() else begun(path)
    return _written(place, (old, with_undone(old, number, when, file=str(place))), when, system)


def named_change(file: Path, name: str) -> Change:
    """The change of a name in a file of changes or of parts.

    Raises
    ------
    ChangeMissingError
        If there is none of that name.
    """
    table = read_toml(file)
    changes = {change.name: change for change in (parts_of if "part" in table else changes_of)(table)}
    if name not in changes:
        raise ChangeMissingError(name, known=list(changes), file=file)
    return changes[name]


def typed_change(name: str, edits: Sequence[str], *, note: str = "") -> Change:
    """A change from edits as they were typed: `field = value`, `field += amount` or `field *= factor`.

    Raises
    ------
    InputError
        If an edit is none, a field is unknown, or a value cannot be used.
    """
    rows = [_edit(text) for text in edits]
    if not rows:
        raise NothingChangedError(name)
    entry = {"name": name, "edit": rows} | ({"note": note} if note else {})
    return changes_of(Table({"change": [entry]}, "command line", Lines("")))[0]


def _edit(text: str) -> dict[str, bool | str]:
    found = _EDIT.fullmatch(text)
    if found is None:
        raise EditTextError(text)
    name, mark, value = found.groups()
    typed = {"true": True, "false": False}.get(value, value.strip("\"'"))
    return {"field": name, {"": "set", "+": "add", "*": "scale"}[mark]: typed}


def _written(place: Path, texts: tuple[str, str], when: datetime, system: System) -> SetupAnswer:
    """Check the new history at all its times, write it in place of the old one, and answer."""
    old, new = (history_of(Table.of_text(text, file=str(place))) for text in texts)
    base = car_of(base_table(new))
    for time in new.times():
        car_on(base, new, time)
    write_whole(place, texts[1].encode())
    answer = _answer(new, when, system)
    return replace(answer, done=differences(car_on(base, old, when), answer.car))


def _answer(history: SetupHistory, when: datetime, system: System) -> SetupAnswer:
    base = car_of(base_table(history))
    car = car_on(base, history, when)
    found = [*_edited(history), *check_car(car, system=system), *safety_findings(car)]
    return SetupAnswer(
        when=when,
        label=history.label(when),
        history=history,
        active=history.active(when),
        base=base,
        car=car,
        findings=tuple(by_severity(found)),
    )


def _edited(history: SetupHistory) -> list[Finding]:
    if not history.digest or history.digest == digest_of(base_path(history)):
        return []
    words = (
        f"{history.base} was edited after this history was begun. What it says now is taken for the car before the "
        "first entry, also for old runs. Enter changes here, and mend the car file only where it was wrong."
    )
    return [Finding("warning", "car-edited", words, history.source)]


def difference_rows(found: Sequence[Difference], system: System) -> list[tuple[str, str, str]]:
    """Name, value before and value after, in words; what reads the same is left out."""
    rows = ((d.name, _in_words(d.name, d.before, system), _in_words(d.name, d.after, system)) for d in found)
    return [row for row in rows if row[1] != row[2]]


def _in_words(name: str, value: float | str | None, system: System) -> str:
    if value is None or isinstance(value, str):
        return value or "-"
    return value_in_words(value, field(name), system)

"""Files of cars, courses, drivers, rules and changes as the book keeps them: their own texts, comments and all."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from conewise.records import Id, Record
from conewise.toml_source import toml_values

if TYPE_CHECKING:
    from collections.abc import Callable


class StoredText(Record):
    """A text under a name. Every version stays, so the versions of a car are its set-ups."""

    form: ClassVar[str] = ""
    id: Id
    text: str


class CarText(StoredText):
    """A car file."""

    form = "car"


class CourseText(StoredText):
    """A course file."""

    form = "course"


class DriverText(StoredText):
    """A driver file."""

    form = "driver"


class RulesText(StoredText):
    """A rule set."""

    form = "rules"


class ChangesText(StoredText):
    """A list of changes, or of parts."""

    form = "changes"


FORMS: dict[str, type[StoredText]] = {
    kind.form: kind for kind in (CarText, CourseText, DriverText, RulesText, ChangesText)
}


def refuse_unreadable(record: StoredText, *, file: str = "") -> None:
    """Read a text with the reader of its form.

    Parameters
    ----------
    record : StoredText
    file : str, optional
        How messages call the text; its form and name where it is left out.

    Raises
    ------
    InputError
        If the reader refuses it; line and field are named.
    """
    _READERS[record.form](record.text, file or f"{record.form} {record.id}")


def form_of(text: str, *, file: str) -> str:
    """What a TOML text is, by what it has: "car", "history" (of set-ups), "course", "driver", "rules" and so on.

    Raises
    ------
    TomlSyntaxError
        If it is not TOML.
    """
    values = toml_values(text, file=file)
    if "event" in values:
        return "event"
    if "setup_of" in values:
        return "history"
    if "walk" in values or "cones" in values or "feature" in values:
        return "course"
    if "change" in values or "part" in values:
        return "changes"
    if "kind" in values:
        return "car"
    return "driver" if "level" in values or not values.keys() - _DRIVER_FIELDS else "rules"


_DRIVER_FIELDS = {
    "name", "level", "friction_share", "handwheel_rate", "pedal_time", "scatter", "launch_share", "mass",
}  # fmt: skip


def _read_car(text: str, file: str) -> None:
    from conewise.cars.car_file import car_of
    from conewise.cars.toml_file import Table

    car_of(Table.of_text(text, file=file))


def _read_course(text: str, file: str) -> None:
    from conewise.course.toml_file import read_toml

    read_toml(text, file=file)


def _read_driver(text: str, file: str) -> None:
    from conewise.cars.driver import driver_of
    from conewise.cars.toml_file import Table

    driver_of(Table.of_text(text, file=file))


def _read_changes(text: str, file: str) -> None:
    from conewise.cars.changes_file import changes_of, parts_of
    from conewise.cars.toml_file import Table

    table = Table.of_text(text, file=file)
    (parts_of if "part" in table else changes_of)(table)


def _read_rules(text: str, file: str) -> None:
    from conewise.course.rules import rules_of
    from conewise.event.rules import event_rules
    from conewise.rule_set import RuleText

    found = RuleText(name="rules", file=file, text=text)
    rules_of(found)
    event_rules(found)


_READERS: dict[str, Callable[[str, str], None]] = {
    "car": _read_car,
    "course": _read_course,
    "driver": _read_driver,
    "rules": _read_rules,
    "changes": _read_changes,
}

"""An event day from its file, with the runs that stand beside it; or from the book."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING

from conewise.cars.car_file import car_of, read_car
from conewise.cars.classes_file import classes_of
from conewise.cars.toml_file import Table
from conewise.course.files import read_course
from conewise.course.toml_file import read_toml
from conewise.event.event_file import read_event
from conewise.event.rules import event_rules, penalty_rule
from conewise.event.runs import Run
from conewise.event.runs_file import Correction, RunsFileError, read_run_table
from conewise.rule_set import SHIPPED, RuleText, rule_text
from conewise.workflows.photos import photo_beside

if TYPE_CHECKING:
    from collections.abc import Sequence

    from conewise.cars.car import Car
    from conewise.course.layout import Course
    from conewise.event.cars import EventCar
    from conewise.event.day import Event, EventDay
    from conewise.event.rules import EventRules, PenaltyRule
    from conewise.store.book import Book
    from conewise.workflows.book_place import BookPlace

RUNS_ENDING = ".runs.csv"
_MOST_BYTES = 50_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadedDay:
    """An event day, its rules, where it came from, and what was corrected in its runs.

    indexes: factor on total times by class code.
    file, runs_file: None for a day of a book; then `source` leads to it, and `texts` has cars and courses by name.
    """

    day: EventDay
    rules: EventRules
    indexes: dict[str, float] = field(default_factory=dict)
    file: Path | None = None
    runs_file: Path | None = None
    source: BookPlace | None = None
    texts: dict[str, str] = field(default_factory=dict)
    corrections: tuple[Correction, ...] = ()

    @property
    def place(self) -> str:
        """Where it is, for messages."""
        return str(self.file) if self.file else f"event {self.day.event.id} in the book"


def load_day(
    event: Path, *, source: BookPlace, runs: Path | None = None, rules: str = "", begins: bool = False
) -> LoadedDay:
    """The day of an event file with its runs, or of an id in the book.

    Parameters
    ----------
    event : Path
        Event file (.toml), or the id of an event in the book.
    source : BookPlace
        The book.
    runs : Path, optional
        Table of runs; `EVENT.runs.csv` beside the event file where there is one.
    rules : str, default ""
        In place of the event's own rule set.
    begins : bool, default False
        A table that is named may be missing: it is begun.

    Raises
    ------
    ConewiseError
        If a file or an event is missing, or something in it cannot be used.
    """
    if event.suffix.lower() != ".toml" and not event.is_file():
        return _from_book(str(event), source, rules=rules, runs=runs)
    day = read_event(event)
    for check in day.checks:
        if check.photo:
            photo_beside(event, check.photo, where=f"{event}, check {check.id}, photo")
    table_file, named = runs or event.with_suffix(RUNS_ENDING), f"{event}, event, rules"
    found = rule_text(rules, where="--rules") if rules else rule_text(_beside(event, day.event.rules), where=named)
    cars = tuple(
        _with_own_parts(car, read_car(event.parent / car.car_file)) if car.car_file else car for car in day.cars
    )
    loaded = LoadedDay(
        day=day.changed(cars=cars),
        rules=event_rules(found),
        indexes=class_indexes(found),
        file=event,
        runs_file=table_file,
    )
    if not table_file.is_file() and (runs is None or begins):
        return loaded
    return with_runs(loaded, _content(table_file))


def with_runs(loaded: LoadedDay, content: bytes) -> LoadedDay:
    """The same day with the runs of a table; none where it is empty. See `conewise.event.runs_file.read_run_table`."""
    if not content.strip():
        return loaded
    table = read_run_table(content, loaded.day, file=str(loaded.runs_file))
    return replace(loaded, day=loaded.day.changed(runs=table.runs), corrections=table.corrections)


def class_indexes(found: RuleText) -> dict[str, float]:
    """Factor on total times by class code; empty where the rule set has no classes."""
    top = Table.of_text(found.text, file=found.file)
    return {one.code: one.index for one in classes_of(top)} if "class" in top else {}


def course_of(loaded: LoadedDay) -> Course | None:
    """The course of the day; None where the event names none."""
    name = loaded.day.event.course_file
    if not name:
        return None
    if loaded.file is None:
        text = loaded.texts.get(f"course {name}")
        return None if text is None else read_toml(text, file=f"course {name}")
    return read_course(loaded.file.parent / name)


def machine_of(loaded: LoadedDay, car: EventCar) -> Car | None:
    """How a car of the day drives; None where nothing says so."""
    if not car.car_file:
        return None
    if loaded.file is None:
        text = loaded.texts.get(f"car {car.car_file}")
        return None if text is None else car_of(Table.of_text(text, file=f"car {car.car_file}"))
    return read_car(loaded.file.parent / car.car_file)


def _from_book(event_id: str, source: BookPlace, *, rules: str, runs: Path | None) -> LoadedDay:
    from conewise.store.days import event_day
    from conewise.store.texts import CarText, CourseText

    if runs is not None:
        raise RunsFileError("A day of the book has its runs there.", where="--runs", hint="Leave --runs out.")
    with source.opened(create=False) as book:
        day = event_day(book, event_id)
        texts = {f"car {kept.id}": kept.record.text for kept in book.every(CarText)}
        texts |= {f"course {kept.id}": kept.record.text for kept in book.every(CourseText)}
        found = rule_text(rules, where="--rules") if rules else _rules_in(book, day.event)
        corrections = tuple(
            one for run in book.every(Run, event=event_id) for one in _corrections(book, run.id, run.version)
        )
    loaded = LoadedDay(
        day=day,
        rules=event_rules(found),
        indexes=class_indexes(found),
        source=source,
        texts=texts,
        corrections=corrections,
    )
    cars = [(car, machine_of(loaded, car)) for car in day.cars]
    own = tuple(_with_own_parts(car, machine) if machine else car for car, machine in cars)
    return replace(loaded, day=day.changed(cars=own))


def penalty_of(book: Book, event: Event) -> PenaltyRule:
    """What cones and leaving the course cost at an event of an open book."""
    return penalty_rule(_rules_in(book, event))


def _rules_in(book: Book, event: Event) -> RuleText:
    """The rule set of an event: one that the book keeps, else one of the program's own."""
    from conewise.store.texts import RulesText

    kept = book.find(RulesText, event.rules)
    if kept is None:
        return rule_text(event.rules, where=f"event {event.id}, rules")
    return RuleText(name=kept.id, file=f"rules {kept.id}", text=kept.record.text)


def _corrections(book: Book, run_id: str, version: int) -> Sequence[Correction]:
    """What was corrected of the result of a run, from its versions."""
    if version < 2:
        return ()
    versions = [one for one in book.history(Run, run_id) if one.record is not None]
    found = [
        Correction(before=before.record, after=after.record, reason=after.reason or after.record.reason)
        for before, after in pairwise(versions)
        if before.record is not None and after.record is not None
    ]
    return [one for one in found if one.is_of_result]


def _content(path: Path) -> bytes:
    if not path.is_file():
        raise RunsFileError(f"There is no table of runs '{path.name}'.", where=str(path))
    if path.stat().st_size > _MOST_BYTES:
        raise RunsFileError(f"'{path.name}' has more than 50 MB; this is a table of one day.", where=str(path))
    return path.read_bytes()


def _beside(event: Path, name: str) -> str:
    """A file that an event names, looked for beside the event's own file; a shipped rule set stays a name."""
    if name in SHIPPED or Path(name).is_absolute():
        return name
    return str(event.parent / name) if name.lower().endswith(".toml") else name


def _with_own_parts(car: EventCar, machine: Car) -> EventCar:
    """A car with what its own file says about it: a battery-electric one is inspected as such."""
    is_electric = machine.kind == "electric"
    return car.changed(energy="electric") if is_electric and car.energy == "fuel" else car

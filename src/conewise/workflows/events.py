"""An event day from its file, with the runs that stand beside it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from conewise.cars.car_file import read_car
from conewise.event.event_file import read_event
from conewise.event.rules import load_event_rules
from conewise.event.runs_file import Correction, RunsFileError, read_run_table
from conewise.rule_set import SHIPPED

if TYPE_CHECKING:
    from conewise.event.cars import EventCar
    from conewise.event.day import EventDay
    from conewise.event.rules import EventRules

RUNS_ENDING = ".runs.csv"
_MOST_BYTES = 50_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadedDay:
    """An event day, its rules, where it came from, and what was corrected in its runs."""

    day: EventDay
    rules: EventRules
    rules_name: str  # a shipped set, or the path of a file
    file: Path
    runs_file: Path
    corrections: tuple[Correction, ...] = ()


def load_day(event: Path, *, runs: Path | None = None, rules: str = "", begins: bool = False) -> LoadedDay:
    """The day of an event file with its runs.

    Parameters
    ----------
    event : Path
        Event file (.toml).
    runs : Path, optional
        Table of runs; `EVENT.runs.csv` beside the event file where there is one.
    rules : str, default ""
        In place of the event's own rule set.
    begins : bool, default False
        A table that is named may be missing: it is begun.

    Raises
    ------
    ConewiseError
        If a file is missing, or something in it cannot be used.
    """
    day = read_event(event)
    table_file = runs or event.with_suffix(RUNS_ENDING)
    rules_name = rules or _beside(event, day.event.rules)
    found = LoadedDay(
        day=day.changed(cars=tuple(_with_own_parts(car, event) for car in day.cars)),
        rules=load_event_rules(rules_name),
        rules_name=rules_name,
        file=event,
        runs_file=table_file,
    )
    if not table_file.is_file() and (runs is None or begins):
        return found
    return with_runs(found, _content(table_file))


def with_runs(loaded: LoadedDay, content: bytes) -> LoadedDay:
    """The same day with the runs of a table; see `conewise.event.runs_file.read_run_table`."""
    table = read_run_table(content, loaded.day, file=str(loaded.runs_file))
    return LoadedDay(
        day=loaded.day.changed(runs=table.runs),
        rules=loaded.rules,
        rules_name=loaded.rules_name,
        file=loaded.file,
        runs_file=loaded.runs_file,
        corrections=table.corrections,
    )


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


def _with_own_parts(car: EventCar, event: Path) -> EventCar:
    """A car with what its own file says about it: a battery-electric one is inspected as such."""
    if not car.car_file:
        return car
    machine = read_car(event.parent / car.car_file)
    is_electric = machine.kind == "electric"
    return car.changed(energy="electric") if is_electric and car.energy == "fuel" else car

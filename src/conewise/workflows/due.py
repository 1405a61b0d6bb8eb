"""What is due now: at an event before it, during it, and after it."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from conewise.event.calendar import said
from conewise.readiness.judge import judge_day
from conewise.workflows.event_plan import plan_event

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime

    from conewise.event.runs import Run
    from conewise.readiness.items import OpenItem
    from conewise.workflows.events import LoadedDay

MOST_ROWS = 4  # people, cars and helmets that are named; the board has all


@dataclass(frozen=True, slots=True)
class OpenRow:
    """Who or what has something open: how much, and the first of it with its reason."""

    name: str
    n_items: int
    item: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Due:
    """One thing that is due.

    kind: "entries", "open", "next", "course", "walk", "runs", "debrief", "results" or "proof".
    step: where it is done: "prepare", "walk", "drive", "debrief", "change" or "prove".
    facts: numbers and names for its sentence.
    rows: who has something open, the first of them; `facts` has `n_others`, how many there are beyond them.
    """

    kind: str
    step: str
    facts: dict[str, str | int] = field(default_factory=dict)
    rows: tuple[OpenRow, ...] = ()


def due(loaded: LoadedDay, *, now: datetime, driver: str = "") -> tuple[Due, ...]:
    """What is due at an event, what comes first first.

    Parameters
    ----------
    loaded : LoadedDay
    now : datetime
        By the clock of the place, without a zone.
    driver : str, default ""
        Id; only what concerns this driver, where there is one.
    """
    runs = tuple(run for run in loaded.day.runs if not run.is_void and (not driver or run.person == driver))
    is_past = loaded.day.event.day < now.date()
    found = [] if is_past else [*_entries(loaded), *_open(loaded, driver), *_next_step(loaded, now, driver)]
    if not is_past and not runs:
        found += _walk(loaded)
    if not is_past:
        found += _runs(loaded, runs, driver)
    return (*found, *_after(runs))


def _entries(loaded: LoadedDay) -> Iterator[Due]:
    if not loaded.day.event.entries:
        yield Due(kind="entries", step="prepare")


def _open(loaded: LoadedDay, driver: str) -> Iterator[Due]:
    """What keeps somebody from running."""
    judged = judge_day(loaded.day, loaded.rules)
    own = [entry for entry in loaded.day.event.entries if not driver or entry.person == driver]
    concerned = {name for entry in own for name in (entry.person, entry.car, entry.helmet)}
    items: dict[str, list[OpenItem]] = {}
    for one in (*judged.drivers, *judged.cars, *judged.helmets):
        if not driver or one.id in concerned:
            items.setdefault(one.name, []).extend(item for item in one.open_items if item.blocks)
    items[loaded.day.event.name] = [item for item in judged.day if item.blocks]
    rows = [OpenRow(name, len(its), its[0].item, its[0].reason) for name, its in items.items() if its]
    if rows:
        facts: dict[str, str | int] = {"n": sum(row.n_items for row in rows), "n_others": len(rows[MOST_ROWS:])}
        yield Due(kind="open", step="prepare", facts=facts, rows=tuple(rows[:MOST_ROWS]))


def _next_step(loaded: LoadedDay, now: datetime, driver: str) -> Iterator[Due]:
    """On the day: what the clock says."""
    event = loaded.day.event
    if event.schedule is None or event.day != now.date():
        return
    plan = plan_event(loaded).plan
    steps = next((one.steps for one in plan.people if one.person == driver), plan.steps)
    coming = sorted((step for step in steps if step.begin > now), key=lambda step: step.begin)
    if coming:
        facts: dict[str, str | int] = {"what": said(coming[0]), "at": f"{coming[0].begin:%H:%M}"}
        yield Due(kind="next", step="prepare", facts=facts)


def _walk(loaded: LoadedDay) -> Iterator[Due]:
    name = loaded.day.event.course_file
    yield Due(kind="walk", step="walk", facts={"course": name}) if name else Due(kind="course", step="walk")


def _runs(loaded: LoadedDay, runs: tuple[Run, ...], driver: str) -> Iterator[Due]:
    """Runs that are still to be driven."""
    event = loaded.day.event
    n_drivers = 1 if driver else len({entry.person for entry in event.entries})
    planned = n_drivers * event.schedule.runs if event.schedule else 0
    if len(runs) < planned:
        yield Due(kind="runs", step="drive", facts={"n": len(runs), "planned": planned})


def _after(runs: tuple[Run, ...]) -> Iterator[Due]:
    """What runs leave to do."""
    timed = [run for run in runs if run.outcome == "timed"]
    without = [run for run in timed if not run.focus and not run.losses]
    if without:
        yield Due(kind="debrief", step="debrief", facts={"n": len(without)})
    if timed:
        yield Due(kind="results", step="drive", facts={"n": len({run.person for run in timed})})
    by_pair: dict[tuple[str, str], set[str]] = {}
    for run in timed:
        by_pair.setdefault((run.person, run.car), set()).add(run.set_up)
    tested = [pair for pair, set_ups in by_pair.items() if len(set_ups - {""}) > 1]
    if tested:
        yield Due(kind="proof", step="prove", facts={"n": len(tested)})

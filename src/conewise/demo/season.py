"""The invented season: eight drivers, five cars, four events, drawn with a seed; times rest on solved runs."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from datetime import date, datetime, time
from importlib import resources
from typing import TYPE_CHECKING

import numpy as np

from conewise.event.cars import CarChange, CheckEntry, EventCar, WheelTorque
from conewise.event.day import Entry, Event, EventDay, Money, Registration, Schedule
from conewise.event.helmets import Helmet, Look
from conewise.event.people import EmergencyContact, Guardian, Licence, Person
from conewise.event.run_time import WrittenRun, written
from conewise.event.runs import FeatureLoss, Run
from conewise.logs.seasons import STRETCH_KINDS

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from conewise.event.rules import EventRules

SEED = 20260412
RULES = "three-valleys"  # of the examples
N_RUNS = 4
PEOPLE = (
    # id, name, level, events before, year of birth, car, class
    ("ana", "Ana Brook", "expert", 64, 1984, "boulder", "P"),
    ("bo", "Bo Carver", "expert", 41, 1990, "marigold", "T"),
    ("cy", "Cy Dunmore", "regular", 17, 1979, "thistle", "S"),
    ("dee", "Dee Ellery", "regular", 12, 1996, "marigold", "T"),
    ("eli", "Eli Fenn", "regular", 9, 2001, "juniper", "S"),
    ("fay", "Fay Garland", "novice", 2, 1999, "pepper", "S"),
    ("gus", "Gus Holloway", "novice", 1, 1971, "thistle", "S"),
    ("robin", "Robin Ivers", "novice", 0, 2009, "pepper", "S"),
)
CARS = (
    ("boulder", "98 N m"),
    ("marigold", "108 N m"),
    ("pepper", "80 lb ft"),
    ("thistle", "120 N m"),
    ("juniper", "140 N m"),
)
EVENTS = (
    ("april", "Three Valleys, April", date(2026, 4, 12), "harbour-yard"),
    ("may", "Three Valleys, May", date(2026, 5, 17), "old-mill-airfield"),
    ("july", "Three Valleys, July", date(2026, 7, 5), "old-mill-airfield"),
    ("september", "Three Valleys, September", date(2026, 9, 13), "harbour-yard"),
)
# By level: pace of a good run, what the first run is slower by, scatter of the pace, cones a run, chance of no time.
_HABITS = {
    "expert": (0.965, 0.02, 0.006, 0.25, 0.01),
    "regular": (0.89, 0.04, 0.010, 0.45, 0.03),
    "novice": (0.78, 0.08, 0.018, 0.60, 0.08),
}
_SEASON_GAIN = {"expert": 0.004, "regular": 0.010, "novice": 0.025}  # of the pace, from event to event
# Where each one is slower than elsewhere, by this much pace at the first event and by less at every later one.
_WEAK = {
    "ana": "sweeper", "bo": "slalom", "cy": "hairpin", "dee": "slalom", "eli": "sweeper", "fay": "hairpin",
    "gus": "slalom", "robin": "slalom",
}  # fmt: skip
_WEAKER, _MENDED = 0.05, 0.6  # pace; share of it that is left from event to event
RECORDED = ("september", "dee", 2, 38.193)  # event, driver, run and raw time [s] of the recording among the examples
RECORDING = "harbour-yard-evening"
_FOCUS = ("slow in, look for the exit", "look one feature ahead", "room at the key cones", "power as it points")


@dataclass(frozen=True, slots=True)
class SolvedPace:
    """A solved run at a pace: its time, and how much of it each kind of stretch took."""

    pace: float
    parts: Mapping[str, float]  # by kind [s]

    @property
    def time(self) -> float:
        """The whole. [s]"""
        return sum(self.parts.values())


def solved_paces() -> dict[tuple[str, str], tuple[SolvedPace, ...]]:
    """Solved times by car and course; bench/make_demo_season.py wrote the table."""
    text = resources.files("conewise.demo").joinpath("season", "predicted.csv").read_text(encoding="utf-8")
    rows = csv.DictReader(line for line in text.splitlines() if not line.startswith("#"))
    found: dict[tuple[str, str], tuple[SolvedPace, ...]] = {}
    for row in rows:
        key = (row["car"], row["course"])
        times: dict[str, float] = {kind: float(row[f"{kind}_s"]) for kind in STRETCH_KINDS}
        parts = {kind: seconds for kind, seconds in times.items() if seconds > 0.0}
        found[key] = (*found.get(key, ()), SolvedPace(float(row["pace"]), parts))
    return found


def drawn_season(
    rules: EventRules,
    *,
    rng: np.random.Generator,
    solved: Mapping[tuple[str, str], tuple[SolvedPace, ...]],
) -> tuple[EventDay, ...]:
    """Four event days; the last one has something open.

    Parameters
    ----------
    rules : EventRules
        Whose inspection the cars went through.
    rng : Generator
        Draws paces, cones and runs without a time.
    solved : mapping
        Times by car and course.
    """
    cars = tuple(EventCar(
        id=key, name=key.title(), car_file=key, wheel_torque=WheelTorque(written=torque, source="maker's manual"),
        energy="electric" if key == "juniper" else "fuel",
    ) for key, torque in CARS)  # fmt: skip
    helmets = tuple(_helmets())
    days = []
    for number, (key, name, day, course) in enumerate(EVENTS):
        event = _event(key, name, day=day, course=course)
        people = tuple(_people(day, number))
        runs = tuple(_runs(event, number, rng=rng, solved=solved))
        checks = tuple(_checks(event, cars, rules))
        days.append(
            EventDay(event=event, people=people, cars=cars, helmets=helmets, runs=runs, checks=checks)
        )  # fmt: skip
    last = days[-1]
    contact = CarChange(
        id="september-pepper-contact", event="september", car="pepper", kind="contact",
        happened_at=datetime.combine(last.event.day, time(11, 5)), note="slid into a straw bale",
    )  # fmt: skip
    return (*days[:-1], last.changed(changes=(contact,)))


def _people(day: date, number: int) -> Iterable[Person]:
    for key, name, level, driven, year, _, _ in PEOPLE:
        is_minor = day.year - year < 18
        yield Person.model_validate({
            "id": key, "name": name, "level": level, "events_driven": driven + number, "born": date(year, 3, 9),
            "can_mentor": level == "expert", "mentor": {"fay": "ana", "gus": "bo", "robin": "ana"}.get(key, ""),
            "waiver_signed": date(2026, 4, 2), "ride_alongs": True,
            "licence": Licence(valid_until=date(2031, 1, 1), seen=date(2026, 4, 12)),
            "guardian": Guardian(name="Pat Ivers", waiver_signed=date(2026, 4, 3)) if is_minor else None,
            "emergency": EmergencyContact(name="at home", phone="555 0100"),
        })  # fmt: skip


def _helmets() -> Iterable[Helmet]:
    look = Look(result="passed", looked_by="Ana Brook", looked_at=date(2026, 4, 12))
    looks = dict.fromkeys(("fit", "strap", "liner", "impact"), look)
    labels = ("SA2025", "SA2020", "SA2020", "M2020D", "SA2020", "ECE 22.06", "M2020R", "SA2015")
    for (key, *_), label in zip(PEOPLE, labels, strict=True):
        yield Helmet.model_validate(
            {"id": f"{key}-helmet", "owner": key, "labels": (label,), "face_shield": True} | looks
        )


def _event(key: str, name: str, *, day: date, course: str) -> Event:
    entries = tuple(
        Entry(
            person=person, car=car, helmet=f"{person}-helmet", number=str(number), class_code=code,
            heat="A" if number % 2 else "B", work_heat="B" if number % 2 else "A", work_station=str(1 + number // 2),
        )
        for number, (person, _, _, _, _, car, code) in enumerate(PEOPLE, start=1)
    )  # fmt: skip
    return Event(
        id=key, name=name, day=day, place="an invented airfield", rules=RULES, course_file=course,
        fee=Money.model_validate("40.00 EUR"), registration=Registration(on_the_day=True), classes=("S", "T", "P"),
        heats=("A", "B"), schedule=Schedule(first_car=time(9, 30), runs=N_RUNS, course_length=600.0), entries=entries,
    )  # fmt: skip


def _checks(event: Event, cars: Iterable[EventCar], rules: EventRules) -> Iterable[CheckEntry]:
    """Everything looked at in the morning, the wheel nuts once more an hour later."""
    for car in cars:
        kinds = {car.energy, car.body}
        for item in rules.inspection.items:
            if not item.only or kinds & set(item.only):
                yield CheckEntry(
                    id=f"{event.id}-{car.id}-{item.id}", event=event.id, car=car.id, item=item.id, result="passed",
                    looked_by="Bo Carver", looked_at=datetime.combine(event.day, time(8 + bool(item.after), 0)),
                    value=car.wheel_torque.written if item.needs and car.wheel_torque else "",
                )  # fmt: skip


def _runs(
    event: Event,
    number: int,
    *,
    rng: np.random.Generator,
    solved: Mapping[tuple[str, str], tuple[SolvedPace, ...]],
) -> Iterable[Run]:
    """Four runs of everybody; in the last event two are still to come."""
    n_runs = N_RUNS if number < len(EVENTS) - 1 else N_RUNS - 2
    for key, _, level, _, _, car, _ in PEOPLE:
        good, slower, scatter, cones, lost = _HABITS[level]
        table = sorted(solved[car, event.course_file], key=lambda one: one.pace)
        for order in range(1, n_runs + 1):
            pace = good + _SEASON_GAIN[level] * number - slower * 0.5 ** (order - 1) + scatter * rng.standard_normal()
            parts = _driven(table, pace, weak=_WEAK[key], weaker=_WEAKER * _MENDED**number)
            raw = round(sum(parts.values()), 3)
            has_time, n_cones = rng.random() > lost, int(rng.poisson(cones))
            is_recorded = (event.id, key, order) == RECORDED[:3]
            if is_recorded:
                has_time, n_cones, raw = True, 0, RECORDED[3]
            said = WrittenRun(
                raw_time=raw if has_time else None, cones=n_cones if has_time else 0,
                outcome="timed" if has_time else "dnf",
            )  # fmt: skip
            is_debriefed = has_time and order == n_runs and not is_recorded
            yield Run(
                id=f"{event.id}-{key}-{order}", event=event.id, person=key, car=car, order=order,
                raw_time=said.raw_time, cones=said.cones, outcome=said.outcome, written=written(said),
                passenger={"fay": "ana", "gus": "bo"}.get(key, "") if order == 1 else "",
                focus=_FOCUS[order - 1] if level == "novice" else "",
                losses=_losses(parts, table[-1]) if is_debriefed else (), log=RECORDING if is_recorded else "",
                driven_at=datetime.combine(event.day, time(9 + order, 30)),
            )  # fmt: skip


def _driven(table: Sequence[SolvedPace], pace: float, *, weak: str, weaker: float) -> dict[str, float]:
    """Time in each kind of stretch at a pace, which is lower in one of them. [s]"""
    paces = [one.pace for one in table]
    return {
        kind: float(np.interp(pace - weaker * (kind == weak), paces, [one.parts[kind] for one in table]))
        for kind in table[-1].parts
    }


def _losses(parts: Mapping[str, float], best: SolvedPace) -> tuple[FeatureLoss, ...]:
    """What a debrief finds: time lost against the run at full pace, by kind of stretch."""
    return tuple(
        FeatureLoss(feature=kind, kind=kind, seconds=round(parts[kind] - best.parts[kind], 3), best=best.parts[kind])
        for kind in parts
    )

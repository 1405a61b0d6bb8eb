"""Leading drivers: the build-up of a driver's runs, driver's pages, and who needs what."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from conewise.errors import NotFoundError
from conewise.event.day import Event
from conewise.event.naming import People
from conewise.logs.seasons import Pass, is_stretch_kind, season
from conewise.mentoring.build_up import BuildUp, FeatureSpeed, PacePrediction, build_up
from conewise.mentoring.pages import DriverPage, driver_page, overview
from conewise.scoring.counting import counted
from conewise.workflows.events import course_of, load_day, machine_of

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from conewise.cars.car import Car
    from conewise.course.layout import Course
    from conewise.event.people import Person
    from conewise.logs.seasons import KindOfStretch
    from conewise.workflows.book_place import BookPlace
    from conewise.workflows.events import LoadedDay

PACES = (0.6, 0.7, 0.8, 0.9, 1.0)  # shares of the friction at which runs are predicted
N_KEY_SPEEDS = 4
STEPPED = (
    "Without solved times nothing tells the pace of the runs so far: the paces step on from those that were planned."
)
CAUTION = "Paces and speeds are estimates, not permissions; the card is read in the queue and put away for the run."


class NotEnteredError(NotFoundError):
    """A driver who is not entered at the event."""

    code = "not-entered"
    default_hint = "Add an [[entry]] for this driver to the event file."

    def __init__(self, name: str, event: str) -> None:
        super().__init__(f"{name} is not entered at {event}.", where="--driver")


class NoEventsError(NotFoundError):
    """A book without an event."""

    code = "no-events"
    default_hint = "Keep one first: `conewise book add EVENT.toml`"

    def __init__(self, folder: Path) -> None:
        super().__init__("The book has no event yet.", where=str(folder))


@dataclass(frozen=True, slots=True, kw_only=True)
class RunPlan:
    """The build-up of one driver, for the terminal and the run card."""

    event: str
    person: Person
    name: str
    car: str
    plan: BuildUp
    is_predicted: bool  # times and speeds come from solved runs

    @property
    def is_stepped(self) -> bool:
        """Whether the paces step on from planned ones, as nothing tells what the runs so far were driven at."""
        return not self.is_predicted and bool(self.plan.runs) and self.plan.runs[0].because != "plan"


def answer_run_plan(
    loaded: LoadedDay,
    driver: str,
    *,
    progress: Callable[[str], None] | None,
    predictions: Sequence[PacePrediction] = (),
) -> RunPlan:
    """The runs that a driver still has today: pace, key speeds, one focus each.

    Parameters
    ----------
    loaded : LoadedDay
    driver : str
        Id, number or name.
    progress : callable, optional
        Told in words what is going on; without it nothing is solved, and the plan has times and speeds only from
        `predictions`.
    predictions : sequence of PacePrediction, optional
        Solved before for the driver's car on the course; with them nothing is solved anew.

    Raises
    ------
    NotEnteredError
        If the driver has no entry.
    ConewiseError
        If the driver, the course or the car cannot be used.
    """
    day = loaded.day
    person = People(day).named(driver, where="--driver")
    entry = day.entry(person.id)
    if entry is None:
        raise NotEnteredError(day.called(person.id), day.event.name)
    car = day.car(entry.car)
    if progress is not None and not predictions:
        course, machine = course_of(loaded), machine_of(loaded, car) if car else None
        if course is not None and machine is not None:
            predictions = predicted(course, machine, progress=progress)
    runs = sorted((run for run in day.runs if run.person == person.id), key=lambda run: run.order)
    n_runs = day.event.schedule.runs if day.event.schedule else 4
    plan = build_up(
        person.level, n_runs, driven=[counted(run, loaded.rules.penalty) for run in runs], predictions=predictions
    )
    return RunPlan(
        event=day.event.name,
        person=person,
        name=day.called(person.id),
        car=car.name if car else "",
        plan=plan,
        is_predicted=bool(predictions),
    )


def predicted(course: Course, car: Car, *, progress: Callable[[str], None]) -> tuple[PacePrediction, ...]:
    """Runs at several paces, solved for a car on a course."""
    from conewise.cars.driver import typical_driver
    from conewise.workflows.line_solves import LineSolves

    solves = LineSolves(
        course=course, car=car, driver=typical_driver("expert"), level="transient", pace=max(PACES), surface=1.0,
        progress=progress,
    )  # fmt: skip
    rows = solves.build_up(solves.best(), PACES)
    return tuple(
        PacePrediction(pace=row.pace, time=row.time, speeds=tuple(FeatureSpeed(k.feature, k.speed) for k in row.speeds))
        for row in rows
    )


def answer_page(days: Sequence[LoadedDay], driver: str) -> DriverPage:
    """One driver over the events given; see `conewise.mentoring.pages.driver_page`."""
    person = People(days[-1].day).named(driver, where="--driver")
    return driver_page(person.id, _with_penalties(days))


def answer_overview(days: Sequence[LoadedDay], *, mentor: str = "") -> tuple[DriverPage, ...]:
    """Who needs what, most first; see `conewise.mentoring.pages.overview`."""
    chosen = People(days[-1].day).named(mentor, where="--mentor").id if mentor else ""
    return overview(_with_penalties(days), mentor=chosen)


def answer_season(days: Sequence[LoadedDay], driver: str = "") -> tuple[KindOfStretch, ...]:
    """Where the time goes by kind of stretch, over the debriefs of the events given; greatest loss first.

    Parameters
    ----------
    days : sequence of LoadedDay
    driver : str, default ""
        Id, number or name; everybody where left out.
    """
    person = _somebody(days, driver).id if driver else ""
    runs = [
        [
            Pass(event=loaded.day.event.id, kind=loss.kind, time=loss.best + loss.seconds, reference=loss.best)
            for loss in run.losses
            if loss.best is not None and is_stretch_kind(loss.kind)
        ]
        for loaded in days
        for run in loaded.day.runs
        if run.losses and not run.is_void and (not person or run.person == person)
    ]
    return season(runs)


def _somebody(days: Sequence[LoadedDay], driver: str) -> Person:
    """The driver in the latest event that knows them."""
    for loaded in reversed(days[1:]):
        with suppress(NotFoundError):
            return People(loaded.day).named(driver, where="--driver")
    return People(days[0].day).named(driver, where="--driver")


def season_record(kinds: Sequence[KindOfStretch]) -> dict[str, Any]:
    """The season by kind of stretch as one JSON object; times in seconds."""
    rows = [
        {
            "kind": one.kind, "events": one.n_events, "passes": one.n_passes, "loss_s": one.loss,
            "share": one.share, "share_spread": one.share_spread,
        }
        for one in kinds
    ]  # fmt: skip
    return {"ok": True, "kinds": rows}


def every_event(place: BookPlace, *, rules: str = "") -> tuple[LoadedDay, ...]:
    """Every event of the book, in the order of their days; with `rules` in place of their own.

    Raises
    ------
    NoBookError
        If there is no book.
    NoEventsError
        If it has no event.
    """
    with place.opened(create=False) as book:
        ids = [kept.id for kept in book.every(Event)]
    if not ids:
        raise NoEventsError(place.folder)
    return tuple(load_day(Path(one), source=place, rules=rules) for one in ids)


def _with_penalties(days: Sequence[LoadedDay]) -> list[tuple[Any, Any]]:
    return [(loaded.day, loaded.rules.penalty) for loaded in days]


def run_plan_record(answer: RunPlan) -> dict[str, Any]:
    """The build-up as one JSON object; the run card is made of the same."""
    return {
        "ok": True,
        "event": answer.event,
        "driver": answer.person.id,
        "name": answer.name,
        "car": answer.car,
        "level": answer.person.level,
        "is_predicted": answer.is_predicted,
        "is_stepped": answer.is_stepped,
        "reached_pace": answer.plan.reached_pace,
        "runs": [
            {
                "run": run.number,
                "pace": run.pace,
                "predicted_time_s": run.time,
                "focus": run.focus,
                "because": run.because,
                "key_speeds": [
                    {"feature": speed.feature, "slowest_speed_m_per_s": speed.speed} for speed in key_speeds(run.speeds)
                ],
            }
            for run in answer.plan.runs
        ],
        "caution": CAUTION,
    }


def key_speeds(speeds: Sequence[FeatureSpeed]) -> list[FeatureSpeed]:
    """The slowest features of a run, in the order of the course."""
    slowest = sorted(speeds, key=lambda speed: speed.speed)[:N_KEY_SPEEDS]
    return [speed for speed in speeds if speed in slowest]


def page_record(page: DriverPage) -> dict[str, Any]:
    """A driver's page as one JSON object; times in seconds."""
    return {
        "driver": page.person,
        "name": page.name,
        "focus": page.focus,
        "next_step": page.next_step,
        "reason": page.reason,
        "ride_alongs": list(page.ride_alongs),
        "progress_s": {kind: [{"event": e, "loss_s": s} for e, s in rows] for kind, rows in page.progress.items()},
        "events": [
            {
                "event": day.event,
                "date": day.day.isoformat(),
                "runs": [
                    {
                        "run": one.run.order,
                        "raw_time_s": one.run.raw_time,
                        "cones": one.run.cones,
                        "outcome": one.run.outcome,
                        "total_s": one.total,
                    }
                    for one in day.runs
                ],
                "first_raw_s": day.first,
                "best_raw_s": day.best,
                "best_total_s": day.total,
                "learned_s": day.learned,
                "spread_s": day.spread,
                "cones": day.cones,
                "n_without_time": day.n_without_time,
                "focus": list(day.focus),
            }
            for day in page.days
        ],
    }

"""Leading drivers: the build-up of a driver's runs, driver's pages, and who needs what."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from conewise.errors import NotFoundError
from conewise.event.naming import People
from conewise.mentoring.build_up import BuildUp, FeatureSpeed, PacePrediction, build_up
from conewise.mentoring.pages import DriverPage, driver_page, overview
from conewise.scoring.counting import counted
from conewise.workflows.events import course_of, machine_of

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from conewise.cars.car import Car
    from conewise.course.layout import Course
    from conewise.event.people import Person
    from conewise.workflows.events import LoadedDay

PACES = (0.6, 0.7, 0.8, 0.9, 1.0)  # shares of the friction at which runs are predicted
N_KEY_SPEEDS = 4
CAUTION = "Paces and speeds are estimates, not permissions; the card is read in the queue and put away for the run."


class NotEnteredError(NotFoundError):
    """A driver who is not entered at the event."""

    code = "not-entered"
    default_hint = "Add an [[entry]] for this driver to the event file."

    def __init__(self, name: str, event: str) -> None:
        super().__init__(f"{name} is not entered at {event}.", where="--driver")


@dataclass(frozen=True, slots=True, kw_only=True)
class RunPlan:
    """The build-up of one driver, for the terminal and the run card."""

    event: str
    person: Person
    name: str
    car: str
    plan: BuildUp
    is_predicted: bool  # times and speeds come from solved runs


def answer_run_plan(loaded: LoadedDay, driver: str, *, progress: Callable[[str], None] | None) -> RunPlan:
    """The runs that a driver still has today: pace, key speeds, one focus each.

    Parameters
    ----------
    loaded : LoadedDay
    driver : str
        Id, number or name.
    progress : callable, optional
        Told in words what is going on; without it nothing is solved, and the plan has neither times nor speeds.

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
    course, machine = course_of(loaded), machine_of(loaded, car) if car else None
    predictions: tuple[PacePrediction, ...] = ()
    if progress is not None and course is not None and machine is not None:
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

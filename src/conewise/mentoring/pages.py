"""After the day: each driver's page over the season, and the mentor's view of who needs what."""

from __future__ import annotations

from dataclasses import dataclass
from statistics import fmean, median
from typing import TYPE_CHECKING

from conewise.scoring.counting import best_first, counted

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from conewise.event.day import EventDay
    from conewise.event.rules import PenaltyRule
    from conewise.scoring.counting import CountedRun

# When something is the next step; common practice, no source.
_OFTEN_WITHOUT_TIME = 0.25  # share of the runs
_MANY_CONES = 0.5  # a run
_WIDE_SPREAD = 0.02  # of the best raw time, from the middle run to the best


@dataclass(frozen=True, slots=True, kw_only=True)
class DayOfDriver:
    """One event of one driver.

    first, best: raw time of the first timed run and of the fastest [s]
    total: of the best run with its penalties [s]
    spread: from the middle raw time to the fastest [s]
    losses: mean time lost by kind of feature, as debriefs found it [s]
    """

    event: str
    day: date
    runs: tuple[CountedRun, ...]
    first: float | None
    best: float | None
    total: float | None
    spread: float | None
    cones: int
    n_without_time: int
    focus: tuple[str, ...]
    losses: dict[str, float]

    @property
    def learned(self) -> float | None:
        """From the first timed run to the fastest; above zero is faster. [s]"""
        return None if self.first is None or self.best is None else round(self.first - self.best, 4)

    @property
    def cones_per_run(self) -> float:
        """Cones by runs that were started."""
        return self.cones / max(len(self.runs), 1)


@dataclass(frozen=True, slots=True, kw_only=True)
class DriverPage:
    """One driver over the events given."""

    person: str
    name: str
    days: tuple[DayOfDriver, ...]
    ride_alongs: tuple[str, ...]
    focus: str
    next_step: str
    reason: str

    @property
    def progress(self) -> dict[str, tuple[tuple[str, float], ...]]:
        """Mean loss by kind of feature, event after event. [s]"""
        kinds = dict.fromkeys(kind for day in self.days for kind in day.losses)
        return {kind: tuple((d.event, d.losses[kind]) for d in self.days if kind in d.losses) for kind in kinds}

    @property
    def need(self) -> tuple[float, float, float]:
        """By what a mentor sorts: runs without a time, cones a run, spread, of the last event with runs."""
        driven = [day for day in self.days if day.runs]
        if not driven:
            return (0.0, 0.0, 0.0)
        last = driven[-1]
        return (last.n_without_time / len(last.runs), last.cones_per_run, (last.spread or 0.0) / (last.best or 1.0))


def driver_page(person: str, days: Sequence[tuple[EventDay, PenaltyRule]]) -> DriverPage:
    """The page of one driver.

    Parameters
    ----------
    person : str
        Id.
    days : sequence of (EventDay, PenaltyRule)
        Events with the penalties of their rules, in any order.
    """
    ordered = sorted(days, key=lambda pair: pair[0].event.day)
    entered = [pair for pair in ordered if pair[0].entry(person) or any(run.person == person for run in pair[0].runs)]
    found = tuple(_day_of(person, day, rule) for day, rule in entered)
    name = next((day.called(person) for day, _ in reversed(ordered) if day.person(person)), person)
    step, reason = _next_step(found)
    spoken = [focus for day in found for focus in day.focus]
    return DriverPage(
        person=person,
        name=name,
        days=found,
        ride_alongs=tuple(line for day, _ in ordered for line in _ride_alongs(person, day)),
        focus=spoken[-1] if spoken else "",
        next_step=step,
        reason=reason,
    )


def overview(days: Sequence[tuple[EventDay, PenaltyRule]], *, mentor: str = "") -> tuple[DriverPage, ...]:
    """Every driver's page, who needs most first; with a mentor only those who have chosen that one."""
    people = dict.fromkeys(
        person.id
        for day, _ in days
        for person in day.people
        if (day.entry(person.id) and (not mentor or person.mentor == mentor))
    )
    pages = [driver_page(person, days) for person in people]
    return tuple(sorted(pages, key=lambda page: page.need, reverse=True))


def _day_of(person: str, day: EventDay, rule: PenaltyRule) -> DayOfDriver:
    runs = sorted((run for run in day.runs if run.person == person), key=lambda run: run.order)
    own = tuple(counted(run, rule) for run in runs if not run.is_void and run.outcome != "dns")
    timed = [one for one in own if one.total is not None]
    raw = [one.run.raw_time for one in timed if one.run.raw_time is not None]
    fastest = best_first(timed)
    kinds: dict[str, list[float]] = {}
    for one in own:
        for loss in one.run.losses:
            kinds.setdefault(loss.kind or "other", []).append(loss.seconds)
    return DayOfDriver(
        event=day.event.name,
        day=day.event.day,
        runs=own,
        first=raw[0] if raw else None,
        best=min(raw, default=None),
        total=fastest[0].total if fastest else None,
        spread=round(median(raw) - min(raw), 4) if raw else None,
        cones=sum(one.run.cones for one in own),
        n_without_time=len(own) - len(timed),
        focus=tuple(one.run.focus for one in own if one.run.focus),
        losses={kind: fmean(seconds) for kind, seconds in kinds.items()},
    )


def _ride_alongs(person: str, day: EventDay) -> list[str]:
    """Who rode along with whom, and what was said."""
    lines = [
        f"{day.event.name}, run {run.order}: {day.called(run.passenger)} rode along with {day.called(run.person)}."
        for run in day.runs
        if run.passenger and person in {run.person, run.passenger}
    ]
    for ride in day.ride_alongs:
        if person in {ride.driver, ride.passenger}:
            said = f' "{ride.said}"' if ride.said else ""
            lines.append(f"{day.event.name}: {day.called(ride.passenger)} with {day.called(ride.driver)}.{said}")
    return lines


def _next_step(days: Sequence[DayOfDriver]) -> tuple[str, str]:
    """What to work on, and what says so; by the last event with runs."""
    driven = [day for day in days if day.runs]
    if not driven:
        return "Drive the first run slowly: get through, no cones.", "No run is written down yet."
    last = driven[-1]
    n_runs = len(last.runs)
    if last.n_without_time / n_runs > _OFTEN_WITHOUT_TIME:
        reason = f"{last.n_without_time} of {n_runs} runs at {last.event} have no time."
        return "Learn the course first: one more walk, and the drill before the first run.", reason
    if last.cones_per_run > _MANY_CONES:
        reason = f"{last.cones} cones in {n_runs} runs at {last.event}."
        return "Room at the key cones before more speed.", reason
    if last.spread is not None and last.best is not None and last.spread > _WIDE_SPREAD * last.best:
        reason = f"The middle run at {last.event} is {last.spread:.2f} s behind the fastest."
        return "Repeat a good run: same braking points, same order, no experiments.", reason
    if last.losses:
        kind, seconds = max(last.losses.items(), key=lambda item: item[1])
        return f"Work on the {kind}.", f"{seconds:.2f} s are lost there on average at {last.event}."
    return "Record a run: times alone do not tell where the rest lies.", f"Clean and steady at {last.event}."

"""How a driver builds up over the runs of a day: pace, key speeds and one focus a run, anew after every run."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from conewise.event.people import Level
    from conewise.scoring.counting import CountedRun

# Share of the usable friction; common practice, no source: the last run of a day, and how far below it the first is.
TOP_PACE: dict[Level, float] = {"novice": 0.80, "regular": 0.90, "expert": 0.97}
BELOW_TOP = 0.10
BACK = 0.05  # a step back after a run without a time
SLOWEST = 0.60
MANY_CONES = 2  # from here on the pace stays

Reason = Literal["plan", "no time", "cones", "one cone", "too fast", "clean"]

# One focus a run, from the first on; common practice, no source.
_FOCUS = (
    "Get through: find every feature in its order, no cones, no hurry.",
    "Slow in: brake early and straight, then look for the exit.",
    "Look one feature further ahead than feels natural.",
    "Place the car: leave each key cone the room that you choose.",
    "Power as soon as the car points at the next feature.",
)
_FOCUS_AFTER = {
    "no time": "Get through: walk the missed part again in your head, then drive it slowly.",
    "cones": "Room at the cones that you hit; the pace stays.",
    "too fast": "Same pace once more, smoother: this was faster than planned.",
}


@dataclass(frozen=True, slots=True)
class FeatureSpeed:
    """The slowest speed inside one feature."""

    feature: str
    speed: float  # [m/s]


@dataclass(frozen=True, slots=True, kw_only=True)
class PacePrediction:
    """The run at one share of the usable friction, as solved for the driver's car."""

    pace: float
    time: float  # [s]
    speeds: tuple[FeatureSpeed, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedRun:
    """One run still to come."""

    number: int
    pace: float
    time: float | None  # predicted; None without a prediction [s]
    speeds: tuple[FeatureSpeed, ...]  # the slowest ones of the course
    focus: str
    because: Reason


@dataclass(frozen=True, slots=True, kw_only=True)
class BuildUp:
    """The runs still to come, and the pace of the last one as its time tells it."""

    runs: tuple[PlannedRun, ...]
    reached_pace: float | None


def build_up(
    level: Level, n_runs: int, *, driven: Sequence[CountedRun] = (), predictions: Sequence[PacePrediction] = ()
) -> BuildUp:
    """The plan for the runs of a day that are still to come.

    A beginner begins slowly and gets faster by small steps from what was last used: the pace that the run's time
    tells, else the one that was planned for it. A run without a time takes the next one a step back; a cone keeps the
    pace, two or more also decide the focus; a clean run allows the next step. Paces are estimates, not permissions.

    Parameters
    ----------
    level : str
        "novice", "regular" or "expert": decides the pace of the last run.
    n_runs : int
        Of the day.
    driven : sequence of CountedRun
        Runs so far, in their order; void ones are left out.
    predictions : sequence of PacePrediction
        Solved at several paces; without them the plan has neither times nor speeds.
    """
    table = sorted(predictions, key=lambda prediction: prediction.pace)
    done = [one for one in driven if not one.run.is_void]
    top = TOP_PACE[level]
    step = BELOW_TOP / max(n_runs - 1, 1)
    pace = top - BELOW_TOP
    because: Reason = "plan"
    reached = None
    for one in done:
        reached = pace_of(one.run.raw_time, table) if one.total is not None and one.run.raw_time is not None else None
        pace, because = _next(one, pace, reached=reached, step=step, level=level)
    paces = [min(pace + step * number, top) for number in range(n_runs - len(done))]
    runs = []
    for number, planned in enumerate(paces, start=len(done) + 1):
        is_next = number == len(done) + 1
        focus = _focus(number, because, done) if is_next else _FOCUS[min(number, len(_FOCUS)) - 1]
        runs.append(_planned(number, planned, table=table, focus=focus, because=because if is_next else "plan"))
    return BuildUp(runs=tuple(runs), reached_pace=reached)


def pace_of(time: float, table: Sequence[PacePrediction]) -> float | None:
    """The pace at which a run takes a time, between the predicted ones; None without at least two of them."""
    if len(table) < 2:
        return None
    by_time = sorted(table, key=lambda prediction: prediction.time)
    return float(np.interp(time, [one.time for one in by_time], [one.pace for one in by_time]))


def _next(one: CountedRun, planned: float, *, reached: float | None, step: float, level: Level) -> tuple[float, Reason]:
    """Pace of the run after a driven one, and why."""
    if one.total is None:
        return max(planned - BACK, SLOWEST), "no time"
    top = TOP_PACE[level]
    used = min(planned if reached is None else reached, top)
    if one.run.cones >= MANY_CONES:
        return min(planned, used), "cones"
    if reached is not None and reached > planned + step and level == "novice":
        return used, "too fast"
    return (used, "one cone") if one.run.cones else (min(used + step, top), "clean")


def _focus(number: int, because: Reason, done: Sequence[CountedRun]) -> str:
    """One focus: what the last run asks for; what a debrief found; else the next of the list."""
    if because in _FOCUS_AFTER:
        return _FOCUS_AFTER[because]
    if done and done[-1].run.focus:
        return done[-1].run.focus
    return _FOCUS[min(number, len(_FOCUS)) - 1]


def _planned(number: int, pace: float, *, table: Sequence[PacePrediction], focus: str, because: Reason) -> PlannedRun:
    paces = [one.pace for one in table]
    time = float(np.interp(pace, paces, [one.time for one in table])) if table else None
    features = [speed.feature for speed in table[0].speeds] if table else []
    speeds = []
    for feature in features:
        known = [(one.pace, speed.speed) for one in table for speed in one.speeds if speed.feature == feature]
        between = np.interp(pace, [row[0] for row in known], [row[1] for row in known])
        speeds.append(FeatureSpeed(feature, float(between)))
    return PlannedRun(
        number=number, pace=round(pace, 3), time=time, speeds=tuple(speeds), focus=focus, because=because
    )  # fmt: skip

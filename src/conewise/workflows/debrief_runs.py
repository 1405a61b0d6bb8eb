"""The solves behind a debrief: the best run, the best on the driver's line, and on lines that may have been it."""

from __future__ import annotations

import time as clock
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from scipy.stats import t as student

from conewise.course.reference import lay_out, permitted_choices
from conewise.errors import ConvergenceError, InfeasibleError
from conewise.findings import Finding
from conewise.logs.align import laid_along
from conewise.logs.breakdown import Breakdown, FeatureGap, FrictionFound, Interval
from conewise.logs.driven_line import border_shift, line_knowledge
from conewise.runs import feature_results
from conewise.solver.line_results import body_of
from conewise.solver.min_time import Run, Settings, rerun, solve_run
from conewise.solver.on_line import feature_times, freed, room_taken, run_on_line
from conewise.solver.problem import SolverStoppedError
from conewise.solver.solution import transient_solution
from conewise.sweeps import Base, base_of
from conewise.vehicle import build
from conewise.workflows import predict
from conewise.workflows.traces import predicted_trace

if TYPE_CHECKING:
    from collections.abc import Sequence

    from conewise.cars.car import Car
    from conewise.course.geometry import CourseGeometry
    from conewise.logs.driven_line import Draws, LineKnowledge
    from conewise.logs.laid import LaidRun
    from conewise.runs import Body, FeatureResult, Trace
    from conewise.solver.result import Solution

Array = NDArray[np.float64]

NUMERICAL = 0.002  # of a feature solved on a line, one standard deviation [s]
OVER_CONE = -0.02  # a body nearer to a base than this was over it [m]
FEWEST_PATHS = 5  # solved, whatever the time
LEAST_PATHS = 3  # that tell an interval


@dataclass(frozen=True, kw_only=True)
class FreeRun:
    """The best run on the sides that the driver took, and what is laid along its path.

    laid: the driven run along that path
    """

    run: Run
    laid: LaidRun
    car: Car

    @property
    def geometry(self) -> CourseGeometry:
        """That of the run."""
        return self.run.problem.geometry

    @property
    def driven(self) -> Trace:
        """The driven run."""
        assert self.laid.trace is not None
        return self.laid.trace

    @property
    def body(self) -> Body:
        """Of the car."""
        return body_of(self.run.problem.p)

    def at_nodes(self, values: Array) -> Array:
        """Values on the stations of the driven run at the nodes."""
        return np.interp(self.run.problem.mesh.station, self.driven.station, values)

    def trace(self, run: Run, name: str) -> Trace:
        """A run on this path as a trace."""
        return predicted_trace(self.solution(run), self.geometry, name=name)

    def solution(self, run: Run) -> Solution:
        """A run in the shape that reports read."""
        return transient_solution(run, car=self.car.name)


def free_run(laid: LaidRun, car: Car, *, surface: float, start: FreeRun | None = None) -> FreeRun:
    """The best run on the sides that the driver took.

    Parameters
    ----------
    laid : LaidRun
    car : Car
    surface : float
        Factor on the friction of the car file.
    start : FreeRun, optional
        The same with another friction.

    Raises
    ------
    SolverStoppedError
        Where there is none.
    """
    if start is None:
        p = predict.parameters(laid.geometry, car, surface=surface)
        run = solve_run(laid.geometry, p, settings=Settings(shift_time=build.gearbox(car).shift_time))
    else:
        run = rerun(start.run, predict.parameters(laid.geometry, car, surface=surface))
    return FreeRun(run=run, laid=_laid_on(laid, run.problem.geometry), car=car)


def _laid_on(laid: LaidRun, geometry: CourseGeometry) -> LaidRun:
    if geometry.path is laid.geometry.path:
        return replace(laid, geometry=geometry)
    return replace(laid, geometry=geometry, trace=laid_along(laid.track, laid.run, geometry.path))


def knowledge(free: FreeRun, draws: Draws, hit: frozenset[str]) -> LineKnowledge:
    """What is known of the driver's line beside its offsets.

    Notes
    -----
    A recording does not tell where the body points beside where it goes. In the best run the sideslip is about a
    multiple of the line's curvature plus one of the lateral acceleration; both multiples are taken from there.
    """
    trace = free.driven
    step = float(np.median(np.diff(trace.station)))
    return line_knowledge(
        trace,
        free.geometry,
        free.body,
        deviation=max(draws.deviation, 1e-3),
        memory=draws.memory(step),
        body_angle=-_sideslip(free, trace),
        hit=hit,
    )


def _sideslip(free: FreeRun, trace: Trace) -> Array:
    best = free.solution(free.run)
    assert best.sideslip is not None
    course = np.unwrap(best.heading + best.sideslip)
    rows = np.column_stack([_bend(best.x, best.y, course), best.ay])
    shares, *_ = np.linalg.lstsq(rows, best.sideslip, rcond=None)
    return np.asarray(np.column_stack([_bend(trace.x, trace.y, trace.heading), trace.lateral_acceleration]) @ shares)


def _bend(x: Array, y: Array, heading: Array) -> Array:
    """Curvature of a line. [1/m]"""
    along = np.concatenate([[0.0], np.cumsum(np.maximum(np.hypot(np.diff(x), np.diff(y)), 1e-3))])
    return np.gradient(heading, along)


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """What drawn lines say: shape (n_paths, n_features) each. [s]

    on_line: time of the best run on each
    later: how much later than told the features begin to end; added to the measured times
    """

    on_line: Array
    later: Array


@dataclass(frozen=True, kw_only=True)
class Solved:
    """The three runs of a breakdown along one path.

    on_line: None where the recording cannot carry a line
    best: fastest on any line and any permitted side
    spread: what drawn lines say; None where there is no line
    """

    free: FreeRun
    on_line: Run | None
    best: Solution
    spread: Spread | None = None


def on_drivers_line(free: FreeRun, offset: Array, *, near: Run | None = None) -> Run:
    """The best run on a line given on the stations of the driven run."""
    return run_on_line(free.run, free.at_nodes(offset), p=free.run.problem.p, near=near)


def not_beaten(free: FreeRun, line: Run) -> tuple[FreeRun, tuple[Finding, ...]]:
    """The free run, started again from the run on the line where that was faster.

    Notes
    -----
    What still beats it took room that cones do not leave: then the free run is allowed as much at these cones.
    """
    if free.run.point.time <= line.point.time:
        return free, ()
    again = replace(free, run=freed(free.run, line))
    if again.run.point.time <= line.point.time:
        return again, ()
    room = np.minimum(room_taken(line), 0.0)
    allowed = replace(free, run=freed(free.run, line, margins=room))
    over = sorted({c.id for c, r in zip(free.geometry.passes, room, strict=True) if r < OVER_CONE})
    cones = ", ".join(over) or "several by a little"
    words = f"The run took room that the cones do not leave ({cones}); the best run is allowed the same there."
    return allowed, (Finding("warning", "room-of-cones", words),)


def other_sides(free: FreeRun, surface: float) -> tuple[Solution | None, tuple[Finding, ...]]:
    """The fastest run on other permitted sides, where it is faster than the free run."""
    course, taken = free.geometry.course, free.geometry.choices
    best, findings = None, []
    for choices in permitted_choices(course):
        if choices == taken:
            continue
        try:
            geometry = lay_out(course, choices=choices)
            p = predict.parameters(geometry, free.car, surface=surface)
            run = solve_run(geometry, p, settings=free.run.settings)
        except (ConvergenceError, InfeasibleError) as error:
            findings.append(Finding("warning", "side-unsolved", f"Another side could not be compared: {error.message}"))
            continue
        if run.point.time < (free.run.point.time if best is None else best.time):
            best = free.solution(run)
    if best is not None:
        sides = ", ".join(f"{name} {side}" for name, side in best.choices.items() if taken[name] != side)
        words = f"Another side is {free.run.point.time - best.time:.2f} s faster at its best: {sides}."
        findings.append(Finding("note", "faster-side", words))
    return best, tuple(findings)


def spread_of(
    free: FreeRun,
    draws: Draws,
    known: LineKnowledge,
    *,
    workers: int,
    until: float,
    rng: np.random.Generator,
) -> Spread:
    """Solve the lines that the recording allows, as many as there is time for.

    Parameters
    ----------
    free : FreeRun
    draws : Draws
    known : LineKnowledge
    workers : int
        Processes.
    until : float
        No new line is begun after this time of `time.monotonic`, once there are five. [s]
    rng : Generator
    """
    trace = free.driven
    lines = [free.at_nodes(known.most_probable(trace.lateral_offset + off)) for off in draws.lateral]
    solved = _solved_lines(base_of(free.run), lines, workers=workers, until=until)
    shift = border_shift(draws.along[: len(solved)], trace)
    ends = np.array([[s.start, s.end] for s in free.geometry.spans])
    at = np.stack([[np.interp(ends[:, k], trace.front_station, row) for k in (0, 1)] for row in shift])
    later = at[:, 1] - at[:, 0]
    crossings = free.laid.run
    assert crossings.finish is not None
    later[:, 0] -= crossings.start.deviation * rng.standard_normal(len(later))
    later[:, -1] += crossings.finish.deviation * rng.standard_normal(len(later))
    usable = np.array([times is not None for times in solved])
    return Spread(on_line=np.array([times for times in solved if times is not None]), later=later[usable])


def _solved_lines(base: Base, lines: Sequence[Array], *, workers: int, until: float) -> list[Array | None]:
    answers: list[Array | None] = []
    if workers <= 1:
        for line in lines:
            if clock.monotonic() > until and len(answers) >= FEWEST_PATHS:
                break
            answers.append(_line_times(base, line))
        return answers
    from joblib import Parallel, delayed

    with Parallel(n_jobs=workers, backend="loky") as pool:
        for first in range(0, len(lines), workers):
            if clock.monotonic() > until and len(answers) >= FEWEST_PATHS:
                break
            answers += pool(delayed(_line_times)(base, line) for line in lines[first : first + workers])
    return answers


def _line_times(base: Base, line: Array) -> Array | None:
    """Feature times on one line; None where the car cannot follow it."""
    try:
        return feature_times(run_on_line(base.run(), line, is_rough=True))
    except SolverStoppedError:
        return None


def breakdown_of(solved: Solved, *, friction: FrictionFound, on_line: Trace, best: Trace) -> Breakdown:
    """The gap by feature, with intervals.

    Parameters
    ----------
    solved : Solved
    friction : FrictionFound
    on_line, best : Trace
        Along the path of the free run.

    Notes
    -----
    Where the recording cannot carry a line the parts are not numbers.
    """
    spread = solved.spread
    geometry, driven = solved.free.geometry, solved.free.driven
    rows = [_results(geometry, trace) for trace in (driven, on_line, best)]
    lines = speeds = None
    if spread is not None:
        lines, speeds = _deviations(spread)
    gaps = []
    for k, (measured, middle, fastest) in enumerate(zip(*rows, strict=True)):
        at_line = np.nan if spread is None else middle.time
        gaps.append(
            FeatureGap(
                id=measured.id,
                kind=measured.kind,
                start=measured.start,
                end=measured.end,
                measured=measured.time,
                best_on_line=at_line,
                best=fastest.time,
                line_interval=_interval(at_line - fastest.time, lines, k),
                speed_interval=_interval(measured.time - at_line, speeds, k),
            )
        )
    total_line = sum(gap.line for gap in gaps)
    total_speed = sum(gap.speed for gap in gaps)
    return Breakdown(
        features=tuple(gaps),
        friction=friction,
        n_paths=0 if spread is None else len(spread.on_line),
        line_interval=_interval(total_line, lines, -1),
        speed_interval=_interval(total_speed, speeds, -1),
    )


def _results(geometry: CourseGeometry, trace: Trace) -> tuple[FeatureResult, ...]:
    return feature_results(geometry, station=trace.front_station, elapsed=trace.time, speed=trace.speed)


def _deviations(spread: Spread) -> tuple[Array, Array]:
    """Half widths of the 90% intervals of line and speed for every feature, and last for the whole run. [s]"""
    off = np.column_stack([spread.on_line, spread.on_line.sum(axis=1)])
    later = np.column_stack([spread.later, spread.later.sum(axis=1)])
    factor = float(student.ppf(0.95, len(off) - 1))

    def half(values: Array) -> Array:
        return np.asarray(factor * np.sqrt(np.var(values, axis=0, ddof=1) + NUMERICAL**2))

    return half(off), half(later - off)


def _interval(value: float, half: Array | None, k: int) -> Interval:
    if half is None:
        return Interval(low=float("nan"), high=float("nan"))
    return Interval(low=float(value - half[k]), high=float(value + half[k]))

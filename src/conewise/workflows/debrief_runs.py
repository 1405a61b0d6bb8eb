"""The solves behind a debrief: the best run, the best on the driver's line, and on lines that may have been it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from scipy.special import stdtrit

from conewise.findings import Finding
from conewise.logs.breakdown import Breakdown, FeatureGap, FrictionFound, Interval
from conewise.runs import feature_results
from conewise.solver.line_results import body_of
from conewise.solver.min_time import Run, Settings, rerun, solve_run
from conewise.solver.on_line import freed, room_taken, run_on_line
from conewise.solver.solution import transient_solution
from conewise.vehicle import build
from conewise.workflows import predict
from conewise.workflows.traces import predicted_trace

if TYPE_CHECKING:
    from conewise.cars.car import Car
    from conewise.course.geometry import CourseGeometry
    from conewise.logs.laid import LaidRun
    from conewise.runs import Body, FeatureResult, Trace
    from conewise.solver.result import Solution
    from conewise.workflows.debrief_lines import Spread

Array = NDArray[np.float64]

NUMERICAL = 0.002  # of a feature solved on a line, one standard deviation [s]
OVER_CONE = -0.02  # a body nearer to a base than this was over it [m]
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
    return laid.along(geometry)


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


def on_drivers_line(free: FreeRun, offset: Array) -> Run:
    """The best run on a line given on the stations of the driven run."""
    return run_on_line(free.run, free.at_nodes(offset), p=free.run.problem.p)


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
        lines, speeds = interval_widths(spread, friction)
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


def interval_widths(spread: Spread, friction: FrictionFound) -> tuple[Array, Array]:
    """Half widths of the 90% intervals of line and speed for every feature, and last for the whole run. [s]"""
    off, later, (on_line, best) = (_with_whole(v) for v in (spread.on_line, spread.later, spread.by_friction))
    factor = float(stdtrit(len(off) - 1, 0.95))

    def half(values: Array, slope: Array) -> Array:
        return np.asarray(
            np.hypot(factor * np.sqrt(np.var(values, axis=0, ddof=1) + NUMERICAL**2), slope * friction.doubt)
        )

    return half(off, on_line - best), half(later - off, on_line)


def _with_whole(values: Array) -> Array:
    """Rows of features with their sum as the last column."""
    return np.column_stack([values, values.sum(axis=1)])


def _interval(value: float, half: Array | None, k: int) -> Interval:
    if half is None:
        return Interval(low=float("nan"), high=float("nan"))
    return Interval(low=float(value - half[k]), high=float(value + half[k]))

"""The best runs on the sides that a driver did not take, worked out in other processes beside the rest of a debrief."""

from __future__ import annotations

import time as clock
from collections.abc import Generator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from conewise.course.reference import lay_out, permitted_choices
from conewise.errors import ConvergenceError, InfeasibleError
from conewise.findings import Finding
from conewise.processes import begun, unsaid
from conewise.solver.min_time import Run, Settings, guess_limits, rerun, solve_run
from conewise.solver.speed_profile import speed_profile
from conewise.sweeps import Base, base_of
from conewise.vehicle import build
from conewise.workflows import predict
from conewise.workflows.sides import in_words

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from conewise.cars.car import Car
    from conewise.course.geometry import CourseGeometry
    from conewise.course.layout import Course
    from conewise.solver.result import Check, Solution
    from conewise.workflows.debrief_runs import FreeRun


@dataclass(frozen=True, kw_only=True)
class _Side:
    """What came of one choice of sides: a run with its checks, or why there is none."""

    base: Base | None = None
    checks: tuple[Check, ...] = ()
    why: str = ""

    def run(self) -> Run:
        assert self.base is not None
        return replace(self.base.run(), checks=self.checks)


@dataclass(frozen=True, kw_only=True)
class OtherSides:
    """Runs on the other permitted sides, on their way.

    surface: factor on the friction of the car file with which they are solved
    count: how many there are
    found: one after the other, the most promising first; waits for each
    """

    surface: float
    count: int
    found: Iterator[_Side]

    def fastest(self, free: FreeRun, *, until: float) -> tuple[Solution | None, tuple[Finding, ...]]:
        """The fastest of them, where it is faster than the free run.

        Parameters
        ----------
        free : FreeRun
            On the sides that were taken. Where it has another friction by now, the others get that too.
        until : float
            None but the first is waited for after this time of `time.monotonic`. [s]
        """
        best, findings, asked = None, [], 0
        while asked < self.count and (asked == 0 or clock.monotonic() < until):
            side, asked = next(self.found), asked + 1
            try:
                run = self._run(side, free)
            except (ConvergenceError, InfeasibleError) as stopped:
                findings.append(_unsolved(stopped.message))
                continue
            if run is None:
                findings.append(_unsolved(side.why))
            elif run.point.time < (free.run.point.time if best is None else best.time):
                best = free.solution(run)
        if best is not None:
            findings.append(_faster(free, best))
        if asked < self.count:
            _let_go(self.found)
            findings.append(_not_asked(self.count - asked))
        return best, tuple(findings)

    def _run(self, side: _Side, free: FreeRun) -> Run | None:
        if side.base is None:
            return None
        run, surface = side.run(), float(free.run.problem.p.surface)
        if surface == self.surface:
            return run
        return rerun(run, predict.parameters(run.problem.geometry, free.car, surface=surface))


def other_sides(geometry: CourseGeometry, car: Car, *, surface: float, workers: int) -> OtherSides:
    """Begin to solve the sides that were not taken.

    Parameters
    ----------
    geometry : CourseGeometry
        With the sides that were taken.
    car : Car
    surface : float
        Factor on the friction of the car file.
    workers : int
        Processes; with one they are solved when they are asked for.
    """
    course, taken = geometry.course, geometry.choices
    options = [choices for choices in permitted_choices(course) if choices != taken]
    found = iter(()) if not options else _begun(course, car, options, surface=surface, workers=workers)
    return OtherSides(surface=surface, count=len(options), found=found)


def _begun(
    course: Course, car: Car, options: Sequence[dict[str, str]], *, surface: float, workers: int
) -> Iterator[_Side]:
    """One after the other in one process beside this one: the other core is wanted here."""
    if workers <= 1:
        return _solved(course, car, options, surface=surface)
    from joblib import delayed

    work = (delayed(_next)(course, car, options, surface=surface, place=k) for k in range(len(options)))
    found: Iterator[_Side] = begun(work, n_processes=2, pre_dispatch=1, batch_size=1, return_as="generator")
    return found


def _next(course: Course, car: Car, options: Sequence[dict[str, str]], *, surface: float, place: int) -> _Side:
    return _side(_promising(course, car, options, surface=surface)[place], car, surface=surface)


def _solved(course: Course, car: Car, options: Sequence[dict[str, str]], *, surface: float) -> Iterator[_Side]:
    for geometry in _promising(course, car, options, surface=surface):
        yield _side(geometry, car, surface=surface)


def _promising(
    course: Course, car: Car, options: Sequence[dict[str, str]], *, surface: float
) -> list[CourseGeometry | InfeasibleError]:
    """The ways through, the fastest along its middle first; last those that there are not."""
    ways: list[tuple[float, CourseGeometry | InfeasibleError]] = []
    for choices in options:
        try:
            geometry = lay_out(course, choices=choices)
            limits = guess_limits(predict.parameters(geometry, car, surface=surface))
        except InfeasibleError as error:
            ways.append((float("inf"), error))
            continue
        profile = speed_profile(geometry.path.station, geometry.path.curvature, limits, start_speed=2.0)
        ways.append((float(profile.elapsed[-1]), geometry))
    return [way for _, way in sorted(ways, key=lambda pair: pair[0])]


def _side(way: CourseGeometry | InfeasibleError, car: Car, *, surface: float) -> _Side:
    if isinstance(way, InfeasibleError):
        return _Side(why=way.message)
    try:
        p = predict.parameters(way, car, surface=surface)
        run = solve_run(way, p, settings=Settings(shift_time=build.gearbox(car).shift_time))
    except (ConvergenceError, InfeasibleError) as error:
        return _Side(why=error.message)
    return _Side(base=base_of(run), checks=run.checks)


def _let_go(found: Iterator[_Side]) -> None:
    """End what nobody waits for."""
    if isinstance(found, Generator):
        with unsaid():
            found.close()


def _unsolved(why: str) -> Finding:
    return Finding("warning", "side-unsolved", f"Another side could not be compared: {why}")


def _not_asked(count: int) -> Finding:
    sides = "1 more side was" if count == 1 else f"{count} more sides were"
    words = f"{sides} not compared for want of time; predict the line of the course to compare them all."
    return Finding("note", "sides-not-compared", words)


def _faster(free: FreeRun, best: Solution) -> Finding:
    taken = free.geometry.choices
    sides = in_words({name: side for name, side in best.choices.items() if taken[name] != side})
    words = f"Another side is {free.run.point.time - best.time:.2f} s faster at its best: {sides}."
    return Finding("note", "faster-side", words)

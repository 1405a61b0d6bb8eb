"""The minimum-time run of the four-wheel model: from a course and a car to a solution that passed its checks."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from conewise.course.reference import relaid, with_guards
from conewise.solver import checks, replay
from conewise.solver.gear_search import (
    DRAFT,
    DRAFT_NEAR,
    DRAFT_TOLERANCE,
    LEAST_PROMISE,
    carried_gears,
    finished,
    followed,
    gears_for,
    regeared,
)
from conewise.solver.mesh import Splits, build_mesh
from conewise.solver.node import SCALE
from conewise.solver.problem import Point, Problem, SolverStoppedError, first_guess
from conewise.solver.speed_profile import FrictionCircle, speed_profile
from conewise.solver.transfer import carried_over
from conewise.vehicle.drivetrain import rough_power

if TYPE_CHECKING:
    from conewise.course.geometry import CourseGeometry
    from conewise.solver.result import Check
    from conewise.vehicle.parameters import ModelParameters

Array = NDArray[np.float64]
Progress = Callable[[str, float], None]  # words, time found so far [s]

RELAYS = 3  # how often the reference is laid through a solution that leans on a bound
SPLITS = 3  # how often intervals with too much drift are split
GUESSES = (1.0, 0.8, 0.6)  # paces of the first guess, each tried where the one before stops: slower ones lift no wheel
CALM = 0.85  # share of the friction of a run that a stopped solve starts from again
GUARD_REACH = 0.5  # cones of other passes nearer than this to the body are tested [m]


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """How a run is solved; the car and the course say what is solved."""

    hold: int | None = None  # gear held after the launch; None: shift
    lowest: int = 2  # lowest gear taken after the launch when shifting
    shift_time: float = 0.25  # gap without drive [s]
    refine: float = 1.0  # factor on the mesh steps


@dataclass(frozen=True, kw_only=True)
class Run:
    """A solved run with its problem: what reports and re-solves are made of."""

    problem: Problem
    point: Point
    settings: Settings
    iterations: int = 0  # of the interior point, all solves on the way
    seconds: float = 0.0  # wall time in them [s]
    checks: tuple[Check, ...] = ()

    def spent(self, point: Point) -> Run:
        """The same run, with the work of one more solve."""
        return replace(self, iterations=self.iterations + point.iterations, seconds=self.seconds + point.seconds)


def _silent(_words: str, _time: float) -> None:
    """Progress that nobody watches."""


def solve_run(
    geometry: CourseGeometry,
    p: ModelParameters,
    *,
    settings: Settings | None = None,
    margins: Array | None = None,
    start: Run | None = None,
    progress: Progress = _silent,
) -> Run:
    """The fastest clean run, checked.

    Parameters
    ----------
    geometry : CourseGeometry
    p : ModelParameters
    settings : Settings, optional
    margins : Array, shape (n_passes,), optional
        Margin between body and cone at each pass; 0 where not given. [m]
    start : Run, optional
        A solved neighbour (another car, another gear plan) to start from.
    progress : callable, optional
        Told in words how far the solve is, with the best time so far.

    Raises
    ------
    SolverStoppedError
        Where no run was found; names the feature at which the solver got stuck.
    """
    settings = settings or Settings()
    wanted = np.zeros(len(geometry.passes)) if margins is None else margins
    run = _solved(geometry, p, settings, wanted, start=start)
    progress("first line", run.point.time)
    run = _without_leaning(run, progress)
    return checked(*_refined(_guarded(run, progress), progress))


def refined(run: Run, *, progress: Progress = _silent) -> Run:
    """The run on a mesh that is fine enough in windows and at its limits; a whole run that tracks it is not driven.

    Parameters
    ----------
    run : Run
        Solved; it comes back as it is where its mesh is fine enough.
    progress : callable, optional
        Told in words how far the solve is, with the best time so far.

    Raises
    ------
    SolverStoppedError
        Where the run was not found on the finer mesh.
    """
    return _refined(run, progress, tracks=False)[0]


def _refined(run: Run, progress: Progress, *, tracks: bool = True) -> tuple[Run, replay.Replays]:
    """The run with every interval split that a check found too long, solved again, and its replays."""
    replays = replay.replayed(run.problem, run.point, tracks=tracks)
    for _ in range(SPLITS):
        bad = np.concatenate([_too_far(replays.drift), _too_coarse(run), checks.off_line(run.point, replays)])
        if not len(bad):
            break
        problem, splits = run.problem, (*run.problem.mesh.splits, bad)
        run = _solved(problem.geometry, problem.p, run.settings, problem.margins, start=run, splits=splits)
        progress("finer mesh", run.point.time)
        run = _guarded(run, progress)
        replays = replay.replayed(run.problem, run.point, tracks=tracks)
    return run, replays


def rerun(
    run: Run,
    p: ModelParameters,
    *,
    margins: Array | None = None,
    settings: Settings | None = None,
    barrier: float = 1e-3,
    least_promise: float = LEAST_PROMISE,
    progress: Progress = _silent,
) -> Run:
    """A solved run with other parameters or margins, on the same reference path; gears may change.

    The mesh is the run's own unless a check finds its intervals too long for the new run: then they are split.

    Parameters
    ----------
    run : Run
    p : ModelParameters
        A neighbour's; the lengths of the car that place the beams stay those of the mesh.
    margins : Array, shape (n_passes,), optional
        The run's own where left out. [m]
    settings : Settings, optional
        Another use of the gears.
    barrier : float, default 1e-3
        First barrier; small for a small change.
    least_promise : float, default LEAST_PROMISE
        Other gears are tried where they promise more than this. [s]

    Raises
    ------
    SolverStoppedError
        Where neither a warm nor a cold start on this mesh finds a run.
    """
    wanted = run.problem.margins if margins is None else margins
    settings = settings or run.settings
    try:
        near = Run(problem=run.problem.changed(margins=wanted), point=run.point, settings=run.settings)
        again = regeared_run(near, p, settings=settings, barrier=barrier, least_promise=least_promise)
    except SolverStoppedError:
        return solve_run(run.problem.geometry, p, settings=settings, margins=wanted, progress=progress)
    again = _guarded(again, progress)
    try:
        return checked(*_refined(again, progress))
    except SolverStoppedError:  # what it failed is said with it
        return checked(again)


def regeared_run(
    run: Run, p: ModelParameters, *, settings: Settings, barrier: float, least_promise: float = LEAST_PROMISE
) -> Run:
    """A solved run with other parameters and the gears that these ask for, on the same path and mesh; not checked.

    Parameters
    ----------
    run, p, settings, barrier, least_promise
        As `rerun` takes them.

    Raises
    ------
    SolverStoppedError
        Where the run was not found from where it starts.
    """
    problem = regeared(run.problem.changed(p=p), run.point.variables["v_x"], settings)
    point = problem.warm(run.point, barrier=barrier, tol=DRAFT_TOLERANCE)
    return _finished(problem, point, settings, least_promise=least_promise)


def checked(run: Run, replays: replay.Replays | None = None) -> Run:
    """The run with what it was put to; replayed where that was not done before."""
    if replays is None:
        replays = replay.replayed(run.problem, run.point)
    return replace(run, checks=checks.run_checks(run.problem, run.point, replays))


def _too_far(drift: replay.Drift) -> Array:
    """Stations covered by windows whose drift the checks would refuse."""
    usual = np.percentile(drift.lateral, 95) <= checks.DRIFT_USUAL
    limit = checks.DRIFT_WORST if usual else checks.DRIFT_USUAL
    bad = ~((drift.lateral <= limit) & (drift.speed <= checks.DRIFT_SPEED))  # a window that diverged is not a number
    return np.concatenate([s + np.arange(0.0, replay.WINDOW, 1.0) for s in drift.station[bad]] or [np.zeros(0)])


def _too_coarse(run: Run) -> Array:
    """Stations at which the car comes too near to a cone, or passes a limit, between the nodes."""
    problem, p = run.problem, run.problem.p
    spare = checks.clearances(problem, checks.fine_line(problem, run.point)) - problem.margins
    short = [c.station for c, s in zip(problem.geometry.passes, spare, strict=True) if s < checks.CLEARANCE_LIMIT]
    reach = float(p.body_length) / 2.0 + 1.0
    beside = [s - float(p.body_middle) + np.arange(-reach, reach, 1.0) for s in short]
    excess, between = checks.limits_between(problem, run.point)
    return np.concatenate([*beside, between[excess > checks.USE_LIMIT]])


def _without_leaning(run: Run, progress: Progress) -> Run:
    """Lay the reference through a solution that leans on a search bound, and solve again."""
    for _ in range(RELAYS):
        if not len(checks.leaning(run.problem, run.point)):
            return run
        line = checks.fine_line(run.problem, run.point)
        geometry = relaid(run.problem.geometry, x=line.x, y=line.y)
        run = _solved(geometry, run.problem.p, run.settings, run.problem.margins, start=run)
        progress("reference laid through the line", run.point.time)
    return run


def _guarded(run: Run, progress: Progress) -> Run:
    """Add cones of other passes that lie within reach of the line, and solve again."""
    geometry, p = run.problem.geometry, run.problem.p
    line = checks.fine_line(run.problem, run.point)
    width = float(p.body_width)
    guarded = with_guards(geometry, x=line.x, y=line.y, reach=width / 2.0 + GUARD_REACH, width=width)
    if len(guarded.passes) == len(geometry.passes):
        return run
    margins = _carried(geometry, guarded, run.problem.margins)
    run = _solved(guarded, p, run.settings, margins, start=run, splits=run.problem.mesh.splits)
    progress("cones of other passes", run.point.time)
    return run


def _carried(before: CourseGeometry, after: CourseGeometry, margins: Array) -> Array:
    known = {(c.id, c.feature, c.crossing): m for c, m in zip(before.passes, margins, strict=True)}
    return np.array([known.get((c.id, c.feature, c.crossing), 0.0) for c in after.passes])


def guessed_speed(geometry: CourseGeometry, p: ModelParameters) -> Array:
    """Speed of a point mass on the points of the reference path. [m/s]"""
    path = geometry.path
    return speed_profile(path.station, path.curvature, guess_limits(p), start_speed=2.0).speed


def _solved(
    geometry: CourseGeometry,
    p: ModelParameters,
    settings: Settings,
    margins: Array,
    *,
    start: Run | None,
    splits: Splits = (),
) -> Run:
    """Mesh, a draft, gears until they stay, and the answer."""
    guessed = guessed_speed(geometry, p)
    mesh = build_mesh(geometry, p, guessed, refine=settings.refine, splits=splits)
    if start is None:
        speed = np.interp(mesh.station, geometry.path.station, guessed)
        problem = Problem(
            geometry=geometry, p=p, mesh=mesh, gears=gears_for(speed, mesh, p=p, settings=settings), margins=margins
        )
        return _cold(problem, speed, settings)
    guess = carried_over(start, geometry, mesh)
    gears = carried_gears(start, mesh, guess[:, 0] * SCALE[0], p=p, settings=settings)
    problem = Problem(geometry=geometry, p=p, mesh=mesh, gears=gears, margins=margins)
    return _finished(*problem.cold(guess, lambda now, _v: now, options=DRAFT_NEAR), settings)


def _finished(problem: Problem, draft: Point, settings: Settings, *, least_promise: float = LEAST_PROMISE) -> Run:
    """The answer from a draft."""
    return finished(Run(problem=problem, point=draft, settings=settings).spent(draft), least_promise=least_promise)


def _cold(problem: Problem, speed: Array, settings: Settings) -> Run:
    """From a guess at each of the paces in turn; where all stop, by way of a calm run.

    Raises
    ------
    SolverStoppedError
        If that stops too; it says where and why each try did.
    """
    follow = followed(settings)
    tries: list[tuple[str, SolverStoppedError]] = []
    for pace in GUESSES:
        try:
            guess = first_guess(problem.mesh, pace * speed, problem.p)
            return _finished(*problem.cold(guess, follow, options=DRAFT), settings)
        except SolverStoppedError as error:
            tries.append((f"from {pace:.0%} of the speed", error))
    p = problem.p
    calm = problem.changed(p=replace(p, friction_share=CALM * p.friction_share))
    guess = first_guess(problem.mesh, CALM * GUESSES[-1] * speed, p)
    way = "to a calm run"
    try:
        found, point = calm.cold(guess, follow, options=DRAFT)
        way = "from a calm run"
        return _finished(*found.changed(p=p).cold(point.z, follow, options=DRAFT_NEAR), settings)
    except SolverStoppedError as error:
        error.tell_tries([*tries, (way, error)])
        raise


def guess_limits(p: ModelParameters) -> FrictionCircle:
    """A friction circle with the car's power, for meshes and guesses."""
    grip = float(p.surface * p.friction_share)
    mu = grip * min(float(p.friction_lateral_front), float(p.friction_lateral_rear)) * 0.92
    return FrictionCircle(friction=mu, gravity=float(p.gravity), specific_power=rough_power(p) / float(p.mass))

"""The gears of a run: those that its speeds ask for, tried until they stay or no longer pay, and then the run itself.

Gears are tried on drafts: solved for a barrier that is far from falling to nothing. Their times lie up to a tenth of a
second above those of the answers, whatever the gears (docs/models/transient.md); a try takes a fifth of the iterations.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from conewise.solver.continuation import SMOOTHING
from conewise.solver.gears import holding, interrupted, n_gears, shifting, single_changes
from conewise.solver.problem import COLD, NEAR, SolverStoppedError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from conewise.solver.gears import GearPlan
    from conewise.solver.mesh import Mesh
    from conewise.solver.min_time import Run, Settings
    from conewise.solver.problem import Problem
    from conewise.vehicle.parameters import ModelParameters

Array = NDArray[np.float64]

DRAFT_BARRIER = 1e-4
DRAFT_TOLERANCE = 10.0 * DRAFT_BARRIER  # solved as far as this barrier allows, and no further
DRAFT, DRAFT_NEAR = (replace(options, tolerance=DRAFT_TOLERANCE) for options in (COLD, NEAR))
GEAR_ROUNDS = 8  # how often the gear plan of a draft may change
FINISHES = 3  # how often an answer may ask for other gears that pay
GEAR_BARRIERS = (1e-4, 1e-3)  # first barriers of a solve with other gears, each tried where the one before stops
GEAR_ITERATIONS = 100  # of such a solve; those that succeed take 4 to 35
LEAST_GAIN = 5e-4  # draft times differ by less for no reason [s]
LEAST_PROMISE = 0.01  # a gear plan that promises less is not tried: about twenty times what it keeps [s]
ROUGH_PROMISE = 0.05  # the same for runs that are only set beside another: plans that promised less kept 0 to 14 ms [s]


def gears_for(speed: Array, mesh: Mesh, *, p: ModelParameters, settings: Settings) -> GearPlan:
    """The plan that the speeds at the nodes [m/s] ask for, shifting or holding as the settings say."""
    if settings.hold is not None:
        return holding(speed, mesh.step, p, hold=min(settings.hold, n_gears(p)), shift_time=settings.shift_time)
    return shifting(speed, mesh.step, p, shift_time=settings.shift_time, lowest=min(settings.lowest, n_gears(p)))


def followed(settings: Settings) -> Callable[[Problem, Array], Problem]:
    """What a cold solve asks for gears: (problem, speeds at the nodes [m/s]) -> the problem with these gears."""
    return lambda problem, speed: regeared(problem, speed, settings)


def regeared(problem: Problem, speed: Array, settings: Settings) -> Problem:
    """The problem with the gears that the speeds ask for."""
    gears = gears_for(speed, problem.mesh, p=problem.p, settings=settings)
    return problem if gears.same_as(problem.gears) else problem.changed(gears=gears)


def carried_gears(start: Run, mesh: Mesh, speed: Array, *, p: ModelParameters, settings: Settings) -> GearPlan:
    """The plan of a solved run on another mesh; a new one for another gearbox or another use of it."""
    old = start.problem
    if settings != start.settings or p.gear_ratios != old.p.gear_ratios:
        return gears_for(speed, mesh, p=p, settings=settings)
    before = np.searchsorted(old.mesh.station, mesh.station, side="right") - 1
    gear = old.gears.gear[np.clip(before, 0, None)]
    return interrupted(gear, speed, mesh.step, shift_time=settings.shift_time)


def finished(draft: Run, *, least_promise: float = LEAST_PROMISE) -> Run:
    """The answer from a draft, with the gears that pay.

    Parameters
    ----------
    draft : Run
        Solved to DRAFT_TOLERANCE, from any side.
    least_promise : float, default LEAST_PROMISE
        Other gears are tried where they promise more than this. [s]

    Raises
    ------
    SolverStoppedError
        Where the run is not found to the end.
    """
    for _ in range(FINISHES):
        draft = _settled(draft, least_promise)
        point = draft.problem.warm(draft.point, smoothing=SMOOTHING, barrier=DRAFT_BARRIER)
        run = replace(draft, point=point).spent(point)
        tried = _improved(replace(run, point=draft.point), run, least_promise)
        if tried.point is draft.point:
            return replace(tried, point=point)
        draft = tried
    return run


def _settled(draft: Run, least_promise: float) -> Run:
    """The draft with other gears while its own speeds ask for them and they make it faster."""
    for _ in range(GEAR_ROUNDS):
        before = draft.point
        draft = _improved(draft, draft, least_promise)
        if draft.point is before:
            break
    return draft


def _improved(draft: Run, asking: Run, least_promise: float) -> Run:
    """The draft with the first gears that make it faster: all changes that a run asks for, or else one alone."""
    before = draft.point
    for changed in _asked_for(asking, least_promise):
        draft = _geared(draft, changed)
        if draft.point is not before:
            break
    return draft


def _asked_for(run: Run, least_promise: float) -> Iterator[Problem]:
    """The problem with the gears that the speeds ask for, then with each change alone, if they promise enough."""
    problem, speed = run.problem, run.point.variables["v_x"]
    changed = regeared(problem, speed, run.settings)
    if changed is problem or _promise(run, changed) < least_promise:
        return
    yield changed
    plans = single_changes(
        problem.gears, changed.gears, speed=speed, step=problem.mesh.step, shift_time=run.settings.shift_time
    )
    alone = [(_promise(run, one), one) for one in (problem.changed(gears=plan) for plan in plans)]
    yield from (one for promise, one in sorted(alone, key=lambda two: -two[0]) if promise >= least_promise)


def _geared(run: Run, changed: Problem) -> Run:
    """The draft with other gears if it is found and faster; else itself, with the work that it took."""
    for barrier in GEAR_BARRIERS:
        try:
            answer = changed.warm(run.point, barrier=barrier, tol=DRAFT_TOLERANCE, most_iterations=GEAR_ITERATIONS)
        except SolverStoppedError as error:
            run = run.spent(error.last) if error.last else run
            continue
        run = run.spent(answer)
        is_faster = answer.time < run.point.time - LEAST_GAIN
        return replace(run, problem=changed, point=answer) if is_faster else run
    return run


def _promise(run: Run, changed: Problem) -> float:
    """Time that another gear plan saves to first order: by how much it lowers the Lagrangian at the solution. [s]"""
    point = run.point
    before, after = (
        problem.program(point.smoothing).lagrangian(point.z, point.multipliers) for problem in (run.problem, changed)
    )
    return before - after

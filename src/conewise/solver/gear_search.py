"""The gears of a run: those that its speeds ask for, solved again until they stay or no longer pay."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from conewise.solver.gears import holding, interrupted, n_gears, shifting, single_changes
from conewise.solver.problem import SolverStoppedError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from conewise.solver.gears import GearPlan
    from conewise.solver.mesh import Mesh
    from conewise.solver.min_time import Run, Settings
    from conewise.solver.problem import Problem
    from conewise.vehicle.parameters import ModelParameters

Array = NDArray[np.float64]

GEAR_ROUNDS = 8  # how often the gear plan may change after a solve
GEAR_BARRIERS = (1e-4, 1e-3)  # first barriers of a solve with other gears, each tried where the one before stops
GEAR_ITERATIONS = 150  # of such a solve; those that succeed take 60 to 120
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


def settled(run: Run, *, least_promise: float = LEAST_PROMISE) -> Run:
    """Solve again while the speeds ask for other gears that promise to pay: all changes at once, or else one alone."""
    for _ in range(GEAR_ROUNDS):
        for changed in _asked_for(run, least_promise):
            before = run.point.time
            run = _geared(run, changed)
            if run.point.time < before:
                break
        else:
            break
    return run


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
    """The run with other gears if it is found and faster; else itself, with the work that it took."""
    for barrier in GEAR_BARRIERS:
        try:
            answer = changed.warm(run.point, barrier=barrier, most_iterations=GEAR_ITERATIONS)
        except SolverStoppedError as error:
            run = run.spent(error.last) if error.last else run
            continue
        run = run.spent(answer)
        return run if answer.time >= run.point.time else replace(run, problem=changed, point=answer)
    return run


def _promise(run: Run, changed: Problem) -> float:
    """Time that another gear plan saves to first order: by how much it lowers the Lagrangian at the solution. [s]"""
    point = run.point
    before, after = (
        problem.program(point.smoothing).lagrangian(point.z, point.multipliers) for problem in (run.problem, changed)
    )
    return before - after

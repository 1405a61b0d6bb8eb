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
from conewise.solver.gears import holding, interrupted, moved_changes, n_gears, shifting, single_changes
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
DRAFT_TOLERANCE = 10.0 * DRAFT_BARRIER  # what an error may be at this barrier
DRAFT, DRAFT_NEAR = (replace(options, tolerance=DRAFT_TOLERANCE) for options in (COLD, NEAR))
GEAR_ROUNDS = 8  # how often the gear plan of a draft may change
FINISHES = 3  # how often an answer may ask for other gears that pay
GEAR_BARRIERS = (1e-4, 1e-3)  # first barriers of a solve with other gears, each tried where the one before stops
GEAR_ITERATIONS = 100  # of such a solve; those that succeed take 4 to 35
LEAST_GAIN = 5e-4  # of a draft from other gears; its own time is known to 0.4 ms [s]
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
    tries = _Tries(draft, least_promise)
    tries.settle()
    try:
        run = answer = tries.end()
    except SolverStoppedError as error:
        if tries.draft.point is draft.point:
            raise
        tries.spend(error)
        return _ended(_after(tries.draft, draft))
    for _ in range(FINISHES - 1):
        if not tries.improve(run):
            break
        tries.settle()
        try:
            run = tries.end()
        except SolverStoppedError as error:
            tries.spend(error)
            break
        answer = min(answer, run, key=lambda one: one.point.time)
    return _after(tries.draft, answer)


def _ended(draft: Run) -> Run:
    """The answer with the gears of a draft."""
    point = draft.problem.warm(draft.point, smoothing=SMOOTHING, barrier=DRAFT_BARRIER)
    return replace(draft, point=point).spent(point)


def _after(work: Run, run: Run) -> Run:
    """A run with the work of another, which came later."""
    return replace(run, iterations=work.iterations, seconds=work.seconds)


class _Tries:
    """The fastest draft so far, and the gears that were tried and are slower: they stay so."""

    def __init__(self, draft: Run, least_promise: float) -> None:
        self.draft, self.least_promise = draft, least_promise
        self.refused: list[GearPlan] = []

    def settle(self) -> None:
        """Other gears while the draft's own speeds ask for them and they make it faster."""
        for _ in range(GEAR_ROUNDS):
            if not self.improve(self.draft):
                break

    def improve(self, asking: Run) -> bool:
        """Whether gears that a run asks for make the draft faster; the first that do are taken."""
        for changed in _asked_for(asking, self.least_promise):
            if any(changed.gears.same_as(plan) for plan in self.refused):
                continue
            if self._takes(changed):
                return True
            self.refused.append(changed.gears)
        return False

    def end(self) -> Run:
        """The answer with the gears of the draft."""
        run = _ended(self.draft)
        self.draft = _after(run, self.draft)
        return run

    def spend(self, error: SolverStoppedError) -> None:
        """Count the work of a solve that stopped."""
        self.draft = self.draft.spent(error.last) if error.last else self.draft

    def _takes(self, changed: Problem) -> bool:
        """Take other gears where they are found and faster; whether they were."""
        for barrier in GEAR_BARRIERS:
            try:
                answer = changed.warm(
                    self.draft.point, barrier=barrier, tol=DRAFT_TOLERANCE, most_iterations=GEAR_ITERATIONS
                )
            except SolverStoppedError as error:
                self.spend(error)
                continue
            self.draft, before = self.draft.spent(answer), self.draft.point.time
            if answer.time >= before - LEAST_GAIN:
                return False
            self.draft = replace(self.draft, problem=changed, point=answer)
            return True
        return False


def _asked_for(run: Run, least_promise: float) -> Iterator[Problem]:
    """The problem with other gears, if they promise enough.

    All that the speeds ask for; then, the most promising first, each change of them alone, and each change up a node
    sooner or later.
    """
    problem, speed = run.problem, run.point.variables["v_x"]
    others = moved_changes(problem.gears.gear)
    changed = regeared(problem, speed, run.settings)
    if changed is not problem and _promise(run, changed) >= least_promise:
        yield changed
        others += single_changes(problem.gears.gear, changed.gears.gear)
    plans = (interrupted(gear, speed, problem.mesh.step, shift_time=run.settings.shift_time) for gear in others)
    alone = [(_promise(run, one), one) for one in (problem.changed(gears=plan) for plan in plans)]
    yield from (one for promise, one in sorted(alone, key=lambda two: -two[0]) if promise >= least_promise)


def _promise(run: Run, changed: Problem) -> float:
    """Time that another gear plan saves to first order: by how much it lowers the Lagrangian at the solution. [s]"""
    point = run.point
    before, after = (
        problem.program(point.smoothing).lagrangian(point.z, point.multipliers) for problem in (run.problem, changed)
    )
    return before - after

"""Many re-solves of solved runs: every change on every course, in parallel, the same whatever the order.

A run holds functions that cannot be sent to another process; a `Base` is what can be sent, and each process makes
the run of it once.
"""

from __future__ import annotations

import hashlib
import signal
from contextlib import closing
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from conewise.processes import answers_aside
from conewise.solver.min_time import Run, Settings, refined, regeared_run, rerun
from conewise.solver.problem import Point, Problem, SolverStoppedError
from conewise.solver.sensitivity import by_parameter
from conewise.solver.solution import transient_solution
from conewise.vehicle.parameters import ModelParameters

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from conewise.course.geometry import CourseGeometry
    from conewise.solver.gears import GearPlan
    from conewise.solver.mesh import Mesh

Array = NDArray[np.float64]

CLOSES = 1e-3  # a round trip that comes back within this closes [s]
BARRIERS = (1e-5, 1e-4, 1e-2)  # first barriers tried from a neighbour: the smallest takes the fewest iterations
GEARS_BARRIER = 1e-4  # the same where the gears change too: a jump
AT_LIMIT = 0.7  # share of the greatest lateral acceleration above which the car counts as at its limit
_RUNS: dict[str, Run] = {}  # runs of this process, by the key of their base


@dataclass(frozen=True, kw_only=True)
class Base:
    """A solved run without its functions: what a re-solve starts from, fit to be sent to another process."""

    geometry: CourseGeometry
    p: ModelParameters
    mesh: Mesh
    gears: GearPlan
    margins: Array
    point: Point
    settings: Settings

    @property
    def key(self) -> str:
        """The same for equal bases."""
        return hashlib.sha256(self.point.z.tobytes() + self.p.vector().tobytes()).hexdigest()

    def run(self) -> Run:
        """The run, made once a process."""
        key = self.key
        if key not in _RUNS:
            problem = Problem(
                geometry=self.geometry,
                p=self.p,
                mesh=self.mesh,
                gears=self.gears,
                margins=self.margins,
            )
            _RUNS[key] = Run(problem=problem, point=self.point, settings=self.settings)
        return _RUNS[key]


@dataclass(frozen=True, kw_only=True)
class Question:
    """One change on one course."""

    course: int  # index of the base
    name: str
    p: ModelParameters  # of the changed car
    shift_time: float  # of the changed car [s]


@dataclass(frozen=True, kw_only=True)
class Resolved:
    """The answer to a question."""

    course: int
    name: str
    time: float = np.nan  # with the change [s]
    back: float = np.nan  # without it, solved again from the run with it [s]
    slopes: Array | None = None  # derivative of the time by the model's numbers, at the changed run
    lean: float = np.nan  # friction use front less rear at the limit, with the change
    better: Base | None = None  # a faster run without the change, found on the way back
    own_mesh: bool = False  # solved on a mesh of its own, since the base's did not carry it
    reference: float = np.nan  # on that mesh, without the change; NaN where the base's mesh was kept, or not found [s]
    stopped: str = ""  # why there is no answer


def base_of(run: Run) -> Base:
    """What can be sent of a run."""
    problem = run.problem
    base = Base(
        geometry=problem.geometry,
        p=problem.p,
        mesh=problem.mesh,
        gears=problem.gears,
        margins=problem.margins,
        point=run.point,
        settings=run.settings,
    )
    _RUNS.setdefault(base.key, run)
    return base


def slopes_and_lean(run: Run) -> tuple[Array, float]:
    """Derivative of the time by the model's numbers, and the friction use front less rear at the limit."""
    return by_parameter(run.problem, run.point), lean_at_limit(run)


def lean_at_limit(run: Run) -> float:
    """Mean friction use of the front axle less the rear's where the car corners near its limit. [-]

    Notes
    -----
    Near the limit is above `AT_LIMIT` of the run's greatest lateral acceleration. Above zero the front axle is nearer
    to its limit: the car understeers there.
    """
    solution = transient_solution(run)
    front, rear = solution.friction_use_front, solution.friction_use_rear
    assert front is not None
    assert rear is not None
    across = np.abs(solution.ay)
    near = across > AT_LIMIT * across.max()
    return float(np.mean(front[near] - rear[near]))


def sweep(
    bases: Sequence[Base],
    questions: Sequence[Question],
    *,
    workers: int = 1,
    tell: Callable[[Resolved], None] | None = None,
) -> tuple[Resolved, ...]:
    """Answers to all questions, in their order.

    Parameters
    ----------
    bases : sequence of Base
        One a course.
    questions : sequence of Question
    workers : int, default 1
        Processes; 1 solves in this one.
    tell : callable, optional
        Given every answer as soon as it is there.

    Notes
    -----
    Every answer depends on its base and its question only, so neither order nor number of workers changes it.
    """
    found: dict[tuple[int, str], Resolved] = {}
    with closing(_answers(bases, questions, min(workers, len(questions)))) as answers:
        for answer in answers:
            found[answer.course, answer.name] = answer
            if tell is not None:
                tell(answer)
    return tuple(found[question.course, question.name] for question in questions)


def closes(answer: Resolved, base: Base) -> bool:
    """Whether the way back from an answer ends at this run without the change, so that it stands for both."""
    return not answer.own_mesh and abs(answer.back - base.point.time) <= CLOSES


def _answers(bases: Sequence[Base], questions: Sequence[Question], workers: int):  # type: ignore[no-untyped-def]  # noqa: ANN202
    if workers <= 1:
        yield from (resolved(bases[question.course], question) for question in questions)
        return
    from joblib import delayed

    work = (delayed(_aside)(bases[question.course], question) for question in questions)
    yield from answers_aside(work, n_processes=workers)


def _aside(base: Base, question: Question) -> Resolved:
    """The answer in a process of its own, which the keyboard leaves alone: who waits for it ends it."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    return resolved(base, question)


def resolved(base: Base, question: Question) -> Resolved:
    """One change solved from its base, and the base solved again from it.

    Notes
    -----
    Path, mesh and gears are the base's at first; gears may settle afterwards where the change moves what they hang on,
    and then the base is tried with the changed car's gears too. A run with the change that fails a check on the base's
    mesh gets it split, and the base is solved on the split mesh as well, so that both stand on one. A change that the
    base's mesh does not carry is solved anew; where that fails as well, the answer says why.
    """
    run = base.run()
    settings = replace(base.settings, shift_time=question.shift_time)
    try:
        changed = _fine(_changed(run, question.p, settings))
    except SolverStoppedError as error:
        return Resolved(course=question.course, name=question.name, stopped=error.message)
    own_mesh = changed.problem.mesh is not run.problem.mesh
    back = None if own_mesh else _back(run, changed)
    if back is not None and back.time > run.point.time + CLOSES:
        changed = _halfway(run, changed)
        back = _back(run, changed) or back
    slopes, lean = slopes_and_lean(changed)
    is_better = back is not None and back.time < run.point.time - CLOSES
    return Resolved(
        course=question.course,
        name=question.name,
        time=changed.point.time,
        back=np.nan if back is None else back.time,
        slopes=slopes,
        lean=lean,
        better=replace(base, gears=back.gears, point=back.point) if back is not None and is_better else None,
        own_mesh=own_mesh,
        reference=_without(run, changed) if own_mesh else np.nan,
    )


def _fine(run: Run) -> Run:
    """The run on a mesh fine enough for it; as it is where it is not found on a finer one."""
    try:
        return refined(run)
    except SolverStoppedError:
        return run


def _without(run: Run, changed: Run) -> float:
    """Time without the change on the mesh of the run with it, the faster of two gear plans; NaN without one. [s]

    Notes
    -----
    A shift falls on a node, so that a plan laid out anew on another mesh can be some ms off: the changed run's own plan
    is tried as well, where the gearbox is the same.
    """
    problem = changed.problem.changed(p=run.problem.p)
    same_plan = _warm(problem, changed.point) if changed.settings == run.settings else None
    times = [] if same_plan is None else [same_plan.time]
    start = changed if same_plan is None else Run(problem=problem, point=same_plan, settings=run.settings)
    try:
        again = rerun(start, run.problem.p, settings=run.settings, barrier=GEARS_BARRIER)
    except SolverStoppedError:
        return min(times, default=np.nan)
    return min([*times, again.point.time] if again.problem.mesh is changed.problem.mesh else times, default=np.nan)


@dataclass(frozen=True, kw_only=True)
class _Back:
    point: Point
    gears: GearPlan

    @property
    def time(self) -> float:
        return self.point.time


def _changed(run: Run, p: ModelParameters, settings: Settings) -> Run:
    """The fastest of: gears as they were, gears settled."""
    same_shift = settings == run.settings
    problem = run.problem.changed(p=p)
    frozen = _warm(problem, run.point) if same_shift else None
    if frozen is not None and not _moves_gears(run.problem.p, p):
        return Run(problem=problem, point=frozen, settings=settings)
    start = run if frozen is None else Run(problem=problem, point=frozen, settings=settings)
    try:
        settled = _regeared(start, p, settings)
    except SolverStoppedError:
        if frozen is None:
            raise
        return start
    is_frozen_faster = frozen is not None and frozen.time <= settled.point.time
    return start if is_frozen_faster else settled


def _regeared(start: Run, p: ModelParameters, settings: Settings) -> Run:
    """The run with the gears that it asks for; from the beginning where it is not found from its neighbour."""
    try:
        return regeared_run(start, p, settings=settings, barrier=GEARS_BARRIER)
    except SolverStoppedError:
        return rerun(start, p, settings=settings, barrier=BARRIERS[-1])


def _warm(problem: Problem, at: Point) -> Point | None:
    """The problem from a neighbour's solution; None where no first barrier leads to one."""
    for barrier in BARRIERS:
        try:
            return problem.warm(at, barrier=barrier)
        except SolverStoppedError:
            continue
    return None


def _moves_gears(before: ModelParameters, after: ModelParameters) -> bool:
    """Whether what a gear plan hangs on differs: torque, limiter, ratios, rolling radius, drive shares."""
    names = (
        "torque", "engine_speed_low", "engine_speed_limit", "gear_ratios", "rolling_radius_front",
        "rolling_radius_rear", "front_drive_share",
    )  # fmt: skip
    return any(not np.array_equal(getattr(before, name), getattr(after, name)) for name in names)


def _back(run: Run, changed: Run) -> _Back | None:
    """The base from the changed run, with its own gears and with the changed run's; the faster."""
    plans = [run.problem.gears]
    if not changed.problem.gears.same_as(run.problem.gears) and changed.settings == run.settings:
        plans.append(changed.problem.gears)
    tried = [(plan, _warm(run.problem.changed(gears=plan), changed.point)) for plan in plans]
    found = [_Back(point=point, gears=plan) for plan, point in tried if point is not None]
    return min(found, key=lambda answer: answer.time) if found else None


def _halfway(run: Run, changed: Run) -> Run:
    """The changed run in two steps from the base, where that is faster."""
    middle = ModelParameters.from_vector((run.problem.p.vector() + changed.problem.p.vector()) / 2)
    near = _warm(changed.problem.changed(p=middle), run.point)
    point = None if near is None else _warm(changed.problem, near)
    return replace(changed, point=point) if point is not None and point.time < changed.point.time else changed

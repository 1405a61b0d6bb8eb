"""With how much friction the best run is solved: by tyres that slid, a limit shown, the surface, or what is typical."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from conewise.errors import telling
from conewise.findings import Finding
from conewise.logs.breakdown import FrictionFound
from conewise.logs.friction import TyreSlip, at_limit, demonstrated, from_slides, raised, sliding
from conewise.solver.envelope import known_envelope
from conewise.workflows.debrief_runs import free_run, on_drivers_line
from conewise.workflows.line import as_told
from conewise.workflows.logs import open_log
from conewise.workflows.recorded import fused

if TYPE_CHECKING:
    from collections.abc import Sequence

    from conewise.logs.friction import Mask
    from conewise.logs.run_finder import FoundRun
    from conewise.logs.track import Track
    from conewise.runs import Trace
    from conewise.solver.envelope import Envelope
    from conewise.solver.min_time import Run
    from conewise.workflows.debrief_runs import FreeRun
    from conewise.workflows.line import Surface
    from conewise.workflows.named import LogSource
    from conewise.workflows.recorded import Recorded

SAME = 0.01  # factors nearer than this are the same
MOST_ROUNDS = 3
S_PER_SHARE = 0.45  # relative change of the time for one of the friction; docs/models/transient.md
BEATEN = 0.02  # a best run on the line that is slower than the run by this has too little friction [s]


@dataclass(frozen=True, slots=True, kw_only=True)
class Grounds:
    """What friction can be told from.

    day: the recording of the run in question
    others: of other drivers of the day, on the same kind of tyre
    limits: recordings at the limit
    told: what was said of the surface; None where nothing was
    """

    day: Recorded
    others: tuple[Recorded, ...] = ()
    limits: tuple[LogSource, ...] = ()
    told: Surface | None = None


@dataclass(frozen=True, kw_only=True)
class WithFriction:
    """The best runs, on any line and on the driver's, with the friction found."""

    free: FreeRun
    on_line: Run | None
    friction: FrictionFound
    findings: tuple[Finding, ...] = ()


def with_friction(free: FreeRun, offset: np.ndarray | None, *, surface: float, grounds: Grounds) -> WithFriction:
    """Find the friction and solve with it.

    Parameters
    ----------
    free : FreeRun
        Solved with the surface as told.
    offset : Array, shape (n_stations,), optional
        The driver's line on the stations of the driven run; None where the recording cannot carry one.
    surface : float
        Factor with which it was solved.
    grounds : Grounds

    Notes
    -----
    A run that is faster than the best run, or shows greater accelerations, has shown more friction than was assumed:
    the factor is raised until it has not. A run that was not on the course from start to finish shows nothing: what it
    left out made it faster.
    """
    is_sound = free.laid.run.kind == "complete"
    line = None if offset is None else on_drivers_line(free, offset)
    reference = free.trace(free.run if line is None else line, "limit")
    friction = _found(free, reference, surface=surface, grounds=grounds)
    assumed = friction.value
    if line is not None and is_sound:
        friction = raised(friction, surface * demonstrated(free.driven, reference))
    now = surface
    for rounds_left in reversed(range(MOST_ROUNDS)):
        if abs(friction.value - now) > SAME:
            free = free_run(free.laid, free.car, surface=friction.value, start=free)
            line = None if offset is None else on_drivers_line(free, offset)
            now = friction.value
        best = free.run if line is None else line
        doubt = 2.0 * (free.laid.run.time_deviation or 0.0)
        beaten = best.point.time - free.driven.run_time
        if not is_sound or not rounds_left or beaten <= max(BEATEN, doubt):
            break
        friction = raised(friction, now * (1.0 + beaten / free.driven.run_time / S_PER_SHARE))
    findings = _words(friction, assumed) if is_sound else (_nothing_shown(free.laid.run),)
    return WithFriction(free=free, on_line=line, friction=friction, findings=findings)


def _slides_of(days: Sequence[Recorded], slip: TyreSlip) -> list[tuple[Track, float, Trace, Mask]]:
    """Where tyres slid in every complete run of recordings, as `from_slides` takes them."""
    slides = []
    for day in days:
        sound = [laid for laid in day.finished if laid.run.kind == "complete"]
        slid = sliding(day.track, day.log, slip) if sound else np.zeros(0, dtype=np.bool_)
        slides += [(day.track, laid.run.start.time, laid.trace, slid) for laid in sound if laid.trace is not None]
    return slides


def _found(free: FreeRun, reference: Trace, *, surface: float, grounds: Grounds) -> FrictionFound:
    """The friction by the first ground that tells it."""
    p = free.run.problem.p
    slip = _tyre_slip(free)
    slides = _slides_of((grounds.day, *grounds.others), slip)
    found = from_slides(slides, reference)
    if found is not None:
        return _scaled(found, surface)
    if grounds.limits:
        envelope = known_envelope(p)
        shown = [_shown_at_limit(path, free, envelope) for path in grounds.limits]
        return _scaled(max(shown, key=lambda friction: friction.value), surface)
    return as_told(grounds.told)


def _shown_at_limit(path: LogSource, free: FreeRun, envelope: Envelope) -> FrictionFound:
    """The friction that one recording at the limit shows."""
    log, brake = open_log(path), envelope.brake[:, 0]
    with telling(log.findings):
        return at_limit(
            fused(log, free.geometry),
            file=str(path),
            lateral=lambda v: np.interp(v, envelope.speed, envelope.lateral),
            brake=lambda v: np.interp(v, envelope.speed, brake),
        )


def _tyre_slip(free: FreeRun) -> TyreSlip:
    """What of the car says when its tyres slide."""
    p, car = free.run.problem.p, free.car
    front, rear, ratio = car.front.tyre.peak_slip_angle, car.rear.tyre.peak_slip_angle, car.steering.ratio
    assert front is not None
    assert rear is not None
    assert ratio is not None
    return TyreSlip(
        cg_to_rear=float(p.cg_to_rear),
        cg_to_front=float(p.wheelbase - p.cg_to_rear),
        peak=float(rear.value),
        front_peak=float(front.value),
        steering_ratio=float(ratio.value),
    )


def _scaled(friction: FrictionFound, surface: float) -> FrictionFound:
    """A factor on a run that was solved with a surface, as a factor on the car file."""
    return FrictionFound(
        value=friction.value * surface,
        low=friction.low * surface,
        high=friction.high * surface,
        origin=friction.origin,
    )


def _nothing_shown(run: FoundRun) -> Finding:
    words = f"Run {run.number} is told as {run.kind}: nothing is taken from it about the friction."
    return Finding("note", "friction-not-shown", words)


def _words(friction: FrictionFound, assumed: float) -> tuple[Finding, ...]:
    if friction.value <= assumed + SAME:
        return ()
    words = (
        f"The run shows more friction than was assumed: the best run is given {friction.value:.2f} times that of the"
        f" car file, not {assumed:.2f}."
    )
    return (Finding("note", "friction-raised", words),)

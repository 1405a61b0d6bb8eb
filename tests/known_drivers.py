"""Simulated drivers whose line and speed are known, and their debriefs beside the truth: transient runs, noisy logs.

Every driver has a line of his own (the fastest with 0 to 0.8 m of room at every cone, drawn) and a pace of 0.80 to 0.95
on it. The truth is the best run on the line that he really drove. The car stands where the course says, to 0.15 m.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from conewise.logs.breakdown import FrictionFound
from conewise.logs.crossing import STAGING_DEVIATION
from conewise.logs.fusion import fuse
from conewise.logs.laid import lay_day
from conewise.logs.simulated import SensorNoise, motion_of, simulated_log
from conewise.solver.gear_search import followed
from conewise.solver.line_results import body_of
from conewise.solver.on_line import ROUGH, feature_times, run_on_line
from conewise.solver.problem import NEAR
from conewise.solver.solution import transient_solution
from conewise.workflows.debrief_lines import allowed_lines, spread_of
from conewise.workflows.debrief_runs import FreeRun, Solved, breakdown_of, not_beaten, on_drivers_line

if TYPE_CHECKING:
    from conewise.solver.result import Solution

WIDEST, PACES = 0.8, (0.80, 0.95)
N_PATHS = 16
SENSORS = {
    "25hz-2cm": SensorNoise(receiver_rate=25.0, slow_position=0.02, white_position=0.01, delay=0.05),
    "10hz-50cm": SensorNoise(),
    "10hz-150cm": SensorNoise(slow_position=1.5, correlation_time=60.0),
}
KNOWN = FrictionFound(value=1.0, low=1.0, high=1.0, origin="saturated")


@dataclass(frozen=True)
class KnownDriver:
    """A run and what is true of it; times by feature, shape (n_features,). [s]"""

    solution: Solution
    offset: np.ndarray  # at the nodes of the free run [m]
    best: np.ndarray  # of the best run on this line
    driven: np.ndarray


def known_driver(free, seed):
    """A driver's run on his own line, and the best run on it."""
    rng = np.random.default_rng(seed)
    problem = free.problem.changed(margins=rng.uniform(0.0, WIDEST, len(free.problem.geometry.passes)))
    _, wide = problem.cold(free.point.z, followed(free.settings), options=replace(NEAR, tolerance=ROUGH.tolerance))
    slow = replace(free.problem.p, friction_share=float(rng.uniform(*PACES)))
    driven = run_on_line(free, wide.variables["lateral_offset"], p=slow, is_rough=True)
    offset = driven.point.variables["lateral_offset"]
    best = run_on_line(free, offset)
    return KnownDriver(
        solution=transient_solution(driven), offset=offset, best=feature_times(best), driven=feature_times(driven)
    )


def recorded_driver(free, car, driver, *, rng, noise):
    """The run as a simulated log tells it, laid on the course."""
    geometry, body = free.problem.geometry, body_of(free.problem.p)
    run, motion = driver.solution, motion_of(driver.solution)
    staged = float(np.hypot(motion.x[0] - run.x[0], motion.y[0] - run.y[0]))  # before the first node
    told = max(staged - free.problem.mesh.extra + STAGING_DEVIATION * rng.standard_normal(), 0.0)
    there = replace(geometry, course=geometry.course.changed(staging=told))
    track = fuse(simulated_log(motion, rng=rng, noise=noise))
    day = lay_day(track, there, is_placed=True, front_reach=body.front_reach, half_width=body.width / 2.0)
    return FreeRun(run=free, laid=replace(day.runs[0], geometry=geometry), car=car)


@dataclass(frozen=True)
class Judged:
    """A debrief beside the truth.

    parts: estimate, half width and truth of line and speed, by feature and last of the whole, shape (2, n + 1, 3) [s]
    off: by how much line and speed miss the gap [s]
    line_error, line_spread: of the line found, and of drawn lines about it, rms [m]
    """

    parts: np.ndarray
    off: float
    line_error: float
    line_spread: float

    @property
    def holds(self):
        """Which intervals hold the truth, shape (2, n + 1)."""
        told, half, true = np.moveaxis(self.parts, -1, 0)
        return np.abs(told - true) <= half


def judged(base, driver, rng):
    """The debrief of a recorded driver, from the line on as `conewise debrief` works it out, friction known."""
    allowed = allowed_lines(base, rng, N_PATHS, hit=frozenset())
    line = on_drivers_line(base, allowed.line)
    base, _ = not_beaten(base, line)
    spread = spread_of(base, allowed, line=line, until=np.inf, rng=rng)
    runs = Solved(free=base, on_line=line, best=base.solution(base.run), spread=spread)
    on_line, best = base.trace(line, "best on this line"), base.trace(base.run, "best run")
    breakdown = breakdown_of(runs, friction=KNOWN, on_line=on_line, best=best)
    told = [[getattr(gap, part) for gap in breakdown.features] for part in ("line", "speed")]
    half = [
        [getattr(one, f"{part}_interval").width / 2.0 for one in (*breakdown.features, breakdown)]
        for part in ("line", "speed")
    ]
    true = [driver.best - feature_times(base.run), driver.driven - driver.best]
    true_line = np.interp(base.driven.station, base.run.problem.mesh.station, driver.offset)
    return Judged(
        parts=np.array(
            [
                np.column_stack([np.append(t, np.sum(t)), h, np.append(r, np.sum(r))])
                for t, h, r in zip(told, half, true, strict=True)
            ]
        ),
        off=float(np.sum(told) - breakdown.gap),
        line_error=float(np.sqrt(np.mean((allowed.line - true_line) ** 2))),
        line_spread=float(np.sqrt(np.mean((allowed.drawn - allowed.line) ** 2))),
    )

"""The fastest run on the bend that a recording tells: what a run is held against where nobody knows its line.

A receiver of one position a second does not tell on which side of the best line the car was. The inertial sensors of
the same recording tell how it turned, and so how fast it could have been on the way that it took.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d

from conewise.solver.min_time import guess_limits
from conewise.solver.speed_profile import speed_profile

if TYPE_CHECKING:
    from conewise.logs.laid import LaidRun
    from conewise.runs import Trace
    from conewise.solver.speed_profile import SpeedLimits
    from conewise.workflows.debrief_runs import FreeRun

Array = NDArray[np.float64]

GRID = 0.25  # steps of the distance over which the heading is averaged before its change is taken [m]
BEND_OVER = 1.0  # over which a recorded bend is averaged, one standard deviation [m]
MOST_DOUBT = 0.02  # relative, of the speed that a recorded bend allows where the car turns, one deviation [-]
SHARES = 0.006  # what quasi-steady speeds leave of it, measured on clean drivers; docs/models/causes.md [-]
TURNING = 0.75  # quantile of the yaw rate from which on the car turns
LEAST_RATE = 1e-6  # of a yaw rate that is divided by [rad/s]
LEAST_RISE = 1e-6  # of the distance from station to station, so that it rises [m]


def tells_bend(laid: LaidRun) -> bool:
    """Whether a recording tells how the car turned well enough to say how fast it could have been."""
    return bend_doubt(laid) <= MOST_DOUBT


def bend_doubt(laid: LaidRun) -> float:
    """Relative standard deviation of the speed that the recorded bend allows, a median over where the car turns."""
    track, run = laid.track, laid.run.samples
    rate, deviation = np.abs(track.yaw_rate[run]), track.yaw_rate_deviation[run]
    deviation = np.sqrt(np.maximum(deviation**2 - track.body_turns**2, 0.0))  # of the path itself
    turns = rate >= np.quantile(rate, TURNING)
    return float(np.median(deviation[turns] / np.maximum(rate[turns], LEAST_RATE))) / 2.0  # the root of the bend


def held_against(free: FreeRun, best: Trace) -> Trace | None:
    """The fastest run on the bend of the driven one; None where the recording does not tell that bend.

    Parameters
    ----------
    free : FreeRun
    best : Trace
        The best run on the sides that were driven, along the same path.
    """
    if not tells_bend(free.laid):
        return None
    return run_on_bend(free.driven, best, limits=guess_limits(free.run.problem.p), doubt=bend_doubt(free.laid))


def run_on_bend(driven: Trace, best: Trace, *, limits: SpeedLimits, doubt: float) -> Trace:
    """The fastest run on the bend of the driven one, at its stations.

    Parameters
    ----------
    driven, best : Trace
        Along the same path.
    limits : FrictionCircle or Envelope
        What the car can do, roughly.
    doubt : float
        Relative standard deviation of the speed that the bend allows. [-]

    Notes
    -----
    Quasi-steady speeds on the bend of the driven run over those on the bend of the best run, times the speed of the
    best run, which the transient solver found: what the simpler model leaves out is in both and drops out. The place of
    the car is not used beyond the station.
    """
    distance, bend = _bend(driven)
    allowed = _speed(driven, (distance, bend), limits)
    share = allowed / np.interp(driven.station, best.station, _speed(best, _bend(best), limits))
    speed = share * np.interp(driven.station, best.station, best.speed)
    step = np.diff(distance)
    return replace(
        driven,
        name="fastest on this bend",
        time=np.concatenate([[0.0], np.cumsum(2.0 * step / (speed[1:] + speed[:-1]))]),
        speed=speed,
        longitudinal_acceleration=np.gradient(speed**2, distance) / 2.0,
        lateral_acceleration=bend * speed**2,
        speed_deviation=float(np.hypot(SHARES, doubt)) * speed,
    )


def _speed(trace: Trace, way: tuple[Array, Array], limits: SpeedLimits) -> Array:
    """Quasi-steady speed on the way of a trace, as `_bend` tells it. [m/s]"""
    return speed_profile(*way, limits, start_speed=max(float(trace.speed[0]), 1.0)).speed


def _bend(trace: Trace) -> tuple[Array, Array]:
    """Distance driven, and the curvature there. [m], [1/m]

    The heading is averaged over even steps of the distance before its change is taken: where the car stands or crawls,
    many headings with their noise fall on one place, and their change over next to no distance would be a bend of any
    size.
    """
    step = np.diff(trace.time) * (trace.speed[1:] + trace.speed[:-1]) / 2.0
    distance = np.concatenate([[0.0], np.cumsum(np.maximum(step, LEAST_RISE))])
    ends = np.linspace(0.0, distance[-1], max(round(distance[-1] / GRID), 2) + 1)
    heading = np.unwrap(trace.heading)
    turned = np.concatenate([[0.0], np.cumsum((heading[1:] + heading[:-1]) / 2.0 * np.diff(distance))])
    mean = np.diff(np.interp(ends, distance, turned)) / ends[1]
    bend = gaussian_filter1d(np.gradient(mean, ends[1]), BEND_OVER / ends[1], mode="nearest")
    return distance, np.interp(distance, (ends[1:] + ends[:-1]) / 2.0, bend)

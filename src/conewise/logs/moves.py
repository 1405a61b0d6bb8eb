"""How yaw rate and what drives the speeds are believed to wander, and what of that a problem has."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from conewise.logs import motion
from conewise.logs.sensor_model import Believed
from conewise.logs.wander import changes_of, shared_noise

if TYPE_CHECKING:
    from collections.abc import Iterable

    from conewise.logs.log import Array
    from conewise.logs.passes import Flags, Problem
    from conewise.logs.sensor_model import SensorModel
    from conewise.logs.sensors import Inertial

AIMS = motion.AIM_YAW_RATE, motion.AIM_FORWARD_CHANGE, motion.AIM_SIDEWAYS_CHANGE
# Of yaw rate, forward and sideways change: the car's own channel that reads it, and its kind of reading.
READ_BY = {
    "yaw_rate": motion.CAR_RATE,
    "longitudinal_acceleration": motion.CAR_LONGITUDINAL,
    "lateral_acceleration": motion.CAR_LATERAL,
}


@dataclass(frozen=True, slots=True)
class Moves:
    """How yaw rate and what drives the speeds are believed to wander; each of shape (3,).

    shared: variance of what sums of them err by beyond the noise of each, each step
    changes: variance that a step adds to them where they are felt [rad2/s2], [m2/s4], [m2/s4]
    memories: of them and of what they aim at; without end where they are felt [s]
    sizes: standard deviation of them where they are not felt [rad/s], [m/s2], [m/s2]
    """

    shared: Array
    changes: Array
    memories: Array
    sizes: Array


def moves_of(
    inertial: Inertial | None, channels: Iterable[str], *, rest: Flags, model: SensorModel, interval: float = 0.0
) -> Moves:
    """As the inertial sensor shows it; without one as cars do, and where a channel reads it by how much more lively.

    channels : those of the car itself.
    interval : between positions where nothing else is told; else 0. [s]
    """
    sizes, memories = np.array(motion.SIZES_UNSEEN), np.array(motion.MEMORIES_UNSEEN)
    sizes[0] *= np.interp(interval, motion.SPARSE, motion.MORE_TURNING)
    if inertial is not None:
        changes = np.square(model.changes or changes_of(inertial, rest))
        return Moves(shared_noise(inertial), changes, np.full(3, np.inf), sizes)
    is_read, still = np.isin(list(READ_BY), list(channels)), np.zeros(3)
    return Moves(still, still, memories / np.where(is_read, model.liveliness, 1.0), sizes)


def aims(moves: Moves) -> dict[int, Believed]:
    """What is aimed at, g, for the sizes of what follows it: f' = k f + (1 - k) g.

    The covariance of both is c = k (1 - k) / (1 - k^2) var g; var f = ((1 - k)^2 var g + 2 k (1 - k) c) / (1 - k^2).
    """
    kept = np.exp(-motion.STEP / moves.memories)
    both = kept * (1.0 - kept) / (1.0 - kept**2)
    ratio = ((1.0 - kept) ** 2 + 2.0 * kept * (1.0 - kept) * both) / (1.0 - kept**2)
    spreads = moves.sizes / np.sqrt(ratio)
    return {
        state: Believed(spread=float(spread), memory=float(memory))
        for state, spread, memory in zip(AIMS, spreads, moves.memories, strict=True)
    }


def moving_so(problem: Problem, moves: Moves) -> Problem:
    """The problem of a log without an inertial sensor, with another belief about how its car moves.

    Readings of the car's own channels are told how much of its way to what it aims at each state has gone since the
    middle of the step: samples come when they come, states are means over a step.
    """
    kept, beliefs = np.exp(-motion.STEP / moves.memories), aims(moves)
    start, added, decay, told = (value.copy() for value in (problem.start, problem.added, problem.decay, problem.told))
    for state, belief in beliefs.items():
        at = problem.places[state]
        start[at], added[at] = belief.spread**2, belief.added(motion.STEP)
        decay[at - motion.N_MOVING] = belief.kept(motion.STEP)
    off = told[:, 0] / motion.STEP - 0.5
    for i, kind in enumerate(READ_BY.values()):
        use = problem.kind == kind
        told[use, 1], told[use, 2] = off[use] * (1.0 - kept[i]), off[use] * (1.0 - kept[0])
    return problem._replace(start=start, added=added, decay=decay, told=told, kept=kept)

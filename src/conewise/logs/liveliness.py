"""How lively this car is driven, where its own channels read it: what makes their readings the most probable.

On a wide, flowing course a car forgets half as quickly as in a slalom how it turns: one belief for all is wrong.

References
----------
Schweppe, Evaluation of likelihood functions for Gaussian signals, IEEE Trans. Information Theory 11(1), 1965 (from
memory).
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from conewise.logs import motion
from conewise.logs.moves import READ_BY, moves_of, moving_so
from conewise.logs.passes import filtered_room, forward

if TYPE_CHECKING:
    from conewise.logs.log import Array
    from conewise.logs.passes import Filtered, Flags, Problem
    from conewise.logs.problem import Prepared
    from conewise.logs.sensor_model import SensorModel

PRIOR = 1.0  # standard deviation of the logarithm of liveliness: it is left to the readings
APART = 0.35  # logarithms at which a probability is tried, on either side
MOST = 1.2  # logarithm of the greatest liveliness that is believed
NO_CHANGE = 0.05  # change of a logarithm that changes nothing
UNDER_WAY = 3.0  # a car that is faster is driven [m/s]


def liveliness_of(
    prepared: Prepared, model: SensorModel, *, path: Array, restarts: Flags
) -> tuple[float, float, float]:
    """Liveliness of yaw rate, forward and sideways change by one step of Newton's method from that of the model. [-]

    Parameters
    ----------
    prepared : Prepared
        Of a log without an inertial sensor.
    model : SensorModel
        With which it was prepared.
    path : Array, shape (n_steps, WIDTH)
        Smoothed states, at which everything is linearised.
    restarts : Flags, shape (n_steps,)
        Where the filter starts anew.

    Notes
    -----
    The logarithm of the readings' probability is, but for a constant, minus half the sum of squared innovations over
    their variance and of the logarithms of the variance (Schweppe 1965), here of the readings while the car is driven.
    Nothing is found where no channel reads it, nor where all three steps together make the readings less probable. How
    much a car turns could be found from positions too, but where they are a second apart a path that is smoothed too
    straight is the more probable, the straighter it is believed to be.
    """
    problem = prepared.problem
    step = np.searchsorted(problem.first, np.arange(problem.kind.size), side="right") - 1
    driven = (path[step, motion.FORWARD] > UNDER_WAY) & ~prepared.rest[step]
    kinds = np.unique(problem.kind)
    channels = [name for name, kind in READ_BY.items() if kind in kinds]
    if not channels:
        return model.liveliness
    room, begin = filtered_room(problem), np.log(model.liveliness)

    def probability(logarithms: Array) -> float:
        a, b, c = (float(value) for value in np.exp(logarithms))
        moves = moves_of(None, channels, rest=prepared.rest, model=replace(model, liveliness=(a, b, c)))
        filtered = forward(moving_so(problem, moves), path, restarts, room)
        return _log_probability(filtered, problem, driven) - 0.5 * float(np.sum((logarithms / PRIOR) ** 2))

    here, found = probability(begin), begin.copy()
    for i in np.flatnonzero(np.isin(list(READ_BY), channels)):
        off = np.zeros(3)
        off[i] = APART
        less, more = probability(begin - off), probability(begin + off)
        bend = 2.0 * here - less - more
        way = 0.5 * (more - less) / bend * APART if bend > 0.0 else np.sign(more - less) * np.inf
        found[i] = np.clip(begin[i] + np.clip(way, -2.0 * APART, 2.0 * APART), -MOST, MOST)
    if np.max(np.abs(found - begin)) < NO_CHANGE or not probability(found) > here:
        return model.liveliness
    a, b, c = (float(value) for value in np.exp(found))
    return a, b, c


def _log_probability(filtered: Filtered, problem: Problem, counts: Flags) -> float:
    """Of the readings that count, but for a constant; one that was left out is as improbable as one at the gate."""
    spread = np.abs(filtered.spread[counts])
    square = np.minimum(filtered.innovation[counts] ** 2 / spread, problem.gate**2)
    return -0.5 * float(np.sum(np.log(spread) + square))

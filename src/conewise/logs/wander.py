"""How what an inertial sensor feels wanders, how still the car stands, and what smoothing leaves: from the log itself.

References
----------
Stein, Estimation of the mean of a multivariate normal distribution, Annals of Statistics 9(6), 1981 (from memory).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from conewise.logs.kalman import Array, Numeric, _kernel
from conewise.logs.motion import YAW, YAW_RATE

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from conewise.logs.passes import Flags, Problem
    from conewise.logs.sensors import Inertial

# Bounds of what a step may change; solved runs of the demo cars do 0.026 rad/s, 0.15 and 0.33 m/s2.
LEAST_CHANGE, MOST_CHANGE = (0.005, 0.05, 0.05), (0.3, 6.0, 6.0)
MOST_STILL = (0.005, 0.05, 0.05)  # how a car shakes that stands, where the log does not tell; common practice
LEAST_STILL = (5e-4, 5e-3, 5e-3)  # no car is believed to stand more quietly; common practice
# Variance of a mean square and of the square of `white_noise`, over the squared noise, times the steps that tell of
# them: 2 (1 + 2 / 9), where neighbouring means share most (correlation 1/3 at 50 Hz; 1/6 at 100 Hz makes 2.1), and
# 4 * 1.36 * 1.94 / 2, two samples a step: a median absolute deviation (1.36) of second differences (correlations -2/3
# and 1/6: 1.94).
SCATTER = 2.4, 5.3
BY_CHANCE = 1.5  # standard errors that may be scatter
ENOUGH = 100  # steps that tell
HALVINGS = 24
LEAST_LEFT = 0.3  # of the variance that is believed, what at least is left of it; common practice


def changes_of(inertial: Inertial, rest: Flags) -> tuple[float, ...]:
    """Standard deviation of what a step adds to yaw rate and felt accelerations. [rad/s], [m/s2], [m/s2]

    Notes
    -----
    Each channel alone, as a level that wanders and is read with the channel's own noise: so large that the squared
    innovations are on average, while the car moves, what their variances say.
    """
    found = []
    for told, least, most in zip(inertial.channels, LEAST_CHANGE, MOST_CHANGE, strict=True):
        moves = ~rest[told.at]
        if moves.sum() < ENOUGH:
            found.append(most)
            continue
        low, high = np.log(least), np.log(most)
        for _ in range(HALVINGS):
            middle = 0.5 * (low + high)
            if _level_surprise(told.value, told.variance, told.at, moves, np.exp(2.0 * middle)) > 1.0:
                low = middle
            else:
                high = middle
        found.append(float(np.exp(high)))
    return tuple(found)


@_kernel
def _level_surprise(
    value: Array, variance: Array, at: NDArray[np.int64], counts: NDArray[np.bool_], added: float
) -> Numeric:
    """Mean of the squared innovations over their variance of a level that wanders."""
    level, spread, total, n = value[0], variance[0], 0.0, 0
    for k in range(1, value.size):
        spread += added * (at[k] - at[k - 1])
        innovation, whole = value[k] - level, spread + variance[k]
        if counts[k]:
            total += innovation * innovation / whole
            n += 1
        gain = spread / whole
        level += gain * innovation
        spread *= 1.0 - gain
    return total / n


def stillness_of(inertial: Inertial | None, rest: Flags) -> tuple[float, ...]:
    """Standard deviation of yaw rate and accelerations of the car that stands. [rad/s], [m/s2], [m/s2]

    How far readings at rest lie from their middle beyond the noise of the sensor: rests that disagree count too. What
    may be scatter is no shaking: it was only ever believed where it looked like more, never like less.
    """
    if inertial is None:
        return MOST_STILL
    found = []
    for told, least, most in zip(inertial.channels, LEAST_STILL, MOST_STILL, strict=True):
        still = rest[told.at]
        if still.sum() < ENOUGH:
            found.append(most)
            continue
        off = told.value[still] - np.median(told.value[still])
        noise = float(np.mean(told.variance[still]))
        beyond = float(np.mean(off**2)) - noise
        if beyond < BY_CHANCE * noise * np.sqrt(SCATTER[0] / still.sum() + SCATTER[1] / still.size):
            beyond = 0.0
        found.append(float(np.clip(np.sqrt(max(beyond, 0.0)), least, most)))
    return tuple(found)


def shared_noise(inertial: Inertial) -> Array:
    """What sums of yaw rates, forward and sideways accelerations err by beyond the noise of each. Shape (3,)."""
    return np.array([told.shared for told in inertial.channels])


def beyond_belief(read: Sequence[tuple[Array, Array]], problem: Problem, told: Array) -> Array:
    """What the mean squares of errors of smoothed yaw rate and accelerations are beyond their variances. Shape (3,).

    read: what the smoothed states leave of each channel's readings while the car moves, and their variances
    told: shape (3,), those variances as the smoother has them, on average

    Notes
    -----
    A level that wanders is a coarse belief: cars change what they do smoothly, so that smoothing errs by less than that
    belief says, while a prediction errs by as much. Stein's unbiased estimate of a risk asks no belief: what is left,
    squared, less the noise, and twice the noise times the weight of a reading in its own estimate. Neighbouring means
    share noise, so that the neighbours' weights count too. For a level in its steady state the weights are known; where
    the smoother knows better than from the channel alone, as received speeds tell it what a shaken sensor hardly can,
    the channel weighs so much less. The estimate scatters with what is left, and errors are judged over it: made larger
    by the square of the scatter over it, the mean of its inverse is right to the second order. More than is believed is
    scatter: what is believed foretells the next reading as well as it should.
    """
    beyond = np.zeros(3)
    for k, (left, variances) in enumerate(read):
        if left.size < ENOUGH:
            continue
        noise, added = float(np.mean(variances)), float(problem.added[YAW_RATE + k])
        shared = float(problem.added[YAW + k]) / problem.step**2 / 2.0  # with each neighbour
        believed = min(noise * np.sqrt(added / (added + 4.0 * noise)), float(told[k]))
        ratio = added / noise
        forgets = 1.0 + ratio / 2.0 - np.sqrt(ratio + ratio**2 / 4.0)  # weight of the next by that of one
        found = float(np.mean(left**2)) - noise + 2.0 * believed * (1.0 + 2.0 * forgets * shared / noise)
        found = max(found, LEAST_LEFT * believed)
        found += noise**2 * SCATTER[0] / left.size / found
        beyond[k] = min(found, believed) - believed
    return beyond

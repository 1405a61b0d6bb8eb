"""The motion model of fusing: what the states mean, how they move in a step, what each sensor would read.

The car is a rigid body on a flat lot. A state holds over one step: accelerations and yaw rate are their means over it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from conewise.logs.kalman import Array, Numeric, _kernel

if TYPE_CHECKING:
    from numpy.typing import NDArray

Told = tuple[float, float, float]

# The block that moves.
X, Y, YAW, FORWARD, SIDEWAYS, YAW_RATE, FORWARD_CHANGE, SIDEWAYS_CHANGE = range(8)
N_MOVING = 8

# States that decay one by one; a log has those that its channels need.
(
    POSITION_ERROR_X,  # slow error of the receiver's position over its standard deviation, east [-]
    POSITION_ERROR_Y,  # north [-]
    BIAS_X,  # of the sensor's levelled axes, with what is left of the levelling [m/s2]
    BIAS_Y,
    BIAS_RATE,  # [rad/s]
    MOUNTING,  # turn of the sensor about the vertical, against the first guess [rad]
    PITCHING,  # share of the felt longitudinal acceleration that is the body's pitch [-]
    ROLLING,  # of the lateral acceleration that is its roll [-]
    DELAY,  # of the receiver's positions, against the first guess [s]
    SPEED_DELAY,  # of its speeds [s]
    WHEEL_SCALE,  # wheel speed over speed, less one [-]
    STEER_GAIN,  # yaw rate over speed and handwheel angle [1/m]
    CAR_BIAS_LONGITUDINAL,  # of the car's own channels [m/s2]
    CAR_BIAS_LATERAL,
    CAR_BIAS_RATE,  # [rad/s]
) = range(15)
N_DECAYING = 15

# What is measured.
(
    AT_X,
    AT_Y,
    EAST_SPEED,
    NORTH_SPEED,
    SPEED,
    SENSOR_X,
    SENSOR_Y,
    SENSOR_RATE,
    WHEEL,
    STEER,
    CAR_LONGITUDINAL,
    CAR_LATERAL,
    CAR_RATE,
    STANDING_FORWARD,
    STANDING_SIDEWAYS,
    STANDING_RATE,
    STANDING_FORWARD_CHANGE,
    STANDING_SIDEWAYS_CHANGE,
) = range(18)

STEP = 0.02  # of the filter [s]
SIDEWAYS_MEMORY = 1.0  # how fast sideways speed dies where nothing feeds it [s]
# How yaw rate, forward and sideways change wander: standard deviation of what a step adds [rad/s], [m/s2], [m/s2], and
# memories [s]. Where inertial sensors measure them they are left free; unseen they stay within what the demo cars do in
# solved runs, and the change over half a second counts (docs/models/fusion.md).
WANDER_MEASURED = (0.15, 3.0, 2.4), (np.inf, np.inf, 0.2)
WANDER_UNSEEN = (0.14, 0.64, 1.0), (0.5, 1.0, 0.25)
STEER_SPEED = 18.0  # characteristic speed of a mildly understeering car [m/s]
SLOWEST_KNOWN = 0.1  # what a speed without a direction shows at rest [m/s]


@_kernel
def advance(state: Array, step: float, kept: Array, block: Array) -> None:
    """Move the state by a step, in place, and write the derivative of the new moving part by the old, upper triangular.

    kept: shape (3,), share of yaw rate, forward and sideways change that a step leaves
    block: shape (N_MOVING, N_MOVING), zero where motion makes it zero
    """
    c = np.cos(state[YAW] + 0.5 * step * state[YAW_RATE])
    s = np.sin(state[YAW] + 0.5 * step * state[YAW_RATE])
    drift = state[SIDEWAYS_CHANGE] - state[SIDEWAYS] / SIDEWAYS_MEMORY
    ahead = step * (state[FORWARD] + 0.5 * step * state[FORWARD_CHANGE])
    aside = step * (state[SIDEWAYS] + 0.5 * step * drift)
    east, north = ahead * c - aside * s, ahead * s + aside * c
    for i in range(N_MOVING):
        block[i, i] = 1.0
    lasting = 1.0 - 0.5 * step / SIDEWAYS_MEMORY
    for row, by_ahead, by_aside, by_yaw in ((X, c, -s, -north), (Y, s, c, east)):
        block[row, YAW] = by_yaw
        block[row, YAW_RATE] = 0.5 * step * by_yaw
        block[row, FORWARD] = step * by_ahead
        block[row, FORWARD_CHANGE] = 0.5 * step * step * by_ahead
        block[row, SIDEWAYS] = step * lasting * by_aside
        block[row, SIDEWAYS_CHANGE] = 0.5 * step * step * by_aside
    block[YAW, YAW_RATE] = step
    block[FORWARD, FORWARD_CHANGE] = step
    block[SIDEWAYS, SIDEWAYS] = 1.0 - step / SIDEWAYS_MEMORY
    block[SIDEWAYS, SIDEWAYS_CHANGE] = step
    state[X] += east
    state[Y] += north
    state[YAW] += step * state[YAW_RATE]
    state[FORWARD] += step * state[FORWARD_CHANGE]
    state[SIDEWAYS] += step * drift
    for i in range(3):
        block[YAW_RATE + i, YAW_RATE + i] = kept[i]
        state[YAW_RATE + i] *= kept[i]


@_kernel
def expected(kind: int, state: Array, told: Told, places: NDArray[np.int64], row: Array) -> Numeric:
    """What a sensor would read, and its derivative by the state, written into `row`.

    state, row: shape (WIDTH,); the entry after those of the log stands for every state that it does not have
    told: time since the state's own, and what the kind needs besides: the scale of the slow error, the handwheel angle,
        or the two accelerations that the sensor felt, smoothed
    places: shape (N_DECAYING,), where each decaying state stands
    """
    row[:] = 0.0
    if kind in (AT_X, AT_Y, EAST_SPEED, NORTH_SPEED, SPEED):
        return _received(kind, state, told, places, row)
    if kind in (SENSOR_X, SENSOR_Y, CAR_LONGITUDINAL, CAR_LATERAL):
        return _felt(kind, state, told, places, row)
    if kind in (SENSOR_RATE, CAR_RATE):
        bias = places[BIAS_RATE] if kind == SENSOR_RATE else places[CAR_BIAS_RATE]
        row[YAW_RATE] = 1.0
        row[bias] = 1.0
        return state[YAW_RATE] + state[bias]
    if kind == WHEEL:
        scale = places[WHEEL_SCALE]
        row[FORWARD] = 1.0 + state[scale]
        row[FORWARD_CHANGE] = row[FORWARD] * told[0]
        row[scale] = state[FORWARD] + state[FORWARD_CHANGE] * told[0]
        return (1.0 + state[scale]) * row[scale]
    if kind == STEER:  # the handwheel against the yaw rate: 0 = r - gain angle v / (1 + (v / v_ch)^2)
        gain, relative = places[STEER_GAIN], (state[FORWARD] / STEER_SPEED) ** 2
        row[YAW_RATE] = 1.0
        row[gain] = -told[1] * state[FORWARD] / (1.0 + relative)
        row[FORWARD] = -told[1] * state[gain] * (1.0 - relative) / (1.0 + relative) ** 2
        return state[YAW_RATE] + state[gain] * row[gain]
    at = FORWARD + kind - STANDING_FORWARD
    row[at] = 1.0
    return state[at]


@_kernel
def _received(kind: int, state: Array, told: Told, places: NDArray[np.int64], row: Array) -> Numeric:
    """Position or speed as a receiver tells it, late by its delay."""
    late = places[DELAY if kind in (AT_X, AT_Y) else SPEED_DELAY]
    t = told[0] - state[late]
    c, s = np.cos(state[YAW] + t * state[YAW_RATE]), np.sin(state[YAW] + t * state[YAW_RATE])
    drift = state[SIDEWAYS_CHANGE] - state[SIDEWAYS] / SIDEWAYS_MEMORY
    u = state[FORWARD] + t * state[FORWARD_CHANGE]
    v = state[SIDEWAYS] + t * drift
    kept = 1.0 - t / SIDEWAYS_MEMORY
    east, north = u * c - v * s, u * s + v * c
    if kind in (AT_X, AT_Y):
        half = 0.5 * t
        c, s = np.cos(state[YAW] + half * state[YAW_RATE]), np.sin(state[YAW] + half * state[YAW_RATE])
        ahead = t * (state[FORWARD] + half * state[FORWARD_CHANGE])
        aside = t * (state[SIDEWAYS] + half * drift)
        moved = (ahead * c - aside * s, ahead * s + aside * c)
        at, other = (0, 1) if kind == AT_X else (1, 0)
        by_u, by_v = (c, -s) if kind == AT_X else (s, c)
        by_yaw = -moved[other] if kind == AT_X else moved[other]
        error = places[POSITION_ERROR_X + at]
        row[X + at] = 1.0
        row[error] = told[1]
        row[late] = -(east if kind == AT_X else north)
        row[FORWARD], row[SIDEWAYS] = t * by_u, t * (1.0 - half / SIDEWAYS_MEMORY) * by_v
        row[FORWARD_CHANGE], row[SIDEWAYS_CHANGE] = t * half * by_u, t * half * by_v
        row[YAW], row[YAW_RATE] = by_yaw, half * by_yaw
        return state[X + at] + moved[at] + told[1] * state[error]
    by_late = -state[FORWARD_CHANGE], -drift
    if kind == SPEED:
        value = np.sqrt(u * u + v * v + SLOWEST_KNOWN**2)
        by_u, by_v, by_yaw = u / value, v / value, 0.0
    elif kind == EAST_SPEED:
        value, by_u, by_v, by_yaw = east, c, -s, -north
    else:
        value, by_u, by_v, by_yaw = north, s, c, east
    row[FORWARD], row[SIDEWAYS] = by_u, by_v * kept
    row[FORWARD_CHANGE], row[SIDEWAYS_CHANGE] = t * by_u, t * by_v
    row[YAW], row[YAW_RATE] = by_yaw, t * by_yaw
    row[late] = by_u * by_late[0] + by_v * by_late[1] - by_yaw * state[YAW_RATE]
    return value


@_kernel
def _felt(kind: int, state: Array, told: Told, places: NDArray[np.int64], row: Array) -> Numeric:
    """Acceleration along an axis of the car, or of a sensor that is level and almost turned to the car.

    What is left of the sensor's turn, and the shares that pitch and roll add, multiply what the sensor felt itself,
    smoothed (`told`: along and across), not the states. Times the states, greater shares would allow smaller changes of
    acceleration and so always look more probable than they are.
    """
    r, u, v = state[YAW_RATE], state[FORWARD], state[SIDEWAYS]
    is_first = kind in (SENSOR_X, CAR_LONGITUDINAL)
    if is_first:
        value = state[FORWARD_CHANGE] - r * v
        row[FORWARD_CHANGE], row[SIDEWAYS], row[YAW_RATE] = 1.0, -r, -v
    else:
        value = state[SIDEWAYS_CHANGE] - v / SIDEWAYS_MEMORY + r * u
        row[SIDEWAYS_CHANGE], row[SIDEWAYS] = 1.0, -1.0 / SIDEWAYS_MEMORY
        row[FORWARD], row[YAW_RATE] = r, u
    if kind in (CAR_LONGITUDINAL, CAR_LATERAL):
        bias = places[CAR_BIAS_LONGITUDINAL if is_first else CAR_BIAS_LATERAL]
    else:
        bias, leaning = places[BIAS_X if is_first else BIAS_Y], places[PITCHING if is_first else ROLLING]
        mounting = places[MOUNTING]
        row[leaning] = told[1] if is_first else told[2]
        row[mounting] = told[2] if is_first else -told[1]
        value += row[leaning] * state[leaning] + row[mounting] * state[mounting]
    row[bias] = 1.0
    return value + state[bias]

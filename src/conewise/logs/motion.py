"""The motion model of fusing: what the states mean, how they move in a step, what each sensor would read.

The car is a rigid body on a flat lot. A state holds over one step: accelerations and yaw rate are their means over it.

What drives the speeds is told in one of two ways. Where an inertial sensor feels it, the states are what it feels, and
what it has of pitch, roll and a turn about the vertical stands between that and the speeds. What is believed of its
changes then says nothing of those shares: as states of the car, smaller accelerations and greater shares would explain
the same readings by less change, and always look more probable than they are. Elsewhere the states are the changes of
the speeds themselves, which cars change smoothly: each follows what it aims at, and that wanders.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from conewise.logs.kalman import Array, Numeric, _inlined_kernel, _kernel

if TYPE_CHECKING:
    from numpy.typing import NDArray

Told = tuple[float, float, float]

# What moves. The last two with an inertial sensor: what it feels along and to the left of the car [m/s2].
X, Y, YAW, FORWARD, SIDEWAYS, YAW_RATE, FORWARD_CHANGE, SIDEWAYS_CHANGE = range(8)
N_MOVING = 8
# What drives it: where a sensor feels, its turn about the vertical and the shares of pitch and roll; else what yaw
# rate, forward and sideways change aim at.
TURN, PITCH, ROLL = N_MOVING, N_MOVING + 1, N_MOVING + 2
AIM = N_MOVING
N_DRIVING = 11  # states that move or drive

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
    AIM_YAW_RATE,  # what the yaw rate aims at where no sensor feels [rad/s]
    AIM_FORWARD_CHANGE,  # [m/s2]
    AIM_SIDEWAYS_CHANGE,
) = range(18)
N_DECAYING = 18

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
    SLIDING,
) = range(19)

STEP = 0.02  # of the filter [s]
SIDEWAYS_MEMORY = 1.0  # how fast sideways speed dies where nothing feeds it [s]
# Yaw rate, forward and sideways change where no inertial sensor measures them: standard deviation [rad/s], [m/s2],
# [m/s2], and memory of each of two lags [s], as the demo cars do in solved runs (docs/models/fusion.md). What is felt
# wanders as the log shows, and without end.
SIZES_UNSEEN, MEMORIES_UNSEEN = (0.42, 3.4, 1.8), (0.6, 0.4, 0.3)
# Positions alone that are far apart tell little of a slalom, where the car turns more than over a whole run: intervals
# [s], and the size of the yaw rate by that over a whole run.
SPARSE, MORE_TURNING = (0.2, 1.0), (1.0, 1.4)
STEER_SPEED = 18.0  # characteristic speed of a mildly understeering car [m/s]
SLOWEST_KNOWN = 0.1  # what a speed without a direction shows at rest [m/s]


@_kernel
def is_felt(places: NDArray[np.int64]) -> Numeric:
    """Whether a sensor feels what drives the speeds: states that a log does not have share one place."""
    return places[PITCHING] != places[MOUNTING]


@_kernel
def advance(state: Array, step: float, kept: Array, block: Array, places: NDArray[np.int64]) -> None:
    """Move what moves by a step, in place, and write the derivative of the new moving part by the old, as U and L.

    kept: shape (3,), share of yaw rate, forward and sideways change that a step leaves; the rest is what they aim at
    block: shape (N_MOVING, N_DRIVING); zero where motion makes it zero
    places: shape (N_DECAYING,), where each decaying state stands
    """
    has_sensor = is_felt(places)
    if has_sensor:
        _advance_felt(state, step, block)
    else:
        _advance_changing(state, step, block)
    for i in range(3):
        block[YAW_RATE + i, YAW_RATE + i] = kept[i]
        state[YAW_RATE + i] *= kept[i]
        if not has_sensor:
            block[YAW_RATE + i, AIM + i] = 1.0 - kept[i]
            state[YAW_RATE + i] += (1.0 - kept[i]) * state[AIM + i]


@_kernel
def _advance_changing(state: Array, step: float, block: Array) -> None:
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


@_inlined_kernel
def _driven(state: Array) -> tuple[Numeric, Numeric]:
    """Accelerations along and to the left of the car from what its sensor feels."""
    along, across = state[FORWARD_CHANGE], state[SIDEWAYS_CHANGE]
    return (
        (1.0 - state[PITCH]) * along - state[TURN] * across,
        (1.0 - state[ROLL]) * across + state[TURN] * along,
    )


@_inlined_kernel
def _by_driven(state: Array, by: tuple[float, float], row: Array) -> None:
    """Into a row what it has of the felt accelerations and their shares, from its derivatives by those of the car."""
    along, across = state[FORWARD_CHANGE], state[SIDEWAYS_CHANGE]
    row[FORWARD_CHANGE] = (1.0 - state[PITCH]) * by[0] + state[TURN] * by[1]
    row[SIDEWAYS_CHANGE] = (1.0 - state[ROLL]) * by[1] - state[TURN] * by[0]
    row[TURN] = along * by[1] - across * by[0]
    row[PITCH] = -along * by[0]
    row[ROLL] = -across * by[1]


@_kernel
def _advance_felt(state: Array, step: float, block: Array) -> None:
    """The speeds keep their direction while the car turns under them, and what drives them turns with it.

    The speeds by the speeds are a turn, an upper triangle times a shear: [[1 / c, s], [0, c]] [[1, 0], [-s / c, 1]].
    """
    r, half = state[YAW_RATE], 0.5 * step
    c, s = np.cos(state[YAW] + half * r), np.sin(state[YAW] + half * r)
    ch, sh = np.cos(half * r), np.sin(half * r)
    along, across = _driven(state)
    p, q = ch * state[FORWARD] + sh * state[SIDEWAYS], ch * state[SIDEWAYS] - sh * state[FORWARD]
    ahead, aside = step * (p + half * along), step * (q + half * across)
    east, north = ahead * c - aside * s, ahead * s + aside * c
    by_east, by_north = step * (c * ch + s * sh), step * (s * ch - c * sh)
    ca, sa = ch * ch - sh * sh, 2.0 * sh * ch
    tangent, bent = sa / ca, half * half * step
    for row, by_yaw, by_u, by_v in ((X, -north, by_east, -by_north), (Y, east, by_north, by_east)):
        block[row, YAW], block[row, FORWARD], block[row, SIDEWAYS] = by_yaw, by_u + tangent * by_v, by_v
    block[X, YAW_RATE], block[Y, YAW_RATE] = -bent * (s * along + c * across), bent * (c * along - s * across)
    _by_driven(state, (half * step * c, -half * step * s), block[X])
    _by_driven(state, (half * step * s, half * step * c), block[Y])
    _by_driven(state, (step * ch, step * sh), block[FORWARD])
    _by_driven(state, (-step * sh, step * ch), block[SIDEWAYS])
    u, v = ch * (p + step * along) + sh * (q + step * across), ch * (q + step * across) - sh * (p + step * along)
    block[FORWARD, YAW_RATE] = half * (v + ch * q - sh * p)
    block[SIDEWAYS, YAW_RATE] = -half * (u + ch * p + sh * q)
    block[FORWARD, FORWARD], block[FORWARD, SIDEWAYS], block[SIDEWAYS, SIDEWAYS] = 1.0 / ca, sa, ca
    block[SIDEWAYS, FORWARD] = -tangent
    block[YAW, YAW_RATE] = step
    for i in (X, Y, YAW):
        block[i, i] = 1.0
    state[X] += east
    state[Y] += north
    state[YAW] += step * r
    state[FORWARD], state[SIDEWAYS] = u, v


@_kernel
def seen(state: Array, places: NDArray[np.int64], rows: Array) -> tuple[Numeric, Numeric]:
    """The changes of forward and sideways speed, and their derivatives by the state, written into `rows`.

    rows: shape (SEEN, WIDTH)
    """
    rows[:] = 0.0
    if not is_felt(places):
        rows[0, FORWARD_CHANGE], rows[1, SIDEWAYS_CHANGE] = 1.0, 1.0
        return state[FORWARD_CHANGE], state[SIDEWAYS_CHANGE]
    r, u, v = state[YAW_RATE], state[FORWARD], state[SIDEWAYS]
    along, across = _driven(state)
    _by_driven(state, (1.0, 0.0), rows[0])
    _by_driven(state, (0.0, 1.0), rows[1])
    rows[0, YAW_RATE], rows[0, SIDEWAYS] = v, r
    rows[1, YAW_RATE], rows[1, FORWARD], rows[1, SIDEWAYS] = -u, -r, 1.0 / SIDEWAYS_MEMORY
    return along + r * v, across - r * u + v / SIDEWAYS_MEMORY


@_kernel
def expected(kind: int, state: Array, told: Told, places: NDArray[np.int64], row: Array) -> Numeric:
    """What a sensor would read, and its derivative by the state, written into `row`.

    state, row: shape (WIDTH,); the entry after those of the log stands for every state that it does not have
    told: time since the state's own, and what the kind needs besides: the scale of the slow error, the handwheel angle;
        of the car's own channels, where no sensor feels, what share of their way to what they aim at acceleration and
        yaw rate have gone since the middle of the step
    places: shape (N_DECAYING,), where each decaying state stands
    """
    row[:] = 0.0
    if kind in (AT_X, AT_Y, EAST_SPEED, NORTH_SPEED, SPEED):
        return _received(kind, state, told, places, row)
    if kind in (SENSOR_X, SENSOR_Y, CAR_LONGITUDINAL, CAR_LATERAL):
        return _felt(kind, state, told, places, row)
    if kind in (SENSOR_RATE, CAR_RATE):
        bias = places[BIAS_RATE] if kind == SENSOR_RATE else places[CAR_BIAS_RATE]
        row[bias] = 1.0
        return _within(YAW_RATE, 0.0 if is_felt(places) else told[2], state, row) + state[bias]
    if kind == WHEEL:
        scale, t, change = places[WHEEL_SCALE], told[0], state[FORWARD_CHANGE]
        whole = 1.0 + state[scale]
        row[FORWARD] = whole
        if is_felt(places):
            change = _driven(state)[0] + state[YAW_RATE] * state[SIDEWAYS]
            _by_driven(state, (whole * t, 0.0), row)
            row[YAW_RATE], row[SIDEWAYS] = whole * t * state[SIDEWAYS], whole * t * state[YAW_RATE]
        else:
            row[FORWARD_CHANGE] = whole * t
        row[scale] = state[FORWARD] + change * t
        return whole * row[scale]
    if kind == STEER:  # the handwheel against the yaw rate: 0 = r - gain angle v / (1 + (v / v_ch)^2)
        gain, relative = places[STEER_GAIN], (state[FORWARD] / STEER_SPEED) ** 2
        row[YAW_RATE] = 1.0
        row[gain] = -told[1] * state[FORWARD] / (1.0 + relative)
        row[FORWARD] = -told[1] * state[gain] * (1.0 - relative) / (1.0 + relative) ** 2
        return state[YAW_RATE] + state[gain] * row[gain]
    at = SIDEWAYS if kind == SLIDING else FORWARD + kind - STANDING_FORWARD
    row[at] = 1.0
    return state[at]


@_kernel
def _received(kind: int, state: Array, told: Told, places: NDArray[np.int64], row: Array) -> Numeric:
    """Position or speed as a receiver tells it, late by its delay."""
    if is_felt(places):
        return _received_felt(kind, state, told, places, row)
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
        half_turn = 0.5 * state[YAW_RATE] * (1.0 if kind == AT_X else -1.0)
        error = places[POSITION_ERROR_X + at]
        row[X + at] = 1.0
        row[error] = told[1]
        on = (u * c - v * s, u * s + v * c)
        row[late] = -on[at] + half_turn * moved[other]
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
def _received_felt(kind: int, state: Array, told: Told, places: NDArray[np.int64], row: Array) -> Numeric:
    """The same where a sensor feels what drives the speeds."""
    late = places[DELAY if kind in (AT_X, AT_Y) else SPEED_DELAY]
    t, r, yaw = told[0] - state[late], state[YAW_RATE], state[YAW]
    c, s, ch, sh = np.cos(yaw), np.sin(yaw), np.cos(yaw + 0.5 * t * r), np.sin(yaw + 0.5 * t * r)
    along, across = _driven(state)
    push = (ch * along - sh * across, sh * along + ch * across)
    v = (state[FORWARD] * c - state[SIDEWAYS] * s, state[FORWARD] * s + state[SIDEWAYS] * c)
    if kind in (AT_X, AT_Y):
        half = 0.5 * t * t
        at, sign = (0, -1.0) if kind == AT_X else (1, 1.0)
        error = places[POSITION_ERROR_X + at]
        by = (ch, -sh) if kind == AT_X else (sh, ch)
        row[X + at], row[error] = 1.0, told[1]
        row[FORWARD], row[SIDEWAYS] = (t * c, -t * s) if kind == AT_X else (t * s, t * c)
        row[YAW] = sign * (t * v[1 - at] + half * push[1 - at])
        row[YAW_RATE] = sign * 0.5 * t * half * push[1 - at]
        _by_driven(state, (half * by[0], half * by[1]), row)
        row[late] = -(v[at] + t * push[at] + sign * 0.5 * half * r * push[1 - at])
        return state[X + at] + t * v[at] + half * push[at] + told[1] * state[error]
    east, north = v[0] + t * push[0], v[1] + t * push[1]
    value, e, n = (east, 1.0, 0.0) if kind == EAST_SPEED else (north, 0.0, 1.0)
    if kind == SPEED:
        value = np.sqrt(east * east + north * north + SLOWEST_KNOWN**2)
        e, n = east / value, north / value
    row[FORWARD], row[SIDEWAYS] = e * c + n * s, n * c - e * s
    row[YAW] = n * east - e * north
    turned = n * push[0] - e * push[1]
    row[YAW_RATE] = 0.5 * t * t * turned
    _by_driven(state, (t * (e * ch + n * sh), t * (n * ch - e * sh)), row)
    row[late] = -(e * push[0] + n * push[1] + 0.5 * t * r * turned)
    return value


@_inlined_kernel
def _within(at: int, share: float, state: Array, row: Array) -> Numeric:
    """Yaw rate or a change of speed at a time within the step, some share on its way to what it aims at."""
    if share == 0.0:
        row[at] = 1.0
        return state[at]
    aim = AIM + at - YAW_RATE
    row[at], row[aim] = 1.0 - share, share
    return state[at] + share * (state[aim] - state[at])


@_kernel
def _felt(kind: int, state: Array, told: Told, places: NDArray[np.int64], row: Array) -> Numeric:
    """Acceleration along an axis of the car, or of a sensor that is level and almost turned to the car."""
    u, v = state[FORWARD], state[SIDEWAYS]
    is_first = kind in (SENSOR_X, CAR_LONGITUDINAL)
    if kind in (SENSOR_X, SENSOR_Y):
        bias, at = (places[BIAS_X], FORWARD_CHANGE) if is_first else (places[BIAS_Y], SIDEWAYS_CHANGE)
        row[at], row[bias] = 1.0, 1.0
        return state[at] + state[bias]
    bias = places[CAR_BIAS_LONGITUDINAL if is_first else CAR_BIAS_LATERAL]
    row[bias] = 1.0
    if is_felt(places):
        along, across = _driven(state)
        _by_driven(state, (1.0, 0.0) if is_first else (0.0, 1.0), row)
        return (along if is_first else across) + state[bias]
    r = _within(YAW_RATE, told[2], state, row)
    if is_first:
        for i in (YAW_RATE, AIM):
            row[i] *= -v
        row[SIDEWAYS] = -r
        return _within(FORWARD_CHANGE, told[1], state, row) - r * v + state[bias]
    u += told[0] * state[FORWARD_CHANGE]
    for i in (YAW_RATE, AIM):
        row[i] *= u
    row[SIDEWAYS], row[FORWARD], row[FORWARD_CHANGE] = -1.0 / SIDEWAYS_MEMORY, r, told[0] * r
    return _within(SIDEWAYS_CHANGE, told[1], state, row) - v / SIDEWAYS_MEMORY + r * u + state[bias]

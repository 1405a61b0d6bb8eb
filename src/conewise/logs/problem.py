"""From the channels of a log to the problem that the passes of the filter solve."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from conewise.errors import InputError
from conewise.logs import motion
from conewise.logs.arms import accelerations_off, car_at, plus, turning
from conewise.logs.doubted import NONE_DOUBTED, Doubted
from conewise.logs.mounting import mounting_match, turned
from conewise.logs.moves import AIMS, Moves, aims, moves_of, moving_so
from conewise.logs.passes import Problem
from conewise.logs.readings import Readings, add_receiver, add_sensors, add_sideslip, unbiased
from conewise.logs.receiver import DIRECTED, Receiver, delay_against, receiver_of
from conewise.logs.sensor_model import SensorModel, believed_states
from conewise.logs.sensors import (
    SENSOR_AXES,
    SLOW,
    SLOW_WHERE_CALM,
    Inertial,
    Stepped,
    Steps,
    at_rest,
    calm,
    inertial_of,
    running_mean,
    stepped,
    taken,
)

if TYPE_CHECKING:
    from collections.abc import Callable
    from collections.abc import Set as AbstractSet

    from conewise.course.earth import LocalPlane
    from conewise.logs.kalman import Integers
    from conewise.logs.log import Arms, Array, Log
    from conewise.logs.passes import Flags


PATIENCE = 1.5  # how long positions and speeds may be left out before the filter starts anew [s]
LONGEST_SILENCE = 60.0  # of positions and speeds that the filter bridges [s]
MUCH_BETTER = 1.5  # agreement of a mirrored sensor from which it is believed to be one, if its turns do not say so
LONGEST_WINDOW = 2.0  # over which accelerations are compared to find the mounting [s]
SLIP_AS_DELAY = 0.2  # wheels slip as speeds change, which passes for up to half of this delay [s]
SURE = 0.5  # agreement of turns from which a delay is believed
MOVING_START = (0.5, 3.0, 1.0, 0.5, 3.2, 2.6)  # standard deviations of the moving states at a start, after the place
CAR = {  # channels of the car, with the smallest standard deviation of one sample that is believed
    "wheel_speed": 0.15,
    "yaw_rate": 0.005,
    "lateral_acceleration": 0.3,  # bodies roll
    "longitudinal_acceleration": 0.3,
    "handwheel_angle": 0.001,
}
USED = {"latitude", "longitude", "x", "y", "speed", "course", *CAR, *SENSOR_AXES}


class NothingToFuseError(InputError):
    """A log from which no motion can be told."""

    code = "nothing-to-fuse"
    default_hint = (
        "Record with the receiver switched on, or name the columns of position or speed when the file is read."
    )

    def __init__(self, file: str) -> None:
        super().__init__("The log has neither positions nor speeds, so that there is no motion to tell.", where=file)


@dataclass(frozen=True, slots=True)
class Known:
    """What is undone before the passes; the passes estimate what is left of it.

    delays: of the receiver's positions and speeds [s]
    mounting: angle by which the levelled sensor is turned to the car [rad]
    """

    delays: tuple[float, float]
    mounting: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Prepared:
    """A log, ready to be fused.

    restarts: shape (n_steps,), where the filter starts anew after a long silence
    has_rate: whether a gyroscope carries the direction from fix to fix
    known: delays and mounting that were undone before the passes
    antenna: where it sits, forward and to the left of the centre of gravity; None where nobody told [m]
    doubted: channels that were left out, since they disagree with the receiver
    """

    problem: Problem
    steps: Steps
    receiver: Receiver
    inertial: Inertial | None
    rest: Flags
    restarts: Flags
    has_rate: bool
    plane: LocalPlane | None
    known: Known
    antenna: tuple[float, float] | None
    doubted: Doubted = NONE_DOUBTED


def prepare(log: Log, *, plane: LocalPlane | None, model: SensorModel, known: Known | None = None) -> Prepared:
    """Everything before the first pass: cleaned readings, rests, first guesses of delay, mounting and motion.

    known : delays and mounting, where earlier passes found them.

    Raises
    ------
    NothingToFuseError
        Where the log has neither positions nor speeds.
    """
    receiver, plane = receiver_of(log, plane)
    steps = _steps(log)
    car = _channels_of_car(log, steps, by=taken, kinds=CAR.keys())
    wheel = car.get("wheel_speed")
    if receiver.time.size < 2 and receiver.all_speed.size < 2 and wheel is None:
        raise NothingToFuseError(log.file)
    inertial = _levelled(log, steps, receiver, wheel)
    if inertial is not None:
        car |= _channels_of_car(log, steps, by=stepped, kinds=car.keys() - {"wheel_speed"})
    first_delays, agreement = _delays(receiver, steps, inertial, car)
    is_against = agreement < -SURE
    if inertial is not None and is_against:
        inertial = inertial.overturned()
    delays = first_delays if known is None else known.delays
    receiver = receiver.earlier(delays)
    rest = at_rest(receiver, wheel, steps, slow=SLOW if inertial is None else SLOW_WHERE_CALM)
    if inertial is None and wheel is None and not receiver.all_speed.size:
        rest[:] = False  # positions alone may be held still by the receiver
    if inertial is not None:
        rest = calm(inertial, rest, steps)
    rate = inertial.rate if inertial is not None else car.get("yaw_rate")
    guess = _guess(receiver, steps, wheel, None if rate is None else unbiased(rate.everywhere(steps.count), rest))
    readings, mounting = Readings(steps), 0.0
    if inertial is not None:
        window = min(max(0.5, receiver.interval), LONGEST_WINDOW)
        inertial, first_mounting = _mounted(
            inertial, guess, rest, window=window, margin=1.0 if is_against else MUCH_BETTER
        )
        mounting = first_mounting if known is None else known.mounting
        inertial = _at_antenna(_turned(inertial, mounting), log.arms, rest)
        add_sideslip(readings, guess[:, 3], rest)
        model = model if inertial.is_levelled else model.unlevelled()
    if rate is not None and log.arms.antenna is not None:
        car = car_at(car, log.arms.antenna, turning(rate, rest))
    add_receiver(readings, receiver, model)
    add_sensors(readings, inertial, car, rest=rest)
    has = _states(receiver, inertial, car)
    moves = moves_of(inertial, car, rest=rest, model=model, interval=_interval_alone(receiver, car))
    return Prepared(
        problem=_problem(readings, has, guess, model, is_sure=abs(agreement) >= SURE, moves=moves),
        steps=steps,
        receiver=receiver,
        inertial=inertial,
        rest=rest,
        restarts=_silences(receiver, wheel, steps),
        has_rate=rate is not None,
        plane=plane,
        known=Known(delays, mounting),
        antenna=log.arms.antenna,
    )


def _levelled(log: Log, steps: Steps, receiver: Receiver, wheel: Stepped | None) -> Inertial | None:
    """The inertial sensor, levelled at rest; where only positions tell of rests, at those in which it is quiet."""
    if wheel is not None or receiver.all_speed.size:
        return inertial_of(log, steps, at_rest(receiver, wheel, steps, slow=SLOW))
    rest = at_rest(receiver, wheel, steps, slow=SLOW_WHERE_CALM)
    inertial = inertial_of(log, steps, rest)
    return None if inertial is None else inertial_of(log, steps, calm(inertial, rest, steps))


def _channels_of_car(
    log: Log, steps: Steps, *, by: Callable[..., Stepped], kinds: AbstractSet[str]
) -> dict[str, Stepped]:
    """The car's own channels of these kinds that have samples within the steps.

    by: `taken`, or `stepped` where an inertial sensor feels and nothing tells how these channels go on within a step
    """
    car = {kind: by(log.channels[kind], steps, least=CAR[kind]) for kind in CAR if kind in kinds and _has(log, kind)}
    return {kind: channel for kind, channel in car.items() if channel.at.size}


def _has(log: Log, kind: str) -> bool:
    return kind in log.channels and log.channels[kind].time.size >= 2


def _steps(log: Log) -> Steps:
    """Steps from the first to the last sample of the channels that are used."""
    used = [channel.time for kind, channel in log.channels.items() if kind in USED and channel.time.size]
    if not used:
        raise NothingToFuseError(log.file)
    start, end = min(time[0] for time in used), max(time[-1] for time in used)
    return Steps(float(start), motion.STEP, max(int(np.ceil((end - start) / motion.STEP)), 2))


def _delays(
    receiver: Receiver, steps: Steps, inertial: Inertial | None, car: dict[str, Stepped]
) -> tuple[tuple[float, float], float]:
    """Delays of positions and of speeds, and the agreement that they rest on; 0 where nothing tells them."""
    rate = inertial.rate if inertial is not None else car.get("yaw_rate")
    turning = np.zeros(steps.count) if rate is None else rate.everywhere(steps.count)
    wheel = car["wheel_speed"].everywhere(steps.count) if "wheel_speed" in car else None
    found = [(0.0, 0.0), (0.0, 0.0)]
    for k, told in enumerate((receiver.positions_alone(), receiver)):
        found[k] = delay_against(told, steps.middles, turning)
        if abs(found[k][1]) < SURE and wheel is not None:
            by_wheel = delay_against(told, steps.middles, turning, speed=wheel)
            found[k] = by_wheel if abs(by_wheel[0]) > SLIP_AS_DELAY else found[k]
    at, of = found
    if abs(of[1]) < SURE:
        of = at if abs(at[1]) >= SURE else (0.0, 0.0)
    if abs(at[1]) < SURE:
        at = of
    return (at[0], of[0]), of[1]


def _guess(receiver: Receiver, steps: Steps, wheel: Stepped | None, rate: Array | None) -> Array:
    """Position, yaw and forward speed at every step, from the receiver alone but for the turning at rest."""
    t = steps.start + steps.step * np.arange(steps.count)
    guess = np.zeros((steps.count, 4))
    if receiver.time.size:
        guess[:, 0], guess[:, 1] = np.interp(t, receiver.time, receiver.x), np.interp(t, receiver.time, receiver.y)
    told, velocity = receiver.velocities()
    fast = np.hypot(velocity[:, 0], velocity[:, 1])
    turn = np.zeros(steps.count) if rate is None else np.concatenate([[0.0], np.cumsum(rate[:-1]) * steps.step])
    moving = fast > DIRECTED
    if moving.any():
        course = np.arctan2(velocity[moving, 1], velocity[moving, 0])
        off = np.unwrap(course - np.interp(told[moving], t, turn))
        guess[:, 2] = np.interp(t, told[moving], off) + turn
    else:
        guess[:, 2] = turn
    if wheel is not None:
        guess[:, 3] = wheel.everywhere(steps.count)
    elif told.size:
        guess[:, 3] = np.interp(t, told, fast)
    elif receiver.speed.size:
        guess[:, 3] = np.interp(t, receiver.speed_time, receiver.speed)
    return guess


def _mounted(inertial: Inertial, guess: Array, rest: Flags, *, window: float, margin: float) -> tuple[Inertial, float]:
    """The sensor, mirrored where that agrees better by a margin, and its turn about the vertical.

    The receiver tells speeds and the sensor accelerations; a sensor whose gyroscope counts the other way round than its
    axes say is the mirror image of the one that levelling takes it for.
    """
    speed = running_mean(guess[:, 3], window)
    ahead = running_mean(np.gradient(speed, motion.STEP), window)
    left = running_mean(speed * unbiased(inertial.rate.everywhere(guess.shape[0]), rest), window)
    moved = np.column_stack([ahead, running_mean(left, window)])
    axes = (inertial.first, inertial.second)
    level = [unbiased(axis.everywhere(guess.shape[0]), rest) for axis in axes]
    felt = np.column_stack([running_mean(running_mean(axis, window), window) for axis in level])
    use = speed > 2.0 * DIRECTED
    match, mirrored = (mounting_match(felt[use] * face, moved[use]) for face in ([1.0, 1.0], [1.0, -1.0]))
    if abs(mirrored) > margin * abs(match):
        return inertial.mirrored(), float(np.angle(mirrored))
    return inertial, float(np.angle(match))


def _turned(inertial: Inertial, angle: float) -> Inertial:
    value = turned(np.column_stack([inertial.first.value, inertial.second.value]), angle)
    first = replace(inertial.first, value=value[:, 0])
    return replace(inertial, first=first, second=replace(inertial.second, value=value[:, 1]))


def _at_antenna(inertial: Inertial, arms: Arms, rest: Flags) -> Inertial:
    """The sensor's accelerations as they were where the antenna sits."""
    if arms.sensor is None:
        return inertial
    antenna = arms.antenna or (0.0, 0.0)
    arm = antenna[0] - arms.sensor[0], antenna[1] - arms.sensor[1]
    along, across = accelerations_off(arm, turning(inertial.rate, rest))
    return replace(inertial, first=plus(inertial.first, along), second=plus(inertial.second, across))


def _states(receiver: Receiver, inertial: Inertial | None, car: dict[str, Stepped]) -> list[int]:
    """The decaying states that these channels need."""
    has: list[int] = [*AIMS]  # the first three drive what moves
    if inertial is not None:
        has = [motion.MOUNTING, motion.PITCHING, motion.ROLLING, motion.BIAS_X, motion.BIAS_Y, motion.BIAS_RATE]
    if receiver.time.size:
        has += [motion.POSITION_ERROR_X, motion.POSITION_ERROR_Y]
    if inertial is not None or "yaw_rate" in car:  # the slip of wheels would pass for one
        has += [motion.DELAY] if receiver.time.size else []
        has += [motion.SPEED_DELAY] if receiver.all_speed.size else []
    needs = {
        "wheel_speed": motion.WHEEL_SCALE,
        "handwheel_angle": motion.STEER_GAIN,
        "longitudinal_acceleration": motion.CAR_BIAS_LONGITUDINAL,
        "lateral_acceleration": motion.CAR_BIAS_LATERAL,
        "yaw_rate": motion.CAR_BIAS_RATE,
    }
    return has + [state for kind, state in needs.items() if kind in car]


def _interval_alone(receiver: Receiver, car: dict[str, Stepped]) -> float:
    """Between positions where neither receiver nor car tells anything else; else 0. [s]"""
    return 0.0 if car or receiver.all_speed.size else receiver.interval


def _problem(
    readings: Readings, has: list[int], guess: Array, model: SensorModel, *, is_sure: bool, moves: Moves
) -> Problem:
    n, first = motion.N_MOVING + len(has), motion.N_MOVING
    places = np.full(motion.N_DECAYING, n, dtype=np.int64)
    places[has] = first + np.arange(len(has))
    beliefs = believed_states(model, is_sure=is_sure)
    if motion.PITCHING not in has:
        beliefs |= aims(moves)
    believed = [beliefs[state] for state in has]
    start, added, anew = np.zeros(n), np.zeros(n), np.ones(n, dtype=bool)
    start[:first] = np.square([readings.place, readings.place, *MOVING_START])
    start[first:] = [one.spread**2 for one in believed]
    added[motion.YAW : motion.YAW_RATE] = motion.STEP**2 * moves.shared
    added[motion.YAW_RATE : first] = moves.changes
    added[first:] = [one.added(motion.STEP) for one in believed]
    anew[first:] = np.isin(has, (motion.POSITION_ERROR_X, motion.POSITION_ERROR_Y, *AIMS))
    table = readings.sorted()
    problem = Problem(
        step=motion.STEP,
        mean=np.array([0.0] * first + [one.mean for one in believed]),
        start=start,
        added=added,
        kept=np.exp(-motion.STEP / moves.memories),
        decay=np.array([one.kept(motion.STEP) for one in believed]),
        anew=anew,
        places=places,
        guess=guess,
        first=np.searchsorted(table[:, 0], np.arange(readings.steps.count + 1)).astype(np.int64),
        kind=table[:, 1].astype(np.int64),
        value=table[:, 3].copy(),
        variance=table[:, 4].copy(),
        told=table[:, [2, 5, 6]].copy(),
        gate=model.gate,
        patience=PATIENCE,
    )
    return problem if motion.PITCHING in has else moving_so(problem, moves)


def _silences(receiver: Receiver, wheel: Stepped | None, steps: Steps) -> Flags:
    """Steps at which the filter starts anew, because nothing told position or speed for too long."""
    times = [receiver.time, receiver.told_time, receiver.speed_time]
    if wheel is not None:
        times.append(steps.edges[wheel.at])
    told = np.unique(np.concatenate(times))
    restarts = np.zeros(steps.count, dtype=bool)
    if told.size > 1:
        at: Integers = steps.at(told[1:][np.diff(told) > LONGEST_SILENCE])
        restarts[at[(at > 0) & (at < steps.count)]] = True
    return restarts

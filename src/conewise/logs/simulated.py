"""Logs of a known motion: what a phone and a car would have recorded of it, with noise of known size.

For tests, benchmarks and the example: the truth is there to compare with.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

import numpy as np
from scipy.interpolate import CubicSpline
from scipy.spatial.transform import Rotation

from conewise.logs.log import Array, Channel, Log

if TYPE_CHECKING:
    from conewise.course.earth import LocalPlane

GRAVITY = 9.80665  # standard [m/s2]
NODE_STEP = 0.02  # of what is added before and after a run [s]
TRUTH_RATE = 200.0  # [1/s]


class Driven(Protocol):
    """A run over time, such as a `Solution`: arrays of shape (n,); heading is that of the body."""

    elapsed: Array
    x: Array
    y: Array
    heading: Array


@dataclass(frozen=True, slots=True, kw_only=True)
class Motion:
    """A motion known exactly; arrays have shape (n_samples,), evenly spaced at `TRUTH_RATE`.

    yaw: of the body, from east, to the left [rad]
    speed, heading: of the velocity [m/s], [rad]
    yaw_rate: of the body [rad/s]
    body_acceleration: shape (n_samples, 2), along and to the left of the body [m/s2]
    longitudinal_acceleration, lateral_acceleration: along and to the left of the velocity [m/s2]
    """

    time: Array
    x: Array
    y: Array
    yaw: Array
    speed: Array
    heading: Array
    yaw_rate: Array
    body_acceleration: Array
    longitudinal_acceleration: Array
    lateral_acceleration: Array


@dataclass(frozen=True, slots=True, kw_only=True)
class SensorNoise:
    """What the sensors get wrong. Rates [1/s]; a rate of zero: no such sensor.

    antenna, sensor: where they sit, forward and to the left of the centre of gravity [m]
    slow_position, correlation_time: standard deviation [m] and memory [s] of the receiver's slow error, each axis
        (first-order Gauss-Markov)
    white_position: of its white error, each axis [m]
    received_speed: white, each axis of the velocity from which speed and course are told; None: neither is told [m/s]
    delay: of everything that the receiver tells [s]
    resolution: positions are rounded to it, 0 for not at all [m]
    acceleration, rate: white, each sample and axis [m/s2], [rad/s]
    acceleration_bias, rate_bias: standard deviation of the constant that is drawn for each axis [m/s2], [rad/s]
    pitching, rolling: apparent share of an acceleration by the body's pitch and roll [-]
    wheel_speed, wheel_scale: white [m/s]; standard deviation of the relative error [-]
    wheel_slip: by how much faster wheels turn where the car speeds up, over its acceleration [s2/m]
    handwheel_gain: yaw rate over speed and handwheel angle at low speed [1/m]
    """

    antenna: tuple[float, float] = (0.0, 0.0)
    sensor: tuple[float, float] = (0.0, 0.0)
    receiver_rate: float = 10.0
    slow_position: float = 0.5
    correlation_time: float = 5.0
    white_position: float = 0.1
    received_speed: float | None = 0.1
    delay: float = 0.12
    resolution: float = 0.0
    inertial_rate: float = 100.0
    acceleration: float = 0.3
    rate: float = 0.01
    acceleration_bias: float = 0.1
    rate_bias: float = 0.01
    pitching: float = 0.025
    rolling: float = 0.05
    vehicle_rate: float = 0.0
    wheel_speed: float = 0.05
    wheel_scale: float = 0.01
    wheel_slip: float = 0.0
    handwheel_gain: float = 0.025


def motion_of(run: Driven, *, standing: float = 8.0, deceleration: float = 5.0) -> Motion:
    """The whole motion of a run: standing, off from rest to its first sample, the run, slowing to a stop, standing.

    Parameters
    ----------
    run : Driven
        Smooth, at least four samples. Time zero of the motion is `standing` seconds before the car moves.
    standing : float, default 8
        At rest before and after. [s]
    deceleration : float, default 5
        After the run, reached smoothly. [m/s2]
    """
    ends = _launch(run), _slow_down(run, deceleration)
    time, x, y, yaw = (np.concatenate([ends[0][i], part, ends[1][i]]) for i, part in enumerate(_arrays(run)))
    still = np.arange(NODE_STEP, standing + NODE_STEP / 2.0, NODE_STEP)
    time = np.concatenate([time[0] - still[::-1], time, time[-1] + still])
    x, y, yaw = (np.concatenate([np.full(still.size, p[0]), p, np.full(still.size, p[-1])]) for p in (x, y, yaw))
    return motion(time - time[0], np.column_stack([x, y]), yaw)


def motion(time: Array, place: Array, yaw: Array) -> Motion:
    """The motion through places, shape (n, 2) [m], at times [s], with the body's yaw [rad]: cubic splines."""
    path, turn = CubicSpline(time, place), CubicSpline(time, yaw)
    t = np.arange(time[0], time[-1], 1.0 / TRUTH_RATE)
    at, rate, change, yaw = path(t), path(t, 1), path(t, 2), turn(t)
    speed = np.hypot(rate[:, 0], rate[:, 1])
    moving = speed > 0.05
    heading = np.unwrap(np.where(moving, np.arctan2(rate[:, 1], rate[:, 0]), yaw))
    along, across = _turned(change, -yaw).T
    longitudinal, lateral = _turned(change, -heading).T
    return Motion(
        time=t,
        x=at[:, 0],
        y=at[:, 1],
        yaw=yaw,
        speed=speed,
        heading=heading,
        yaw_rate=turn(t, 1),
        body_acceleration=np.column_stack([along, across]),
        longitudinal_acceleration=longitudinal,
        lateral_acceleration=lateral,
    )


def _arrays(run: Driven) -> tuple[Array, Array, Array, Array]:
    return run.elapsed, run.x, run.y, np.unwrap(run.heading)


def _launch(run: Driven) -> tuple[Array, Array, Array, Array]:
    """Straight ahead from rest to the first sample, the acceleration rising from zero and falling to the run's own."""
    time, x, y, yaw = _arrays(run)
    east, north = _first_rate(time, x), _first_rate(time, y)
    speed = np.hypot(east, north)
    takes = max(0.4, speed / 3.0)
    t = np.arange(-takes, -NODE_STEP / 2.0, NODE_STEP)
    part = 1.0 + t / takes  # 0 to 1
    gone = speed * takes * (part**3 - part**4 / 2.0) - speed * takes / 2.0  # speed v (3 p2 - 2 p3)
    return (
        time[0] + t,
        x[0] + gone * east / speed,
        y[0] + gone * north / speed,
        np.full(t.size, yaw[0]) + _first_rate(time, yaw) * takes * (part**3 - part**4 / 2.0 - 0.5),
    )


def _first_rate(time: Array, value: Array) -> float:
    return float(CubicSpline(time[:8], value[:8])(time[0], 1))


def _slow_down(run: Driven, deceleration: float) -> tuple[Array, Array, Array, Array]:
    """From the last sample to rest, the turning dying with the speed."""
    time, x, y, yaw = (array[::-1] for array in _arrays(run))
    backwards = -time
    east, north, turning = (-_first_rate(backwards, value) for value in (x, y, yaw))
    speed = np.hypot(east, north)
    takes = max(1.0, 1.5 * speed / deceleration)  # the greatest of a smooth step is 1.5 times its mean
    t = np.arange(NODE_STEP, takes + NODE_STEP / 2.0, NODE_STEP)
    part = np.minimum(t / takes, 1.0)
    gone = takes * (part - part**3 + part**4 / 2.0)
    turned = turning * np.minimum(takes, 1.0) * (1.0 - np.exp(-t / np.minimum(takes, 1.0))) * (1.0 - part**2)
    heading = np.arctan2(north, east) + turned
    steps = np.diff(gone, prepend=0.0) * speed
    return (
        time[0] + t,
        x[0] + np.cumsum(steps * np.cos(heading)),
        y[0] + np.cumsum(steps * np.sin(heading)),
        yaw[0] + turned,
    )


def _turned(vectors: Array, angle: Array) -> Array:
    c, s = np.cos(angle), np.sin(angle)
    return np.column_stack([c * vectors[:, 0] - s * vectors[:, 1], s * vectors[:, 0] + c * vectors[:, 1]])


def simulated_log(
    known: Motion,
    *,
    rng: np.random.Generator,
    noise: SensorNoise,
    mounting: Array | None = None,
    plane: LocalPlane | None = None,
) -> Log:
    """What would have been recorded of a known motion.

    Parameters
    ----------
    known : Motion
    rng : Generator
    noise : SensorNoise
    mounting : Array, shape (3, 3), optional
        Turns vectors of the car's axes into the sensor's. Left out: drawn, every mounting equally likely.
    plane : LocalPlane, optional
        Positions are told as latitude and longitude on it; without one as x and y.
    """
    channels: list[Channel] = []
    if noise.receiver_rate:
        channels += _receiver(known, rng, noise, plane)
    if noise.inertial_rate:
        turn = Rotation.random(rng=rng).as_matrix() if mounting is None else mounting
        channels += _inertial(known, rng, noise, turn)
    if noise.vehicle_rate:
        channels += _vehicle(known, rng, noise)
    return Log(file="simulated", channels={channel.kind: channel for channel in channels})


def _samples(known: Motion, rate: float, phase: float = 0.0) -> Array:
    return np.arange(known.time[0] + phase, known.time[-1], 1.0 / rate)


def _slow_error(rng: np.random.Generator, n: int, kept: float) -> Array:
    """First-order Gauss-Markov sequence of unit variance, shape (n, 2)."""
    fresh = rng.standard_normal((n, 2))
    error = fresh.copy()
    for k in range(1, n):
        error[k] = kept * error[k - 1] + np.sqrt(1.0 - kept**2) * fresh[k]
    return error


def _receiver(known: Motion, rng: np.random.Generator, noise: SensorNoise, plane: LocalPlane | None) -> list[Channel]:
    time = _samples(known, noise.receiver_rate, phase=rng.uniform(0.0, 1.0 / noise.receiver_rate))
    then = time - noise.delay
    place = np.column_stack([np.interp(then, known.time, known.x), np.interp(then, known.time, known.y)])
    arm = _turned(np.tile(noise.antenna, (time.size, 1)), np.interp(then, known.time, known.yaw))
    place += arm
    kept = np.exp(-1.0 / (noise.receiver_rate * noise.correlation_time))
    place += noise.slow_position * _slow_error(rng, time.size, kept)
    place += noise.white_position * rng.standard_normal(place.shape)
    if noise.resolution:
        place = np.round(place / noise.resolution) * noise.resolution
    told = {"x": place[:, 0], "y": place[:, 1]}
    if plane is not None:
        east, north = zip(*(plane.to_earth((px, py)) for px, py in place), strict=True)
        told = {"longitude": np.array(east), "latitude": np.array(north)}
    told["horizontal_accuracy"] = np.full(time.size, np.hypot(noise.slow_position, noise.white_position))
    if noise.received_speed is not None:
        speed, heading = (np.interp(then, known.time, value) for value in (known.speed, known.heading))
        rate = np.column_stack([speed * np.cos(heading), speed * np.sin(heading)])
        rate += np.interp(then, known.time, known.yaw_rate)[:, None] * np.column_stack([-arm[:, 1], arm[:, 0]])
        rate += noise.received_speed * rng.standard_normal(rate.shape)
        told["speed"] = np.hypot(rate[:, 0], rate[:, 1])
        told["course"] = np.mod(np.arctan2(rate[:, 0], rate[:, 1]), 2.0 * np.pi)
    return [Channel(kind, time, value, kind) for kind, value in told.items()]


def _inertial(known: Motion, rng: np.random.Generator, noise: SensorNoise, turn: Array) -> list[Channel]:
    time = _samples(known, noise.inertial_rate)
    felt = np.column_stack([np.interp(time, known.time, known.body_acceleration[:, i]) for i in range(2)])
    turn_rate, change = (
        np.interp(time, known.time, value) for value in (known.yaw_rate, np.gradient(known.yaw_rate, known.time))
    )
    felt += np.outer(change, [-noise.sensor[1], noise.sensor[0]]) - np.outer(turn_rate**2, noise.sensor)
    felt *= 1.0 + np.array([noise.pitching, noise.rolling])
    force = np.column_stack([felt, np.full(time.size, GRAVITY)]) @ turn.T
    rate = np.outer(np.interp(time, known.time, known.yaw_rate), turn[:, 2])
    channels = []
    for name, value, white, bias in (
        ("acceleration", force, noise.acceleration, noise.acceleration_bias),
        ("rate", rate, noise.rate, noise.rate_bias),
    ):
        told = value + bias * rng.standard_normal(3) + white * rng.standard_normal(value.shape)
        kinds = [f"sensor_{name}_{axis}" for axis in "xyz"]
        channels += [Channel(kind, time, told[:, i], kind) for i, kind in enumerate(kinds)]
    return channels


def _vehicle(known: Motion, rng: np.random.Generator, noise: SensorNoise) -> list[Channel]:
    time = _samples(known, noise.vehicle_rate)

    def told(value: Array, white: float, bias: float) -> Array:
        error = bias * rng.standard_normal() + white * rng.standard_normal(time.size)
        return np.asarray(np.interp(time, known.time, value) + error, dtype=np.float64)

    forward = known.speed * np.cos(known.heading - known.yaw)
    slip = noise.wheel_slip * known.body_acceleration[:, 0]
    wheel = told(forward * (1.0 + noise.wheel_scale * rng.standard_normal() + slip), noise.wheel_speed, 0.0)
    values = {
        "wheel_speed": np.maximum(wheel, 0.0),
        "yaw_rate": told(known.yaw_rate, noise.rate, noise.rate_bias),
        "lateral_acceleration": told(known.body_acceleration[:, 1], noise.acceleration, noise.acceleration_bias),
    }
    return [Channel(kind, time, value, kind) for kind, value in values.items()]

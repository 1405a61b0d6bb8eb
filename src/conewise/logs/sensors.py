"""What the inertial sensors and the car's own channels of a log told, on the steps of the filter."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from conewise.logs.motion import STEP
from conewise.logs.mounting import level_axes

if TYPE_CHECKING:
    from conewise.logs.log import Array, Channel, Log
    from conewise.logs.passes import Flags
    from conewise.logs.receiver import Receiver

FAST_ENOUGH = 30.0  # rate from which a channel is averaged over the steps; slower ones are taken as they come [1/s]
SLOW = 0.4  # speed that may be told at rest [m/s]
SLOW_WHERE_CALM = 1.0  # the same where an inertial sensor has its say: receivers come to rest late [m/s]
REST_AT_LEAST = 1.0  # [s]
REST_ENDS = 0.3  # what is left off at either end of a rest [s]
LEAST_GRAVITY, MOST_GRAVITY = 7.0, 13.0  # what a sensor that feels gravity tells at rest [m/s2]
QUIET_OVER = 0.5  # [s]
SENSOR_AXES = [f"sensor_{what}_{axis}" for what in ("acceleration", "rate") for axis in "xyz"]


@dataclass(frozen=True, slots=True)
class Steps:
    """The evenly spaced steps of the filter: step k spans start + k step to start + (k + 1) step. [s]"""

    start: float
    step: float
    count: int

    @property
    def edges(self) -> Array:
        """Shape (count + 1,). [s]"""
        return self.start + self.step * np.arange(self.count + 1, dtype=np.float64)

    @property
    def middles(self) -> Array:
        """Shape (count,). [s]"""
        return self.start + self.step * (np.arange(self.count, dtype=np.float64) + 0.5)

    def at(self, time: Array) -> np.ndarray[tuple[int], np.dtype[np.int64]]:
        """The step that holds each time; -1 or count outside."""
        return np.clip(np.floor((time - self.start) / self.step), -1, self.count).astype(np.int64)


@dataclass(frozen=True, slots=True)
class Stepped:
    """A channel on the steps: which steps, time within the step, value, and variance of its white noise.

    shared: what the noise of a long sum of values is worth beyond that variance, each: neighbouring means share samples
    """

    at: np.ndarray[tuple[int], np.dtype[np.int64]]
    since: Array
    value: Array
    variance: Array
    shared: float = 0.0

    def everywhere(self, count: int) -> Array:
        """Value in the middle of every step, shape (count,); between and beyond the samples interpolated."""
        return np.asarray(np.interp(np.arange(count) + 0.5, self.at + self.since / STEP, self.value))


def white_noise(value: Array) -> float:
    """Standard deviation of what changes from sample to sample without memory; robust. [as the value]

    Notes
    -----
    From the median of second differences, whose variance is six times that of white noise. What the car does within
    three samples counts as noise, so that slow channels come out too large rather than too small.
    """
    if value.size < 5:
        return 0.0
    return float(1.4826 * np.median(np.abs(np.diff(value, 2))) / np.sqrt(6.0))


def stepped(channel: Channel, steps: Steps, *, least: float) -> Stepped:
    """A channel on the steps: means over steps where it is fast, single samples where it is slow.

    least : smallest standard deviation of one sample that is believed. [as the value]
    """
    time, at_once = np.unique(channel.time, return_index=True)
    value = channel.value[at_once]
    noise = max(white_noise(value), least)
    interval = float(np.median(np.diff(time))) if time.size > 1 else np.inf
    if interval > 1.0 / FAST_ENOUGH:
        at = steps.at(time)
        inside = (at >= 0) & (at < steps.count)
        since = time - steps.edges[np.clip(at, 0, steps.count)]
        return Stepped(at[inside], since[inside], value[inside], np.full(int(inside.sum()), noise**2))
    whole = np.concatenate([[0.0], np.cumsum(np.diff(time) * (value[1:] + value[:-1]) / 2.0)])
    edges = steps.edges
    mean = np.diff(np.interp(edges, time, whole)) / steps.step
    after = np.clip(np.searchsorted(time, edges[:-1], side="right"), 1, time.size - 1)
    ends = np.clip(np.searchsorted(time, edges[1:], side="left"), 1, time.size - 1)
    gap = np.maximum(time[after] - time[after - 1], time[ends] - time[ends - 1])
    told = (edges[:-1] >= time[0] - 1e-9) & (edges[1:] <= time[-1] + 1e-9) & (gap <= 3.0 * interval)
    at = np.flatnonzero(told)
    variance = noise**2 * _squared_weights(time, edges)[at]
    shared = max(noise**2 * interval / steps.step - float(np.mean(variance)), 0.0) if at.size else 0.0
    return Stepped(at, np.full(at.size, steps.step / 2.0), mean[at], variance, shared)


def taken(channel: Channel, steps: Steps, *, least: float) -> Stepped:
    """A channel on the steps: the mean of the samples that fall into each, at their mean time.

    No two means share a sample, so that their noise is white. least : as in `stepped`.
    """
    time, at_once = np.unique(channel.time, return_index=True)
    value = channel.value[at_once]
    noise = max(white_noise(value), least)
    at = steps.at(time)
    inside = (at >= 0) & (at < steps.count)
    which, group, count = np.unique(at[inside], return_inverse=True, return_counts=True)
    mean = np.bincount(group, value[inside]) / count
    since = np.bincount(group, time[inside]) / count - steps.edges[which]
    return Stepped(which, since, mean, noise**2 / count)


def _squared_weights(time: Array, edges: Array) -> Array:
    """Sum of the squared weights of the samples in the mean over each step.

    Between two samples their mean counts, so that a sample counts half from its neighbour before to the one after.
    """
    before, after = np.diff(time, prepend=2.0 * time[0] - time[1]), np.diff(time, append=2.0 * time[-1] - time[-2])
    first = np.maximum(np.searchsorted(time, edges[:-1], side="right") - 1, 0)
    total = np.zeros(edges.size - 1)
    for ahead in range(int(np.max(np.searchsorted(time, edges[1:], side="left") - first, initial=0)) + 1):
        i = np.minimum(first + ahead, time.size - 1)
        area = []
        for edge in (edges[:-1], edges[1:]):
            rising = np.clip((edge - time[i] + before[i]) / before[i], 0.0, 1.0)
            falling = np.clip((edge - time[i]) / after[i], 0.0, 1.0)
            area.append((before[i] * rising + after[i] * falling) / 2.0)
        total += np.where(first + ahead < time.size, ((area[1] - area[0]) / np.diff(edges)) ** 2, 0.0)
    return total


def at_rest(receiver: Receiver, wheel: Stepped | None, steps: Steps, *, slow: float) -> Flags:
    """Steps at which receiver or wheels say that the car stands, the ends of each rest left off."""
    rest = np.zeros(steps.count, dtype=bool)
    sources = [(receiver.all_speed_time, receiver.all_speed, REST_ENDS)]
    if not receiver.all_speed.size:
        sources = [(*receiver.slow_speeds(), REST_ENDS)]
    if wheel is not None:
        sources = [(steps.start + steps.step * wheel.at + wheel.since, wheel.value, REST_ENDS / 2.0)]
    for time, speed, ends in sources:
        stands = np.concatenate([[False], speed < slow, [False]])
        turns = np.flatnonzero(np.diff(stands.astype(np.int8)))
        for begin, end in zip(turns[::2], turns[1::2] - 1, strict=True):
            widest = np.max(np.diff(time[begin : end + 1]), initial=0.0)
            if time[end] - time[begin] >= REST_AT_LEAST and widest < 3.0:
                rest |= (steps.middles > time[begin] + ends) & (steps.middles < time[end] - ends)
    return rest


@dataclass(frozen=True, slots=True)
class Inertial:
    """The inertial sensor, levelled.

    first, second: along its two level axes [m/s2]
    rate: about the vertical [rad/s]
    is_levelled: whether a rest told where down is; else the mean of the whole log did
    """

    first: Stepped
    second: Stepped
    rate: Stepped
    is_levelled: bool

    @property
    def channels(self) -> tuple[Stepped, Stepped, Stepped]:
        """Turn rate and the two accelerations, in the order of the states that they tell."""
        return self.rate, self.first, self.second

    def overturned(self) -> Inertial:
        """The same sensor where it tells the downward pull in place of the upward push."""
        return Inertial(self.first, _negative(self.second), _negative(self.rate), self.is_levelled)

    def mirrored(self) -> Inertial:
        """The same sensor with its second axis the other way."""
        return Inertial(self.first, _negative(self.second), self.rate, self.is_levelled)


def _negative(told: Stepped) -> Stepped:
    return replace(told, value=-told.value)


def inertial_of(log: Log, steps: Steps, rest: Flags) -> Inertial | None:
    """The levelled inertial sensor of a log; None where one of its six channels is missing, or it feels no gravity."""
    if any(name not in log.channels or log.channels[name].time.size < 10 for name in SENSOR_AXES):
        return None
    axes = [stepped(log.channels[name], steps, least=0.02 if i < 3 else 0.001) for i, name in enumerate(SENSOR_AXES)]
    shared = axes[0].at
    for axis in axes[1:]:
        shared = np.intersect1d(shared, axis.at)
    if shared.size < 10:
        return None
    picks = [np.searchsorted(axis.at, shared) for axis in axes]
    value = np.column_stack([axis.value[pick] for axis, pick in zip(axes, picks, strict=True)])
    variance = np.column_stack([axis.variance[pick] for axis, pick in zip(axes, picks, strict=True)])
    still = rest[shared]
    is_levelled = bool(still.sum() * steps.step >= REST_AT_LEAST / 2.0)
    at_peace = value[still, :3] if is_levelled else value[:, :3]
    if not LEAST_GRAVITY < np.linalg.norm(at_peace.mean(axis=0)) < MOST_GRAVITY:
        return None
    level = level_axes(at_peace)
    since = axes[0].since[picks[0]]
    beyond = np.array([axis.shared for axis in axes])
    told = [
        Stepped(shared, since, value[:, part] @ axis, variance[:, part] @ axis**2, float(beyond[part] @ axis**2))
        for part, axis in ((slice(0, 3), level[0]), (slice(0, 3), level[1]), (slice(3, 6), level[2]))
    ]
    return Inertial(told[0], told[1], told[2], is_levelled)


def calm(inertial: Inertial, rest: Flags, steps: Steps) -> Flags:
    """The steps of a rest at which the inertial sensor feels nothing either.

    Notes
    -----
    Nothing: over half a second it scatters no more than twice as much as where it is quietest in the whole log, and
    its mean stays with that of the rest. Limits are common practice, no source.
    """
    still = rest.copy()
    turns = np.flatnonzero(np.diff(np.concatenate([[0], rest.astype(np.int8), [0]])))
    for told, scatter, away in ((inertial.first, 0.1, 0.3), (inertial.second, 0.1, 0.3), (inertial.rate, 0.002, 0.02)):
        value = told.everywhere(steps.count)
        mean = running_mean(value, QUIET_OVER)
        spread = np.sqrt(
            np.maximum(running_mean((value - value.mean()) ** 2, QUIET_OVER) - (mean - value.mean()) ** 2, 0.0)
        )
        still &= spread < max(scatter, 2.0 * float(np.percentile(spread, 2.0)))
        for begin, end in zip(turns[::2], turns[1::2], strict=True):
            if still[begin:end].any():
                middle = np.median(mean[begin:end][still[begin:end]])
                still[begin:end] &= np.abs(mean[begin:end] - middle) < away
    return still


def running_mean(value: Array, over: float) -> Array:
    """Running mean of values at every step over about so many seconds, the ends held. [as the value]"""
    half = round(over / STEP / 2.0)
    padded = np.pad(value, half, mode="edge")
    return np.asarray(np.convolve(padded, np.full(2 * half + 1, 1.0 / (2 * half + 1)), mode="valid"), dtype=np.float64)

"""What the receiver of a log told: positions in the plane, velocities, how good they are, how late they came."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from conewise.course.earth import LocalPlane
    from conewise.logs.log import Array, Channel, Log

PLAIN_ACCURACY = 2.0  # a phone's 4.9 m circle of 95% under open sky, each axis [m]
ACCURACY_BY_FIX = {2: 1.0, 4: 0.02, 5: 0.3}  # by the quality of NMEA 0183 GGA, each axis [m]
SAME_MOMENT = 0.02  # between two channels of one fix, which some devices send one after the other [s]
DIRECTED = 1.5  # speed from which the direction of travel is worth something [m/s]
LONGEST_DELAY, SHORTEST_DELAY = 2.0, -0.3  # looked for [s]
REST_OVER = 2.0  # over which positions tell whether the car stands [s]
NONE = np.zeros(0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Receiver:
    """Readings of the receiver, repeated ones left out.

    time, x, y, accuracy: of positions, shape (n_positions,); standard deviation of each axis [s], [m]
    told_time, east, north: of velocities [s], [m/s]
    speed_time, speed: of speeds without a direction
    all_speed_time, all_speed: every speed as told, repeated ones too
    n_repeated: positions left out because they repeat the one before
    """

    time: Array = field(default_factory=lambda: NONE)
    x: Array = field(default_factory=lambda: NONE)
    y: Array = field(default_factory=lambda: NONE)
    accuracy: Array = field(default_factory=lambda: NONE)
    told_time: Array = field(default_factory=lambda: NONE)
    east: Array = field(default_factory=lambda: NONE)
    north: Array = field(default_factory=lambda: NONE)
    speed_time: Array = field(default_factory=lambda: NONE)
    speed: Array = field(default_factory=lambda: NONE)
    all_speed_time: Array = field(default_factory=lambda: NONE)
    all_speed: Array = field(default_factory=lambda: NONE)
    n_repeated: int = 0

    @property
    def interval(self) -> float:
        """Between positions, the median. [s]"""
        return float(np.median(np.diff(self.time))) if self.time.size > 1 else np.inf

    def velocities(self) -> tuple[Array, Array]:
        """Times and velocities, shape (n, 2): as told, or from positions that lie far enough apart."""
        if self.told_time.size:
            return self.told_time, np.column_stack([self.east, self.north])
        if self.time.size < 3:
            return NONE, np.zeros((0, 2))
        reach = max(1, round(0.5 / self.interval))
        if self.time.size <= 2 * reach:
            reach = 1
        place = np.column_stack([self.x, self.y])
        apart = self.time[2 * reach :] - self.time[: -2 * reach]
        return self.time[reach:-reach], (place[2 * reach :] - place[: -2 * reach]) / apart[:, None]

    def slow_speeds(self) -> tuple[Array, Array]:
        """Times and mean speeds over `REST_OVER` from positions alone: slow, and so with little noise."""
        half = REST_OVER / 2.0
        if self.time.size < 2:
            return NONE, NONE
        middle = self.time[(self.time > self.time[0] + half) & (self.time < self.time[-1] - half)]
        east, north = (
            np.interp(middle + half, self.time, at) - np.interp(middle - half, self.time, at) for at in (self.x, self.y)
        )
        return middle, np.hypot(east, north) / REST_OVER

    def earlier(self, delays: tuple[float, float]) -> Receiver:
        """The same readings, positions and speeds told so much earlier."""
        by_time = {"time": delays[0], "told_time": delays[1], "speed_time": delays[1], "all_speed_time": delays[1]}
        return replace(self, **{name: getattr(self, name) - delay for name, delay in by_time.items()})

    def positions_alone(self) -> Receiver:
        """As if the receiver told no speeds."""
        return replace(self, told_time=NONE, east=NONE, north=NONE, speed_time=NONE, speed=NONE)


def receiver_of(log: Log, plane: LocalPlane | None) -> tuple[Receiver, LocalPlane | None]:
    """Readings of the receiver in a log, and the plane of its positions: the one given, or one through the first."""
    found = Receiver()
    pair = _together(log, ("latitude", "longitude"))
    if pair is not None and pair[0].size:
        plane = plane or _plane_at(pair[1][0])
        east, north = plane.to_plan(pair[1][:, 1], pair[1][:, 0])  # type: ignore[arg-type]  # pyproj takes arrays
        place = pair[0], np.column_stack([east, north])
    else:
        place = _together(log, ("x", "y")) or (NONE, np.zeros((0, 2)))
    if place[0].size:
        is_new = _is_new(*place)
        time, at = place[0][is_new], place[1][is_new]
        found = replace(
            found, time=time, x=at[:, 0], y=at[:, 1], accuracy=_accuracy(log, time), n_repeated=int(np.sum(~is_new))
        )
    return _with_speeds(found, log), plane


def _with_speeds(found: Receiver, log: Log) -> Receiver:
    speed = log.channels.get("speed")
    if speed is None or not speed.time.size:
        return found
    found = replace(found, all_speed_time=speed.time, all_speed=speed.value)
    both = _together(log, ("speed", "course"))
    if both is not None and both[0].size:
        is_new = _is_new(*both)
        fast, course = both[1][is_new].T
        return replace(found, told_time=both[0][is_new], east=fast * np.sin(course), north=fast * np.cos(course))
    is_new = _is_new(speed.time, speed.value[:, None])
    return replace(found, speed_time=speed.time[is_new], speed=speed.value[is_new])


def _plane_at(place: Array) -> LocalPlane:
    from conewise.course.earth import LocalPlane
    from conewise.course.layout import Anchor

    return LocalPlane(Anchor(latitude=float(place[0]), longitude=float(place[1])))


def _together(log: Log, kinds: tuple[str, str]) -> tuple[Array, Array] | None:
    """Times of the first channel at which the other has a sample too, give or take `SAME_MOMENT`; and both, (n, 2)."""
    if any(kind not in log.channels or not log.channels[kind].time.size for kind in kinds):
        return None
    one, other = (log.channels[kind] for kind in kinds)
    after = np.clip(np.searchsorted(other.time, one.time), 1, max(other.time.size - 1, 1))
    before = np.abs(one.time - other.time[after - 1])
    at = np.where(before <= np.abs(one.time - other.time[np.minimum(after, other.time.size - 1)]), after - 1, after)
    at = np.minimum(at, other.time.size - 1)
    near = np.abs(other.time[at] - one.time) <= SAME_MOMENT
    return one.time[near], np.column_stack([one.value[near], other.value[at[near]]])


def _is_new(time: Array, rows: Array) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """Rows that are later than the row before, and another."""
    return np.append(True, (np.diff(time) > 0.0) & np.any(np.diff(rows, axis=0) != 0.0, axis=1))


def _accuracy(log: Log, time: Array) -> Array:
    """As the log tells it, else by the quality of the fix. [m]"""
    told = log.channels.get("horizontal_accuracy")
    if told is not None and told.time.size:
        return np.maximum(_latest(told, time), 0.01)
    quality = log.channels.get("fix_quality")
    if quality is not None and quality.time.size:
        return np.array([ACCURACY_BY_FIX.get(round(value), PLAIN_ACCURACY) for value in _latest(quality, time)])
    return np.full(time.size, PLAIN_ACCURACY)


def _latest(channel: Channel, time: Array) -> Array:
    at = np.clip(np.searchsorted(channel.time, time, side="right") - 1, 0, None)
    return np.asarray(channel.value[at], dtype=np.float64)


def delay_against(receiver: Receiver, time: Array, rate: Array, *, speed: Array | None = None) -> tuple[float, float]:
    """How late the receiver is against a gyroscope (or against wheel speeds), and how well the two agree (-1 to 1).

    Parameters
    ----------
    receiver : Receiver
    time, rate : Array, shape (n_samples,)
        Of the vertical turn rate; its sign may be turned, the agreement then is negative. [s], [rad/s]
    speed : Array, optional
        Wheel speeds at the same times; compared in place of the turn rate. [m/s]

    Notes
    -----
    The lag at which the turn of the course over a second agrees best with that of the gyroscope; a parabola through
    the best three lags of 0.02 s.
    """
    told, velocity = receiver.velocities()
    fast = np.hypot(velocity[:, 0], velocity[:, 1]) if told.size else NONE
    use = fast > 2.0 * DIRECTED
    if speed is not None:
        told, seen = (told, fast) if told.size else (receiver.speed_time, receiver.speed)
        own, use = speed, np.ones(told.size, dtype=bool)
    else:
        seen = np.unwrap(np.arctan2(velocity[:, 1], velocity[:, 0])) if told.size else NONE
        own = np.concatenate([[0.0], np.cumsum(np.diff(time) * (rate[1:] + rate[:-1]) / 2.0)])
    if np.sum(use) < 10:
        return 0.0, 0.0
    span = max(1.0, 2.0 * float(np.median(np.diff(told))))
    ends = told + span
    use &= np.interp(ends, told, use.astype(np.float64)) > 0.99
    use &= (told > time[0] + LONGEST_DELAY) & (ends < time[-1] + SHORTEST_DELAY)
    if np.sum(use) < 10:
        return 0.0, 0.0
    change = (np.interp(ends, told, seen) - seen)[use]
    lags = np.arange(SHORTEST_DELAY, LONGEST_DELAY + 0.01, 0.02)
    match = np.array([_agreement(change, *(np.interp(t[use] - lag, time, own) for t in (told, ends))) for lag in lags])
    best = int(np.argmax(np.abs(match)))
    shift = 0.0
    if 0 < best < lags.size - 1:
        a, b, c = np.abs(match[best - 1 : best + 2])
        shift = 0.5 * (a - c) / (a - 2.0 * b + c) if a - 2.0 * b + c < 0.0 else 0.0
    return float(lags[best] + 0.02 * shift), float(match[best])


def _agreement(change: Array, before: Array, after: Array) -> float:
    other = after - before
    size = np.sqrt(np.sum((change - change.mean()) ** 2) * np.sum((other - other.mean()) ** 2))
    return float(np.sum((change - change.mean()) * (other - other.mean())) / size) if size > 0.0 else 0.0

"""Which gear the car is in at each node: held, or shifted where the limiter or the torque curves say."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from conewise.vehicle import drivetrain

if TYPE_CHECKING:
    from conewise.vehicle.parameters import ModelParameters

Array = NDArray[np.float64]
Gears = NDArray[np.int64]

SAME_DRIVE = 0.01  # drive factors nearer than this are the same
KEEP = 0.92  # a lower gear is taken only below this share of the speed at which it would have been left
LIMITER = 0.995  # share of the limiter's speed that counts as reaching it
BEFORE_LIMITER = 0.99  # who would reach the limiter shifts here, and is not held back before the change


@dataclass(frozen=True, slots=True, kw_only=True)
class GearPlan:
    """Gear and drive factor of each node; arrays have shape (n_nodes,)."""

    gear: Gears  # from 1
    drive: Array  # 0 where a shift interrupts the drive, a share at the node where the gap ends, else 1

    def same_as(self, other: GearPlan) -> bool:
        """Whether both plans are the same."""
        return bool(
            np.array_equal(self.gear, other.gear) and np.allclose(self.drive, other.drive, rtol=0.0, atol=SAME_DRIVE)
        )


def n_gears(p: ModelParameters) -> int:
    """How many different gears the car has; unused ones repeat the last ratio."""
    ratios = np.array(p.gear_ratios, dtype=float)
    return 1 + int(np.sum(np.abs(np.diff(ratios)) > 1e-9))


def wheel_speed_factor(p: ModelParameters) -> float:
    """Driven-wheel speed over car speed. [rad/m]"""
    share = float(p.front_drive_share)
    return 1.0 / (share * float(p.rolling_radius_front) + (1.0 - share) * float(p.rolling_radius_rear))


def limiter_speeds(p: ModelParameters) -> Array:
    """Car speed at the limiter in each gear, shape (N_GEARS,). [m/s]"""
    return np.array([float(p.engine_speed_limit) / (r * wheel_speed_factor(p)) for r in p.gear_ratios])


def change_speeds(p: ModelParameters) -> Array:
    """Car speed at which the next higher gear pulls harder, or the limiter's, shape (n_gears - 1,). [m/s]"""
    limits, factor = limiter_speeds(p), wheel_speed_factor(p)
    answers = []
    for i in range(n_gears(p) - 1):
        speed = np.linspace(0.4 * limits[i], LIMITER * limits[i], 120)
        pull = [
            drivetrain.full_torque(drivetrain.clutched_speed(speed * factor * p.gear_ratios[j], p), p)
            * p.gear_ratios[j]
            for j in (i, i + 1)
        ]
        better = np.flatnonzero(pull[1] > pull[0])
        answers.append(float(speed[better[0]]) if len(better) else float(speed[-1]))
    return np.array(answers)


def _ready_speeds(p: ModelParameters) -> Array:
    """Car speed at which a driver who will change up does so, shape (n_gears - 1,). [m/s]"""
    change = change_speeds(p)
    return np.asarray(np.minimum(change, BEFORE_LIMITER * limiter_speeds(p)[: len(change)]))


def _goes_beyond(ahead: Array, ready: float, change: float) -> bool:
    """Whether the car is above `ready` and goes beyond `change` before it falls below `ready` again."""
    if ahead[0] <= ready:
        return False
    slower = np.flatnonzero(ahead <= ready)
    rise = ahead[: slower[0]] if len(slower) else ahead
    return bool(rise.max() > change)


def shifting(speed: Array, step: Array, p: ModelParameters, *, shift_time: float, lowest: int = 1) -> GearPlan:
    """The plan of a driver who shifts for the strongest pull at these speeds.

    Parameters
    ----------
    speed : Array, shape (n_nodes,)
        [m/s]
    step : Array, shape (n_nodes - 1,)
        [m]
    p : ModelParameters
    shift_time : float
        Gap without drive. [s]
    lowest : int, default 1
        The lowest gear taken after the launch; 2 leaves first gear out of hairpins.
    """
    change, ready = change_speeds(p), _ready_speeds(p)
    gear = np.ones(len(speed), dtype=np.int64)
    now = 1
    for k, v in enumerate(speed):
        while now <= len(change) and _goes_beyond(speed[k:], ready[now - 1], change[now - 1]):
            now += 1
        while now > (lowest if now > 1 else 1) and v < KEEP * change[now - 2]:
            now -= 1
        gear[k] = now
    return interrupted(gear, speed, step, shift_time=shift_time)


def holding(speed: Array, step: Array, p: ModelParameters, *, hold: int, shift_time: float) -> GearPlan:
    """The plan of a driver who shifts up to `hold` once after the launch and stays there."""
    change, ready = change_speeds(p), _ready_speeds(p)
    gear = np.full(len(speed), hold, dtype=np.int64)
    low = 1
    for k in range(len(speed)):
        while low < hold and _goes_beyond(speed[k:], ready[low - 1], change[low - 1]):
            low += 1
        gear[k] = low
        if low == hold:
            break
    return interrupted(gear, speed, step, shift_time=shift_time)


def interrupted(gear: Gears, speed: Array, step: Array, *, shift_time: float) -> GearPlan:
    """The plan of these gears, with a gap of `shift_time` at every change up by the trapezoid of the transcription.

    Parameters
    ----------
    gear : array of int, shape (n_nodes,)
    speed : Array, shape (n_nodes,)
        [m/s]
    step : Array, shape (n_nodes - 1,)
        [m]
    shift_time : float
        [s]
    """
    drive = np.ones(len(gear))
    half = step / (speed[:-1] + speed[1:]).clip(2.0)
    weight = np.concatenate([half, [0.0]]) + np.concatenate([[0.0], half])
    for k in np.flatnonzero(np.diff(gear) > 0):
        left, j = shift_time, k + 1
        while left > 0.0 and j < len(gear):
            drive[j] = max(0.0, 1.0 - left / weight[j])
            left -= weight[j]
            j += 1
    return GearPlan(gear=gear, drive=drive)


def single_changes(now: Gears, asked: Gears) -> tuple[Gears, ...]:
    """The gears that follow others on a single stretch each; none where they differ on fewer than two.

    Parameters
    ----------
    now, asked : array of int, shape (n_nodes,)
        The gears of a run, and the others.
    """
    other = np.concatenate([[False], now != asked, [False]])
    edges = np.flatnonzero(other[1:] != other[:-1])
    if len(edges) < 4:
        return ()
    at = np.arange(len(now))
    chosen = [(at >= first) & (at < end) for first, end in edges.reshape(-1, 2)]
    return tuple(np.where(stretch, asked, now) for stretch in chosen)


def moved_changes(now: Gears) -> tuple[Gears, ...]:
    """The gears with one change up a node sooner or a node later; `now` has shape (n_nodes,)."""
    moved = []
    for k in np.flatnonzero(np.diff(now) > 0):  # the last node in the lower gear
        for at, gear in ((k, now[k + 1]), (k + 1, now[k])):
            other = now.copy()
            other[at] = gear
            moved.append(other)
    return tuple(moved)

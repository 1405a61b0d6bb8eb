"""Sensors that disagree grossly with their receiver: columns mixed up, a sign or a unit that is wrong."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from conewise.findings import Finding
from conewise.logs.motion import STEP
from conewise.logs.receiver import DIRECTED
from conewise.logs.sensors import SENSOR_AXES, running_mean, stepped

if TYPE_CHECKING:
    from collections.abc import Mapping

    from conewise.logs.log import Array, Log
    from conewise.logs.passes import Flags
    from conewise.logs.problem import Prepared
    from conewise.logs.receiver import Receiver
    from conewise.logs.sensors import Steps

SHORTEST_OVER, LONGEST_OVER = 1.0, 3.0  # compared are means over this, or over two intervals of the receiver [s]
EARLIEST, LATEST, LAG = -0.5, 1.5, 0.1  # how late the receiver may be beyond what is undone, looked through so [s]
ENOUGH = 10.0  # a car is driven for so long, or nothing is judged [s]
GROSS = 0.4  # correlation below which a channel does not tell what it is named for; common practice, no source
CLEAR = 0.7  # and above which it tells something; common practice, no source
# How much larger or smaller than the receiver tells a channel is at most; accelerations share in roll, slope and arms.
MOST_RATIO = {"wheel_speed": 1.5, "yaw_rate": 1.5, "longitudinal_acceleration": 2.5, "lateral_acceleration": 2.5}
# And how much smaller a yaw rate is, beyond two standard deviations: it knows no roll and no arm, and bodies that turn
# against their path turn more than it. Common practice, no source; 1.00 to 1.08 on solved runs (docs/models/fusion.md).
LEAST_RATE = 0.97
# What the receiver must tell to be compared with, standard deviation [m/s], [rad/s], [m/s2], [m/s2].
LEAST = {"wheel_speed": 1.0, "yaw_rate": 0.1, "longitudinal_acceleration": 0.7, "lateral_acceleration": 1.0}
FELT = ("yaw_rate", "longitudinal_acceleration", "lateral_acceleration")  # in the order of `Inertial.channels`
INERTIAL = "inertial sensor"


@dataclass(frozen=True, slots=True)
class Agreement:
    """How a channel goes with what the receiver tells, at the lag where it does so best.

    correlation: -1 to 1
    ratio: its standard deviation over that of the receiver
    """

    correlation: float
    ratio: float

    def is_good(self, most: float) -> bool:
        """Whether it tells the quantity, by a ratio of at most `most`."""
        return self.correlation > CLEAR and self.is_in_size(most)

    def is_gross(self, most: float) -> bool:
        """Whether it cannot be that quantity."""
        return self.correlation < GROSS or not self.is_in_size(most)

    def is_in_size(self, most: float) -> bool:
        """Whether it is as large as it should be."""
        return 1.0 / most < self.ratio < most

    def is_too_small(self, least: float, *, count: float) -> bool:
        """Whether it is smaller than it should be, what the receiver scatters taken off.

        Notes
        -----
        The slope of the receiver's values by its own is r / ratio, r being the correlation, with the relative standard
        deviation sqrt((1 / r^2 - 1) / count) of so many independent means.
        """
        if self.correlation <= CLEAR:
            return False
        doubt = np.sqrt((1.0 / self.correlation**2 - 1.0) / count)
        return self.ratio / self.correlation * (1.0 + 2.0 * float(doubt)) < least


@dataclass(frozen=True, slots=True)
class Doubted:
    """Channels that are left out of a fusion, and why."""

    kinds: frozenset[str] = frozenset()
    findings: tuple[Finding, ...] = ()

    def without(self, log: Log) -> Log:
        """The log without them."""
        return replace(log, channels={kind: one for kind, one in log.channels.items() if kind not in self.kinds})


NONE_DOUBTED = Doubted()


def doubted(log: Log, prepared: Prepared) -> Doubted:
    """The channels of a log that disagree grossly with its receiver.

    Notes
    -----
    Compared are running means while the car drives, at the lag that fits best. A receiver that tells no speeds is
    believed where one channel at least goes with it.
    """
    told = _by_receiver(prepared.receiver, prepared.steps)
    if told is None:
        return NONE_DOUBTED
    reference, drives, over = told
    judged = {kind: value for kind, value in reference.items() if np.std(value[drives]) > LEAST[kind]}
    channels = {
        kind: stepped(log.channels[kind], prepared.steps, least=0.0).everywhere(prepared.steps.count)
        for kind in reference
        if kind in log.channels and log.channels[kind].time.size >= 2
    }
    if prepared.inertial is not None:
        each = zip(FELT, prepared.inertial.channels, strict=True)
        channels |= {f"{INERTIAL}, {kind}": one.everywhere(prepared.steps.count) for kind, one in each}
    smooth = {name: running_mean(running_mean(value, over), over) for name, value in channels.items()}
    found = {
        name: {kind: agreement(value, wanted, drives) for kind, wanted in judged.items()}
        for name, value in smooth.items()
    }
    own = {name: (_kind(name), by[_kind(name)]) for name, by in found.items() if _kind(name) in by}
    is_known = prepared.receiver.all_speed.size or any(one.is_good(MOST_RATIO[kind]) for kind, one in own.values())
    gross = {name for name, (kind, one) in own.items() if one.is_gross(MOST_RATIO[kind])}
    if "yaw_rate" in judged:  # gyroscopes are true to a few percent: one that is not lies about another axis
        count = np.count_nonzero(drives) * STEP / over
        rates = {name: one for name, (kind, one) in own.items() if kind == "yaw_rate"}
        gross |= {name for name, one in rates.items() if one.is_too_small(LEAST_RATE, count=count)}
    return _left_out(log, gross if is_known else set(), found)


def _kind(name: str) -> str:
    return name.removeprefix(f"{INERTIAL}, ")


def _by_receiver(receiver: Receiver, steps: Steps) -> tuple[Mapping[str, Array], Flags, float] | None:
    """What the receiver tells at every step, where the car drives, and over how long means are taken; None: nothing."""
    told, velocity = receiver.velocities()
    fast = np.hypot(velocity[:, 0], velocity[:, 1])
    moving = fast > DIRECTED
    if np.count_nonzero(moving) < 10:
        return None
    interval = float(np.median(np.diff(told)))
    over = float(np.clip(2.0 * interval, SHORTEST_OVER, LONGEST_OVER))
    t = steps.middles
    course = np.unwrap(np.arctan2(velocity[moving, 1], velocity[moving, 0]))
    speed = running_mean(np.interp(t, told, fast), over)
    turn = running_mean(np.gradient(running_mean(np.interp(t, told[moving], course), over), STEP), over)
    after = np.clip(np.searchsorted(told, t), 1, told.size - 1)
    has_told = (told[after] - told[after - 1] < 3.0 * interval) & (t > told[0]) & (t < told[-1])
    drives = (speed > 2.0 * DIRECTED) & (running_mean(has_told.astype(np.float64), 2.0 * over) > 0.99)
    if np.count_nonzero(drives) * STEP < ENOUGH:
        return None
    reference = {
        "wheel_speed": speed,
        "yaw_rate": turn,
        "longitudinal_acceleration": running_mean(np.gradient(speed, STEP), over),
        "lateral_acceleration": speed * turn,
    }
    return reference, drives, over


def agreement(value: Array, wanted: Array, use: Flags) -> Agreement:
    """How values at every step go with wanted ones, both shape (n_steps,), where they are used.

    Examples
    --------
    >>> wave = np.sin(np.arange(1000) / 50.0)
    >>> one = agreement(-2.0 * wave, wave, np.ones(1000, dtype=bool))
    >>> round(one.correlation, 2), round(one.ratio, 2)
    (-1.0, 2.0)
    """
    best = Agreement(0.0, 0.0)
    b = wanted[use] - wanted[use].mean()
    for lag in np.arange(EARLIEST, LATEST + LAG / 2.0, LAG):
        at = np.clip(np.arange(value.size) - round(lag / STEP), 0, value.size - 1)
        a = value[at][use]
        a = a - a.mean()
        size = float(np.sqrt((a @ a) * (b @ b)))
        if size > 0.0 and abs(a @ b) / size > abs(best.correlation):
            best = Agreement(float(a @ b) / size, float(np.sqrt((a @ a) / (b @ b))))
    return best


def _left_out(log: Log, gross: set[str], found: Mapping[str, Mapping[str, Agreement]]) -> Doubted:
    """The channels to leave out, each with what it goes with in place of what it is named for."""
    of_car, felt = (sorted(n for n in gross if n.startswith(INERTIAL) is is_felt) for is_felt in (False, True))
    looks = {name: _looks_like(name, found[name]) for name in of_car}
    findings = []
    for name in of_car:
        other = looks[name]
        is_swapped = looks.get(other) == name
        if is_swapped and other < name:
            continue  # told with the other one
        findings.append(_swapped(log, name, other) if is_swapped else _alone(log, name, other, found[name][name]))
    if felt:
        findings.append(_inertial(log, {_kind(name): found[name][_kind(name)] for name in felt}))
    kinds = frozenset(of_car) | (frozenset(SENSOR_AXES) if felt else frozenset())
    return Doubted(kinds, tuple(findings))


def _looks_like(name: str, by: Mapping[str, Agreement]) -> str:
    """The quantity that a channel goes with in place of its own; "" where there is none."""
    others = {kind: one.correlation for kind, one in by.items() if kind != name and one.is_good(MOST_RATIO[kind])}
    return max(others, key=lambda kind: others[kind], default="")


def _swapped(log: Log, one: str, other: str) -> Finding:
    columns = [f"'{log.channels[kind].source}'" for kind in (one, other)]
    message = (
        f"By the receiver, what is taken for {_said(one)} tells the {_said(other)}, and the reverse. Both were left "
        f"out. Check the mapping of columns {' and '.join(columns)}."
    )
    return _warning(message, where=", ".join(log.channels[kind].source for kind in (one, other)))


def _alone(log: Log, name: str, looks: str, own: Agreement) -> Finding:
    source = log.channels[name].source
    words = f"it goes with the {_said(looks)}" if looks else _why(own, MOST_RATIO[name])
    message = (
        f"What is taken for {_said(name)} disagrees with the receiver: {words}. It was left out. "
        f"Check its clock, and the mapping of column '{source}'."
    )
    return _warning(message, where=source)


def _inertial(log: Log, by: Mapping[str, Agreement]) -> Finding:
    said = "; ".join(f"{_said(kind)}: {_why(one, MOST_RATIO[kind])}" for kind, one in by.items())
    columns = ", ".join(f"'{log.channels[axis].source}'" for axis in SENSOR_AXES)
    message = (
        f"The inertial sensor disagrees with the receiver ({said}). It was left out. "
        f"Check its clock, and the mapping of columns {columns}."
    )
    return _warning(message, where=INERTIAL)


def _warning(message: str, *, where: str) -> Finding:
    return Finding("warning", "sensor-doubted", message, where=where)


def _said(kind: str) -> str:
    return kind.replace("_", " ")


def _why(one: Agreement, most: float) -> str:
    if one.correlation < -CLEAR and one.is_in_size(most):
        return "its sign is the other way round"
    if one.correlation > CLEAR:
        return f"it is {one.ratio:.2g} times as large: another unit or another quantity"
    return "it does not go with it"

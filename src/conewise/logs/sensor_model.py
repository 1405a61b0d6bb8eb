"""What is believed of the sensors before anything is known."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from conewise.logs import motion


@dataclass(frozen=True, slots=True, kw_only=True)
class SensorModel:
    """What is believed of the sensors where the log does not say. Standard deviations.

    correlation_time: memory of the slow error of positions [s]
    slow_position, white_position: each axis [m]; None: 0.98 and 0.2 of the accuracy that the log tells
    received_speed: of speeds, and of each axis of velocities [m/s]
    wheel_scale, wheel_memory: by how much a wheel turns faster or slower than the car goes, by its slip and its radius,
        and for how long [-], [s]
    acceleration_bias, rate_bias: of the constants [m/s2], [rad/s]
    unlevelled_bias: of accelerations where the car never stands [m/s2]
    bias_walk, rate_walk: how they wander [m/s2 per sqrt(s)], [rad/s per sqrt(s)]
    unlevelled_walk: of accelerations where the car never stands: such a drive may go up and down [m/s2 per sqrt(s)]
    delay: of the first guess [s]
    pitching, rolling: share of felt accelerations that is the body's pitch and roll, mean and standard deviation [-]
    white_factor: on the white part of positions [-]
    gate: normalised innovation beyond which a reading is left out
    changes: standard deviation of what a step adds to yaw rate and felt accelerations; None: found in the log
        [rad/s], [m/s2], [m/s2]
    liveliness: by how much sooner than by most cars yaw rate, forward and sideways change are forgotten, where channels
        of the car read them and no inertial sensor feels them; found in the log from there on [-]
    """

    correlation_time: float = 10.0
    slow_position: float | None = None
    white_position: float | None = None
    received_speed: float = 0.15
    wheel_scale: float = 0.03
    wheel_memory: float = 1.0
    acceleration_bias: float = 0.15
    unlevelled_bias: float = 0.5
    rate_bias: float = 0.02
    bias_walk: float = 0.02
    rate_walk: float = 2e-4
    unlevelled_walk: float = 0.05
    delay: float = 0.1
    pitching: tuple[float, float] = (0.024, 0.02)
    rolling: tuple[float, float] = (0.048, 0.03)
    white_factor: float = 1.0
    gate: float = 4.5
    changes: tuple[float, float, float] | None = None
    liveliness: tuple[float, float, float] = (1.0, 1.0, 1.0)

    def unlevelled(self) -> SensorModel:
        """The same for a log in which the car never stands."""
        bias, walk = max(self.acceleration_bias, self.unlevelled_bias), max(self.bias_walk, self.unlevelled_walk)
        return replace(self, acceleration_bias=bias, bias_walk=walk)


@dataclass(frozen=True, slots=True, kw_only=True)
class Believed:
    """A state that decays or wanders, before anything is known.

    mean, spread: of its first value
    memory: how fast it is forgotten, while it keeps its spread [s]
    walk: what it gathers where it is never forgotten [per sqrt(s)]
    """

    spread: float
    mean: float = 0.0
    memory: float = np.inf
    walk: float = 0.0

    def kept(self, step: float) -> float:
        """Share that a step leaves."""
        return float(np.exp(-step / self.memory))

    def added(self, step: float) -> float:
        """Variance that a step adds."""
        return self.walk**2 * step + self.spread**2 * (1.0 - self.kept(step) ** 2)


def believed_states(model: SensorModel, *, is_sure: bool) -> dict[int, Believed]:
    """Every decaying state of sensors. is_sure: whether turns told the delays."""
    m = motion
    bias = Believed(spread=model.acceleration_bias, walk=model.bias_walk)
    rate = Believed(spread=model.rate_bias, walk=model.rate_walk)
    delay = Believed(spread=model.delay if is_sure else 3.0 * model.delay)
    position = Believed(spread=1.0, memory=model.correlation_time)
    return {
        m.POSITION_ERROR_X: position,
        m.POSITION_ERROR_Y: position,
        m.BIAS_X: bias,
        m.BIAS_Y: bias,
        m.BIAS_RATE: rate,
        m.MOUNTING: Believed(spread=0.2),
        m.PITCHING: Believed(mean=model.pitching[0], spread=model.pitching[1]),
        m.ROLLING: Believed(mean=model.rolling[0], spread=model.rolling[1]),
        m.DELAY: delay,
        m.SPEED_DELAY: delay,
        m.WHEEL_SCALE: Believed(spread=model.wheel_scale, memory=model.wheel_memory),
        m.STEER_GAIN: Believed(mean=0.025, spread=0.012),
        m.CAR_BIAS_LONGITUDINAL: bias,
        m.CAR_BIAS_LATERAL: bias,
        m.CAR_BIAS_RATE: rate,
    }

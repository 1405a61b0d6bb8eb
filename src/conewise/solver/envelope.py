"""The g-g-V envelope of a car: what it can do along and across at every speed, in balance."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from conewise.errors import InfeasibleError
from conewise.vehicle.steady_state import reached

if TYPE_CHECKING:
    from conewise.solver.speed_profile import Table
    from conewise.vehicle.parameters import ModelParameters

Array = NDArray[np.float64]

LOWEST_SPEED = 7.0  # slower, a car turns within a few metres and no balance means much [m/s]
HIGHEST_SPEED = 60.0  # [m/s]
LIMITER_SHARE = 0.99  # of the limiter in the highest gear
N_SPEEDS = 12
N_ANGLES = 9  # places between straight and pure cornering
FAR = 2.5  # a search goes this far, in units of the grip of the better tyre
FULL = 0.98  # from this throttle on it is the engine that limits


class NoEnvelopeError(InfeasibleError):
    """The car cannot even roll straight at a speed of the envelope."""

    code = "no-envelope"
    default_hint = "Look at the car's power, rolling resistance and top gear."

    def __init__(self, speed: float) -> None:
        super().__init__(f"The car cannot hold {speed:.1f} m/s on a straight.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Envelope:
    """Accelerations at the limit. Tables have shape (n_speeds, n_angles).

    Column k belongs to the share sin(k / (n_angles - 1) * 90 degrees) of the lateral limit at the row's speed.
    """

    speed: Array  # evenly spaced, shape (n_speeds,) [m/s]
    lateral: Array  # greatest at constant speed, shape (n_speeds,) [m/s2]
    drive: Array  # greatest acceleration, by grip or power, whichever ends first [m/s2]
    brake: Array  # greatest deceleration [m/s2]
    power: Array  # acceleration where the engine limits, infinite where grip does [m/s2]

    @classmethod
    def from_parameters(cls, p: ModelParameters, speeds: Array | None = None) -> Envelope:
        """The envelope of a car.

        Parameters
        ----------
        p : ModelParameters
        speeds : Array, optional
            Evenly spaced; from 7 m/s to what the limiter and the engine allow where left out. [m/s]

        Returns
        -------
        Envelope

        Raises
        ------
        NoEnvelopeError
            Where the engine cannot hold a speed on a straight.

        Notes
        -----
        First the lateral limit at constant speed, then from each share of it as far as the car accelerates and brakes
        in balance. A limit is where an axle slides, a wheel has no friction left, the throttle or the pedal is down.
        What the car can do at a greater share of its lateral limit it can do at a smaller one.
        """
        speed = _speeds(p) if speeds is None else np.asarray(speeds, dtype=float)
        most = FAR * float(max(p.friction_lateral_front, p.friction_lateral_rear)) * p.gravity
        sides = np.array([np.zeros_like(speed), np.full_like(speed, most)])
        cornering = reached(p, speed, target=sides)
        if not cornering.share.all():
            raise NoEnvelopeError(float(speed[int(np.argmin(cornering.share))]))
        lateral = cornering.share * most
        drive, command, brake = _along(p, speed, lateral, far=most)
        return cls(
            speed=speed, lateral=lateral, drive=drive, brake=brake, power=np.where(command > FULL, drive, np.inf)
        )

    def kernel_data(self) -> tuple[Array, Table]:
        """No circle, and the tables."""
        power = np.where(np.isinf(self.power), self.drive + 1.0, self.drive)
        return np.array([0.0, 0.0, np.inf, 0.0, 0.0]), (self.speed, self.lateral, self.drive, self.brake, power)

    def lateral_limit(self, speed: Array, along: Array) -> Array:
        """Greatest lateral acceleration while accelerating or braking. [m/s2]

        Zero where the car cannot accelerate or brake that hard at all.
        """
        speed, along = np.broadcast_arrays(np.asarray(speed, dtype=float), np.asarray(along, dtype=float))
        shares = self.shares
        answers = np.empty(speed.size)
        for i, (v, a) in enumerate(zip(speed.ravel(), along.ravel(), strict=True)):
            table = self.drive if a >= 0.0 else self.brake
            reach = np.array([np.interp(v, self.speed, column) for column in table.T])
            side = np.interp(v, self.speed, self.lateral)
            answers[i] = side * np.interp(abs(a), reach[::-1], shares[::-1], right=0.0)
        return answers.reshape(speed.shape)

    @property
    def shares(self) -> Array:
        """Share of the lateral limit that each column belongs to."""
        return np.asarray(np.sin(np.linspace(0.0, np.pi / 2.0, self.drive.shape[1])))


def known_envelope(p: ModelParameters) -> Envelope:
    """The envelope of a car at its own speeds, kept for the cars that were last asked for: it takes a second.

    Parameters
    ----------
    p : ModelParameters
        Of numbers.

    Returns
    -------
    Envelope
        To be read only.

    Raises
    ------
    NoEnvelopeError
        Where the engine cannot hold a speed on a straight.
    """
    # how a course begins is no matter of balance
    return _kept(replace(p, staging=0.0, start_friction=0.0, start_pull=0.0))


@lru_cache(maxsize=8)
def _kept(p: ModelParameters) -> Envelope:
    return Envelope.from_parameters(p)


def _speeds(p: ModelParameters) -> Array:
    """Evenly from the lowest speed to the highest that limiter and engine allow."""
    radius = float(p.driven_radius)
    limiter = LIMITER_SHARE * float(p.engine_speed_limit) * radius / float(min(p.gear_ratios))
    tries = np.linspace(LOWEST_SPEED, min(limiter, HIGHEST_SPEED), 4 * N_SPEEDS)
    held = reached(p, tries, target=np.array([np.zeros_like(tries), np.full_like(tries, 0.1)])).share >= 1.0
    if not held[0]:
        raise NoEnvelopeError(LOWEST_SPEED)
    top = tries[-1] if held.all() else tries[int(np.argmin(held)) - 1]
    return np.linspace(LOWEST_SPEED, max(float(top), LOWEST_SPEED + 1.0), N_SPEEDS)


def _along(p: ModelParameters, speed: Array, lateral: Array, *, far: float) -> tuple[Array, Array, Array]:
    """How hard the car accelerates at each share of its lateral limit, the command there, and how hard it brakes."""
    shares = np.sin(np.linspace(0.0, np.pi / 2.0, N_ANGLES))[:-1]
    v = np.repeat(speed, shares.size)
    across = (lateral[:, None] * shares).ravel()
    straight = np.zeros_like(v)
    begin = reached(p, v, target=np.array([straight, across]))
    ways = np.array([np.repeat([far, -far], v.size), np.tile(across, 2)])
    origin = np.array([np.zeros(2 * v.size), np.tile(across * begin.share, 2)])
    reach = reached(p, np.tile(v, 2), target=ways, origin=origin, unknowns=np.tile(begin.unknowns, 2))
    shape, end = (speed.size, shares.size), np.zeros((speed.size, 1))
    drive, brake = (_falling(np.hstack([far * share.reshape(shape), end])) for share in np.split(reach.share, 2))
    return drive, np.hstack([reach.unknowns[2, : v.size].reshape(shape), end]), brake


def _falling(limits: Array) -> Array:
    """Limits of which none is less than one at a greater share of the lateral limit."""
    return np.asarray(np.maximum.accumulate(limits[:, ::-1], axis=1)[:, ::-1])

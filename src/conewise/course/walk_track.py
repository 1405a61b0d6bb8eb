"""Dead reckoning of a walk: where each stop is, how well that is known, and how a known point mends it."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

_SCALE = 3  # place of the pace factor in the state east, north, heading, pace factor


@dataclass(frozen=True, slots=True, kw_only=True)
class Leg:
    """From one stop to the next, in the walker's frame at the first."""

    forward: float  # [m]
    left: float = 0.0  # [m]
    turn: float = 0.0  # left positive [rad]
    is_paced: bool = False  # whether the error of the pace length enters
    length_sd: float = 0.0  # standard uncertainty of the distance by itself [m]
    turn_sd: float = 0.0  # [rad]


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """A stop whose place is known from elsewhere."""

    stop: int
    at: tuple[float, float]  # [m]
    sd: float  # [m]


@dataclass(frozen=True, slots=True, kw_only=True)
class Closure:
    """How far dead reckoning had strayed when a known point was reached."""

    stop: int
    gap: tuple[float, float]  # known place less walked place: east, north [m]
    expected: float  # standard uncertainty of the gap's larger axis [m]
    ratio: float  # size of the gap in standard uncertainties, as Mahalanobis distance [-]


@dataclass(frozen=True, slots=True, kw_only=True)
class Track:
    """Every stop of a walk. State: east [m], north [m], heading [rad], pace factor [-]."""

    states: Array  # shape (n_stops, 4)
    covariances: Array  # shape (n_stops, 4, 4)
    closures: tuple[Closure, ...] = ()

    def place(self, stop: int, *, forward: float = 0.0, left: float = 0.0) -> tuple[float, float, float]:
        """East, north and standard uncertainty of a point beside a stop. [m]"""
        x, y, heading, _ = self.states[stop]
        east = forward * np.cos(heading) - left * np.sin(heading)
        north = forward * np.sin(heading) + left * np.cos(heading)
        lever = np.array([[1.0, 0.0, -north, 0.0], [0.0, 1.0, east, 0.0]])
        spread = lever @ self.covariances[stop] @ lever.T
        return float(x + east), float(y + north), float(np.sqrt(max(np.trace(spread) / 2, 0.0)))


@dataclass
class _Filter:
    """Forward pass: predicted and corrected states, kept for the backward pass."""

    predicted: list[tuple[Array, Array]] = field(default_factory=list)
    corrected: list[tuple[Array, Array]] = field(default_factory=list)
    jacobians: list[Array] = field(default_factory=list)
    closures: list[Closure] = field(default_factory=list)


def walk_track(
    legs: list[Leg],
    known: list[Known],
    *,
    start: tuple[float, float],
    heading: float,
    heading_sd: float,
    pace_sd: float,
) -> Track:
    """Most probable stops of a walk.

    Parameters
    ----------
    legs : list of Leg
        Stop k is the end of leg k - 1; stop 0 is the start.
    known : list of Known
        Places known from elsewhere.
    start : tuple of float
        East and north of the first stop. [m]
    heading, heading_sd : float
        First heading, counter-clockwise from east, and its standard uncertainty. [rad]
    pace_sd : float
        Relative standard uncertainty of the pace length, common to all paced legs. [-]

    Returns
    -------
    Track
        Stops with their uncertainty. At a known point the walk closes, and the error is spread over the legs before
        it in proportion to what each could have contributed.

    Notes
    -----
    Extended Kalman filter over the legs and a backward pass over its results; heading and pace length are part
    of the state, so a known point mends them as well.

    References
    ----------
    H. E. Rauch, F. Tung and C. T. Striebel, Maximum likelihood estimates of linear dynamic systems, AIAA Journal
    3(8), 1965 (backward pass; equations cited from memory).
    """
    at = {point.stop: point for point in known}
    passed = _Filter()
    state = np.array([*start, heading, 1.0])
    spread = np.diag([0.0, 0.0, heading_sd**2, pace_sd**2])
    for stop in range(len(legs) + 1):
        if stop:
            jacobian, noise, state = _step(state, legs[stop - 1])
            spread = jacobian @ spread @ jacobian.T + noise
            passed.jacobians.append(jacobian)
        passed.predicted.append((state, spread))
        if stop in at:
            state, spread = _correct(state, spread, at[stop], passed.closures)
        passed.corrected.append((state, spread))
    return _smoothed(passed)


def _step(state: Array, leg: Leg) -> tuple[Array, Array, Array]:
    """Jacobian, noise and next state of one leg."""
    cos, sin = np.cos(state[2]), np.sin(state[2])
    factor = state[_SCALE] if leg.is_paced else 1.0
    unit_east, unit_north = leg.forward * cos - leg.left * sin, leg.forward * sin + leg.left * cos
    east, north = factor * unit_east, factor * unit_north
    jacobian = np.eye(4)
    jacobian[:2, 2] = -north, east
    if leg.is_paced:
        jacobian[:2, _SCALE] = unit_east, unit_north
    noise = np.zeros((4, 4))
    distance = np.hypot(east, north)
    if distance:
        along = np.array([east, north]) / distance
        noise[:2, :2] = leg.length_sd**2 * np.outer(along, along)
    noise[2, 2] = leg.turn_sd**2
    return jacobian, noise, state + np.array([east, north, leg.turn, 0.0])


def _correct(state: Array, spread: Array, known: Known, closures: list[Closure]) -> tuple[Array, Array]:
    """State and covariance after a known place; the gap is noted."""
    gap = np.array(known.at) - state[:2]
    innovation = spread[:2, :2] + known.sd**2 * np.eye(2)
    inverse = np.linalg.inv(innovation)
    gain = spread[:, :2] @ inverse
    closures.append(
        Closure(
            stop=known.stop,
            gap=(float(gap[0]), float(gap[1])),
            expected=float(np.sqrt(np.linalg.eigvalsh(innovation)[-1])),
            ratio=float(np.sqrt(gap @ inverse @ gap)),
        )
    )
    return state + gain @ gap, spread - gain @ spread[:2, :]


def _smoothed(passed: _Filter) -> Track:
    """Backward pass: what a later known point says about earlier stops."""
    states, spreads = [passed.corrected[-1][0]], [passed.corrected[-1][1]]
    for stop in range(len(passed.jacobians) - 1, -1, -1):
        state, spread = passed.corrected[stop]
        ahead, ahead_spread = passed.predicted[stop + 1]
        gain = spread @ passed.jacobians[stop].T @ np.linalg.pinv(ahead_spread, rcond=1e-12, hermitian=True)
        states.append(state + gain @ (states[-1] - ahead))
        spreads.append(spread + gain @ (spreads[-1] - ahead_spread) @ gain.T)
    return Track(states=np.array(states[::-1]), covariances=np.array(spreads[::-1]), closures=tuple(passed.closures))

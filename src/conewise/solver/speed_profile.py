"""Fastest speed along a given line: the quasi-steady engine, milliseconds a line.

The squared speed u is carried along the line. Every station has a cornering limit; a forward pass accelerates from
the start and a backward pass brakes for what comes, each with the grip that cornering leaves (midpoint rule).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Protocol, TypeVar, cast

import numpy as np
from numba import njit
from numpy.typing import NDArray

from conewise.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Callable

F = TypeVar("F", bound="Callable[..., Any]")
Array = NDArray[np.float64]
Numeric = Any  # a float inside a kernel

LIMITS = np.array(["grip", "power", "brakes"])
GRIP, POWER, BRAKES = 0, 1, 2
TOP_SPEED = 150.0  # where neither grip nor power limits [m/s]
Table = tuple[Array, Array, Array, Array, Array]  # speeds, lateral, drive, brake, power; see `Envelope`


class LineError(InputError):
    """The line given to the speed profile cannot be driven along."""

    code = "line"
    default_hint = "Give at least two stations in rising order and one finite curvature for each."

    def __init__(self, what: str, station: int) -> None:
        super().__init__(f"The line has {what}.", where=f"station {station + 1}")


class SpeedLimits(Protocol):
    """What the car can do: `FrictionCircle` or `conewise.solver.envelope.Envelope`."""

    def kernel_data(self) -> tuple[Array, Table]:
        """Numbers of the circle, and the tables of the envelope (empty for a circle)."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class FrictionCircle:
    """A point mass: one friction in all directions, optionally power, drag and downforce."""

    friction: float  # [-]
    gravity: float = 9.80665  # [m/s2]
    specific_power: float = np.inf  # power over mass [W/kg]
    drag: float = 0.0  # air density times drag area over twice the mass [1/m]
    downforce: float = 0.0  # air density times lift area over twice the mass [1/m]

    def kernel_data(self) -> tuple[Array, Table]:
        """Numbers of the circle, and empty tables."""
        circle = np.array([self.friction, self.gravity, self.specific_power, self.drag, self.downforce])
        none, no_table = np.zeros(0), np.zeros((0, 0))
        return circle, (none, none, no_table, no_table, no_table)


@dataclass(frozen=True, slots=True, kw_only=True)
class SpeedProfile:
    """Fastest speed along a line; arrays have shape (n_stations,)."""

    station: Array  # [m]
    speed: Array  # [m/s]
    elapsed: Array  # since the first station [s]
    curvature: Array  # left positive [1/m]
    limit: NDArray[np.int8]  # index into `LIMITS`

    @property
    def time(self) -> float:
        """From the first to the last station. [s]"""
        return float(self.elapsed[-1])

    @property
    def limited_by(self) -> tuple[str, ...]:
        """What keeps the car from being faster at each station: "grip", "power" or "brakes"."""
        return tuple(LIMITS[self.limit].tolist())

    @property
    def lateral(self) -> Array:
        """Lateral acceleration, left positive. [m/s2]"""
        return self.curvature * self.speed**2

    @property
    def longitudinal(self) -> Array:
        """Longitudinal acceleration, the mean of the neighbouring intervals. [m/s2]"""
        between = np.diff(self.speed**2) / (2.0 * np.diff(self.station))
        return (np.append(between, between[-1]) + np.insert(between, 0, between[0])) / 2.0


def speed_profile(
    station: Array,
    curvature: Array,
    limits: SpeedLimits,
    *,
    start_speed: float | None = None,
    end_speed: float | None = None,
    surface: Array | None = None,
) -> SpeedProfile:
    """Fastest speed along a line.

    Parameters
    ----------
    station : Array, shape (n_stations,)
        Distance along the line itself. [m]
    curvature : Array, shape (n_stations,)
        Curvature of the line, left positive. [1/m]
    limits : FrictionCircle or Envelope
        What the car can do at a speed.
    start_speed : float, optional
        Speed at the first station; free where left out. [m/s]
    end_speed : float, optional
        Greatest speed at the last station; free where left out. [m/s]
    surface : Array, shape (n_stations,), optional
        Factor on the friction; one where left out. [-]

    Returns
    -------
    SpeedProfile

    Raises
    ------
    LineError
        Where stations do not rise, lengths differ or a value is not finite.

    Notes
    -----
    A start speed above what the line allows is lowered to it. Second order in the spacing. The car is in equilibrium
    at every station: on slaloms the transient car differs, on steady corners it agrees.
    """
    station = np.ascontiguousarray(station, dtype=float)
    curvature = np.ascontiguousarray(curvature, dtype=float)
    grip = np.ones_like(station) if surface is None else np.ascontiguousarray(surface, dtype=float)
    _check_line(station, curvature, grip)
    first = TOP_SPEED if start_speed is None else start_speed
    last = TOP_SPEED if end_speed is None else end_speed
    speed, elapsed, limit = _profile(
        np.vstack([station, np.abs(curvature), grip]), limits.kernel_data(), first**2, last**2
    )
    return SpeedProfile(station=station, speed=speed, elapsed=elapsed, curvature=curvature, limit=limit)


def _check_line(station: Array, curvature: Array, grip: Array) -> None:
    if station.ndim != 1 or not station.shape == curvature.shape == grip.shape or station.size < 2:
        raise LineError(f"{station.size} stations, {curvature.size} curvatures and {grip.size} surfaces", 0)
    finite = np.isfinite(station) & np.isfinite(curvature) & np.isfinite(grip)
    if not (grip > 0.0).all():
        raise LineError("a surface without friction", int(np.argmin(grip > 0.0)))
    if not finite.all():
        raise LineError("a value that is not a number", int(np.argmin(finite)))
    rising = np.diff(station) > 0.0
    if not rising.all():
        raise LineError("stations that do not rise", int(np.argmin(rising)))


def _kernel(function: F) -> F:
    """Compiled at the first call of a session and kept beside the module."""
    return cast("F", njit(cache=True, error_model="numpy")(function))


@_kernel
def _cornering_limit(bend: float, grip: float, circle: Array, table: Table) -> Numeric:
    """Greatest squared speed at a curvature without any longitudinal force."""
    speeds, lateral = table[0], table[1]
    needed = bend / grip
    if speeds.size == 0:
        held = needed - circle[0] * circle[4]
        return circle[0] * circle[1] / held if held > 1e-9 else TOP_SPEED**2
    for j in range(speeds.size - 1):
        if lateral[j + 1] < needed * speeds[j + 1] ** 2:
            slope = (lateral[j + 1] - lateral[j]) / (speeds[j + 1] - speeds[j])
            base = lateral[j] - slope * speeds[j]  # needed v2 - slope v - base = 0
            v = (slope + np.sqrt(slope * slope + 4.0 * needed * base)) / (2.0 * needed)
            return v * v
    return speeds[-1] ** 2


@_kernel
def _between(grid: Array, j: int, w: float, k: int, z: float) -> Numeric:
    low = (1.0 - z) * grid[j, k] + z * grid[j, k + 1]
    high = (1.0 - z) * grid[j + 1, k] + z * grid[j + 1, k + 1]
    return (1.0 - w) * low + w * high


@_kernel
def _reserves(u: float, bend: float, grip: float, circle: Array, table: Table) -> tuple[float, float, float]:
    """Greatest acceleration, that where a table says the engine limits, and greatest deceleration."""
    speeds, lateral, drive, brake, power = table
    if speeds.size == 0:
        most = grip * circle[0] * (circle[1] + circle[4] * u)
        left = np.sqrt(max(most * most - (bend * u) ** 2, 0.0))
        drag = circle[3] * u
        return left - drag, np.inf, left + drag
    place = (np.sqrt(max(u, 0.0)) - speeds[0]) / (speeds[1] - speeds[0])
    j = min(max(int(place), 0), speeds.size - 2)
    w = min(max(place - j, 0.0), 1.0)
    side = grip * ((1.0 - w) * lateral[j] + w * lateral[j + 1])
    angle = np.arcsin(min(bend * u / side, 1.0)) / (np.pi / 2.0) * (drive.shape[1] - 1)
    k = min(int(angle), drive.shape[1] - 2)
    ahead = grip * _between(drive, j, w, k, angle - k)
    behind = grip * _between(brake, j, w, k, angle - k)
    return ahead, grip * _between(power, j, w, k, angle - k), behind


@_kernel
def _forward(line: Array, u: Array, limit: NDArray[np.int8], data: tuple[Array, Table]) -> None:
    """Lower u to what the car reaches by accelerating from the station before."""
    circle, table = data
    for i in range(u.size - 1):
        step = line[0, i + 1] - line[0, i]
        ahead = _reserves(u[i], line[1, i], line[2, i], circle, table)[0]
        middle = max(u[i] + ahead * step, 0.0)
        bend, grip = (line[1, i] + line[1, i + 1]) / 2.0, (line[2, i] + line[2, i + 1]) / 2.0
        ahead, engine, _ = _reserves(middle, bend, grip, circle, table)
        by_grip = max(u[i] + 2.0 * ahead * step, 0.0)
        by_power = _powered(u[i], step, circle)
        if min(by_grip, by_power) < u[i + 1]:
            u[i + 1] = min(by_grip, by_power)
            limit[i + 1] = POWER if by_power < by_grip or engine <= ahead else GRIP


@_kernel
def _powered(u: float, step: float, circle: Array) -> Numeric:
    """Squared speed after a step with the whole power, exact: (v^3)' = 3 (p - c v^3) with the drag c."""
    if np.isinf(circle[2]):
        return np.inf
    decay = 3.0 * circle[3] * step
    share = 1.0 if decay < 1e-9 else -np.expm1(-decay) / decay
    return np.cbrt(u**1.5 * np.exp(-decay) + 3.0 * circle[2] * step * share) ** 2


@_kernel
def _backward(line: Array, u: Array, limit: NDArray[np.int8], data: tuple[Array, Table]) -> None:
    """Lower u to that from which the car can brake to the station after."""
    circle, table = data
    for i in range(u.size - 1, 0, -1):
        step = line[0, i] - line[0, i - 1]
        behind = _reserves(u[i], line[1, i], line[2, i], circle, table)[2]
        bend, grip = (line[1, i] + line[1, i - 1]) / 2.0, (line[2, i] + line[2, i - 1]) / 2.0
        behind = _reserves(u[i] + behind * step, bend, grip, circle, table)[2]
        allowed = u[i] + 2.0 * behind * step
        if allowed < u[i - 1]:
            u[i - 1] = allowed
            limit[i - 1] = BRAKES


@_kernel
def _profile(
    line: Array, data: tuple[Array, Table], u_first: float, u_last: float
) -> tuple[Array, Array, NDArray[np.int8]]:
    """Speed, time and what limits, along a line of stations, absolute curvatures and surfaces."""
    n = line.shape[1]
    u = np.empty(n)
    for i in range(n):
        u[i] = _cornering_limit(line[1, i], line[2, i], data[0], data[1])
    limit = np.zeros(n, dtype=np.int8)
    u[0] = min(u[0], u_first)
    u[-1] = min(u[-1], u_last)
    _forward(line, u, limit, data)
    _backward(line, u, limit, data)
    speed = np.sqrt(u)
    elapsed = np.zeros(n)
    for i in range(n - 1):
        elapsed[i + 1] = elapsed[i] + 2.0 * (line[0, i + 1] - line[0, i]) / (speed[i] + speed[i + 1])
    return speed, elapsed, limit

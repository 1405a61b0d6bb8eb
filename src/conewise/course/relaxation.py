"""A smooth path through the crossings: an elastic strip that is drawn past the cones.

The strip minimises the integral of kappa^2 + l^2 (dkappa/ds)^2 + 1/R^2 along its length. A free turn settles at the
radius R; the term in the curvature rate keeps the curvature itself smooth, also where a cone pushes.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline
from scipy.linalg import solveh_banded

Array = NDArray[np.float64]

SPACING = 1.0  # of the nodes of the strip, about [m]
FREE_RADIUS = 9.0  # radius at which a free turn settles [m]
_RATE_LENGTH = 3.0  # l above [m]
_N_GHOSTS = 4  # straight nodes before the start and after the finish
_PUSH = 1e4  # stiffness with which a cone pushes the strip
_LARGEST_STEP = 3.0  # [m]
_DAMPING = 0.1  # first resistance to movement where the strip is bent, over its curvature squared [-]
_MOST_DAMPING = 10.0
_STRAYED = 6.0  # the strip has run away when it is this many times as long as at first
_CLOSE = 0.02  # the strip is at rest when it moves less than this [m]


@dataclass(frozen=True, slots=True, kw_only=True)
class Strip:
    """Nodes of the strip at one spacing, straight ghosts at both ends included."""

    nodes: Array  # shape (n_nodes, 2) [m]
    spacing: float  # [m]
    position: Array  # of every pusher, in nodes, shape (n_pushers,)
    moved: float  # largest movement in the last step [m]

    @property
    def station(self) -> Array:
        """Of every pusher, from the start line. [m]"""
        return np.asarray((self.position - _N_GHOSTS) * self.spacing)


@dataclass(frozen=True, slots=True, kw_only=True)
class Pushers:
    """Cones that hold the strip off on one side; arrays (n_pushers,)."""

    place: Array  # shape (n_pushers, 2) [m]
    side: Array  # +1 on the left of the strip
    clearance: Array  # [m]


@dataclass(frozen=True, slots=True, kw_only=True)
class Ends:
    """Where the strip is clamped, and in which direction (unit vectors)."""

    start: Array
    start_direction: Array
    finish: Array
    finish_direction: Array


def relaxed(first: Array, vertex: Array, *, ends: Ends, pushers: Pushers, n_steps: int = 40) -> Strip:
    """The strip at rest.

    Parameters
    ----------
    first : Array, shape (n, 2)
        A first curve from the start to the finish. [m]
    vertex : Array, shape (n_pushers,)
        Index in `first` at which each pusher is passed. [-]
    ends : Ends
        Clamps at start and finish.
    pushers : Pushers
        What holds the strip off.
    n_steps : int, default 40
        Largest number of steps.

    Notes
    -----
    Each step moves the nodes along their normals by d. Curvature changes by d'' + kappa^2 d, length by
    -kappa d + d'^2 / 2: the quadratic model has a banded matrix. Pushers act by a stiff one-sided penalty whose
    active set is iterated (a semismooth Newton step). Afterwards the strip is cut anew at equal spacing.
    """
    strip = _cut(first, vertex, ends)
    longest = _STRAYED * len(strip.nodes)
    damping = _DAMPING
    for _ in range(n_steps):
        tangent, normal, curvature = _frame(strip.nodes, strip.spacing)
        position = _nearest(strip, tangent, pushers.place)
        step = _step(strip, (normal, curvature), position, pushers, damping=damping)
        moved = strip.nodes + step[:, None] * normal
        inner = slice(_N_GHOSTS, len(moved) - _N_GHOSTS)
        before = strip.moved
        strip = _cut(moved[inner], position - _N_GHOSTS, ends, moved_by=float(np.max(np.abs(step))))
        if strip.moved < _CLOSE or len(strip.nodes) > longest:
            break
        calmer = strip.moved < 0.8 * before
        damping = max(0.9 * damping, _DAMPING) if calmer else min(1.5 * damping, _MOST_DAMPING)
    return strip


def _cut(points: Array, position: Array, ends: Ends, *, moved_by: float = np.inf) -> Strip:
    """Points at equal spacing along the curve through the given ones, with straight ghosts."""
    chord = np.hypot(*np.diff(points, axis=0).T)
    keep = np.concatenate([[True], chord > 1e-6])
    along = np.concatenate([[0.0], np.cumsum(chord)])
    length = float(along[-1])
    n_steps = max(4, round(length / SPACING))
    station = np.linspace(0.0, length, n_steps + 1)
    nodes = CubicSpline(along[keep], points[keep], axis=0)(station)
    nodes[0], nodes[-1] = ends.start, ends.finish
    spacing = length / n_steps
    reach = spacing * np.arange(1, _N_GHOSTS + 1)[:, None]
    before = ends.start - reach[::-1] * ends.start_direction
    after = ends.finish + reach * ends.finish_direction
    at = np.interp(position, np.arange(len(along)), along) / spacing + _N_GHOSTS
    return Strip(nodes=np.vstack([before, nodes, after]), spacing=spacing, position=at, moved=moved_by)


def _frame(nodes: Array, spacing: float) -> tuple[Array, Array, Array]:
    """Unit tangents, left normals and curvature at the nodes."""
    tangent = np.gradient(nodes, axis=0)
    tangent /= np.hypot(tangent[:, 0], tangent[:, 1])[:, None]
    normal = np.column_stack([-tangent[:, 1], tangent[:, 0]])
    bend = np.zeros_like(nodes)
    bend[1:-1] = (nodes[2:] - 2.0 * nodes[1:-1] + nodes[:-2]) / spacing**2
    return tangent, normal, np.sum(bend * normal, axis=1)


def _nearest(strip: Strip, tangent: Array, place: Array, *, window: int = 5) -> Array:
    """Position, in nodes, at which each pusher lies square to the strip, near where it was."""
    last = len(strip.nodes) - 2
    index = np.clip(np.round(strip.position).astype(int)[:, None] + np.arange(-window, window + 1), 1, last)
    away = place[:, None, :] - strip.nodes[index]
    best = np.argmin(np.sum(away**2, axis=2), axis=1)
    row = np.arange(len(place))
    node = index[row, best]
    offset = np.sum(away[row, best] * tangent[node], axis=1) / strip.spacing
    return np.asarray(np.clip(node + np.clip(offset, -0.5, 0.5), 1.0, float(last)))


def _step(strip: Strip, frame: tuple[Array, Array], position: Array, pushers: Pushers, *, damping: float) -> Array:
    """Movement of the nodes along their normals. [m]"""
    normal, curvature = frame
    h, n = strip.spacing, len(strip.nodes)
    band, gradient = _elastic(curvature, h)
    band[0] += h * damping * curvature**2
    pinned = np.ones(n, dtype=bool)
    pinned[_N_GHOSTS + 1 : n - _N_GHOSTS - 1] = False
    band[0, pinned] += 1e12
    gradient[pinned] = 0.0

    low = np.minimum(np.floor(position).astype(int), n - 2)
    share = position - low
    beside = strip.nodes[low] + share[:, None] * (strip.nodes[low + 1] - strip.nodes[low])
    across = (1 - share)[:, None] * normal[low] + share[:, None] * normal[low + 1]
    offset = np.sum((pushers.place - beside) * across, axis=1)
    limit = pushers.side * offset - pushers.clearance  # side * d must not exceed it
    active = limit < 0.0
    d = np.zeros(n)
    for _ in range(12):
        stiff, load = band.copy(), -gradient
        a, t, f = low[active], share[active], (pushers.side * limit)[active]
        np.add.at(stiff[0], a, _PUSH * (1 - t) ** 2)
        np.add.at(stiff[0], a + 1, _PUSH * t**2)
        np.add.at(stiff[1], a, _PUSH * t * (1 - t))
        np.add.at(load, a, _PUSH * (1 - t) * f)
        np.add.at(load, a + 1, _PUSH * t * f)
        d = solveh_banded(stiff, load, lower=True)
        pressed = pushers.side * ((1 - share) * d[low] + share * d[low + 1]) > limit
        if np.array_equal(pressed, active):
            break
        active = pressed
    room = np.minimum(_LARGEST_STEP, 0.4 / np.maximum(np.abs(curvature), 1e-6))
    return np.asarray(room * np.tanh(d / room))


def _elastic(curvature: Array, h: float) -> tuple[Array, Array]:
    """Lower band (4, n) and gradient (n,) of the strip's energy in d, at d = 0."""
    n = len(curvature)
    band, gradient = np.zeros((4, n)), np.zeros(n)
    tension = 1.0 / FREE_RADIUS**2
    inner = curvature[1:-1]
    bend = np.column_stack([np.full(n - 2, h**-2), -2.0 * h**-2 + inner**2, np.full(n - 2, h**-2)])
    _add_square(band, gradient, bend, inner, weight=2.0 * h)
    rate = np.zeros((n - 3, 4))
    rate[:, 1:] += bend[1:] / h
    rate[:, :3] -= bend[:-1] / h
    _add_square(band, gradient, rate, np.diff(inner) / h, weight=2.0 * h * _RATE_LENGTH**2)
    stretch = np.tile([-1.0 / h, 1.0 / h], (n - 1, 1))
    _add_square(band, gradient, stretch, np.zeros(n - 1), weight=tension * h)
    gradient -= h * curvature * (tension + curvature**2)
    band[0] += 1e-6 * h
    return band, gradient


def _add_square(band: Array, gradient: Array, rows: Array, residual: Array, *, weight: float) -> None:
    """Add weight/2 |rows d + residual|^2, where row r covers the columns from r on."""
    n_rows, width = rows.shape
    for a in range(width):
        gradient[a : a + n_rows] += weight * rows[:, a] * residual
        for b in range(a, width):
            band[b - a, a : a + n_rows] += weight * rows[:, a] * rows[:, b]

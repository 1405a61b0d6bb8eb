"""Draws from a normal distribution that is cut by walls with soft faces.

A point moves on the ellipses that are the orbits of a normal distribution, and bounces off the walls. Where it is
after a quarter of a turn is the next draw: exact, however narrow the corner.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

QUARTER = np.pi / 2.0
BETWEEN = 5  # orbits from one draw that is kept to the next
FIRST = 30  # orbits that forget where they began
MOST_BOUNCES = 2000  # of one orbit; what is left of it is then not driven
_TOUCHING = 1e-12


def draw_truncated(walls: Array, room: Array, *, doubt: float, rng: np.random.Generator, count: int) -> Array:
    """Draws of a standard normal vector z with walls @ z >= room.

    Parameters
    ----------
    walls : Array, shape (n_walls, n)
    room : Array, shape (n_walls,)
    doubt : float
        Standard deviation of each room, independent of the others.
    rng : Generator
    count : int

    Returns
    -------
    Array
        Shape (count, n). Neighbours in it are almost independent.

    Notes
    -----
    The error of each wall's place is one more normal number: with it every vector is allowed somewhere.

    References
    ----------
    Pakman and Paninski, Exact Hamiltonian Monte Carlo for truncated multivariate Gaussians, J. Comput. Graph. Stat.
    23(2), 2014, section 2 (from memory).
    """
    n_walls, n = walls.shape
    if not n_walls:
        return rng.standard_normal((count, n))
    soft = np.hstack([walls, doubt * np.eye(n_walls)])
    place = np.concatenate([np.zeros(n), np.maximum(room, 0.0) / doubt])
    products = soft @ soft.T
    draws = np.empty((count, n))
    for k in range(-FIRST, count * BETWEEN):
        place = _orbit(place, rng.standard_normal(n + n_walls), (soft, room, products))
        if k >= 0 and k % BETWEEN == BETWEEN - 1:
            draws[k // BETWEEN] = place[:n]
    return draws


def _orbit(place: Array, velocity: Array, ground: tuple[Array, Array, Array]) -> Array:
    """Where a point is after a quarter of a turn."""
    walls, room, products = ground
    left = QUARTER
    at, speed = walls @ place, walls @ velocity
    for _ in range(MOST_BOUNCES):
        until = _until_wall(at, speed, room)
        first = int(np.argmin(until))
        step = min(float(until[first]), left)
        cos, sin = np.cos(step), np.sin(step)
        place, velocity = cos * place + sin * velocity, cos * velocity - sin * place
        at, speed = cos * at + sin * speed, cos * speed - sin * at
        left -= step
        if left <= 0.0:
            break
        back = -2.0 * speed[first] / products[first, first]
        velocity = velocity + back * walls[first]
        speed = speed + back * products[first]
    return place


def _until_wall(at: Array, speed: Array, room: Array) -> Array:
    """Angles of the orbit until each wall is hit; infinite where it never is."""
    reach = np.hypot(at, speed)
    meets = reach > np.abs(room)
    down = np.arctan2(speed, at) + np.arccos(np.where(meets, room / np.maximum(reach, 1e-300), 1.0))
    until = np.where(meets, np.mod(down, 2.0 * np.pi), np.inf)
    return np.where((at - room <= _TOUCHING) & (speed < 0.0), 0.0, until)

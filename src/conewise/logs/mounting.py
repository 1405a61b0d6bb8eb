"""How an inertial sensor sits in the car: levelled by gravity at rest, turned about the vertical by the motion."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from conewise.logs.log import Array


def level_axes(force: Array) -> Array:
    """Rows: two horizontal axes and the vertical of a sensor, in its own axes; shape (3, 3).

    Parameters
    ----------
    force : Array, shape (n_samples, 3)
        Specific force at rest, or over so long a time that the car's own accelerations cancel. [m/s2]

    Notes
    -----
    At rest a sensor feels the ground push upwards. The first axis is the one of the sensor's that lies nearest to
    level, laid level; the three are right-handed.
    """
    up = force.mean(axis=0)
    up /= np.linalg.norm(up)
    first = np.eye(3)[np.argmin(np.abs(up))]
    first -= up * (first @ up)
    first /= np.linalg.norm(first)
    return np.stack([first, np.cross(up, first), up])


def mounting_match(felt: Array, moved: Array) -> complex:
    """How levelled accelerations lie against the car's own: its argument is the angle by which they must be turned.

    Its size is larger the better they then agree.

    Parameters
    ----------
    felt : Array, shape (n_samples, 2)
        Along the levelled axes of the sensor, without their mean at rest. [m/s2]
    moved : Array, shape (n_samples, 2)
        Of the car at the same times, forward and left, from how its speed and direction change. [m/s2]

    Notes
    -----
    Least squares over the rotation: the sum of moved times the conjugate of felt, as complex numbers.
    """
    return complex(np.sum((moved[:, 0] + 1j * moved[:, 1]) * (felt[:, 0] - 1j * felt[:, 1])))


def turned(vectors: Array, angle: float) -> Array:
    """Vectors, shape (n, 2), turned to the left by an angle. [as given]"""
    c, s = np.cos(angle), np.sin(angle)
    return np.column_stack([c * vectors[:, 0] - s * vectors[:, 1], s * vectors[:, 0] + c * vectors[:, 1]])

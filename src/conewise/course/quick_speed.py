"""How fast a car may be along a course before anything is solved: an estimate for a quick car, on the safe side."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d

from conewise.quantities import GRAVITY

if TYPE_CHECKING:
    from conewise.course.geometry import CourseGeometry

Array = NDArray[np.float64]

HIGHEST = 45.0  # [m/s]
STRAIGHTENED = 8.0  # the line driven is straighter than the path: its bend is the mean over about this length [m]
_ROLLED = 2.5  # from the middle of a car to its front, which starts the clock [m]
_LEAST_ROLL = 0.05  # [m]


@dataclass(frozen=True, slots=True, kw_only=True)
class Pace:
    """What a car can do, in four numbers.

    grip: to all sides, along the path; above the tyres' own, since a line turns wider than the path [m/s2]
    launch: acceleration from rest [m/s2]
    power: at the wheels over the mass [W/kg]
    """

    grip: float
    launch: float
    power: float


# Common practice, no source; held against solved runs of the demo cars, of which none is faster anywhere.
QUICK = Pace(grip=1.6 * GRAVITY, launch=0.9 * GRAVITY, power=130.0)


def estimated_speed(geometry: CourseGeometry, *, pace: Pace = QUICK, surface: float = 1.0) -> Array:
    """Coarse speed on the path, by default that of a quick car: rather too fast than too slow. [m/s]

    Parameters
    ----------
    geometry : CourseGeometry
    pace : Pace, optional
    surface : float, default 1.0
        Factor on the grip of that pace.

    Notes
    -----
    A forward and a backward pass with a friction circle; forward no faster than launch and power over speed allow.
    """
    path = geometry.path
    grip = surface * pace.grip * geometry.friction
    step = np.diff(path.station)
    bend = np.abs(gaussian_filter1d(path.curvature, STRAIGHTENED / float(np.median(step))))
    square = np.minimum(grip / np.maximum(bend, 1e-4), HIGHEST**2)
    before = path.station <= 0.0
    rolled = np.maximum(path.station[before] + geometry.course.staging + _ROLLED, _LEAST_ROLL)
    square[before] = np.minimum(square[before], 2.0 * np.minimum(pace.launch, grip[before]) * rolled)
    least, held, bends, steps = (values.tolist() for values in (square, grip, bend, step))  # plain floats are faster
    for i in range(int(np.sum(before)) - 1, len(steps)):
        left = max(0.0, 1.0 - (bends[i] * least[i] / held[i]) ** 2) ** 0.5
        gain = min(pace.launch, pace.power / least[i] ** 0.5, held[i] * left)
        least[i + 1] = min(least[i + 1], least[i] + 2.0 * gain * steps[i])
    for i in range(len(steps) - 1, -1, -1):
        left = max(0.0, 1.0 - (bends[i + 1] * least[i + 1] / held[i + 1]) ** 2) ** 0.5
        least[i] = min(least[i], least[i + 1] + 2.0 * held[i + 1] * left * steps[i])
    return np.asarray(np.sqrt(least))


def speed_at_finish(geometry: CourseGeometry, speed: Array) -> float:
    """Of speeds at the points of the path. [m/s]"""
    return float(np.interp(geometry.path.length, geometry.path.station, speed))

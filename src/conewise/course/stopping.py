"""How far a car rolls on behind the finish: braking with a share of what the ground there gives."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from conewise.course.corridor import friction_at
from conewise.quantities import GRAVITY

if TYPE_CHECKING:
    from conewise.course.geometry import CourseGeometry

STEP = 0.5  # [m]
REACH = 300.0  # behind the finish; farther on the ground is taken as it is there [m]


def stopping_distance(
    geometry: CourseGeometry,
    speed: float,
    *,
    share: float,
    friction: float = 1.0,
    most: float = np.inf,
    least: float = 0.0,
) -> float:
    """Way from the finish line until the car stands, straight on along the path. [m]

    Parameters
    ----------
    geometry : CourseGeometry
        Its site gives friction, patches and slope along the way.
    speed : float
        Over the finish line. [m/s]
    share : float
        Of the available deceleration that is used. [-]
    friction : float, default 1.0
        Of the tyres on plain ground, before the site's own factors. [-]
    most : float, optional
        Deceleration that the brakes give at the most. [m/s2]
    least : float, default 0.0
        Speed at which the car need not stop. [m/s]

    Returns
    -------
    float
        Infinity where the ground falls more steeply than the tyres hold.

    Notes
    -----
    v2 = v0^2 - 2 share sum(a ds), with a the smaller of friction times gravity and the brakes, less the part of
    gravity that pulls down the slope.
    """
    if speed <= least:
        return 0.0
    along = np.arange(STEP / 2.0, REACH, STEP)
    way = geometry.path.at(geometry.path.length + along)
    grip = friction * GRAVITY * friction_at(way.x, way.y, geometry.course.site)
    downhill = geometry.ground_x * np.cos(way.heading) + geometry.ground_y * np.sin(way.heading)
    available = np.minimum(grip, most) - downhill
    lost = np.concatenate([[0.0], np.cumsum(2.0 * share * available * STEP)])
    wanted = speed**2 - least**2
    reached = np.flatnonzero(lost >= wanted)
    if len(reached):
        after = int(reached[0])
        return STEP * float(after - (lost[after] - wanted) / (lost[after] - lost[after - 1]))
    if available[-1] <= 0.0:
        return float(np.inf)
    return float(REACH + (wanted - lost[-1]) / (2.0 * share * available[-1]))

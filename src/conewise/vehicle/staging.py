"""What a course decides of the model's numbers: how far before the start beam the car stands, and on what ground."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from conewise.course.corridor import friction_at

if TYPE_CHECKING:
    from conewise.course.geometry import CourseGeometry
    from conewise.vehicle.parameters import ModelParameters

N_POINTS = 9  # of the launch at which the ground is looked at


def staged(p: ModelParameters, geometry: CourseGeometry) -> ModelParameters:
    """The car at the start of a course.

    Parameters
    ----------
    p : ModelParameters
    geometry : CourseGeometry

    Returns
    -------
    ModelParameters
        Staging distance of the course; friction of its ground and pull of its slope, means over the launch as the
        car's centre of gravity rolls over it.
    """
    staging, reach = float(geometry.course.staging), float(p.front_reach)
    way = geometry.path.at(np.linspace(-staging - reach, -reach, N_POINTS))
    pull = geometry.ground_x * np.cos(way.heading) + geometry.ground_y * np.sin(way.heading)
    return replace(
        p,
        staging=staging,
        start_friction=float(np.mean(friction_at(way.x, way.y, geometry.course.site))),
        start_pull=float(np.mean(pull)),
    )


def staged_like(p: ModelParameters, other: ModelParameters) -> ModelParameters:
    """The car at the start where another one stands."""
    return replace(p, staging=other.staging, start_friction=other.start_friction, start_pull=other.start_pull)

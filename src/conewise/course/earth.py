"""The plan on the earth: local metres to WGS84 and back."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from pyproj import Proj

from conewise.errors import InputError

if TYPE_CHECKING:
    from conewise.course.layout import Anchor, Point


class NotAnchoredError(InputError):
    """A course without a geographic anchor cannot go where positions are latitudes and longitudes."""

    code = "not-anchored"
    default_hint = (
        "Add the place of the plan's origin to the course file: in [site] write "
        "anchor = { latitude = ..., longitude = ... }, and heading_to_north where the plan's y axis is not north."
    )

    def __init__(self, course: str) -> None:
        super().__init__(f"The course '{course}' has no geographic anchor.", where="site.anchor")


@dataclass(frozen=True)
class LocalPlane:
    """The plan's plane, touching the WGS84 ellipsoid at the anchor.

    Parameters
    ----------
    anchor : Anchor
        Place of the plan's origin.
    heading_to_north : float
        Angle from true north to the plan's y axis, clockwise. [rad]

    Notes
    -----
    Azimuthal equidistant projection: distance and bearing from the anchor are those of the geodesic. On a lot
    of 500 m the scale departs from one by less than 2e-9.
    """

    anchor: Anchor
    heading_to_north: float = 0.0

    @cached_property
    def _projection(self) -> Proj:
        return Proj(proj="aeqd", lat_0=self.anchor.latitude, lon_0=self.anchor.longitude, ellps="WGS84", units="m")

    def to_plan(self, longitude: float, latitude: float) -> Point:
        """East and north on the plan [m] of a place [deg]."""
        east, north = self._projection(longitude, latitude)
        cos, sin = math.cos(self.heading_to_north), math.sin(self.heading_to_north)
        return east * cos - north * sin, east * sin + north * cos

    def to_earth(self, point: Point) -> tuple[float, float]:
        """Longitude and latitude [deg] of a point of the plan [m]."""
        x, y = point
        cos, sin = math.cos(self.heading_to_north), math.sin(self.heading_to_north)
        longitude, latitude = self._projection(x * cos + y * sin, -x * sin + y * cos, inverse=True)
        return float(longitude), float(latitude)

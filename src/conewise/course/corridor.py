"""The room beside the reference path: how far to either side a line is looked for, and what ends it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from conewise.course.geometry import BoundKind

if TYPE_CHECKING:
    from conewise.course.geometry import IntArray, ReferencePath
    from conewise.course.layout import Obstacle, Site

Array = NDArray[np.float64]

SEARCH = 10.0  # how far from the path a line is looked for [m]
FOLD_LIMIT = 0.7  # largest curvature times offset towards the centre of curvature [-]
HALF_WIDTH = 0.9  # of a car [m]
EDGE_MARGIN = 0.3  # between the car's side and the edge of the site or an obstacle [m]
_LEAST_ROOM = 0.5  # kept between the bounds where the site leaves none [m]


def bounds(path: ReferencePath, site: Site) -> tuple[Array, Array, IntArray, IntArray]:
    """Lowest and highest offset of the car's centre and what makes them, on the path's stations.

    Parameters
    ----------
    path : ReferencePath
        The path.
    site : Site
        Outline and obstacles.

    Returns
    -------
    tuple[Array, Array, IntArray, IntArray]
        n_min, n_max [m] and a `BoundKind` for each, shape (n_points,).

    Notes
    -----
    The limit against folding is one-sided: curvature times the offset towards the centre of curvature stays at
    or below 0.7. Cones make no bound: they are held off by the car's outline.
    """
    n = len(path.station)
    n_min, n_max = np.full(n, -SEARCH), np.full(n, SEARCH)
    n_min_kind = np.full(n, int(BoundKind.SEARCH), dtype=np.int64)
    n_max_kind = n_min_kind.copy()
    fold = FOLD_LIMIT / np.maximum(np.abs(path.curvature), 1e-9)
    left, right = (path.curvature > 0) & (fold < n_max), (path.curvature < 0) & (-fold > n_min)
    n_max[left], n_max_kind[left] = fold[left], BoundKind.FOLD
    n_min[right], n_min_kind[right] = -fold[right], BoundKind.FOLD
    areas = _blocked_areas(site)
    if areas:
        _cut_back(path, areas, (n_min, n_max), (n_min_kind, n_max_kind))
    return n_min, n_max, n_min_kind, n_max_kind


def friction_along(path: ReferencePath, site: Site) -> Array:
    """Friction factor of the ground under the path, shape (n_points,). [-]"""
    return friction_at(path.x, path.y, site)


def friction_at(x: Array, y: Array, site: Site) -> Array:
    """Friction factor of the ground at places; patches multiply the site's own. [-]"""
    friction = np.full(len(x), site.friction)
    for patch in site.patches:
        friction[shapely.contains_xy(Polygon(patch.outline), x, y)] *= patch.friction
    return friction


def obstacle_shape(obstacle: Obstacle) -> shapely.Geometry:
    """Plan of an obstacle: its outline, or the circle about its centre."""
    if obstacle.centre is None:
        return Polygon(obstacle.outline).buffer(0.0)
    point = shapely.Point(obstacle.centre)
    return point.buffer(obstacle.radius) if obstacle.radius > 0 else point


def _blocked_areas(site: Site) -> list[tuple[BoundKind, shapely.Geometry]]:
    """Where the centre of a car must not be."""
    grown = HALF_WIDTH + EDGE_MARGIN
    areas: list[tuple[BoundKind, shapely.Geometry]] = []
    if len(site.outline) >= 3:
        lot = Polygon(site.outline).buffer(0.0)
        areas.append((BoundKind.EDGE, lot.envelope.buffer(500.0).difference(lot.buffer(-grown))))
    return [*areas, *((BoundKind.OBSTACLE, obstacle_shape(o).buffer(grown)) for o in site.obstacles)]


def _cut_back(
    path: ReferencePath,
    areas: list[tuple[BoundKind, shapely.Geometry]],
    limits: tuple[Array, Array],
    kinds: tuple[IntArray, IntArray],
) -> None:
    """Pull the bounds in to where the normals of the path meet a blocked area."""
    n_min, n_max = limits
    across = np.column_stack([-np.sin(path.heading), np.cos(path.heading)])
    here = np.column_stack([path.x, path.y])
    for kind, area in areas:
        shapely.prepare(area)
        near = np.flatnonzero(shapely.dwithin(area, shapely.points(here), SEARCH))
        if not len(near):
            continue
        inside = shapely.contains_xy(area, here[near, 0], here[near, 1])
        for sign, bound, mark in ((-1.0, n_min, kinds[0]), (1.0, n_max, kinds[1])):
            rays = shapely.linestrings(np.stack([here[near], here[near] + sign * SEARCH * across[near]], axis=1))
            free = shapely.distance(shapely.points(here[near]), shapely.intersection(rays, area))
            free = np.where(inside | ~np.isfinite(free), SEARCH, free)
            closer = free < np.abs(bound[near])
            bound[near[closer]] = sign * free[closer]
            mark[near[closer]] = kind
        if inside.any():
            _step_out(near[inside], (here, across), area, kind, limits=limits, kinds=kinds)


def _step_out(
    stuck: IntArray,
    frame: tuple[Array, Array],
    area: shapely.Geometry,
    kind: BoundKind,
    *,
    limits: tuple[Array, Array],
    kinds: tuple[IntArray, IntArray],
) -> None:
    """Where the path itself is in a blocked area, move the bound on the nearer free side past it."""
    here, across = frame
    n_min, n_max = limits
    for i in stuck:
        normal = shapely.LineString([here[i] + n_min[i] * across[i], here[i] + n_max[i] * across[i]])
        free = shapely.get_parts(normal.difference(area))
        free = free[shapely.length(free) > _LEAST_ROOM]
        if not len(free):
            continue
        nearest = free[int(np.argmin(shapely.distance(free, shapely.Point(here[i]))))]
        offsets = (shapely.get_coordinates(nearest) - here[i]) @ across[i]
        if offsets.min() > n_min[i] + 1e-9:
            n_min[i], kinds[0][i] = offsets.min(), kind
        if offsets.max() < n_max[i] - 1e-9:
            n_max[i], kinds[1][i] = offsets.max(), kind

"""Run-off: where a car that leaves the course comes to an obstacle, and how fast it then is.

The car leaves anywhere on the path, straight on or up to 30 degrees to either side, faster than predicted; for a
moment nobody brakes, then it slides with little friction, and it is never steered. A caution, not a forecast.
All ways are looked at, not a choice of them: a pole is thin.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from numpy.typing import NDArray

from conewise.course.corridor import obstacle_shape
from conewise.course.said import METRIC
from conewise.findings import Finding
from conewise.quantities import GRAVITY

if TYPE_CHECKING:
    from conewise.course.geometry import CourseGeometry
    from conewise.course.layout import Obstacle
    from conewise.course.rules import Rules
    from conewise.course.said import Said

Array = NDArray[np.float64]

# All of these are common practice cautions without a source; a rule set can only ask for more.
SPEED_SHARE = 1.10  # of the predicted speed, at which the car leaves
UNBRAKED = 1.0  # time before anybody brakes [s]
FAN = np.radians(np.arange(-30.0, 30.1, 5.0))  # borders of the wedges into which it leaves, to the path
HALF_WIDTH = 0.9  # of a car [m]
EVERY = 1.0  # between the places where it leaves [m]
ELSEWHERE = 2.0  # places that are farther apart are told apart [m]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reached:
    """The worst way to one obstacle in the dry; the worst one in the wet may be another."""

    obstacle: Obstacle
    station: float  # where the car leaves the path [m]
    feature: str
    speed: float  # with which it leaves [m/s]
    distance: float  # from there to the obstacle along its way [m]
    speed_dry: float  # at the obstacle; 0 where it stops before [m/s]
    station_wet: float  # where the car that arrives fastest in the wet leaves the path [m]
    speed_wet: float  # of that car at the obstacle [m/s]


def reached(geometry: CourseGeometry, speed: Array, *, dry: float, wet: float) -> tuple[Reached, ...]:
    """Obstacles that a car may come to, the worst way to each; the fastest arrival first.

    Parameters
    ----------
    geometry : CourseGeometry
    speed : Array, shape (n_points,)
        Predicted, at the points of the path. [m/s]
    dry, wet : float
        Friction that the sliding car finds. [-]

    Notes
    -----
    u2 = v2 - 2 (mu g - g_s) (d - v t) with v the speed on leaving, d the distance, t the time without brakes, and g_s
    what gravity pulls down the slope along the way. The ways are taken in wedges of 5 degrees: d is that of the
    nearest point of the obstacle in a wedge, g_s the larger one of its two borders.
    """
    path, site = geometry.path, geometry.course.site
    if not site.obstacles:
        return ()
    places = np.arange(0.0, path.length + EVERY, EVERY)
    at = path.at(places)
    v = SPEED_SHARE * np.interp(places, path.station, speed)
    here = np.column_stack([at.x, at.y])
    heading = at.heading[:, None] + FAN[None, :]
    pull = geometry.ground_x * np.cos(heading) + geometry.ground_y * np.sin(heading)
    downhill = np.maximum(pull[:, 1:], pull[:, :-1])
    wedges = _wedges(here, heading, _reach(v[:, None], wet * GRAVITY - downhill))
    answers = []
    for obstacle in site.obstacles:
        shape = obstacle_shape(obstacle).buffer(HALF_WIDTH)
        i, j = np.nonzero(shapely.intersects(wedges, shape))
        away = shapely.distance(shapely.points(here[i]), shapely.intersection(wedges[i, j], shape))
        left = [_left(v[i], away, mu * GRAVITY - downhill[i, j]) for mu in (dry, wet)]
        if not np.any(left[1] > 0.0):
            continue
        worst, worst_wet = (int(np.lexsort((-away, *keys))[-1]) for keys in ((left[1], left[0]), (left[0], left[1])))
        station = float(places[i[worst]])
        answers.append(
            Reached(
                obstacle=obstacle,
                station=station,
                feature=geometry.span_at(station).id,
                speed=float(v[i[worst]]),
                distance=float(away[worst]),
                speed_dry=float(left[0][worst]),
                station_wet=float(places[i[worst_wet]]),
                speed_wet=float(left[1][worst_wet]),
            )
        )
    return tuple(sorted(answers, key=lambda found: (-found.speed_dry, -found.speed_wet)))


def _wedges(here: Array, heading: Array, reach: Array) -> NDArray[np.object_]:
    """Triangles from each place between neighbouring headings, which hold the sectors; shape of `reach`."""
    half = (FAN[1] - FAN[0]) / 2.0
    way = np.stack([np.cos(heading), np.sin(heading)], axis=-1)
    far = (reach / np.cos(half))[..., None]
    apex = np.broadcast_to(here[:, None, :], (*far.shape[:-1], 2))
    corners = [apex, apex + far * way[:, :-1], apex + far * way[:, 1:], apex]
    return np.asarray(shapely.polygons(np.stack(corners, axis=2)))


def _reach(v: Array, slowing: Array) -> Array:
    """Way to standstill; as far as any lot where the ground falls more than friction holds. [m]"""
    with np.errstate(divide="ignore"):
        slide = np.where(slowing > 0.0, v**2 / (2.0 * slowing), np.inf)
    return np.asarray(np.minimum(v * UNBRAKED + slide, 1e4))


def _left(v: Array, away: Array, slowing: Array) -> Array:
    """Speed left after a way. [m/s]"""
    return np.asarray(np.sqrt(np.maximum(v**2 - 2.0 * slowing * np.maximum(away - v * UNBRAKED, 0.0), 0.0)))


def run_off_findings(
    geometry: CourseGeometry, speed: Array, *, is_known: bool, rules: Rules, say: Said = METRIC
) -> list[Finding]:
    """A finding for every obstacle that a car may come to; `is_known`: the speeds are those of cars that are named."""
    words = "predicted speed" if is_known else "speed estimated for a quick car"
    found = []
    for one in reached(geometry, speed, dry=rules.run_off_friction, wet=rules.run_off_friction_wet):
        name = f"{one.obstacle.kind} '{one.obstacle.id}'"
        message = (
            f"A car that leaves the course here at {say.speed(one.speed)} ({SPEED_SHARE:.0%} of the {words}) and "
            f"is not braked for {UNBRAKED:.0f} s has {say.length(one.distance, 0)} to {name}. {_arrival(one, say)}"
        )
        place = f"{name}, feature '{one.feature}', {say.length(one.station, 0)} after the start"
        found.append(Finding("warning", "run-off-obstacle", message, place))
    return found


def _arrival(one: Reached, say: Said) -> str:
    """How fast it gets there, in the dry and in the wet."""
    dry, wet = say.speed(one.speed_dry), say.speed(one.speed_wet)
    is_elsewhere = abs(one.station_wet - one.station) > ELSEWHERE
    elsewhere = f" if it leaves at {say.length(one.station_wet, 0)}" if is_elsewhere else ""
    if one.speed_dry <= 0.0:
        return f"In the dry it stops before that; in the wet it gets there at {wet}{elsewhere}."
    if dry == wet and not elsewhere:
        return f"It gets there at {dry}, dry or wet."
    return f"It gets there at {dry} in the dry, and at {wet} in the wet{elsewhere}."

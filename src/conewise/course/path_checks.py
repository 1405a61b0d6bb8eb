"""Checks of a course along its path: turns, straights, passes side by side, speed, run-off, the stop area."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from conewise.course.corridor import obstacle_shape
from conewise.course.layout import FeatureKind
from conewise.course.quick_speed import estimated_speed, speed_at_finish
from conewise.course.run_off import run_off_findings
from conewise.course.said import METRIC
from conewise.course.stopping import Arrival, quick_arrival, stop_findings
from conewise.findings import Finding

if TYPE_CHECKING:
    from collections.abc import Sequence

    from conewise.course.geometry import CourseGeometry, FeatureSpan, PassedCone, ReferencePath
    from conewise.course.rules import Rules
    from conewise.course.said import Said

Array = NDArray[np.float64]

_FIT = 0.2  # by which a length taken from a smooth path may miss its limit [m]
_STRAIGHT_RADIUS = 80.0  # a path bent less than this is straight [m]
_TURN_RADIUS = 40.0  # a path bent more than this turns [m]
_COUNTS_AS_TURN = np.radians(30.0)
_TURN_FOLLOWS = 15.0  # a turn that begins this soon ends the straight [m]
_ONE_PASS = 30.0  # points of the path nearer along it belong to one pass [m]
_CROSSES = np.radians(30.0)
ESTIMATED = "estimated for a quick car"


@dataclass(frozen=True, slots=True, kw_only=True)
class _Turn:
    start: float  # station [m]
    end: float
    radius: float  # smallest [m]
    angle: float  # turned through [rad]


class Speeds(NamedTuple):
    """Predicted speeds of the cars that are named, and how each comes over the finish line.

    Without arrivals that of the speeds is taken, as fast in the wet as in the dry.
    """

    station: Array  # [m]
    speed: Array  # of the fastest car there [m/s]
    arrivals: Sequence[Arrival] = ()


def check_path(
    geometry: CourseGeometry,
    *,
    rules: Rules,
    turning_radius: float | None = None,
    speed: Speeds | tuple[Array, Array] | None = None,
    say: Said = METRIC,
) -> list[Finding]:
    """Everything that the path of a course tells.

    Parameters
    ----------
    geometry : CourseGeometry
        The course along its path.
    rules : Rules
        Limits.
    turning_radius : float or None
        Smallest radius that the car can drive, of the middle of its rear axle. [m]
    speed : Speeds, tuple[Array, Array] or None
        Predicted. Without it the estimate for a quick car stands in, which is said.
    say : Said, optional
        Units of the messages.
    """
    arrivals: Sequence[Arrival]
    if speed is None:
        along, arrivals, words = estimated_speed(geometry), (quick_arrival(geometry),), ESTIMATED
    else:
        told = Speeds(*speed)
        along, words = np.interp(geometry.path.station, told.station, told.speed), "predicted"
        at_finish = speed_at_finish(geometry, along)
        arrivals = told.arrivals or (Arrival(speed=at_finish, speed_wet=at_finish),)
    is_known = speed is not None
    found = [
        *_sequence(geometry, say),
        *_tight_corners(geometry, turning_radius, say),
        *_straights(geometry, rules, say),
        *_turn_sizes(geometry, rules, say),
        *_side_by_side(geometry, rules, say),
        *_path_near_obstacles(geometry, rules, say),
        *run_off_findings(geometry, along, is_known=is_known, rules=rules, say=say),
        *stop_findings(geometry, arrivals, words=words, share=rules.stop_share, are_cars=is_known),
    ]
    if is_known:
        found += _too_fast(geometry, rules, along, say)
    return found


def _sequence(geometry: CourseGeometry, say: Said) -> list[Finding]:
    """Crossings must come one after the other along the path."""
    order = {f.id: k for k, f in enumerate(geometry.course.features)}
    middles: dict[tuple[int, int], list[float]] = {}
    for passed in geometry.own_cones():
        middles.setdefault((order[passed.feature], passed.crossing), []).append(passed.station)
    keys = sorted(middles)
    ids = [f.id for f in geometry.course.features]
    found = []
    for a, b in pairwise(keys):
        back = float(np.mean(middles[a]) - np.mean(middles[b]))
        if back > 0.5:
            message = (
                f"It is listed after '{ids[a[0]]}' but comes {say.length(back, 1)} before it along the way; "
                "the features or cones are out of order, or too near each other."
            )
            found.append(Finding("stop", "order-impossible", message, f"feature '{ids[b[0]]}'"))
    return found


def _tight_corners(geometry: CourseGeometry, turning_radius: float | None, say: Said) -> list[Finding]:
    if turning_radius is None:
        return []
    path = geometry.path
    found = []
    for span in geometry.spans:
        here = (path.station >= span.start) & (path.station <= span.end)
        if not here.any():
            continue
        radius = 1.0 / max(float(np.max(np.abs(path.curvature[here]))), 1e-9)
        if radius < turning_radius:
            needed = say.length(turning_radius, 1)
            message = f"The path turns at {say.length(radius, 1)} radius; this car needs {needed} at full lock."
            found.append(Finding("stop", "turn-below-car", message, f"feature '{span.id}'"))
    return found


def _turns(path: ReferencePath) -> list[_Turn]:
    """Stretches that are bent one way by more than `_TURN_RADIUS`."""
    way = np.where(np.abs(path.curvature) > 1.0 / _TURN_RADIUS, np.sign(path.curvature), 0.0)
    way[(path.station < 0.0) | (path.station > path.length)] = 0.0
    borders = np.flatnonzero(np.diff(way)) + 1
    return [
        _Turn(
            start=float(path.station[run[0]]),
            end=float(path.station[run[-1]]),
            radius=1.0 / float(np.max(np.abs(path.curvature[run]))),
            angle=abs(float(path.heading[run[-1]] - path.heading[run[0]])),
        )
        for run in np.split(np.arange(len(way)), borders)
        if way[run[0]] != 0.0
    ]


def _straights(geometry: CourseGeometry, rules: Rules, say: Said) -> list[Finding]:
    path = geometry.path
    straight = np.abs(path.curvature) < 1.0 / _STRAIGHT_RADIUS
    straight &= (path.station >= 0.0) & (path.station <= path.length)
    index = np.flatnonzero(straight)
    turns = _turns(path)
    found = []
    for run in np.split(index, np.flatnonzero(np.diff(index) > 1) + 1):
        if not len(run):
            continue
        start, end = float(path.station[run[0]]), float(path.station[run[-1]])
        after = next((t for t in turns if -1.0 <= t.start - end <= _TURN_FOLLOWS), None)
        before = next((t for t in reversed(turns) if -1.0 <= start - t.end <= _TURN_FOLLOWS), None)
        where = f"feature '{geometry.span_at(end).id}', {say.number(start)} to {say.length(end, 0)} after the start"
        found += _judged_straight(rules, end - start, (before, after), where=where, say=say)
    return found


def _judged_straight(
    rules: Rules, length: float, turns: tuple[_Turn | None, _Turn | None], *, where: str, say: Said
) -> list[Finding]:
    before, after = turns
    sharp = rules.straight_before_sharp_turn
    if sharp is not None and length > sharp and after is not None and _is_sharp(after, rules):
        message = (
            f"A straight of {say.length(length, 0)} ends in a turn of {np.degrees(after.angle):.0f} degrees at "
            f"{say.length(after.radius, 1)} radius; rule set '{rules.name}' allows {say.length(sharp, 1)} before so "
            "sharp a turn."
        )
        return [Finding("warning", "straight-into-sharp-turn", message, where)]
    hairpins = all(t is not None and _is_sharp(t, rules) for t in (before, after))
    limit = rules.straight_between_hairpins if hairpins else rules.straight_elsewhere
    if limit is not None and length > limit:
        ends = "hairpins at both ends" if hairpins else "a wide turn at an end"
        message = (
            f"The straight is {say.length(length, 0)} long; rule set '{rules.name}' allows {say.length(limit, 0)} with "
            f"{ends}."
        )
        return [Finding("warning", "straight-long", message, where)]
    return []


def _is_sharp(turn: _Turn, rules: Rules) -> bool:
    return turn.radius < rules.sharp_turn_radius and turn.angle > rules.sharp_turn_angle


def _turn_sizes(geometry: CourseGeometry, rules: Rules, say: Said) -> list[Finding]:
    """Diameters of hairpins and constant turns by the rule set."""
    found = []
    for span in geometry.spans:
        passes = [p for p in geometry.passes if p.feature == span.id and not p.is_guard]
        where = f"feature '{span.id}'"
        if span.kind is FeatureKind.HAIRPIN and rules.hairpin_diameter is not None:
            found += _judged_hairpin(rules, _outside_diameter(geometry.path, span, passes), where, say)
        elif span.kind is FeatureKind.SWEEPER and rules.turn_diameter is not None:
            stations = [p.station for p in passes]
            ends = geometry.path.at(np.array([min(stations), max(stations)]))
            angle = abs(float(ends.heading[1] - ends.heading[0]))
            if angle > _COUNTS_AS_TURN:
                found += _judged_sweeper(rules, 2.0 * (max(stations) - min(stations)) / angle, where, say)
    return found


def _outside_diameter(path: ReferencePath, span: FeatureSpan, passes: list[PassedCone]) -> float | None:
    """Diameter of the circle through the outer cones of a hairpin; None where it has fewer than three. [m]

    Least squares for x^2 + y^2 = 2 a x + 2 b y + c, which is linear in a, b and c.
    """
    here = (path.station >= span.start) & (path.station <= span.end)
    turned = float(np.sum(np.diff(path.heading[here])))
    outside = np.array([(p.x, p.y) for p in passes if p.side * turned < 0.0 and p.is_standing])
    if len(outside) < 3:
        return None
    middle = outside.mean(axis=0)
    x, y = (outside - middle).T
    (a, b, c), *_ = np.linalg.lstsq(np.column_stack([2 * x, 2 * y, np.ones(len(x))]), x**2 + y**2, rcond=None)
    return float(2.0 * np.sqrt(a**2 + b**2 + c))


def _judged_hairpin(rules: Rules, diameter: float | None, where: str, say: Said) -> list[Finding]:
    wanted = rules.hairpin_diameter or 0.0
    if diameter is None or diameter >= wanted - _FIT:
        return []
    message = (
        f"The hairpin is about {say.length(diameter, 1)} in outside diameter; rule set '{rules.name}' asks for "
        f"{say.length(wanted, 1)}."
    )
    return [Finding("warning", "hairpin-tight", message, where)]


def _judged_sweeper(rules: Rules, diameter: float, where: str, say: Said) -> list[Finding]:
    low, high = rules.turn_diameter or 0.0, rules.turn_diameter_largest or np.inf
    if low - _FIT <= diameter <= high + _FIT:
        return []
    message = (
        f"The turn is about {say.length(diameter, 0)} in diameter; rule set '{rules.name}' asks for "
        f"{say.number(low)} to {say.length(high, 0)}."
    )
    return [Finding("warning", "turn-diameter", message, where)]


def _side_by_side(geometry: CourseGeometry, rules: Rules, say: Said) -> list[Finding]:
    """Passes too close together; and where the course crosses itself."""
    if rules.pass_distance is None:
        return []
    path = geometry.path
    raced = np.flatnonzero((path.station >= 0.0) & (path.station <= path.length))[::4]
    place = np.column_stack([path.x, path.y])[raced]
    pairs = cKDTree(place).query_pairs(rules.pass_distance, output_type="ndarray")
    s = path.station[raced]
    pairs = pairs[np.abs(s[pairs[:, 0]] - s[pairs[:, 1]]) > _ONE_PASS]
    worst: dict[tuple[str, str], tuple[float, int, int]] = {}
    for i, j in np.sort(pairs, axis=1):
        key = (geometry.span_at(float(s[i])).id, geometry.span_at(float(s[j])).id)
        away = float(np.hypot(*(place[i] - place[j])))
        if key not in worst or away < worst[key][0]:
            worst[key] = (away, int(i), int(j))
    found, crossed = [], []
    for key, (away, i, j) in sorted(worst.items(), key=lambda item: item[1]):
        turn = path.heading[raced[j]] - path.heading[raced[i]]
        angle = abs(float((turn + 0.5 * np.pi) % np.pi - 0.5 * np.pi))
        where = f"features '{key[0]}' and '{key[1]}', {say.number(s[i])} and {say.length(s[j], 0)} after the start"
        if away < 1.0 and angle > _CROSSES:
            crossed.append((s[i], s[j]))
            message = f"The course crosses itself at {np.degrees(angle):.0f} degrees; send one car at a time."
            found.append(Finding("note", "course-crosses", message, where))
        elif not any(abs(s[i] - a) < _ONE_PASS and abs(s[j] - b) < _ONE_PASS for a, b in crossed):
            message = (
                f"Two passes are {say.length(away, 1)} apart; rule set '{rules.name}' asks for "
                f"{say.length(rules.pass_distance, 1)}."
            )
            found.append(Finding("warning", "passes-close", message, where))
    return found


def _path_near_obstacles(geometry: CourseGeometry, rules: Rules, say: Said) -> list[Finding]:
    """The path itself, where it swings wide of its cones."""
    if rules.obstacle_distance is None:
        return []
    path = geometry.path
    raced = path.station >= 0.0
    points = shapely.points(path.x[raced], path.y[raced])
    found = []
    for obstacle in geometry.course.site.obstacles:
        away = shapely.distance(points, obstacle_shape(obstacle))
        nearest = int(np.argmin(away))
        if away[nearest] < rules.obstacle_distance:
            message = (
                f"The way through the course passes {say.length(away[nearest], 1)} from {obstacle.kind} "
                f"'{obstacle.id}'; rule set '{rules.name}' asks for {say.length(rules.obstacle_distance)}."
            )
            where = f"{obstacle.kind} '{obstacle.id}', {say.length(path.station[raced][nearest], 0)} after the start"
            found.append(Finding("stop", "path-near-obstacle", message, where))
    return found


def _both(say: Said, digits: int, *speeds: float) -> tuple[str, ...]:
    return tuple(say.speed(speed, digits) for speed in speeds)


def _too_fast(geometry: CourseGeometry, rules: Rules, speed: Array, say: Said) -> list[Finding]:
    raced = (geometry.path.station >= 0.0) & (geometry.path.station <= geometry.path.length)
    at = int(np.argmax(np.where(raced, speed, 0.0)))
    if rules.top_speed is None or speed[at] <= rules.top_speed:
        return []
    told = next((pair for n in (0, 1) if len(set(pair := _both(say, n, float(speed[at]), rules.top_speed))) > 1), None)
    if told is None:  # less than a prediction can say
        return []
    station = float(geometry.path.station[at])
    message = f"The predicted speed reaches {told[0]}; rule set '{rules.name}' allows about {told[1]}."
    where = f"feature '{geometry.span_at(station).id}', {say.length(station, 0)} after the start"
    return [Finding("warning", "speed-high", message, where)]

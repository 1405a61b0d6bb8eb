"""From a course to its geometry: choices of side, the reference path, the cones beside it, the room."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from conewise.course.choices import decided, permitted_choices
from conewise.course.corridor import bounds, friction_along
from conewise.course.geometry import CourseGeometry, FeatureSpan, PassedCone
from conewise.course.passes import NoPathError, ordered_crossings
from conewise.course.path import SHORTEST_RUN_OUT, path_along, path_through
from conewise.course.relaxation import Ends
from conewise.quantities import GRAVITY

if TYPE_CHECKING:
    from collections.abc import Mapping

    from conewise.course.geometry import ReferencePath
    from conewise.course.layout import Cone, Course
    from conewise.course.passes import OrderedPass

__all__ = ["lay_out", "moved", "permitted_choices", "relaid", "with_guards"]

Array = NDArray[np.float64]


_OWN_PASS = 6.0  # a cone belongs to the line's own pass this far before and after its station [m]
_BESIDE = 3.0  # cones of a pass this far before and after another leave the room beside it [m]
_WINDOW = 4.0  # half width of the window in which a cone is projected [m]
_LATEST_BEGIN = 20.0  # a solved line begins before this station [m]
_STICKS_OUT = 0.05  # a pointer this much nearer to the path than its standing cone is passed itself [m]
_LEAST_CLEARANCE = 0.2  # with less between path and cone there is no path [m]


def lay_out(course: Course, *, choices: Mapping[str, str] | None = None) -> CourseGeometry:
    """A course along a smooth reference path that passes every cone on its side.

    Parameters
    ----------
    course : Course
        The course.
    choices : Mapping[str, str] or None
        For either-side features: "left" or "right", the side of the first open cone on which the car goes.
        Features left out take what `permitted_choices` names first.

    Returns
    -------
    CourseGeometry
        Path, cones, bounds, friction, spans.

    Raises
    ------
    NoPathError
        Where no path leads through a feature.
    UnknownChoiceError
        Where a choice is made for a feature that offers none.
    """
    sides = decided(course, choices)
    crossings = ordered_crossings(course, sides)
    run_out = max(SHORTEST_RUN_OUT, course.stop.length if course.stop else 0.0)
    path, near = path_through(crossings, run_out=run_out, source=course.source)
    ordered = [passed for crossing in crossings for passed in crossing.passes]
    passes = _projected(ordered, path, near)
    _refuse_wrong_sides(passes, course)
    passes += _pointers_that_stick_out(course, passes, path)
    return _assembled(course, path, passes, sides)


def relaid(geometry: CourseGeometry, *, x: Array, y: Array) -> CourseGeometry:
    """The same course along a line that was solved.

    Parameters
    ----------
    geometry : CourseGeometry
        As it was solved.
    x, y : Array, shape (n,)
        The solved line from about the start line to about the finish line or beyond. [m]

    Returns
    -------
    CourseGeometry
        With a path along the line, smoothed, the same passes projected anew, new bounds.
    """
    path = _path_along(geometry, np.column_stack([x, y]))
    near = _stations_on(path, geometry)
    places = np.array([(p.x, p.y) for p in geometry.passes])
    station, offset = path.project_all(places, near[:, None] + np.array([-_WINDOW, _WINDOW]))
    passes = [
        replace(passed, station=float(s), offset=float(n))
        for passed, s, n in zip(geometry.passes, station, offset, strict=True)
    ]
    return _assembled(geometry.course, path, passes, geometry.choices)


def moved(geometry: CourseGeometry, course: Course) -> CourseGeometry:
    """The same path with the cones where a course has them now: what a drag needs, so that times compare.

    Parameters
    ----------
    geometry : CourseGeometry
        As it was laid out.
    course : Course
        The same features with the same cones, some of them moved; the site is not looked at again.

    Raises
    ------
    NoPathError
        Where the path passes a standing cone on the wrong side by now, or the features are not the same.
    """
    if [(f.id, f.cone_ids) for f in course.features] != [(f.id, f.cone_ids) for f in geometry.course.features]:
        raise NoPathError(course.features[0].id, reason="the features have changed", source=course.source)
    cones = [course.cones_by_id.get(passed.id) for passed in geometry.passes]
    now = [(p, cone) for p, cone in zip(geometry.passes, cones, strict=True) if cone is not None]
    places = np.array([(cone.x, cone.y) for _, cone in now])
    reach = _WINDOW + np.array([np.hypot(cone.x - p.x, cone.y - p.y) for p, cone in now])
    about = np.array([p.station for p, _ in now])
    station, offset = geometry.path.project_all(places, np.column_stack([about - reach, about + reach]))
    passes = [
        replace(passed, x=cone.x, y=cone.y, station=float(s), offset=float(n))
        for (passed, cone), s, n in zip(now, station, offset, strict=True)
    ]
    _refuse_wrong_sides(passes, course)
    return replace(
        geometry,
        course=course,
        passes=tuple(sorted(passes, key=lambda p: p.station)),
        spans=_spans(course, passes, geometry.path.length),
    )


def with_guards(geometry: CourseGeometry, *, x: Array, y: Array, reach: float, width: float = 0.0) -> CourseGeometry:
    """The same geometry with the cones of other passes that lie within reach of a finished line.

    Parameters
    ----------
    geometry : CourseGeometry
        The course as it was solved.
    x, y : Array, shape (n,)
        The finished line. [m]
    reach : float
        Distance from the line to a cone's centre within which the cone is added. [m]
    width : float, default 0
        What has to fit between a guard and the cones of the pass across from it. [m]

    Returns
    -------
    CourseGeometry
        Each guard is held on the side on which the line has it, on the other where there is no room to pass it so;
        unchanged where nothing is within reach.
    """
    line = np.column_stack([x, y])
    along, _ = _along(geometry.path, line)
    guards = [
        guard
        for cone in geometry.course.cones
        for nearest in _foreign_visits(geometry, cone, line, along, reach=reach)
        if (guard := _guard(geometry, cone, line, nearest, about=float(along[nearest]))) is not None
    ]
    guards = [_with_room(geometry, guard, width) for guard in guards]
    if not guards:
        return geometry
    return replace(geometry, passes=tuple(sorted([*geometry.passes, *guards], key=lambda p: p.station)))


def _foreign_visits(geometry: CourseGeometry, cone: Cone, line: Array, along: Array, *, reach: float) -> list[int]:
    """Points at which the line comes within reach of a cone that is not held off there.

    A pointer is covered by the pass of its standing cone as long as the line is nearer to the standing one.
    """
    away = np.hypot(line[:, 0] - cone.x, line[:, 1] - cone.y)
    foreign = away < reach
    if not foreign.any():
        return []
    own = [p.station for p in geometry.passes if p.id == cone.id]
    covered = [p for p in geometry.passes if p.id == cone.points_to and not p.is_guard]
    for station in own:
        foreign &= np.abs(along - station) > _OWN_PASS
    for standing in covered:
        here = np.abs(along - standing.station) <= _OWN_PASS
        if here.any():
            to_standing = np.min(np.hypot(line[here, 0] - standing.x, line[here, 1] - standing.y))
            if to_standing <= np.min(away[here]):
                foreign &= ~here
    return [int(visit[np.argmin(away[visit])]) for visit in _stretches(foreign)]


def _guard(geometry: CourseGeometry, cone: Cone, line: Array, nearest: int, *, about: float) -> PassedCone | None:
    """A cone of another pass on the side on which the line has it; None where it lies behind the start or finish."""
    ahead = line[min(nearest + 1, len(line) - 1)] - line[max(nearest - 1, 0)]
    left = ahead[0] * (cone.y - line[nearest, 1]) - ahead[1] * (cone.x - line[nearest, 0])
    station, offset = geometry.path.project(cone.x, cone.y, low=about - _WINDOW, high=about + _WINDOW)
    if not 0.0 <= station <= geometry.path.length:
        return None
    return PassedCone(
        id=cone.id,
        feature=geometry.span_at(station).id,
        crossing=-1,
        side=1 if left > 0 else -1,
        x=cone.x,
        y=cone.y,
        radius=0.5 * cone.base,
        station=station,
        offset=offset,
        is_standing=cone.is_standing,
        is_guard=True,
    )


def _with_room(geometry: CourseGeometry, guard: PassedCone, width: float) -> PassedCone:
    """The guard on its side if the car fits between it and the pass's own cones there, else on the roomier one."""

    def room(side: int) -> float:
        facing = [p for p in geometry.passes if p.side == -side and abs(p.station - guard.station) <= _BESIDE]
        return min(
            (side * (guard.offset - p.offset) - p.radius - guard.radius for p in facing), default=float("inf")
        )  # fmt: skip

    keeps = room(guard.side) >= min(width, room(-guard.side))
    return guard if keeps else replace(guard, side=-guard.side)


def _projected(ordered: list[OrderedPass], path: ReferencePath, near: Array) -> list[PassedCone]:
    """Every pass with its station and offset."""
    places = np.array([(p.cone.x, p.cone.y) for p in ordered])
    station, offset = path.project_all(places, near[:, None] + np.array([-_WINDOW, _WINDOW]))
    return [
        _passed(p.cone, p, station=float(s), offset=float(n)) for p, s, n in zip(ordered, station, offset, strict=True)
    ]


def _passed(cone: Cone, passed: OrderedPass | PassedCone, *, station: float, offset: float) -> PassedCone:
    return PassedCone(
        id=cone.id,
        feature=passed.feature,
        crossing=passed.crossing,
        side=passed.side,
        x=cone.x,
        y=cone.y,
        radius=0.5 * cone.base,
        station=station,
        offset=offset,
        is_standing=cone.is_standing,
    )


def _pointers_that_stick_out(course: Course, passes: list[PassedCone], path: ReferencePath) -> list[PassedCone]:
    """Pointers that lie nearer to the path than the standing cone that they belong to."""
    pointers: dict[str, list[Cone]] = {}
    for cone in course.cones:
        if cone.points_to is not None:
            pointers.setdefault(cone.points_to, []).append(cone)
    pairs = [(pointer, passed) for passed in passes for pointer in pointers.get(passed.id, [])]
    if not pairs:
        return []
    about = np.array([passed.station for _, passed in pairs])[:, None]
    places = np.array([(pointer.x, pointer.y) for pointer, _ in pairs])
    station, offset = path.project_all(places, about + np.array([-_WINDOW, _WINDOW]))
    return [
        _passed(pointer, passed, station=float(s), offset=float(n))
        for (pointer, passed), s, n in zip(pairs, station, offset, strict=True)
        if passed.side * n < passed.side * passed.offset - _STICKS_OUT
    ]


def _refuse_wrong_sides(passes: list[PassedCone], course: Course) -> None:
    """A path that cannot keep a standing cone on its side is no path."""
    for passed in passes:
        if passed.is_standing and passed.side * passed.offset < _LEAST_CLEARANCE:
            side = "left" if passed.side > 0 else "right"
            reason = f"cone '{passed.id}' cannot be kept on the driver's {side} together with its neighbours"
            raise NoPathError(passed.feature, reason=reason, source=course.source)


def _assembled(
    course: Course, path: ReferencePath, passes: list[PassedCone], choices: Mapping[str, str]
) -> CourseGeometry:
    n_min, n_max, n_min_kind, n_max_kind = bounds(path, course.site)
    slope = course.site.slope
    pull = -GRAVITY * np.sin(np.arctan(slope.grade))
    return CourseGeometry(
        course=course,
        path=path,
        passes=tuple(sorted(passes, key=lambda p: p.station)),
        n_min=n_min,
        n_max=n_max,
        n_min_kind=n_min_kind,
        n_max_kind=n_max_kind,
        friction=friction_along(path, course.site),
        ground_x=float(pull * np.cos(slope.direction)),
        ground_y=float(pull * np.sin(slope.direction)),
        spans=_spans(course, passes, path.length),
        choices=dict(choices),
    )


def _spans(course: Course, passes: list[PassedCone], length: float) -> tuple[FeatureSpan, ...]:
    """Borders half way between the last cone of a feature and the first of the next."""
    first: dict[str, float] = {}
    last: dict[str, float] = {}
    for passed in passes:
        if not passed.is_guard:
            first[passed.feature] = min(first.get(passed.feature, np.inf), passed.station)
            last[passed.feature] = max(last.get(passed.feature, -np.inf), passed.station)
    ids = [f.id for f in course.features]
    half_way = [0.5 * (last[a] + first[b]) for a, b in pairwise(ids)]
    borders = np.clip(np.maximum.accumulate([0.0, *half_way, length]), 0.0, length)
    return tuple(
        FeatureSpan(id=f.id, kind=f.kind, start=float(borders[k]), end=float(borders[k + 1]))
        for k, f in enumerate(course.features)
    )


def _along(path: ReferencePath, line: Array) -> tuple[Array, Array]:
    """Stations and offsets on the path of a line that runs beside it, followed from point to point."""
    place = np.column_stack([path.x, path.y])
    early = np.flatnonzero(path.station < _LATEST_BEGIN)
    at = int(early[np.argmin(np.sum((place[early] - line[0]) ** 2, axis=1))])
    xs, ys, last = path.x.tolist(), path.y.tolist(), len(place) - 1
    nearest = np.empty(len(line), dtype=np.int64)
    for i, (x, y) in enumerate(line.tolist()):
        away = (xs[at] - x) ** 2 + (ys[at] - y) ** 2
        while at < last and (ahead := (xs[at + 1] - x) ** 2 + (ys[at + 1] - y) ** 2) < away:
            at, away = at + 1, ahead
        nearest[i] = at
    return path.project_all(line, path.station[nearest][:, None] + np.array([-0.5, 0.5]))


def _path_along(geometry: CourseGeometry, line: Array) -> ReferencePath:
    """A smooth path through a solved line."""
    old = geometry.path
    line = line[np.concatenate([[True], np.hypot(*np.diff(line, axis=0).T) > 1e-4])]
    station, offset = _along(old, line)
    inside = (station > 0.0) & (station < old.length)
    lines = old.at(np.array([0.0, old.length]))
    heading = np.column_stack([np.cos(lines.heading), np.sin(lines.heading)])
    shift = np.interp([0.0, old.length], station, offset)[:, None] * np.column_stack([-heading[:, 1], heading[:, 0]])
    begin, end = np.column_stack([lines.x, lines.y]) + shift
    ends = Ends(start=begin, start_direction=heading[0], finish=end, finish_direction=heading[1])
    run_out = float(old.station[-1] - old.length)
    return path_along(np.vstack([begin, line[inside], end]), ends, run_out=run_out)


def _stations_on(path: ReferencePath, geometry: CourseGeometry) -> Array:
    """About where on a new path the passes of an old geometry lie."""
    inside = (path.station >= 0.0) & (path.station <= path.length)
    line = np.column_stack([path.x, path.y])[inside]
    station, _ = _along(geometry.path, line)
    return np.interp([p.station for p in geometry.passes], station, path.station[inside])


def _stretches(mask: NDArray[np.bool_]) -> list[NDArray[np.int64]]:
    """Index runs where a mask holds."""
    index = np.flatnonzero(mask)
    return np.split(index, np.flatnonzero(np.diff(index) > 1) + 1) if len(index) else []

"""Courses from a map of left and right cones along a centre line, as surveyed tracks are often given."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from conewise.course import feature_forms as forms
from conewise.course.layout import Cone, ConePass, Course, CourseFeature, FeatureKind, PassSide
from conewise.errors import InputError

Array = NDArray[np.float64]

_REACH = 1.6  # times the usual distance of cones from the line
_STEP = 0.25  # of the centre line [m]
_ABREAST = 1.0  # a cone this near to a gate along the line is passed with it [m]
_APART = 3.0  # the same cone passed again: at least this far along the line [m]


class ConeMapError(InputError):
    """A map of cones that makes no course."""

    code = "cone-map"
    default_hint = "The centre line runs in driving order between the cones, left ones on its left."

    def __init__(self, problem: str, *, where: str) -> None:
        super().__init__(problem, where=where)


@dataclass(frozen=True, slots=True)
class _Visit:
    """A cone passed by the centre line."""

    cone: str
    station: float
    is_left: bool


def course_of_map(centre: Array, *, left: Array, right: Array, name: str, is_closed: bool) -> Course:
    """Course of the cones on both sides of a centre line.

    Parameters
    ----------
    centre : Array, shape (m, 2)
        Centre line in driving order; its first point lies at the start. [m]
    left, right : Array, shape (n, 2)
        Cones on the driver's left and right; a place listed twice is one cone. [m]
    name : str
        Name of the course.
    is_closed : bool
        Whether the centre line returns to its first point; the course then starts and finishes at one gate.

    Returns
    -------
    Course
        Pairs of a left and a right cone are gates, other cones are single; the line may pass a cone twice.

    Notes
    -----
    A cone farther from the line than 1.6 times the usual distance belongs to another part of the course.

    Raises
    ------
    ConeMapError
        If the line passes fewer than two gates.
    """
    line = np.vstack([centre, centre[:1]]) if is_closed else centre
    cones = {f"l{i}": p for i, p in enumerate(np.unique(left, axis=0), start=1)}
    cones |= {f"r{i}": p for i, p in enumerate(np.unique(right, axis=0), start=1)}
    visits = sorted(_visits(cones, _resampled(line), is_closed=is_closed), key=lambda visit: visit.station)
    crossings = _paired(visits)
    gates = [index for index, crossing in enumerate(crossings) if len(crossing) > 1]
    if len(gates) < 2:
        raise ConeMapError(f"The centre line passes {len(gates)} pairs of cones; two are needed.", where=name)
    before = crossings[: gates[0] + 1] if is_closed else []
    crossings = crossings[gates[0] : None if is_closed else gates[-1] + 1] + before
    return Course(
        name=name,
        cones=tuple(Cone(id=key, x=float(p[0]), y=float(p[1])) for key, p in cones.items()),
        features=_features(crossings),
    )


def _resampled(line: Array) -> Array:
    """The line at even steps, with station and direction: columns x, y, station, cos, sin."""
    steps = np.hypot(*np.diff(line, axis=0).T)
    line, steps = line[np.r_[True, steps > 0.0]], steps[steps > 0.0]
    station = np.r_[0.0, np.cumsum(steps)]
    even = np.linspace(0.0, station[-1], int(station[-1] / _STEP) + 2)
    x, y = np.interp(even, station, line[:, 0]), np.interp(even, station, line[:, 1])
    heading = np.arctan2(np.gradient(y), np.gradient(x))
    return np.column_stack([x, y, even, np.cos(heading), np.sin(heading)])


def _visits(cones: dict[str, Array], line: Array, *, is_closed: bool) -> list[_Visit]:
    """Where the line comes nearest to each cone with the cone on its own side; once for every pass."""
    visits = []
    nearest = [np.min(np.hypot(*(line[:, :2] - place).T)) for place in cones.values()]
    reach = _REACH * float(np.median(nearest))
    for name, place in cones.items():
        is_left = name.startswith("l")
        dx, dy = place[0] - line[:, 0], place[1] - line[:, 1]
        distance = np.hypot(dx, dy)
        offset = dy * line[:, 3] - dx * line[:, 4]
        near = np.flatnonzero((distance <= reach) & ((offset > 0.0) == is_left))
        breaks = np.flatnonzero(np.diff(line[near, 2]) > _APART) + 1
        stretches = np.split(near, breaks) if len(near) else []
        if is_closed and len(stretches) > 1 and near[0] == 0 and near[-1] == len(line) - 1:
            stretches[0] = np.r_[stretches.pop(), stretches[0]]
        for stretch in stretches:
            best = stretch[np.argmin(distance[stretch])]
            visits.append(_Visit(name, float(line[best, 2]), is_left))
    return visits


def _paired(visits: list[_Visit]) -> list[tuple[_Visit, ...]]:
    """Cones that the line passes together: a left and a right one nearest to each other along it, and what is abreast.

    The others are passed alone.
    """
    lefts = [v for v in visits if v.is_left]
    rights = [v for v in visits if not v.is_left]
    gap = np.abs(np.subtract.outer([v.station for v in lefts], [v.station for v in rights]))
    crossings: list[list[_Visit]] = []
    alone: list[_Visit] = []
    for i, visit in enumerate(lefts):
        j = int(np.argmin(gap[i])) if rights else -1
        if j >= 0 and int(np.argmin(gap[:, j])) == i and gap[i, j] < _APART:
            crossings.append([visit, rights[j]])
        else:
            alone.append(visit)
    paired = {id(visit) for crossing in crossings for visit in crossing}
    alone += [visit for visit in rights if id(visit) not in paired]
    middles = np.array([_middle(crossing) for crossing in crossings])
    for visit in alone:
        away = np.abs(middles - visit.station)
        if len(away) and np.min(away) < _ABREAST:
            crossings[int(np.argmin(away))].append(visit)
        else:
            crossings.append([visit])
    return [tuple(sorted(c, key=lambda v: not v.is_left)) for c in sorted(crossings, key=_middle)]


def _middle(crossing: list[_Visit]) -> float:
    """Where the line passes cones together. [m]"""
    return sum(visit.station for visit in crossing) / len(crossing)


def _features(crossings: list[tuple[_Visit, ...]]) -> tuple[CourseFeature, ...]:
    """Start, gates and single cones, finish."""
    counts: dict[FeatureKind, int] = {}
    features = []
    for index, crossing in enumerate(crossings):
        kind = FeatureKind.GATE if len(crossing) > 1 else FeatureKind.CONE
        if index == 0:
            kind = FeatureKind.START
        elif index == len(crossings) - 1:
            kind = FeatureKind.FINISH
        counts[kind] = counts.get(kind, 0) + 1
        passed = tuple(
            ConePass(cone=v.cone, pass_side=PassSide.RIGHT if v.is_left else PassSide.LEFT) for v in crossing
        )
        features.append(CourseFeature(id=forms.feature_id(kind, counts[kind]), kind=kind, crossings=(passed,)))
    return tuple(features)

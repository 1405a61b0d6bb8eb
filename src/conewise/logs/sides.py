"""On which side a run passed every cone, and whether that was the right one."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from conewise.course.layout import PassSide
from conewise.course.passes import decided_sides
from conewise.findings import Finding, Sentence, Value

if TYPE_CHECKING:
    from collections.abc import Mapping

    from conewise.course.geometry import CourseGeometry, PassedCone
    from conewise.course.layout import CourseFeature
    from conewise.logs.follow import Followed
    from conewise.logs.track import Track

Array = NDArray[np.float64]

_SURE = 3.0  # standard deviations by which a cone is on the wrong side; there are dozens of cones in a run
_TOO_VAGUE = 1.0  # a position known to no better than this convicts nobody of a wrong side [m]
_SHORTEST = 3.0  # a feature shorter than this is told by its cones alone [m]
_NEAR_STATION = 2.0  # a station is passed where the car comes this near to it [m]


def passed_wrong(
    track: Track, geometry: CourseGeometry, line: tuple[int, Followed], *, up_to: float
) -> tuple[dict[str, str], list[Finding]]:
    """The side taken at every either-side feature, and findings about cones on the wrong side.

    Parameters
    ----------
    track : Track
    geometry : CourseGeometry
    line : tuple[int, Followed]
        Index of the run's first sample, and the run along the path of the geometry.
    up_to : float
        Station up to which cones are looked at. [m]

    Returns
    -------
    tuple[dict[str, str], list[Finding]]
        Choices as in the course. A "stop" is a cone on the wrong side by more than three standard deviations of a
        position known to a metre, or a feature past which the car was off the course; a "warning" one that is on the
        wrong side by less.
    """
    first, way = line
    reached = min(float(way.station[-1]), up_to)
    room = {
        (p.feature, p.crossing, p.id): _room(track, p, first=first, station=way.station)
        for p in geometry.own_cones()
        if p.station <= reached
    }
    choices, findings = {}, []
    for feature in geometry.course.features:
        mine = {key[1:]: value for key, value in room.items() if key[0] == feature.id}
        if not mine:
            continue
        options = ("left", "right") if feature.is_open else ("left",)
        judged = {side: _wrong(feature, side, mine) for side in options}
        best = min(options, key=lambda side: sum(short for _, short, _ in judged[side]))
        if feature.is_open:
            choices[feature.id] = best
        findings += _findings(feature, judged[best], is_off=_is_off(way, geometry, feature.id))
    return geometry.choices | choices, findings


def as_driven(geometry: CourseGeometry, choices: Mapping[str, str]) -> CourseGeometry:
    """The same course along the same path with the cones of either-side features on the sides that a run took."""
    sides = {
        (feature.id, index, passed.cone): side
        for feature in geometry.course.features
        if feature.is_open
        for index, (crossing, row) in enumerate(
            zip(feature.crossings, decided_sides(feature, choices[feature.id]), strict=True)
        )
        for passed, side in zip(crossing, row, strict=True)
    }
    passes = tuple(replace(p, side=sides.get((p.feature, p.crossing, p.id), p.side)) for p in geometry.passes)
    return replace(geometry, passes=passes, choices=dict(choices))


def _room(track: Track, passed: PassedCone, *, first: int, station: Array) -> tuple[float, float]:
    """Lateral distance of the cone to the left of the car as it passes it, and its standard deviation. [m]"""
    away = np.abs(station - passed.station)
    near = np.flatnonzero(away <= max(_NEAR_STATION, float(away.min())))
    samples = first + near
    dx, dy = passed.x - track.x[samples], passed.y - track.y[samples]
    at = int(samples[np.argmin(np.hypot(dx, dy))])
    heading = track.heading[at]
    across = np.array([-np.sin(heading), np.cos(heading)])
    left = float((np.array([passed.x - track.x[at], passed.y - track.y[at]])) @ across)
    return left, float(np.sqrt(across @ track.position_covariance[at] @ across))


def _wrong(
    feature: CourseFeature, choice: str, room: dict[tuple[int, str], tuple[float, float]]
) -> list[tuple[str, float, float]]:
    """Cones on the wrong side with a choice: id, by how much, standard deviation. [m]"""
    answers = []
    for index, (crossing, sides) in enumerate(zip(feature.crossings, decided_sides(feature, choice), strict=True)):
        for passed, side in zip(crossing, sides, strict=True):
            if (index, passed.cone) in room:
                left, deviation = room[index, passed.cone]
                if side * left < 0.0:
                    answers.append((passed.cone, -side * left, deviation))
    return answers


def _is_off(line: Followed, geometry: CourseGeometry, feature: str) -> bool:
    """Whether the car was off the course for most of a feature that it passed."""
    span = next(s for s in geometry.spans if s.id == feature)
    inside = (line.station > span.start) & (line.station < span.end)
    if line.station[-1] <= span.end or span.end - span.start < _SHORTEST:
        return False
    return not inside.any() or float(np.mean(line.is_near[inside])) < 0.5


def _findings(feature: CourseFeature, wrong: list[tuple[str, float, float]], *, is_off: bool) -> list[Finding]:
    if is_off:
        return [Finding("stop", "feature-missed", f"The car was not where '{feature.id}' is.", feature.id)]
    sides = {p.cone: p.pass_side for crossing in feature.crossings for p in crossing}
    answers = []
    for cone, short, deviation in wrong:
        either = " after the side taken before" if sides[cone] is PassSide.EITHER else ""
        sure = short > _SURE * deviation and deviation <= _TOO_VAGUE
        message = Sentence(
            f"Cone '{{}}' was passed on the wrong side{either} by {{}}; the position is known to {{}}.",
            cone, Value(short, "length", 1), Value(deviation, "length", 1),
        )  # fmt: skip
        answers.append(
            Finding("stop" if sure else "warning", "wrong-side" if sure else "side-unsure", message, feature.id)
        )
    return answers

"""A course while somebody draws it: the list in driving order in words, the way, and what is found, for any content.

Nothing is stored here; `course_book` does that.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

import numpy as np
from numpy.typing import NDArray
from pydantic import Field

from conewise.course import acts, checks, cone_acts
from conewise.course.as_notes import course_notes
from conewise.course.reference import lay_out
from conewise.course.walk_layout import GATE_WIDTH
from conewise.errors import InfeasibleError
from conewise.findings import has_stop
from conewise.records import Record
from conewise.reports.course_words import cone_words, feature_words

if TYPE_CHECKING:
    from collections.abc import Callable

    from conewise.course.geometry import CourseGeometry
    from conewise.course.layout import Course
    from conewise.course.rules import Rules
    from conewise.findings import Finding
    from conewise.quantities import System

Array = NDArray[np.float64]

_STEP = 1.0  # between points of the way that is drawn [m]
_MOST_TURN = 6.3  # [rad]

ActKind = Literal[
    "add", "remake", "remove", "move", "repeat", "mirror", "place", "sides", "add-cone", "remove-cone", "pointer"
]


class Act(Record):
    """One thing that somebody does to a course.

    entry: id of the feature; for `add` the one after which something comes. cone: id, where the act is about one.
    words: walk notes, for `add` and `remake`. to: place in driving order, from 0, for `move`. first: the driver's side
    of the first cone, for `sides`. forward, left, turn: for `place`, as seen from the entry's beginning. follow:
    whether what comes after moves along. gate_width: where words name none.
    """

    kind: ActKind
    entry: str = ""
    cone: str = ""
    words: str = Field(default="", max_length=2000)
    to: int = 0
    first: cone_acts.Side = "left"
    forward: float = Field(default=0.0, ge=-5000.0, le=5000.0)  # [m]
    left: float = Field(default=0.0, ge=-5000.0, le=5000.0)  # [m]
    turn: float = Field(default=0.0, ge=-_MOST_TURN, le=_MOST_TURN)  # [rad]
    follow: bool = True
    gate_width: float = Field(default=GATE_WIDTH, gt=0.0, le=100.0)  # [m]


_ACTS: dict[ActKind, Callable[[Course, Act], Course]] = {
    "add": lambda course, a: acts.add(course, a.entry, a.words, follow=a.follow, gate_width=a.gate_width),
    "remake": lambda course, a: acts.remake(course, a.entry, a.words, follow=a.follow, gate_width=a.gate_width),
    "remove": lambda course, a: acts.remove(course, a.entry, follow=a.follow),
    "move": lambda course, a: acts.move(course, a.entry, a.to),
    "repeat": lambda course, a: acts.repeat(course, a.entry, follow=a.follow),
    "mirror": lambda course, a: acts.mirror(course, a.entry, follow=a.follow),
    "place": lambda course, a: acts.place(course, a.entry, (a.forward, a.left, a.turn), follow=a.follow),
    "sides": lambda course, a: cone_acts.sides(course, a.entry, a.first),
    "add-cone": lambda course, a: cone_acts.add_cone(course, a.entry),
    "remove-cone": lambda course, a: cone_acts.remove_cone(course, a.cone),
    "pointer": lambda course, a: cone_acts.pointer(course, a.cone),
}


def changed(course: Course, act: Act) -> Course:
    """The course after an act.

    Raises
    ------
    EntryUnknownError, ActRefusedError
        If the act names what is not there, or makes no sense for it.
    WalkNoteError, WalkError
        If its words are not understood or cannot be laid out.
    LayoutError
        If the course would contradict itself.
    """
    return _ACTS[act.kind](course, act)


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One line of the list: a feature in driving order."""

    number: int  # from 1
    id: str
    kind: str
    words: str  # what stands there
    note: str  # the same as one notes it on a walk, from the end of the entry before
    start: float | None  # station where it begins; None where no path leads through [m]
    length: float | None  # [m]
    cones: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """A finding with what it is about."""

    finding: Finding
    entries: tuple[str, ...]
    cones: tuple[str, ...]
    others: tuple[str, ...]  # obstacles

    def as_dict(self) -> dict[str, Any]:
        """For JSON."""
        found = self.finding
        return {
            "severity": found.severity,
            "code": found.code,
            "message": found.message,
            "where": found.where,
            "entries": list(self.entries),
            "cones": list(self.cones),
            "obstacles": list(self.others),
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """A course with everything that a page shows of it."""

    course: Course
    entries: tuple[Entry, ...]
    findings: tuple[Placed, ...]
    path: Array  # points of the reference path, shape (n, 2); through the crossings where there is no path [m]
    length: float | None  # start to finish; None where no path leads through [m]

    @property
    def may_run(self) -> bool:
        """Whether no finding says stop. Officials and the event's rule book decide."""
        return not has_stop([placed.finding for placed in self.findings])

    def as_dict(self) -> dict[str, Any]:
        """For JSON; `course` is the record itself, in metres and radians."""
        return {
            "course": self.course.model_dump(mode="json"),
            "entries": [
                {
                    "number": e.number,
                    "id": e.id,
                    "kind": e.kind,
                    "words": e.words,
                    "note": e.note,
                    "start_m": e.start,
                    "length_m": e.length,
                    "cones": list(e.cones),
                }
                for e in self.entries
            ],
            "cone_words": cone_words(self.course),
            "findings": [placed.as_dict() for placed in self.findings],
            "may_run": self.may_run,
            "path_m": np.round(self.path, 2).tolist(),
            "length_m": self.length,
        }


def drawn(course: Course, *, system: System = "metric", rules: Rules | None = None) -> Drawn:
    """Everything that a page shows of a course, whether it is stored or not.

    Parameters
    ----------
    course : Course
    system : str, default "metric"
        Units of the lengths in the words.
    rules : Rules, optional
        Limits; those that the course names where left out.
    """
    geometry = _laid_out(course)
    spans = {span.id: span for span in geometry.spans} if geometry else {}
    entries = []
    for number, (feature, note) in enumerate(zip(course.features, course_notes(course), strict=True), start=1):
        span = spans.get(feature.id)
        entries.append(
            Entry(
                number=number,
                id=feature.id,
                kind=feature.kind.value,
                words=feature_words(course, feature, system=system),
                note=note,
                start=span.start if span else None,
                length=span.end - span.start if span else None,
                cones=feature.cone_ids,
            )
        )
    return Drawn(
        course=course,
        entries=tuple(entries),
        findings=tuple(_placed(found, course) for found in checks.check(course, geometry, rules=rules, system=system)),
        path=_path(course, geometry),
        length=geometry.path.length if geometry else None,
    )


def path_points(course: Course) -> Array:
    """Points of a course's path, shape (n, 2); through the middles of its crossings where there is none. [m]"""
    return _path(course, _laid_out(course))


def _laid_out(course: Course) -> CourseGeometry | None:
    try:
        return lay_out(course)
    except InfeasibleError:
        return None


def _path(course: Course, geometry: CourseGeometry | None) -> Array:
    """Points of the path; the middles of the crossings where there is none. [m]"""
    if geometry is None:
        return np.array(
            [
                np.mean([(course.cone(p.cone).x, course.cone(p.cone).y) for p in crossing], axis=0)
                for feature in course.features
                for crossing in feature.crossings
            ]
        )
    length = geometry.path.length
    points = geometry.path.at(np.append(np.arange(0.0, length, _STEP), length))
    return np.column_stack([points.x, points.y])


def _placed(finding: Finding, course: Course) -> Placed:
    """A finding with the entries, cones and obstacles that its place names."""
    named = re.findall(r"'([^']*)'", finding.where)
    features = {feature.id: feature for feature in course.features}
    entries = [name for name in named if name in features]
    cones = [name for name in named if name in course.cones_by_id]
    pair = re.search(r"cones (\d+) and (\d+)", finding.where)
    if pair and entries:
        crossings = features[entries[0]].crossings
        cones += [p.cone for n in pair.groups() if int(n) <= len(crossings) for p in crossings[int(n) - 1]]
    if not named and finding.where in features:
        entries = [finding.where]
    others = [obstacle.id for obstacle in course.site.obstacles if obstacle.id in named]
    return Placed(finding=finding, entries=tuple(entries), cones=tuple(cones), others=tuple(others))

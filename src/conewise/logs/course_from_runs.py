"""A course from recorded runs: the path in the middle of what was driven, the room used, and cones to stand for it."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import maximum_filter1d

from conewise.course import feature_forms as forms
from conewise.course.layout import CONE_BASE, Cone, ConePass, Course, CourseFeature, FeatureKind, PassSide
from conewise.course.path import path_along
from conewise.course.relaxation import Ends
from conewise.errors import InfeasibleError
from conewise.findings import Finding, Sentence, Value
from conewise.logs.align import laid_along, station_grid
from conewise.logs.crossing import FRONT_REACH
from conewise.logs.repeated import repeated_path
from conewise.logs.run_finder import STAGING, find_runs
from conewise.logs.stretches import Stretch, stretches

if TYPE_CHECKING:
    from collections.abc import Sequence

    from conewise.course.geometry import ReferencePath
    from conewise.logs.track import Track
    from conewise.runs import Trace

Array = NDArray[np.float64]

HALF_WIDTH = 0.9  # of a car that is not known [m]; common practice, no source
LEAST_ROOM = 0.3  # to either side of the middle, where the runs all went one way [m]; common practice, no source
SPREAD = 4.0  # length over which the room is the widest that was used [m]
STRAIGHT_GATES = 20.0  # gates on a straight are at most this far apart [m]
BEND_GATES = 8.0  # in a bend [m]
CONE_DOUBT = 0.4  # how far a driver stays off a cone, one standard deviation [m]; common practice, no source
_RUN_OUT = 30.0  # [m]
_DOUBTFUL = 0.5  # a position known to less makes a doubtful corridor [m]


class NothingDrivenError(InfeasibleError):
    """Recordings without a run from which a course could be made."""

    code = "nothing-driven"
    default_hint = "Give recordings with at least one run: standing, a launch, 60 m or more, and a stop."

    def __init__(self, n_recordings: int) -> None:
        super().__init__(
            f"There is no finished run in {n_recordings} recording{'s' * (n_recordings != 1)}.", where="recordings"
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class DrivenCourse:
    """A course as it was driven. Arrays have shape (n_stations,).

    course: gates and slalom cones that stand for the room that was used, not for cones that were seen
    path: the middle of the lines driven
    station: along the path [m]
    n_min, n_max: offsets between which the centres of the cars were [m]
    traces: the runs along the path
    """

    course: Course
    path: ReferencePath
    station: Array
    n_min: Array
    n_max: Array
    traces: tuple[Trace, ...]
    findings: tuple[Finding, ...] = field(default=())

    @property
    def summary(self) -> str:
        """The course in a sentence."""
        kinds = Counter(str(f.kind.value) for f in self.course.features[1:-1])
        parts = ", ".join(f"{count} {kind}{'s' * (count != 1)}" for kind, count in kinds.items())
        width = float(np.median(self.n_max - self.n_min))
        runs = f"{len(self.traces)} run{'s' * (len(self.traces) != 1)}"
        return f"{self.path.length:.0f} m from {runs}: {parts or 'no feature'}; the lines are {width:.1f} m apart."


def course_from_runs(
    tracks: Sequence[Track], *, name: str, half_width: float = HALF_WIDTH, front_reach: float = FRONT_REACH
) -> DrivenCourse:
    """The course that one or more drivers drove.

    Parameters
    ----------
    tracks : Sequence[Track]
        In one plane.
    name : str
        Of the course.
    half_width : float, default 0.9
        Of the widest of the cars. [m]
    front_reach : float, default 1.9
        [m]

    Returns
    -------
    DrivenCourse

    Raises
    ------
    NothingDrivenError
        Where no run is found.

    Notes
    -----
    The path is the median of the lines. Between the lines farthest to either side a car has been, so that no cone
    stands there; cones are put half a car beside them. Where a bend follows a bend to the other side and again, the
    inside of each is a slalom cone; other bends are bounded by gates. The real cones stand up to a driver's margin
    nearer.
    """
    paths = [path for track in tracks if (path := repeated_path(track, ahead=STAGING + front_reach)) is not None]
    found = [_runs_along(tracks, path, front_reach) for path in paths]
    best = max(range(len(found)), key=lambda k: len(found[k]), default=None)
    if best is None or not found[best]:
        raise NothingDrivenError(len(tracks))
    path = _middle(paths[best], found[best])
    traces = _runs_along(tracks, path, front_reach) or found[best]
    offsets = np.array([trace.lateral_offset for trace in traces])
    size = max(int(SPREAD / float(np.diff(traces[0].station)[0])), 1)
    n_max = maximum_filter1d(np.maximum(offsets.max(axis=0), LEAST_ROOM), size)
    n_min = -maximum_filter1d(np.maximum(-offsets.min(axis=0), LEAST_ROOM), size)
    doubt = float(np.mean([trace.lateral_offset_deviation.mean() for trace in traces]))
    station = traces[0].station
    builder = _Builder(path=path, station=station, low=n_min - half_width, high=n_max + half_width, doubt=doubt)
    return DrivenCourse(
        course=builder.course(name),
        path=path,
        station=station,
        n_min=n_min,
        n_max=n_max,
        traces=tuple(traces),
        findings=_findings(traces, doubt, name),
    )


def _runs_along(tracks: Sequence[Track], path: ReferencePath, front_reach: float) -> list[Trace]:
    """Every finished run of every track along one path."""
    return [
        laid_along(track, run, name=f"recording {i + 1}, run {run.number}")
        for i, track in enumerate(tracks)
        for run in find_runs(track, path, front_reach=front_reach)
        if run.kind == "complete"
    ]


def _middle(path: ReferencePath, traces: list[Trace]) -> ReferencePath:
    """The path along the median of the lines."""
    grid = station_grid(path.length)
    offset = np.median([np.interp(grid, t.station, t.lateral_offset) for t in traces], axis=0)
    points, ends = path.at(grid), path.at(np.array([0.0, path.length]))
    left = np.column_stack([-np.sin(points.heading), np.cos(points.heading)])
    line = np.column_stack([points.x, points.y]) + offset[:, None] * left
    ahead = np.column_stack([np.cos(ends.heading), np.sin(ends.heading)])
    return path_along(
        line,
        Ends(start=line[0], start_direction=ahead[0], finish=line[-1], finish_direction=ahead[1]),
        run_out=_RUN_OUT,
    )


def _findings(traces: list[Trace], doubt: float, name: str) -> tuple[Finding, ...]:
    answers = []
    if len(traces) == 1:
        message = "One run shows one line; the room beside it is a guess. Add runs of other drivers."
        answers.append(Finding("warning", "corridor-from-one-run", message, name))
    if doubt > _DOUBTFUL:
        words = "Positions are known to {}; the corridor is as unsure, and wider than what was driven."
        message = Sentence(words, Value(doubt, "length", 1))
        answers.append(Finding("warning", "corridor-unsure", message, name))
    return tuple(answers)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Builder:
    """Puts cones beside a path. `low` and `high` are the sides of the cars that went farthest out, on `station`."""

    path: ReferencePath
    station: Array
    low: Array
    high: Array
    doubt: float
    cones: list[Cone] = field(default_factory=list)
    features: list[CourseFeature] = field(default_factory=list)

    def course(self, name: str) -> Course:
        """Start, what lies between, finish."""
        self._add(FeatureKind.START, [self._gate(0.0)])
        last = 0.0
        for stretch in stretches(self.path):
            self._straight(last, stretch.start)
            self._bend(stretch)
            last = stretch.end
        self._straight(last, self.path.length)
        self._add(FeatureKind.FINISH, [self._gate(self.path.length)])
        return Course(name=name, cones=tuple(self.cones), features=tuple(self.features), staging=STAGING)

    def _straight(self, start: float, end: float) -> None:
        count = int(np.ceil((end - start) / STRAIGHT_GATES)) - 1
        for at in np.linspace(start, end, count + 2)[1:-1] if count > 0 else ():
            self._add(FeatureKind.GATE, [self._gate(float(at))])

    def _bend(self, stretch: Stretch) -> None:
        if stretch.kind is FeatureKind.SLALOM:
            row = zip(stretch.apexes, stretch.sides, strict=True)
            self._add(stretch.kind, [(self._cone(apex, side),) for apex, side in row])
            return
        count = max(int(np.ceil((stretch.end - stretch.start) / BEND_GATES)), 2)
        places = np.linspace(stretch.start, stretch.end, count + 1)
        inside = places[(places > BEND_GATES / 2.0) & (places < self.path.length - BEND_GATES / 2.0)]
        self._add(stretch.kind, [self._gate(float(at)) for at in inside])

    def _gate(self, at: float) -> tuple[ConePass, ...]:
        return self._cone(at, 1), self._cone(at, -1)

    def _cone(self, at: float, side: int) -> ConePass:
        """A cone on the driver's left (+1) or right (-1), outside of every car that passed."""
        centre = self.station - self.station[0]  # the grid runs from beam to beam
        offset = float(np.interp(at, centre, self.high if side > 0 else self.low)) + side * CONE_BASE / 2.0
        point = self.path.at(np.array([at]))
        cone = Cone(
            id=f"{len(self.cones) + 1}",
            x=round(float(point.x[0] - offset * np.sin(point.heading[0])), 3),
            y=round(float(point.y[0] + offset * np.cos(point.heading[0])), 3),
            position_sd=round(float(np.hypot(self.doubt, CONE_DOUBT)), 2),
        )
        self.cones.append(cone)
        return ConePass(cone=cone.id, pass_side=PassSide.RIGHT if side > 0 else PassSide.LEFT)

    def _add(self, kind: FeatureKind, crossings: list[tuple[ConePass, ...]]) -> None:
        if crossings:
            number = sum(f.kind is kind for f in self.features) + 1
            self.features.append(
                CourseFeature(id=forms.feature_id(kind, number), kind=kind, crossings=tuple(crossings))
            )

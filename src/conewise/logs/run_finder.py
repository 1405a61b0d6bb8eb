"""The runs in a day's recording: where they start and end, what became of them, and their times."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import NDArray

from conewise.course.geometry import ReferencePath
from conewise.findings import Finding, Sentence, Value
from conewise.logs.crossing import (
    FRONT_DEVIATION,
    FRONT_REACH,
    finish_crossing,
    front_of,
    rolling_crossing,
    start_crossing,
)
from conewise.logs.follow import DrivenLine, followed, match
from conewise.logs.lost import LEAVING, guessed_features, lost_in_run, words_of
from conewise.logs.repeated import STANDSTILL, is_launch, repeated_path
from conewise.logs.sides import passed_wrong

if TYPE_CHECKING:
    from conewise.course.geometry import CourseGeometry
    from conewise.logs.crossing import Crossing
    from conewise.logs.follow import Followed, Match
    from conewise.logs.track import Track

Array = NDArray[np.float64]
Kind = Literal["complete", "aborted", "wrong-course", "positions-lost"]

SHORTEST_STAND = 1.0  # before a launch [s]
LONGEST_STOP = 5.0  # a car that stands longer on the course has given up its run; common practice, no source [s]
_LINE = 6.0  # half length of the start and finish lines, where no gate tells it [m]
_STAGED = 11.0  # the front of a staged car is at most this far before the beam [m]
_ABREAST = np.radians(60.0)  # a car that crosses a line at more than this to the path does not cross it
_DETOUR = 1.6  # a run is at most this much longer than the path
_LOST = 2.0  # mean cost of a metre that is no run any more
LEAST_TRY = 15.0  # a try gets at least this far [m]
STAGING = 0.3  # front of the car to the start line, where no course tells it; common practice, no source [m]
_CLOSE = 0.8  # share of the path near which a run must be, or it is on another course


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundRun:
    """One try at the course.

    number: in the order of the recording, from 1
    kind: "complete" (beam to beam on the course), "aborted" (did not reach the finish), "wrong-course" (a cone on the
        wrong side or a feature missed) or "positions-lost" (for a part of it nobody knows where the car was)
    start, finish: when the beams were cut; no finish where it was not reached, or either was not seen
    furthest: station up to which the run was on the course [m]
    path: the reference path along which it was followed
    choices: side taken at each either-side feature, as in the course
    guessed: ids of the features where positions were lost
    repeats: number of the aborted run before it, which this one may repeat; None otherwise
    samples: of the track, from the start to the finish or to where the run was given up
    """

    number: int
    kind: Kind
    start: Crossing
    finish: Crossing | None
    furthest: float
    path: ReferencePath
    front_reach: float
    choices: dict[str, str]
    samples: slice
    guessed: frozenset[str] = frozenset()
    repeats: int | None = None
    findings: tuple[Finding, ...] = ()

    @property
    def time(self) -> float | None:
        """Beam to beam; None where the finish was not reached. [s]"""
        return None if self.finish is None else self.finish.time - self.start.time

    @property
    def time_deviation(self) -> float | None:
        """Standard deviation of the time; the two crossings are taken as independent. [s]"""
        return None if self.finish is None else float(np.hypot(self.start.deviation, self.finish.deviation))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Try:
    """Where a try may begin: the sample, and whether the car stood there."""

    sample: int
    is_launch: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class _Place:
    """The course as the finder sees it."""

    path: ReferencePath
    geometry: CourseGeometry | None
    staging: float
    front_reach: float
    front_deviation: float

    @classmethod
    def of(cls, course: CourseGeometry | ReferencePath, front: tuple[float, float]) -> _Place:
        """A course, or a path alone; with the reach to the front of the car and its deviation."""
        reach, deviation = front
        if isinstance(course, ReferencePath):
            path, geometry, staging = course, None, STAGING
        else:
            path, geometry, staging = course.path, course, course.course.staging
        return cls(path=path, geometry=geometry, staging=staging, front_reach=reach, front_deviation=deviation)

    def half_width(self, station: float) -> float:
        """Of the gate at a line. [m]"""
        passes = self.geometry.passes if self.geometry else ()
        offsets = [abs(p.offset) for p in passes if abs(p.station - station) < 1.0 and not p.is_guard]
        return max(offsets, default=_LINE)


def find_runs(
    track: Track,
    course: CourseGeometry | ReferencePath | None = None,
    *,
    front_reach: float = FRONT_REACH,
    front_deviation: float = FRONT_DEVIATION,
) -> tuple[FoundRun, ...]:
    """The tries at a course in a recording, in order.

    Parameters
    ----------
    track : Track
        In the plane of the course; see `placement` for one that is not.
    course : CourseGeometry or ReferencePath, optional
        A path alone tells no cone; without it the path that the recording repeats from standstill is the course.
    front_reach : float, default 1.9
        Reference point of the track to the front of the car, which cuts the beams. [m]
    front_deviation : float, default 0.1
        Its standard deviation. [m]

    Returns
    -------
    tuple[FoundRun, ...]
        Empty where there is none.
    """
    if course is None:
        course = repeated_path(track, ahead=STAGING + front_reach)
    if course is None or track.time.size < 3:
        return ()
    place = _Place.of(course, (front_reach, front_deviation))
    found: list[FoundRun] = []
    free_from = 0
    for attempt in _tries(track, place):
        if attempt.sample < free_from:
            continue
        run = _run(track, place, attempt)
        if run is None:
            continue
        before = found[-1] if found else None
        found.append(_numbered(run, len(found) + 1, before))
        free_from = run.samples.stop
    return tuple(found)


def starts_seen(track: Track, geometry: CourseGeometry, *, front_reach: float = FRONT_REACH) -> tuple[int, ...]:
    """Samples at which a try may begin: launches near the start line, and crossings of it at speed."""
    if track.time.size < 3:
        return ()
    place = _Place.of(geometry, (front_reach, FRONT_DEVIATION))
    return tuple(attempt.sample for attempt in _tries(track, place))


def _numbered(run: FoundRun, number: int, before: FoundRun | None) -> FoundRun:
    if before is None or before.kind != "aborted":
        return replace(run, number=number)
    words = f"Run {before.number} was given up at {{}}; this may be its re-run."
    message = Sentence(words, Value(before.furthest, "length"))
    finding = Finding("note", "run-repeats", message, f"run {number}")
    return replace(run, number=number, repeats=before.number, findings=(*run.findings, finding))


def standing_until(track: Track) -> list[int]:
    """Indices of the last samples of every standstill of a second or more that ends in motion."""
    still = np.concatenate([[False], track.speed < STANDSTILL, [False]])
    change = np.flatnonzero(np.diff(still.astype(np.int8)))
    begins, ends = change[::2], change[1::2] - 1
    return [
        int(end)
        for begin, end in zip(begins, ends, strict=True)
        if track.time[end] - track.time[begin] >= SHORTEST_STAND and end < track.time.size - 1
    ]


def _tries(track: Track, place: _Place) -> list[_Try]:
    """Launches near the start line, and crossings of it at speed, in order."""
    everything = slice(0, track.time.size)
    beam = place.path.at(np.array([0.0]))
    cos, sin = float(np.cos(beam.heading[0])), float(np.sin(beam.heading[0]))
    front = front_of(track, place.path, everything, station=0.0, front_reach=place.front_reach)
    across = (track.y - beam.y) * cos - (track.x - beam.x) * sin
    unsure = 3.0 * np.sqrt(np.trace(track.position_covariance, axis1=1, axis2=2) / 2.0)
    abreast = np.abs(across) < place.half_width(0.0) + unsure
    ahead = np.abs((track.heading - beam.heading + np.pi) % (2.0 * np.pi) - np.pi) < _ABREAST
    lookahead = int(2.0 / np.median(np.diff(track.time)))
    launches = [
        k
        for k in standing_until(track)
        if abreast[k]
        and -_STAGED - unsure[k] < front[k] < 2.0 + unsure[k]
        and ahead[min(k + lookahead, ahead.size - 1)]
    ]
    launches = _last_of_each(track, launches)
    cuts = np.flatnonzero((front[:-1] < 0.0) & (front[1:] >= 0.0) & abreast[1:] & ahead[1:]) + 1
    moving = [
        int(k) for k in cuts if track.speed[k] > STANDSTILL and not any(_soon(track, n, int(k)) for n in launches)
    ]
    tries = [_Try(sample=k, is_launch=True) for k in launches]
    tries += [_Try(sample=max(k - 1, 0), is_launch=False) for k in moving]
    return sorted(tries, key=lambda attempt: attempt.sample)


def _last_of_each(track: Track, launches: list[int]) -> list[int]:
    """Launches without those after which the car only rolled up to its staging place and stood again."""
    if not launches:
        return []
    driven = DrivenLine.of(track, slice(0, track.time.size)).distance[launches]
    is_last = np.append(np.diff(driven) > _STAGED + 3.0, True)
    return [launch for launch, last in zip(launches, is_last, strict=True) if last]


def _soon(track: Track, launch: int, sample: int) -> bool:
    """Whether a crossing follows a launch so closely that it belongs to it."""
    return bool(0.0 <= track.time[sample] - track.time[launch] < 15.0)


def _run(track: Track, place: _Place, attempt: _Try) -> FoundRun | None:
    """The run that begins with a try; None where it is none."""
    start = _start(track, place, attempt)
    if start is None:
        return None
    first = int(np.searchsorted(track.time, start.time))
    stretch = slice(first, _end(track, place, first))
    if stretch.stop - stretch.start < 3:
        return None
    driven = DrivenLine.of(track, stretch)
    found = match(place.path, driven, begin=-place.front_reach)
    line = followed(place.path, driven, found=found, end=_finished(found, place) or _given_up(found))
    finish = finish_crossing(
        track,
        first=first,
        station=line.station,
        line=(
            place.path.length - place.front_reach,
            float(place.path.at(np.array([place.path.length])).heading[0]),
        ),
        front_deviation=place.front_deviation,
    )
    on_course = line.station[line.is_near]
    furthest = float(on_course.max()) + place.front_reach if on_course.size else 0.0
    is_try = attempt.is_launch and furthest >= LEAST_TRY and is_launch(track, slice(attempt.sample, stretch.stop))
    if finish is None and not is_try:
        return None
    return _judged(track, place, attempt, start=start, line=(first, line), finish=finish)


def _start(track: Track, place: _Place, attempt: _Try) -> Crossing | None:
    if attempt.is_launch:
        return start_crossing(
            track,
            path=place.path,
            launch=attempt.sample,
            staging=place.staging,
            front_reach=place.front_reach,
            front_deviation=place.front_deviation,
        )
    return rolling_crossing(
        track,
        path=place.path,
        sample=attempt.sample + 1,
        front_reach=place.front_reach,
        front_deviation=place.front_deviation,
    )


def _end(track: Track, place: _Place, first: int) -> int:
    """Index behind the last sample that may belong to a run: it stops for long, or has driven too far."""
    time, speed = track.time[first:], track.speed[first:]
    driven = np.concatenate([[0.0], np.cumsum(np.diff(time) * speed[1:])])
    too_far = int(np.searchsorted(driven, _DETOUR * place.path.length + 50.0))
    still = speed < STANDSTILL
    since = np.maximum.accumulate(np.where(still, 0, np.arange(still.size)))
    stopped = np.flatnonzero(still & (time - time[since] > LONGEST_STOP))
    stop = int(since[stopped[0]]) + 2 if stopped.size else still.size
    return first + min(too_far, stop, still.size)


def _finished(found: Match, place: _Place) -> tuple[int, int] | None:
    """Metre and station index a little behind the finish, at the first metre at which the run can have got there."""
    target = int(np.argmin(np.abs(found.stations - (place.path.length + 2.0 - place.front_reach))))
    cost = found.cost[:, target] / np.maximum(found.driven, 1.0)
    there = np.flatnonzero(
        (found.place_cost[:, target] < 1.0) & (cost < _LOST) & (found.driven > 0.4 * place.path.length)
    )
    if not there.size:
        return None
    within = there[there <= there[0] + 5]
    return int(within[np.argmin(cost[within])]), target


def _given_up(found: Match) -> tuple[int, int]:
    """Metre and station index of the last place on the course that the cheapest way reaches."""
    last = len(found.driven) - 1
    way = found.way_to(last, int(np.argmin(found.cost[last])))
    on_course = np.flatnonzero(found.place_cost[np.arange(last + 1), way] < 4.0)
    metre = int(on_course[-1]) if on_course.size else 0
    return metre, int(way[metre])


def _judged(
    track: Track, place: _Place, attempt: _Try, *, start: Crossing, line: tuple[int, Followed], finish: Crossing | None
) -> FoundRun:
    """The run with its kind and the reasons for it; its first sample and its line are given together."""
    first, way = line
    findings: list[Finding] = []
    choices: dict[str, str] = {}
    furthest = min(float(way.station[way.is_near].max()) + place.front_reach, place.path.length)
    lost = lost_in_run(track, first=first, way=way)
    loose = tuple(one for one in lost if not one.lost.is_bridged)
    guessed = guessed_features(place.geometry, loose) if place.geometry else frozenset[str]()
    is_seen = not any(one.lost.begin < beam.time < one.lost.end for one in loose for beam in (start, finish) if beam)
    ended = finish is not None or any(one.holds(furthest, after=LEAVING) for one in loose)
    finish = finish if is_seen else None
    kind: Kind = "positions-lost" if loose and ended else "complete" if finish else "aborted"
    if place.geometry is not None:
        reached = np.inf if finish else furthest - LEAVING
        choices, wrong = passed_wrong(track, place.geometry, line, up_to=reached)
        wrong = [finding for finding in wrong if finding.where not in guessed]
        findings += wrong
        if any(finding.severity == "stop" for finding in wrong):
            kind = "wrong-course"
    elif finish and not loose and float(np.mean(way.is_near)) < _CLOSE:
        kind = "wrong-course"
    findings += [words_of(one, start.time, _where(place, one.first), is_timed=finish is not None) for one in lost]
    if kind == "aborted" or (finish is None and kind == "wrong-course"):
        message = Sentence("The run ends at {} of {}.", Value(furthest, "length"), Value(place.path.length, "length"))
        findings.append(Finding("note", "run-aborted", message, _where(place, furthest)))
    findings += _start_findings(attempt, start, place)
    last = finish.time if finish else float(track.time[first + way.station.size - 1])
    return FoundRun(
        number=0,
        kind=kind,
        start=start,
        finish=finish,
        furthest=furthest,
        path=place.path,
        front_reach=place.front_reach,
        choices=choices,
        guessed=guessed,
        samples=slice(first, int(np.searchsorted(track.time, last)) + 1),
        findings=tuple(findings),
    )


def _where(place: _Place, station: float) -> str:
    return place.geometry.span_at(station).id if place.geometry else f"station {station:.0f} m"


def _start_findings(attempt: _Try, start: Crossing, place: _Place) -> list[Finding]:
    if not attempt.is_launch:
        message = "The car did not stand before the start; the start time comes from the position alone."
        return [Finding("note", "rolling-start", message, "start")]
    if place.geometry is not None and abs(start.ahead) > 3.0 * start.ahead_deviation:
        message = Sentence(
            f"By its position the car stood {{}} {'ahead of' if start.ahead > 0 else 'behind'} the staging place {{}} "
            "before the beam; expected within {}.",
            Value(abs(start.ahead), "length", 1),
            Value(place.staging, "length", 1),
            Value(3.0 * start.ahead_deviation, "length", 1),
        )
        return [Finding("warning", "staged-elsewhere", message, "start")]
    return []

"""Where a recording lies on a course: turn and shift for one without an anchor, a shift for the receiver's bias.

The car was on the course, near its path, and did not go through the cones that still stood: that is what is known.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from conewise.errors import InfeasibleError
from conewise.findings import Finding, Sentence, Value
from conewise.logs.crossing import FRONT_REACH
from conewise.logs.follow import DrivenLine, followed, match
from conewise.logs.repeated import STEP, even_line, launched_drives

if TYPE_CHECKING:
    from conewise.course.geometry import CourseGeometry, PassedCone
    from conewise.logs.run_finder import FoundRun
    from conewise.logs.track import Track

Array = NDArray[np.float64]

HALF_WIDTH = 0.9  # of a car that is not known [m]; common practice, no source
LINE_DEVIATION = 1.0  # of a driven line from the reference path, before it is seen [m]; common practice, no source
LEAST_LINE_DEVIATION = 0.2  # of a line that was seen to follow it [m]; common practice, no source
LINE_LENGTH = 15.0  # over which a driven line keeps to one side [m]; common practice, no source
CONE_DEVIATION = 0.15  # of how near to a standing cone a car can have been [m]
_FREE = 1e4  # deviation of what nothing is known about beforehand [m], [rad]
_ROUNDS = 12
_LINE_ROUNDS = 2  # after which the line's own deviation is at rest
_AT_REST = 1e-4  # [m]
_RATIOS = np.linspace(0.9, 1.12, 12)  # length driven over length of the path
_LEAST_SHARE = 0.8  # of the path that a drive follows [-]
_FAR = 3.0  # a greater offset counts for less [m]
_DOUBTED = 3.0  # deviations beyond which a cone's word counts for less
_WANDER = 0.5  # share of the position's deviation that changes within a run; common practice, no source
_POOR = 2.5  # a placement that leaves more than this is doubtful [m]


class NotPlacedError(InfeasibleError):
    """No drive of a recording has the shape of the course."""

    code = "not-placed"
    default_hint = "Give the course an anchor in its file, or check that the recording is of this course."

    def __init__(self, course: str, away: float | None) -> None:
        what = "there is no drive from a launch" if away is None else f"the best fit leaves {away:.1f} m"
        super().__init__(f"The recording cannot be laid on the course '{course}': {what}.", where=course)


class NoPlacesError(InfeasibleError):
    """A recording without positions, which no course can be told from."""

    code = "no-places"
    default_hint = "Record with the receiver switched on: speeds alone do not tell where on the course the car was."

    def __init__(self, course: str) -> None:
        super().__init__(
            f"The recording has no positions, so that it cannot be laid on the course '{course}'.", where=course
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Placement:
    """A turn about the origin and then a shift, from the recording's plane to the course's.

    turn: counter-clockwise [rad]
    east, north: [m]
    shift_covariance: of the two components of the shift, at the course [m2]
    residual: root mean square of the lateral offset from the reference path that is left [m]
    n_cones: cones near enough to have had a say
    """

    turn: float = 0.0
    east: float = 0.0
    north: float = 0.0
    shift_covariance: tuple[tuple[float, float], tuple[float, float]] = ((0.0, 0.0), (0.0, 0.0))
    residual: float = 0.0
    n_cones: int = 0
    findings: tuple[Finding, ...] = field(default=())

    @property
    def rotation(self) -> Array:
        """Matrix of the turn, shape (2, 2)."""
        cos, sin = np.cos(self.turn), np.sin(self.turn)
        return np.array([[cos, -sin], [sin, cos]])

    def place(self, places: Array) -> Array:
        """Places of the recording on the course, shape (..., 2). [m]"""
        return np.asarray(places @ self.rotation.T + np.array([self.east, self.north]))

    def moved(self, track: Track) -> Track:
        """The track in the plane of the course."""
        x, y = self.place(np.column_stack([track.x, track.y])).T
        drawn = track.sample_positions
        return replace(
            track,
            x=x,
            y=y,
            heading=track.heading + self.turn,
            position_covariance=self.rotation @ track.position_covariance @ self.rotation.T,
            sample_positions=lambda generator, count: self.place(drawn(generator, count)),
            plane=track.plane if self.turn == 0.0 else None,
        )


def place_on_course(track: Track, geometry: CourseGeometry, *, front_reach: float = FRONT_REACH) -> Placement:
    """Where a recording lies on a course without an anchor.

    Parameters
    ----------
    track : Track
        In any plane.
    geometry : CourseGeometry
    front_reach : float, default 1.9
        [m]

    Returns
    -------
    Placement
        The best of all launches, brought to rest with every launch that then follows the course.

    Raises
    ------
    NoPlacesError
        Where no receiver told positions.
    NotPlacedError
        Where no launch has the shape of the course.

    Notes
    -----
    A first turn and shift comes from points at equal shares of the length (closed form in the plane, for several
    lengths driven); then lateral offsets and cones decide, see `run_shift`.
    """
    if track.position_rate == 0.0:
        raise NoPlacesError(geometry.course.name)
    drives = launched_drives(track)
    candidates = [first for drive in drives if (first := _first(track, drive, geometry, front_reach)) is not None]
    if not candidates:
        raise NotPlacedError(geometry.course.name, None)
    best = min(candidates, key=lambda placement: placement.residual)
    lines = [DrivenLine.of(track, drive) for drive in drives]
    answer = _at_rest(lines, _Ground(geometry=geometry, half_width=HALF_WIDTH), best, prior=np.full(3, _FREE))
    if answer is None or answer.residual > 2.0 * _POOR:
        raise NotPlacedError(geometry.course.name, best.residual if answer is None else answer.residual)
    if answer.residual > _POOR:
        words = "The recording lies {} off the path of the course on average; check the course."
        message = Sentence(words, Value(answer.residual, "length", 1))
        return replace(answer, findings=(Finding("warning", "placement-poor", message, geometry.course.name),))
    return answer


def run_shift(
    track: Track,
    run: FoundRun,
    geometry: CourseGeometry,
    *,
    half_width: float = HALF_WIDTH,
    hit: frozenset[str] = frozenset(),
) -> Placement:
    """The shift of one run that the receiver's bias makes, as far as course and cones tell it.

    Parameters
    ----------
    track : Track
        In the plane of the course.
    run : FoundRun
    geometry : CourseGeometry
        With the sides that the run took.
    half_width : float, default 0.9
        Of the car. [m]
    hit : frozenset[str], optional
        Ids of cones that the run hit; they tell nothing.

    Returns
    -------
    Placement
        Without a turn.

    Notes
    -----
    Most probable shift under three pieces of knowledge: it is as large as the position covariance says; a driven line
    lies about the reference path, anew every 15 m, as far off as this run's own line does once it is shifted; and the
    car was at least half its width and the cone's base away from every cone that was not hit.
    """
    covariance = track.position_covariance[run.samples]
    expected = np.sqrt(np.mean(covariance[:, [0, 1], [0, 1]], axis=0))
    prior = np.array([1e-9, *np.maximum(expected, 1e-3)])
    line = DrivenLine.of(track, run.samples)
    wander = _WANDER * float(np.mean(expected))
    ground = _Ground(geometry=geometry, half_width=half_width, hit=hit, guessed=run.guessed, wander=wander)
    answer = _at_rest([line], ground, Placement(), prior=prior)
    for _ in range(_LINE_ROUNDS):
        if answer is None:
            break
        ground = replace(ground, line=float(np.clip(answer.residual, LEAST_LINE_DEVIATION, LINE_DEVIATION)))
        answer = _at_rest([line], ground, Placement(), prior=prior)
    return answer or Placement(shift_covariance=((float(expected[0]) ** 2, 0.0), (0.0, float(expected[1]) ** 2)))


def _first(track: Track, drive: slice, geometry: CourseGeometry, front_reach: float) -> Placement | None:
    """Turn and shift that lay one drive on the course best, by shares of the length; None where it is too short."""
    path, line = geometry.path, even_line(track, drive)
    begin = -geometry.course.staging - front_reach
    length = path.length - begin
    points = path.at(np.linspace(begin, path.length, max(int(length / STEP), 8)))
    model = points.x + 1j * points.y
    answers = []
    for ratio in _RATIOS:
        reach = ratio * length / STEP
        if reach > len(line) - 1:
            continue
        at = np.linspace(0.0, reach, len(model))
        index = np.arange(len(line))
        mine = np.interp(at, index, line[:, 0]) + 1j * np.interp(at, index, line[:, 1])
        turn = float(np.angle(np.sum((model - model.mean()) * np.conj(mine - mine.mean()))))
        shift = model.mean() - np.exp(1j * turn) * mine.mean()
        away = model - (np.exp(1j * turn) * mine + shift)
        answers.append(
            Placement(turn=turn, east=shift.real, north=shift.imag, residual=float(np.sqrt(np.mean(np.abs(away) ** 2))))
        )
    return min(answers, key=lambda answer: answer.residual, default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Seen:
    """What one drive says about a small turn about the middle of the course and a small shift.

    rows: shape (n, 3); values: shape (n,), in deviations
    """

    rows: Array
    values: Array
    offsets: Array
    n_cones: int


@dataclass(frozen=True, slots=True, kw_only=True)
class _Ground:
    """What the drives are laid on."""

    geometry: CourseGeometry
    half_width: float
    hit: frozenset[str] = frozenset()
    guessed: frozenset[str] = frozenset()  # features where positions were lost, which tell nothing
    wander: float = 0.0  # of the position within a run [m]
    line: float = LINE_DEVIATION  # of the driven line from the path, as it is seen [m]

    @property
    def centre(self) -> Array:
        """Middle of the path. [m]"""
        return np.array([self.geometry.path.x.mean(), self.geometry.path.y.mean()])


def _at_rest(lines: list[DrivenLine], ground: _Ground, first: Placement, *, prior: Array) -> Placement | None:
    """Gauss-Newton on turn and shift; `prior` holds their deviations about the first placement."""
    placement, centre = first, ground.centre
    moved = np.zeros(3)
    for _ in range(_ROUNDS):
        seen = [s for line in lines if (s := _seen(line, ground, placement)) is not None]
        if not seen:
            return None
        rows = np.vstack([np.diag(1.0 / prior), *[s.rows for s in seen]])
        values = np.concatenate([moved / prior, *[s.values for s in seen]])
        spread = np.linalg.inv(rows.T @ rows)
        step = -spread @ (rows.T @ values)
        moved = moved + step
        turned = Placement(turn=float(step[0]))
        east, north = turned.place(np.array([placement.east, placement.north]) - centre) + centre + step[1:]
        placement = replace(placement, turn=placement.turn + float(step[0]), east=float(east), north=float(north))
        if np.hypot(step[1], step[2]) < _AT_REST and abs(step[0]) < _AT_REST / 100.0:
            break
    return replace(
        placement,
        shift_covariance=((float(spread[1, 1]), float(spread[1, 2])), (float(spread[2, 1]), float(spread[2, 2]))),
        residual=float(np.sqrt(np.mean(np.concatenate([s.offsets for s in seen]) ** 2))),
        n_cones=sum(s.n_cones for s in seen),
    )


def _seen(line: DrivenLine, ground: _Ground, placement: Placement) -> _Seen | None:
    """Lateral offsets and cones of one drive as it lies now; None where it does not follow the course."""
    path = ground.geometry.path
    x, y = placement.place(np.column_stack([line.x, line.y])).T
    laid = DrivenLine(x=x, y=y, heading=line.heading + placement.turn, distance=line.distance)
    found = match(path, laid, begin=_begin(ground.geometry, x, y))
    way = followed(path, laid, found=found)
    stations = np.arange(0.0, min(path.length, float(way.station[-1])), 1.0)
    if stations.size < _LEAST_SHARE * path.length:
        return None
    rising = way.station + 1e-9 * np.arange(way.station.size)
    near = np.interp(stations, rising, way.is_near.astype(float)) > 0.5
    offset = np.interp(stations, rising, way.lateral_offset)
    if near.mean() < _LEAST_SHARE:
        return None
    for span in ground.geometry.spans:
        if span.id in ground.guessed:
            near &= (stations < span.start) | (stations > span.end)
    if not near.any():
        return None
    doubt = np.hypot(ground.line, ground.wander) * np.maximum(1.0, np.sqrt(np.abs(offset) / _FAR))
    weight = np.where(near, np.sqrt(1.0 / LINE_LENGTH), 0.0) / doubt
    rows = [weight[:, None] * _by_movement(ground, stations, offset)]
    values = [weight * offset]
    cones = [c for c in ground.geometry.passes if _tells(c, ground) and c.station < stations[-1]]
    at = np.array([c.station for c in cones])
    side = np.array([float(c.side) for c in cones])
    own = np.interp(at, rising, way.lateral_offset)
    room = side * (np.array([c.offset for c in cones]) - own) - np.array([c.radius for c in cones]) - ground.half_width
    tight = (room < 0.0) & (room > -_FAR)
    sure = np.array([float(np.hypot(np.hypot(CONE_DEVIATION, ground.wander), _cone_sd(ground, c))) for c in cones])
    if tight.any():
        sure = sure * np.sqrt(np.maximum(1.0, np.abs(room / sure) / _DOUBTED))
        rows.append((-side / sure)[tight, None] * _by_movement(ground, at[tight], own[tight]))
        values.append((room / sure)[tight])
    offsets, n_cones = offset[near], int(np.sum(room < sure))
    return _Seen(rows=np.vstack(rows), values=np.concatenate(values), offsets=offsets, n_cones=n_cones)


def _begin(geometry: CourseGeometry, x: Array, y: Array) -> float:
    """About the station of the first sample, near the start line. [m]"""
    beam = geometry.path.at(np.array([0.0]))
    ahead = (x[0] - beam.x[0]) * np.cos(beam.heading[0]) + (y[0] - beam.y[0]) * np.sin(beam.heading[0])
    return float(np.clip(ahead, -12.0, 5.0))


def _by_movement(ground: _Ground, station: Array, offset: Array) -> Array:
    """How lateral offsets answer to turn, east and north, shape (n, 3)."""
    points = ground.geometry.path.at(station)
    left = np.column_stack([-np.sin(points.heading), np.cos(points.heading)])
    arm = np.column_stack([points.x, points.y]) + offset[:, None] * left - ground.centre
    return np.column_stack([left[:, 1] * arm[:, 0] - left[:, 0] * arm[:, 1], left])


def _tells(cone: PassedCone, ground: _Ground) -> bool:
    """Whether a cone's side is certain and it was not hit."""
    is_open = cone.feature in ground.geometry.choices
    is_known = cone.id not in ground.hit and cone.feature not in ground.guessed
    return cone.is_standing and not cone.is_guard and not is_open and is_known


def _cone_sd(ground: _Ground, cone: PassedCone) -> float:
    return ground.geometry.course.cone(cone.id).position_sd

"""A course laid out from walk notes: the walker's track by dead reckoning, cones beside it."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from conewise.course import feature_forms as forms
from conewise.course.layout import CONE_BASE, MOST_LENGTH, Cone, CourseFeature, FeatureKind, PassSide, StopArea
from conewise.course.walk_again import of_all
from conewise.course.walk_notes import Note, WalkNoteError
from conewise.course.walk_track import Known, Leg, Track, walk_track
from conewise.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from conewise.course.layout import Point
    from conewise.course.walk_notes import Paced

GATE_WIDTH = 6.0  # where a note names none [m]; common practice, no source
TAPE_SD = 0.01  # relative uncertainty of a noted length in metres or feet; common practice, no source
PACE_SPREAD = 0.08  # spread of single paces about their mean, relative; common practice, no source
ANGLE_SD = math.radians(3.0)  # uncertainty of a quarter turn judged by eye; common practice, no source

_GATE_EVERY = math.radians(60.0)  # gates along a bend
_HAIRPIN_FROM = math.radians(150.0)  # a bend of at least this angle is called a hairpin
_POINTER_GAP = 0.6  # centre of a pointer to the centre of its cone [m]; common practice, no source
_CLOSES_WITHIN = 4.0  # larger gaps, in standard uncertainties, are a wrong note and no error of measurement


class WalkError(InputError):
    """The notes do not make a course: no pace length, a bend tighter than its gates, an unknown mark."""

    code = "walk"

    def __init__(self, problem: str, *, where: str, hint: str) -> None:
        super().__init__(problem, where=where, hint=hint)


class WalkClosureError(InputError):
    """The walk misses a known point by more than its errors explain."""

    code = "walk-closure"

    def __init__(self, mark: str, gap: float, expected: float, *, where: str) -> None:
        super().__init__(
            f"The notes reach the mark '{mark}' {gap:.1f} m from where it is known to be; "
            f"errors of pacing and angle explain about {expected:.1f} m.",
            where=where,
            hint="Look for a wrong side, angle or number in the notes before the mark, or correct its place.",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Walked:
    """What walk notes give."""

    cones: tuple[Cone, ...]
    features: tuple[CourseFeature, ...]
    stop: StopArea | None
    track: Track  # the walker's stops


@dataclass(frozen=True, slots=True, kw_only=True)
class Walker:
    """Who walked: pace, angles, where and which way the walk began."""

    pace: float | None = None  # length of one pace [m]
    pace_sd: float = 0.0  # its standard uncertainty [m]
    angle_sd: float = ANGLE_SD  # of a quarter turn [rad]
    start: Point = (0.0, 0.0)
    heading: float = 0.0  # counter-clockwise from east [rad]
    heading_sd: float = 0.0  # [rad]
    gate_width: float = GATE_WIDTH  # [m]


@dataclass(frozen=True, slots=True)
class _Place:
    """A cone beside a stop of the walk."""

    stop: int
    forward: float
    left: float
    points_to: str | None


@dataclass
class Layout:
    """Legs, cones and features, collected note by note."""

    walker: Walker
    note: str = ""  # file, line and note that is laid out
    legs: list[Leg] = field(default_factory=list)
    leg_notes: list[str] = field(default_factory=list)  # the note of each leg
    places: dict[str, _Place] = field(default_factory=dict)
    features: list[CourseFeature] = field(default_factory=list)
    marks: dict[str, tuple[int, str]] = field(default_factory=dict)
    counts: dict[FeatureKind, int] = field(default_factory=dict)
    stop: StopArea | None = None
    since_crossing: float = math.inf  # way since the last cones [m]

    @property
    def pace_share(self) -> float:
        """Relative uncertainty of the pace length; 0 where none is known. [-]"""
        return self.walker.pace_sd / self.walker.pace if self.walker.pace else 0.0

    def metres(self, length: Paced, where: str) -> float:
        """A noted length in metres."""
        if not length.in_paces:
            return length.value
        if self.walker.pace is None:
            raise WalkError(
                "The notes count paces, and the length of a pace is not given.",
                where=where,
                hint='Pace along a measured 50 m and write calibration = [{ paces = 66, length = "50 m" }] in [walk].',
            )
        return length.value * self.walker.pace

    def length(self, note: Note, name: str, default: float | None = None) -> float:
        """A length of the note in metres."""
        if name not in note.lengths and default is not None:
            return default
        metres = self.metres(note.lengths[name], note.where)
        if metres <= 0.0:
            raise WalkNoteError(note.text, "a length of nothing", where=note.where)
        if metres > MOST_LENGTH:
            raise WalkNoteError(
                note.text, f"{metres:.6g} m, and a course reaches {MOST_LENGTH:.0f} m", where=note.where
            )
        return metres

    def go(self, forward: float, *, left: float = 0.0, turn: float = 0.0, in_paces: bool = False) -> None:
        """One leg of the walk."""
        distance = math.hypot(forward, left)
        pace = self.walker.pace
        if in_paces and pace is not None:
            length_sd = PACE_SPREAD * pace * math.sqrt(distance / pace)
        else:
            length_sd = TAPE_SD * distance
        turn_sd = self.walker.angle_sd * math.sqrt(abs(turn) / (math.pi / 2))
        self.legs.append(
            Leg(forward=forward, left=left, turn=turn, is_paced=in_paces, length_sd=length_sd, turn_sd=turn_sd)
        )
        self.leg_notes.append(self.note)
        self.since_crossing += distance

    def walk(self, note: Note, name: str) -> None:
        """Straight on by a length of the note, where it has one."""
        if name in note.lengths:
            self.go(self.length(note, name), in_paces=note.lengths[name].in_paces)

    def cone(self, left: float, *, forward: float = 0.0, points_to: str | None = None) -> str:
        """A new cone beside the present stop; its id."""
        name = f"c{len(self.places) + 1}"
        self.places[name] = _Place(len(self.legs), forward, left, points_to)
        self.since_crossing = 0.0
        return name

    def pair(self, note: Note) -> tuple[str, str]:
        """Left and right cone of a gate at the present stop."""
        half = self.half_gate(note)
        return self.cone(half), self.cone(-half)

    def half_gate(self, note: Note) -> float:
        """From the middle of a gate to its cones; the width is the opening between their bases. [m]"""
        return (self.length(note, "width", self.walker.gate_width) + CONE_BASE) / 2

    def add(self, kind: FeatureKind, crossings: forms.Crossings) -> None:
        """A feature made of the cones just placed."""
        self.counts[kind] = self.counts.get(kind, 0) + 1
        name = forms.feature_id(kind, self.counts[kind])
        self.features.append(CourseFeature(id=name, kind=kind, crossings=crossings))


def lay_out_notes(
    walks: Sequence[tuple[list[Note], Walker]], *, known: dict[str, tuple[Point, float]], file: str
) -> Walked:
    """Cones and features of notes, by turtle geometry.

    Parameters
    ----------
    walks : sequence of (list of Note, Walker)
        Notes in the order of the walk, and who walked: pace, angles, start. Further walks of the same course measure
        it again; start, heading and marks are those of the first.
    known : dict
        Known point and its standard uncertainty [m] of a mark named in the notes.
    file : str
        File and place, for messages.

    Returns
    -------
    Walked
        Cones with the standard uncertainty of their position.

    Raises
    ------
    WalkNoteError
        If a note cannot be laid out.
    WalkError
        If paces are counted without a pace length, a bend has no room for its gates, or a mark is unknown.
    WalkClosureError
        If a known point is missed by more than four standard uncertainties.
    WalkAgainError
        If a further walk tells another course, or a length that errors of measurement do not explain.
    """
    layouts = [_collected(notes, walker) for notes, walker in walks]
    layout, pace_share = of_all(layouts) if len(layouts) > 1 else (layouts[0], layouts[0].pace_share)
    walker = layout.walker
    for mark in known:
        if mark not in layout.marks:
            noted = ", ".join(f"'{name}'" for name in layout.marks) or "none"
            raise WalkError(
                f'No note says "mark {mark}".',
                where=file,
                hint=f"Add the note where you pass it; marks noted: {noted}.",
            )
    track = walk_track(
        layout.legs,
        [Known(stop=layout.marks[mark][0], at=at, sd=sd) for mark, (at, sd) in known.items()],
        start=walker.start,
        heading=walker.heading,
        heading_sd=walker.heading_sd,
        pace_sd=pace_share,
    )
    _check_closures(track, layout)
    cones = tuple(_cone(name, place, track) for name, place in layout.places.items())
    return Walked(cones=cones, features=tuple(layout.features), stop=layout.stop, track=track)


def _collected(notes: list[Note], walker: Walker) -> Layout:
    """Legs, cones and features of one walk."""
    layout = Layout(walker)
    for note in notes:
        layout.note = note.where
        _LAY[note.word](layout, note)
    return layout


def _check_closures(track: Track, layout: Layout) -> None:
    """A gap that no error of measurement explains is a wrong note."""
    names = {stop: (name, where) for name, (stop, where) in layout.marks.items()}
    for closure in track.closures:
        if closure.ratio > _CLOSES_WITHIN:
            name, where = names[closure.stop]
            raise WalkClosureError(name, math.hypot(*closure.gap), closure.expected, where=where)


def _cone(name: str, place: _Place, track: Track) -> Cone:
    """A cone where the track puts it, to the millimetre."""
    x, y, sd = track.place(place.stop, forward=place.forward, left=place.left)
    return Cone(id=name, x=round(x, 3), y=round(y, 3), position_sd=round(sd, 3), points_to=place.points_to)


def _straight(layout: Layout, note: Note) -> None:
    layout.walk(note, "length")


def _gate(layout: Layout, note: Note) -> None:
    layout.walk(note, "after")
    layout.add(FeatureKind(note.word), (forms.gate(*layout.pair(note)),))


def _offset_gate(layout: Layout, note: Note) -> None:
    """The walk goes on from the middle of the gate."""
    layout.walk(note, "after")
    sign = 1.0 if note.side == "left" else -1.0
    layout.go(0.0, left=sign * layout.length(note, "shift"), in_paces=note.lengths["shift"].in_paces)
    layout.add(FeatureKind.OFFSET_GATE, (forms.gate(*layout.pair(note)),))


def _split_gate(layout: Layout, note: Note) -> None:
    layout.walk(note, "after")
    half = layout.half_gate(note)
    sign = 1.0 if note.side == "left" else -1.0
    first = layout.cone(sign * half)
    layout.walk(note, "apart")
    second = layout.cone(-sign * half)
    left, right = (first, second) if note.side == "left" else (second, first)
    layout.add(FeatureKind.SPLIT_GATE, forms.split_gate(left, right, first=note.side))


def _box(layout: Layout, note: Note) -> None:
    layout.walk(note, "after")
    entry = layout.pair(note)
    layout.walk(note, "long")
    layout.add(FeatureKind.BOX, forms.gates([entry, layout.pair(note)]))


def _slalom(layout: Layout, note: Note) -> None:
    """Cones on the walked line, the first at the present stop."""
    layout.walk(note, "after")
    cones = _in_line(layout, note, left=0.0)
    layout.add(FeatureKind.SLALOM, forms.slalom(cones, note.side))


def _wall(layout: Layout, note: Note) -> None:
    layout.walk(note, "after")
    cones = _in_line(layout, note, left=_beside(layout, note))
    layout.add(FeatureKind.WALL, forms.row(cones, _pass_side(note)))


def _in_line(layout: Layout, note: Note, *, left: float) -> list[str]:
    """Cones every so many metres, the first at the present stop."""
    if note.count < 1:
        raise WalkNoteError(note.text, "it has no cones", where=note.where)
    cones = [layout.cone(left)]
    for _ in range(note.count - 1):
        layout.walk(note, "every")
        cones.append(layout.cone(left))
    return cones


def _single_cone(layout: Layout, note: Note) -> None:
    layout.walk(note, "after")
    left = _beside(layout, note)
    cone = layout.cone(left)
    if "pointer" in note.flags:
        if not left:
            raise WalkNoteError(note.text, "a cone with a pointer has one side", where=note.where)
        layout.cone(left + math.copysign(_POINTER_GAP, left), points_to=cone)
    layout.add(FeatureKind.CONE, forms.row([cone], _pass_side(note)))


def _beside(layout: Layout, note: Note) -> float:
    """How far to the left of the walked line the cones stand."""
    if note.side == "either":
        return 0.0
    away = layout.length(note, "away", layout.walker.gate_width / 2)
    return away if note.side == "left" else -away


def _pass_side(note: Note) -> PassSide:
    """The side of the cone on which the car goes, from the driver's side on which the cone is."""
    return {"left": PassSide.RIGHT, "right": PassSide.LEFT, "either": PassSide.EITHER}[note.side]


def _bend(layout: Layout, note: Note) -> None:
    """An arc bounded by gates, or round one cone at its centre."""
    angle = math.radians(note.angle or 180.0)
    kind = FeatureKind.HAIRPIN if angle >= _HAIRPIN_FROM else FeatureKind.SWEEPER
    if note.word in {"sweeper", "hairpin"}:
        kind = FeatureKind(note.word)
    if note.side == "either":
        raise WalkNoteError(note.text, "a bend goes left or right", where=note.where)
    radius = layout.length(note, "radius")
    sign = 1.0 if note.side == "left" else -1.0
    if "single" in note.flags:
        cone = layout.cone(sign * radius)
        _arc(layout, note, sign * angle)
        layout.add(kind, forms.row([cone], _pass_side(note)))
        return
    width = layout.length(note, "width", layout.walker.gate_width)
    if radius <= width / 2:
        raise WalkError(
            f"A bend of radius {radius:.1f} m has no room for gates {width:.1f} m wide.",
            where=note.where,
            hint='Note the radius of the middle of the road, a smaller width, or "around one cone".',
        )
    pairs = [layout.pair(note)] if layout.since_crossing >= width / 2 else []
    parts = math.ceil(angle / _GATE_EVERY - 1e-9)
    for _ in range(parts):
        _arc(layout, note, sign * angle / parts)
        pairs.append(layout.pair(note))
    layout.add(kind, forms.gates(pairs))


def _arc(layout: Layout, note: Note, turn: float) -> None:
    """One leg along an arc."""
    radius = layout.length(note, "radius")
    left = math.copysign(radius * (1 - math.cos(turn)), turn)
    layout.go(radius * math.sin(abs(turn)), left=left, turn=turn, in_paces=note.lengths["radius"].in_paces)


def _bear(layout: Layout, note: Note) -> None:
    """A change of heading on the spot."""
    if note.side == "either":
        raise WalkNoteError(note.text, "one bears left or right", where=note.where)
    layout.go(0.0, turn=math.radians(note.angle) * (1.0 if note.side == "left" else -1.0))


def _mark(layout: Layout, note: Note) -> None:
    if note.name in layout.marks:
        raise WalkNoteError(note.text, "this mark is noted twice", where=note.where)
    layout.marks[note.name] = (len(layout.legs), note.where)


def _stop_area(layout: Layout, note: Note) -> None:
    if FeatureKind.FINISH not in layout.counts:
        raise WalkNoteError(note.text, "the stop area comes after the finish", where=note.where)
    layout.stop = StopArea(kind=note.word.split()[1], length=layout.length(note, "length"))


_LAY: dict[str, Callable[[Layout, Note], None]] = {
    "start": _gate,
    "straight": _straight,
    "gate": _gate,
    "offset gate": _offset_gate,
    "split gate": _split_gate,
    "box": _box,
    "slalom": _slalom,
    "cone": _single_cone,
    "wall": _wall,
    "sweeper": _bend,
    "hairpin": _bend,
    "left": _bend,
    "right": _bend,
    "bear": _bear,
    "mark": _mark,
    "finish": _gate,
    "stop box": _stop_area,
    "stop lane": _stop_area,
}

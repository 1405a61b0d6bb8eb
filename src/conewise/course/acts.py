"""What a person does to a course while drawing it: every act makes a new course from one that is there.

An entry is a feature by its id. Where an act has `follow`, what comes after the entry in driving order moves along as
one piece, so that it lies to the entry's end as it lay before; the site stays.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from conewise.course.act_parts import (
    ENDS,
    SWAPPED,
    ActRefusedError,
    free_id,
    free_name,
    index_of,
    with_feature,
    with_parts,
)
from conewise.course.layout import ConePass, CourseFeature, FeatureKind
from conewise.course.poses import Motion, Pose, own_cones, walk_poses
from conewise.course.walk_layout import GATE_WIDTH, Walked, Walker, lay_out_notes
from conewise.course.walk_notes import read_note, split_notes

if TYPE_CHECKING:
    from conewise.course.layout import Cone, Course


_SAME_PLACE = 0.2  # two gates nearer than this are one [m]


def add(course: Course, after: str, words: str, *, follow: bool, gate_width: float = GATE_WIDTH) -> Course:
    """The course with what walk notes say, laid out from the end of an entry.

    Parameters
    ----------
    course : Course
    after : str
        Id of the entry.
    words : str
        One or more walk notes.
    follow : bool
        Whether what comes after moves along.
    gate_width : float
        Of gates for which the notes name none. [m]

    Raises
    ------
    WalkNoteError, WalkError
        If the notes are not understood, or cannot be laid out.
    ActRefusedError
        If the entry is the finish, or the notes bring a start or a finish of their own.
    """
    at = index_of(course, after)
    if course.features[at].kind is FeatureKind.FINISH:
        raise ActRefusedError("Nothing comes after the finish.", feature=after, hint="Choose an entry before it.")
    here = walk_poses(course)[at][1]
    features, cones, end = _laid_out(course, words, here, gate_width)
    grown = with_parts(
        course, [*course.features[: at + 1], *features, *course.features[at + 1 :]], [*course.cones, *cones]
    )
    return _followed(grown, at + len(features) + 1, Motion(here, end)) if follow else grown


def remake(course: Course, entry: str, words: str, *, follow: bool, gate_width: float = GATE_WIDTH) -> Course:
    """The course with an entry laid out anew as walk notes say; see `add`."""
    at = index_of(course, entry)
    if course.features[at].kind in ENDS:
        raise ActRefusedError(
            f"The {course.features[at].kind} is not laid out from words.", feature=entry, hint="Drag its cones."
        )
    poses = walk_poses(course)
    before, gone = poses[at - 1][1], own_cones(course, [course.features[at]])
    rest = with_parts(
        course,
        [feature for feature in course.features if feature.id != entry],
        [cone for cone in course.cones if cone.id not in gone],
    )
    features, cones, end = _laid_out(rest, words, before, gate_width, keep=course.features[at])
    made = with_parts(rest, [*rest.features[:at], *features, *rest.features[at:]], [*rest.cones, *cones])
    return _followed(made, at + len(features), Motion(poses[at][1], end)) if follow else made


def remove(course: Course, entry: str, *, follow: bool) -> Course:
    """The course without an entry and the cones that are its alone."""
    at = index_of(course, entry)
    if course.features[at].kind in ENDS:
        raise ActRefusedError(f"A course needs its {entry}.", feature=entry, hint="Move its cones instead.")
    poses, gone = walk_poses(course), own_cones(course, [course.features[at]])
    left = with_parts(
        course,
        [feature for feature in course.features if feature.id != entry],
        [cone for cone in course.cones if cone.id not in gone],
    )
    return _followed(left, at, Motion(poses[at][1], poses[at - 1][1])) if follow else left


def move(course: Course, entry: str, to: int) -> Course:
    """The course with an entry at another place in driving order, counted from 0; its cones stay where they are."""
    at = index_of(course, entry)
    last = len(course.features) - 1
    if course.features[at].kind in ENDS or not 0 < to < last:
        raise ActRefusedError(
            "The start stays first and the finish last.", feature=entry, hint="Move what lies between them."
        )
    features = [feature for feature in course.features if feature.id != entry]
    features.insert(to, course.features[at])
    return course.changed(features=tuple(features))


def repeat(course: Course, entry: str, *, follow: bool) -> Course:
    """The course with an entry once more behind itself, as far from it as it lies from what comes before."""
    at = index_of(course, entry)
    feature = course.features[at]
    if feature.kind in ENDS:
        raise ActRefusedError(f"A course has one {feature.kind}.", feature=entry, hint="Repeat what lies between.")
    poses = walk_poses(course)
    come, end = poses[at]
    motion = Motion(come, end.ahead(*come.seen_from(poses[at - 1][1])))
    names = set(feature.cone_ids) | {cone.id for cone in course.cones if cone.points_to in feature.cone_ids}
    taken = {cone.id for cone in course.cones}
    renamed = {cone.id: free_name(taken) for cone in course.cones if cone.id in names}
    copies = [
        cone.changed(id=renamed[cone.id], points_to=renamed.get(cone.points_to or ""))
        for cone in motion.cones((c for c in course.cones if c.id in names), names)
    ]
    copy = feature.changed(
        id=free_id(course, feature.kind),
        crossings=tuple(
            tuple(ConePass(cone=renamed[p.cone], pass_side=p.pass_side) for p in crossing)
            for crossing in feature.crossings
        ),
    )
    grown = with_parts(course, [*course.features[: at + 1], copy, *course.features[at + 1 :]], [*course.cones, *copies])
    there = walk_poses(grown)[at + 1][1]
    return _followed(grown, at + 2, Motion(end, there)) if follow else grown


def mirror(course: Course, entry: str, *, follow: bool) -> Course:
    """The course with an entry turned about the way that leads to it: what went left goes right."""
    at = index_of(course, entry)
    feature = course.features[at]
    poses = walk_poses(course)
    axis = poses[at - 1][1] if at else poses[at][0]
    own = own_cones(course, [feature])
    cones = [_reflected(cone, axis) if cone.id in own else cone for cone in course.cones]
    crossings = tuple(_swapped(crossing) for crossing in feature.crossings)
    made = with_feature(course.changed(cones=tuple(cones)), at, feature.changed(crossings=crossings))
    return _followed(made, at + 1, Motion(poses[at][1], walk_poses(made)[at][1])) if follow else made


def place(course: Course, entry: str, step: tuple[float, float, float], *, follow: bool) -> Course:
    """The course with an entry moved forward and to the left, and turned, as seen from its beginning (m, m, rad)."""
    at = index_of(course, entry)
    come, end = walk_poses(course)[at]
    motion = Motion(come, come.ahead(*step))
    own = own_cones(course, [course.features[at]])
    made = course.changed(cones=motion.cones(course.cones, own))
    x, y = motion.point((end.x, end.y))
    return _followed(made, at + 1, Motion(end, Pose(x, y, end.heading + step[2]))) if follow else made


def _followed(course: Course, since: int, motion: Motion) -> Course:
    """The course with the features from a number on moved as one piece."""
    rest = course.features[since:]
    return course.changed(cones=motion.cones(course.cones, own_cones(course, rest)))


def _laid_out(
    course: Course, words: str, here: Pose, gate_width: float, *, keep: CourseFeature | None = None
) -> tuple[list[CourseFeature], list[Cone], Pose]:
    """Features and cones of notes with names that the course does not have, and the pose after them.

    The first feature of the kind of `keep` takes its id.
    """
    notes = [read_note(text, where=f"note {n}") for n, (_, text) in enumerate(split_notes(words), start=1)]
    if any(note.word in {"start", "finish", "stop box", "stop lane", "mark"} for note in notes):
        raise ActRefusedError(
            "Start, finish, stop area and marks have their own places.", hint="Note what lies between start and finish."
        )
    walker = Walker(start=(here.x, here.y), heading=here.heading, gate_width=gate_width)
    walked = _without_doubled_gate(lay_out_notes([(notes, walker)], known={}, file=""), here)
    if not walked.features:
        raise ActRefusedError("These words set no cones.", hint='Write a feature, like "gate after 20 m".')
    taken = {cone.id for cone in course.cones}
    renamed = {cone.id: free_name(taken) for cone in walked.cones}
    cones = [
        cone.changed(id=renamed[cone.id], points_to=renamed.get(cone.points_to or ""), position_sd=0.0)
        for cone in walked.cones
    ]
    features: list[CourseFeature] = []
    for feature in walked.features:
        crossings = tuple(
            tuple(ConePass(cone=renamed[p.cone], pass_side=p.pass_side) for p in crossing)
            for crossing in feature.crossings
        )
        name = free_id(course, feature.kind, also=[f.id for f in features])
        if keep is not None and feature.kind is keep.kind and keep.id not in {f.id for f in features}:
            name = keep.id
        features.append(CourseFeature(id=name, kind=feature.kind, crossings=crossings))
    x, y, heading, _ = (float(value) for value in walked.track.states[-1])
    return features, cones, Pose(x, y, heading)


def _without_doubled_gate(walked: Walked, here: Pose) -> Walked:
    """What was laid out, without the gate of a bend where its entry stands already."""
    first = walked.features[0] if walked.features else None
    if first is None or first.kind not in {FeatureKind.SWEEPER, FeatureKind.HAIRPIN} or len(first.crossings) < 2:
        return walked
    gone = {passed.cone for passed in first.crossings[0]}
    cones = [cone for cone in walked.cones if cone.id in gone]
    middle = (sum(c.x for c in cones) / len(cones), sum(c.y for c in cones) / len(cones))
    if math.dist(middle, (here.x, here.y)) > _SAME_PLACE:
        return walked
    return replace(
        walked,
        cones=tuple(cone for cone in walked.cones if cone.id not in gone),
        features=(first.changed(crossings=first.crossings[1:]), *walked.features[1:]),
    )


def _reflected(cone: Cone, axis: Pose) -> Cone:
    forward, left, _ = Pose(cone.x, cone.y, 0.0).seen_from(axis)
    there = axis.ahead(forward, -left)
    return cone.changed(x=round(there.x, 4), y=round(there.y, 4))


def _swapped(crossing: tuple[ConePass, ...]) -> tuple[ConePass, ...]:
    """The same cones, each on the driver's other side; left before right as before."""
    return tuple(ConePass(cone=p.cone, pass_side=SWAPPED[p.pass_side]) for p in reversed(crossing))

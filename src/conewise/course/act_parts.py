"""What every act on a course needs: finding an entry, new names, a course with another part, and what is refused."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from conewise.course.feature_forms import feature_id
from conewise.course.layout import Course, CourseFeature, FeatureKind, LayoutError, PassSide

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from conewise.course.layout import Cone

ENDS = frozenset({FeatureKind.START, FeatureKind.FINISH})
SWAPPED = {PassSide.LEFT: PassSide.RIGHT, PassSide.RIGHT: PassSide.LEFT, PassSide.EITHER: PassSide.EITHER}


class EntryUnknownError(LayoutError):
    """An act names an entry or a cone that the course does not have."""

    code = "entry-unknown"

    def __init__(self, name: str) -> None:
        super().__init__(f"The course has no '{name}'.", hint="Choose an entry of the list, or a cone on the map.")


class ActRefusedError(LayoutError):
    """An act makes no sense for this entry."""

    code = "act-refused"

    def __init__(self, problem: str, *, feature: str = "", hint: str) -> None:
        super().__init__(problem, feature=feature, hint=hint)


def index_of(course: Course, entry: str) -> int:
    """Number of an entry, from 0; EntryUnknownError where there is none."""
    for number, feature in enumerate(course.features):
        if feature.id == entry:
            return number
    raise EntryUnknownError(entry)


def with_parts(course: Course, features: Sequence[CourseFeature], cones: Sequence[Cone]) -> Course:
    """The course with other features and cones."""
    return course.changed(features=tuple(features), cones=tuple(cones))


def with_feature(course: Course, at: int, feature: CourseFeature) -> Course:
    """The course with another feature at a place."""
    return course.changed(features=(*course.features[:at], feature, *course.features[at + 1 :]))


def free_name(taken: set[str]) -> str:
    """A name for a cone; it is taken from now on."""
    number = len(taken) + 1
    while f"c{number}" in taken:
        number += 1
    taken.add(f"c{number}")
    return f"c{number}"


def free_id(course: Course, kind: FeatureKind, *, also: Collection[str] = ()) -> str:
    """An id for a new entry of a kind."""
    taken = {feature.id for feature in course.features} | set(also)
    number = Counter(feature.kind for feature in course.features)[kind] + 1
    while feature_id(kind, number) in taken:
        number += 1
    return feature_id(kind, number)

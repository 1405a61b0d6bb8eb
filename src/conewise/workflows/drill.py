"""Do I know this course? Cards of its features to put in order, and drawings of its shape."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from conewise.course.drill import Card, Score, cards, stages
from conewise.course.reference import lay_out
from conewise.course.shape import DrawingError, ShapeScore, shape_score
from conewise.workflows.named import course_from

if TYPE_CHECKING:
    from pathlib import Path

    from conewise.course.geometry import CourseGeometry
    from conewise.workflows.named import Source


@dataclass(frozen=True, slots=True, kw_only=True)
class Drill:
    """A course to be learned."""

    geometry: CourseGeometry
    cards: tuple[Card, ...]
    stages: tuple[tuple[Card, ...], ...]


def drill(course: Source, *, stretch: int) -> Drill:
    """The cards of a course and its growing stretches of `stretch` features.

    Raises
    ------
    InputError, NotFoundError, InfeasibleError
        If the course cannot be read, or has no way through.
    """
    geometry = lay_out(course_from(course))
    found = cards(geometry)
    return Drill(geometry=geometry, cards=found, stages=stages(found, stretch=stretch))


def drawn_shape(course: Source, drawing: Path) -> ShapeScore:
    """A drawing, a table of x and y with one point a line, against a course.

    Raises
    ------
    DrawingError
        If the file is no such table.
    """
    import numpy as np

    geometry = lay_out(course_from(course))
    try:
        rows = [
            line.replace(";", ",").split(",") for line in drawing.read_text(encoding="utf-8-sig").splitlines() if line
        ]
    except (OSError, UnicodeDecodeError):
        msg = f"{drawing} cannot be read as text."
        raise DrawingError(msg) from None
    points = []
    for number, row in enumerate(rows, start=1):
        try:
            x, y = (float(value) for value in row)
        except ValueError:
            if number == 1:
                continue  # a header
            msg = f"Line {number} of {drawing.name} is not two numbers with a comma between them."
            raise DrawingError(msg) from None
        points.append((x, y))
    return shape_score(geometry, np.array(points, dtype=float).reshape(-1, 2))


def shape_record(score: ShapeScore) -> dict[str, object]:
    """For JSON."""
    return {
        "verdict": score.verdict,
        "distance_share": score.distance,
        "is_mirrored": score.is_mirrored,
        "worst_feature": score.worst_feature,
        "worst_distance_m": score.worst_distance,
    }


def score_record(score: Score) -> dict[str, object]:
    """For JSON."""
    return {
        "is_known": score.is_known,
        "cards": score.n_cards,
        "in_order": score.n_in_order,
        "out_of_order": list(score.missing),
        "sides": score.n_sides,
        "wrong_sides": list(score.wrong_sides),
    }

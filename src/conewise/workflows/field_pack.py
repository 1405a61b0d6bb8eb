"""What a phone takes along on the lot: the course as map, words and cards, and every driver's run card."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from conewise.course.drill import cards, stages
from conewise.course.reference import lay_out
from conewise.course.shape import N_POINTS
from conewise.course.toml_file import read_toml
from conewise.reports.course_words import feature_words
from conewise.reports.units import UNIT_SYSTEMS
from conewise.workflows.events import load_day
from conewise.workflows.mentoring import CAUTION, answer_run_plan, run_plan_record
from conewise.workflows.paces import kept_paces
from conewise.workflows.run_list import run_list

if TYPE_CHECKING:
    from conewise.course.drill import Card
    from conewise.course.geometry import CourseGeometry
    from conewise.quantities import System
    from conewise.workflows.book_place import BookPlace
    from conewise.workflows.events import LoadedDay

_MOST_COURSES = 8  # laid out and kept


def field_pack(
    source: BookPlace, event_id: str, *, system: System = "metric", only: str | None = None, with_runs: bool = True
) -> dict[str, Any]:
    """Everything that a phone needs to be of use where the laptop does not answer.

    Parameters
    ----------
    source : BookPlace
    event_id : str
    system : str, default "metric"
        Units of lengths in words.
    only : str, optional
        Id of the driver whose card it has; of everybody's where None, of nobody's where empty.
    with_runs : bool, default True
        Whether it has the runs of everybody so far.

    Returns
    -------
    dict
        The run list, `course` (None where the event has none), `run_cards` by driver, and the unit of speeds in words.
        Private fields are left out.

    Raises
    ------
    ConewiseError
        If the event is not in the book, or its course has no way through.
    """
    loaded = load_day(Path(event_id), source=source)
    drivers = dict.fromkeys(entry.person for entry in loaded.day.event.entries)
    plans = {
        key: run_plan_record(answer_run_plan(loaded, key, progress=None, predictions=kept_paces(source, loaded, key)))
        for key in drivers
        if only is None or key == only
    }
    units = UNIT_SYSTEMS[system]
    listed = run_list(source, event_id)
    return {
        "list": listed if with_runs else listed | {"runs": []},
        "course": course_pack(loaded, system=system),
        "run_cards": plans,
        "speed_unit": units.speed_unit,
        "speed_factor": units.speed_factor,
        "caution": CAUTION,
    }


def course_pack(loaded: LoadedDay, *, system: System = "metric") -> dict[str, Any] | None:
    """The course of a day as plain data; None where the event names none.

    Returns
    -------
    dict
        `line`: points of the reference path at equal distances, shape (200, 2) [m]; `heading` at the start, counter-
        clockwise from east [rad]; `length` [m]; `cones` with place, side and feature; `features` with words and
        stretch; `cards` and `stages` of the drill.
    """
    name = loaded.day.event.course_file
    text = loaded.texts.get(f"course {name}") if name else None
    return None if text is None else _packed(name, text, system)


@lru_cache(maxsize=_MOST_COURSES)
def _packed(name: str, text: str, system: System) -> dict[str, Any]:
    import numpy as np

    geometry = lay_out(read_toml(text, file=f"course {name}"))
    path, course = geometry.path, geometry.course
    points = path.at(np.linspace(0.0, path.length, N_POINTS))
    all_cards = cards(geometry)
    return {
        "name": course.name,
        "length_m": path.length,
        "heading_rad": float(points.heading[0]),
        "line": np.round(np.column_stack([points.x, points.y]), 3).tolist(),
        "cones": _cones(geometry),
        "features": [
            {
                "id": span.id, "number": number, "kind": span.kind.value,
                "words": feature_words(course, feature, system=system, choice=geometry.choices.get(feature.id)),
                "start_m": span.start, "end_m": span.end,
            }
            for number, (span, feature) in enumerate(zip(geometry.spans, course.features, strict=True), start=1)
        ],
        "cards": [_card(card) for card in all_cards],
        "stages": [len(stage) for stage in stages(all_cards)],
    }  # fmt: skip


def _cones(geometry: CourseGeometry) -> list[dict[str, Any]]:
    """Every cone once, by its first pass; `side` is that of the driver on which it stands."""
    found: dict[str, dict[str, Any]] = {}
    towards = {cone.id: cone.points_to for cone in geometry.course.cones}
    for cone in geometry.passes:
        if cone.is_guard or cone.id in found:
            continue
        found[cone.id] = {
            "id": cone.id, "x": round(cone.x, 3), "y": round(cone.y, 3), "side": "left" if cone.side > 0 else "right",
            "feature": cone.feature, "standing": cone.is_standing, "points_to": towards.get(cone.id) or "",
        }  # fmt: skip
    return list(found.values())


def _card(card: Card) -> dict[str, Any]:
    return {
        "feature": card.feature, "number": card.number, "looks": card.looks, "side": card.side,
        "question": card.question,
    }  # fmt: skip

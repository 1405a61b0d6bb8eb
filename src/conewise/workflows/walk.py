"""How do I learn this course on foot? The walk sheet of a course for a car."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from conewise.course.reference import lay_out
from conewise.logs.measures import slow_points
from conewise.reports.course_words import cone_words
from conewise.reports.files import refuse_unwritable, write_whole
from conewise.reports.walk_answer import Place, WalkSheet, WalkStop
from conewise.workflows.line import asked, solved_answer
from conewise.workflows.traces import predicted_trace

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from conewise.course.geometry import CourseGeometry, PassedCone
    from conewise.reports.answer import LineAnswer
    from conewise.reports.units import Units
    from conewise.runs import FeatureResult, Trace
    from conewise.solver.result import ConeResult, Solution
    from conewise.workflows.line import LineQuestion

LANDMARK_WITHIN = 25.0  # a cone farther along the way is no landmark [m]
BEHIND = 1.5  # a cone that is passed already counts as farther by this factor: the driver looks ahead
LEAST_PRICE = 0.02  # a cone is key from this price on: 2 ms for 10 cm [s/m]


def answer_walk(question: LineQuestion, *, progress: Callable[[str], None]) -> WalkSheet:
    """Read, solve, and say where on the lot the places are.

    Parameters
    ----------
    question : LineQuestion
        Files and conditions.
    progress : callable
        Told in words what is going on.

    Raises
    ------
    InputError, NotFoundError
        If a file or a condition cannot be used.
    InfeasibleError
        If the car has no way through the course.
    """
    _, _, solves = asked(question, progress=progress)
    from conewise.workflows import around

    chosen = solves.priced(solves.best())
    return walk_sheet(replace(solved_answer(solves, chosen), slow_in=around.slow_in(chosen.solution)))


def walk_sheet(answer: LineAnswer) -> WalkSheet:
    """The walk sheet of a solved run.

    Parameters
    ----------
    answer : LineAnswer
        With the prices of slow and wide entries, where its level has them.
    """
    solution, course = answer.solution, answer.course
    geometry = lay_out(course, choices=solution.choices)
    trace = predicted_trace(solution, geometry)
    slow = slow_points(trace, geometry)
    prices = {price.feature: price for price in answer.slow_in}
    keys = {feature.id: _key_cone(solution, feature) for feature in solution.features}
    stops = []
    for number, feature in enumerate(solution.features, start=1):
        here = [point for point in slow if point.feature == feature.id]
        braking = next((point.braking for point in here if point.braking is not None), None)
        power = next((point.throttle for point in reversed(here) if point.throttle is not None), None)
        stops.append(
            WalkStop(
                number=number,
                feature=feature,
                gear=_gear(solution, feature),
                key_cone=keys[feature.id],
                entry=_entry(geometry, trace, feature),
                look=keys[feature.id] or _first_cone(solution, feature),
                braking=None if braking is None else _place(geometry, trace, braking),
                power=None if power is None else _place(geometry, trace, power),
                price=prices.get(feature.id),
            )
        )
    return WalkSheet(answer=answer, stops=tuple(stops), cone_words=cone_words(course))


def _key_cone(solution: Solution, feature: FeatureResult) -> ConeResult | None:
    """The dearest cone of a feature, where any costs something worth telling."""
    own = [cone for cone in solution.cones if cone.feature == feature.id and cone.is_standing]
    dearest = max(own, key=lambda cone: cone.price, default=None)
    return dearest if dearest is not None and dearest.price >= LEAST_PRICE else None


def _first_cone(solution: Solution, feature: FeatureResult) -> ConeResult | None:
    own = [cone for cone in solution.cones if cone.feature == feature.id and cone.is_standing]
    return min(own, key=lambda cone: cone.station, default=None)


def _entry(geometry: CourseGeometry, trace: Trace, feature: FeatureResult) -> Place | None:
    """Where a feature begins: nothing marks that on the lot but its first cone or gate, farther on."""
    first = next(iter(geometry.own_cones(feature.id)), None)
    return None if first is None else _told_by(trace, feature.start, first.id, first.station - feature.start)


def _gear(solution: Solution, feature: FeatureResult) -> int | None:
    """Gear at the slowest place; None where the level of the run has no gears."""
    gear = int(solution.gear[int(np.argmin(np.abs(solution.station - feature.slowest_station)))])
    return gear if gear > 0 else None


def _place(geometry: CourseGeometry, trace: Trace, station: float) -> Place:
    """A place of the line, told by the nearest cone along the way, rather one ahead than one behind."""

    def farness(cone: PassedCone) -> float:
        ahead = cone.station - station
        return ahead if ahead >= 0.0 else -BEHIND * ahead

    nearest = min(geometry.own_cones(), key=farness, default=None)
    if nearest is None or farness(nearest) > LANDMARK_WITHIN:
        return _told_by(trace, station, "", 0.0)
    return _told_by(trace, station, nearest.id, nearest.station - station)


def _told_by(trace: Trace, station: float, cone: str, ahead: float) -> Place:
    return Place(
        station=station,
        x=float(np.interp(station, trace.station, trace.x)),
        y=float(np.interp(station, trace.station, trace.y)),
        cone=cone,
        ahead=ahead,
    )


def refuse_sheets(*, pdf: Path | None, svg: Path | None) -> None:
    """Say before the solve that a sheet cannot be written where it was asked for.

    Raises
    ------
    FileEndingError, UnwritableFileError
        If a name does not end as its content asks, or cannot be written.
    """
    for path, what, ending in ((pdf, "A sheet", ".pdf"), (svg, "A map as SVG", ".svg")):
        if path is not None:
            refuse_unwritable(path, what, ending)


def write_sheets(sheet: WalkSheet, units: Units, *, paper: str, pdf: Path | None, svg: Path | None) -> None:
    """Write the sheet and its map, as far as a file is named for them.

    Raises
    ------
    UnwritableFileError
        If a file cannot be written.
    """
    from conewise.reports import walk_map, walk_pdf

    if svg is not None:
        write_whole(svg, walk_map.walk_map_svg(sheet, units).encode())
    if pdf is not None:
        write_whole(pdf, walk_pdf.walk_pdf(sheet, units, paper=paper))

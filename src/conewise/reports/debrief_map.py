"""The map of a debrief as SVG: the line driven and the line of the other run, the place to work on, the cones."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from conewise.quantities import HALF_90
from conewise.reports import figures, map_parts
from conewise.reports.answer import LineAnswer
from conewise.reports.svg import points, tag
from conewise.runs import feature_results
from conewise.solver.result import ConeResult, Solution

if TYPE_CHECKING:
    from conewise.reports.debrief_answer import DebriefAnswer
    from conewise.reports.figures import MapSize
    from conewise.reports.map_parts import Frame, Glyph
    from conewise.reports.units import Units

Array = NDArray[np.float64]

_FOCUS_WIDTH = 14.0  # of the band under the place to work on, beyond the line [px]


def driven_answer(answer: DebriefAnswer) -> LineAnswer:
    """The driven run in the shape in which every map and trace draws a run; its cones have no price."""
    run, geometry = answer.driven, answer.geometry
    elapsed = run.time - run.time[0]
    cones = tuple(
        ConeResult(
            id=cone.id, feature=cone.feature, is_left=cone.side > 0, is_standing=cone.is_standing, x=cone.x, y=cone.y,
            station=cone.station, price=0.0, margin=0.0, clearance=0.0,
        )
        for cone in geometry.passes
    )  # fmt: skip
    solution = Solution(
        level="driven", course=geometry.course.name, car=answer.car, time=run.run_time, distance=geometry.path.length,
        station=run.front_station, elapsed=elapsed, x=run.x, y=run.y, heading=run.heading,
        lateral_offset=run.lateral_offset, speed=run.speed, ax=run.longitudinal_acceleration,
        ay=run.lateral_acceleration, gear=np.zeros(run.station.size, dtype=np.int64), cones=cones,
        features=feature_results(geometry, station=run.front_station, elapsed=elapsed, speed=run.speed),
    )  # fmt: skip
    return LineAnswer(solution=solution, course=geometry.course)


def debrief_map(
    answer: DebriefAnswer, drawn: LineAnswer, units: Units, *, size: MapSize, is_alone: bool = False
) -> str:
    """The map for one room of a page; its colours come from the page.

    Parameters
    ----------
    answer : DebriefAnswer
    drawn : LineAnswer
        The driven run, of `driven_answer`.
    units : Units
        Units of the scale and of the distances to the cones.
    size : MapSize
        The room.
    is_alone : bool, default False
        Whether the drawing carries its own look, in black and grey, for a printed sheet.
    """
    frame = figures.fit(drawn, size)
    line = frame.on_sheet(np.column_stack([answer.driven.x, answer.driven.y]))
    other = frame.on_sheet(np.column_stack([answer.other.x, answer.other.y]))
    height = frame.height + map_parts.scale_height(frame)
    return tag(
        "svg",
        tag("style", _printed(frame)) if is_alone else "",
        tag("rect", class_="sheet", x=0.0, y=0.0, width=frame.width, height=height),
        tag("svg", *map_parts.ground(drawn, frame), x=0.0, y=0.0, width=frame.width, height=frame.height),
        *_focus_band(answer, line, frame),
        tag("polyline", class_="driven", points=_pairs(line)),
        tag("polyline", class_="other", points=_pairs(other)),
        *(_cone(glyph, answer, units) for glyph in map_parts.cone_glyphs(drawn, frame)),
        *figures.end_labels(drawn, frame, line, beside=other),
        *map_parts.scale_and_north(drawn, units, frame, top=frame.height + 10.0),
        xmlns="http://www.w3.org/2000/svg",
        class_="map",
        width=frame.width if is_alone else None,
        height=height if is_alone else None,
        viewBox=f"0 0 {frame.width:g} {height:g}",
        role="group",
        aria_label=f"Map of {answer.geometry.course.name}: {answer.driven.name} solid, {answer.other.name} dashed",
        data_matrix=" ".join(f"{number:.6f}" for number in frame.matrix),
    )


def _printed(frame: Frame) -> str:
    """The look of a printed sheet: what a page has in colour is told by dashes and by a grey band."""
    style = figures.standing_style(frame)
    for name, value in (("focus", "#cfcfcf"), ("signal", "#1a2026"), ("line", f"{frame.stroke / 2:g}px")):
        style = style.replace(f"var(--{name})", value)
    return style


def _cone(glyph: Glyph, answer: DebriefAnswer, units: Units) -> str:
    """A cone that tells how far the car was from it, where that was taken."""
    bare = replace(glyph, result=None)
    words = bare.words(units)
    taken = [cone for cone in (answer.measures.cones if answer.measures else ()) if cone.id == glyph.cone.id]
    if taken and glyph.cone.points_to is None:
        nearest = min(taken, key=lambda cone: cone.distance)
        words += (
            f": the car was {units.margin(nearest.distance)} ±{units.margin(HALF_90 * nearest.deviation)}"
            f" {units.margin_unit} from its base"
        )
    return bare.svg(with_focus=True, units=units, words=words)


def _focus_band(answer: DebriefAnswer, line: Array, frame: Frame) -> list[str]:
    """A broad band under the feature to work on."""
    if not answer.place:
        return []
    spans = [span for span in answer.geometry.spans if span.id == answer.place]
    station = answer.driven.front_station
    stretches = [line[(station >= span.start) & (station <= span.end)] for span in spans]
    width = frame.stroke + _FOCUS_WIDTH
    return [tag("polyline", class_="focus", points=_pairs(stretch), stroke_width=width) for stretch in stretches]


def _pairs(line: Array) -> str:
    return points((float(x), float(y)) for x, y in line)

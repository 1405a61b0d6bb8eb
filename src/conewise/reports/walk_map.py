"""The map of a walk sheet: turned the way the driver stands at the start, readable in black and white.

The slower, the heavier the line. Bars across it mark where braking begins, arrowheads where the throttle stays on.
"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from conewise.reports import figures, map_parts
from conewise.reports.figures import MapSize
from conewise.reports.labels import Label, Sheet
from conewise.reports.svg import points, tag, text

if TYPE_CHECKING:
    from collections.abc import Iterator

    from conewise.reports.map_parts import Frame
    from conewise.reports.units import Units
    from conewise.reports.walk_answer import Place, WalkSheet

Array = NDArray[np.float64]

SHEET = MapSize(width=760, most_height=640, text=16, stroke=6, cone=4.5)
_WEIGHTS = (1.6, 2.6, 3.8, 5.2, 6.8)  # of the line, from the fastest fifth of the speeds to the slowest [px]
_KEY = (
    "The slower, the heavier the line; bold: slowest speed [{unit}]; round: feature.",
    "Bar across: brake. Arrowhead: the throttle stays on. Ring: key cone.",
    "Filled square: cone on your left; open: on your right. Dart: pointer cone, lying.",
)


def turn_of(sheet: WalkSheet) -> float:
    """Counter-clockwise turn of the plan with which the driver at the start looks up the sheet. [rad]"""
    return float(np.pi / 2 - sheet.answer.solution.heading[0])


def walk_map_svg(sheet: WalkSheet, units: Units, size: MapSize = SHEET) -> str:
    """The map as one `svg` element with its own colours.

    Parameters
    ----------
    sheet : WalkSheet
    units : Units
        Units of the speeds and the scale.
    size : MapSize, default SHEET
        The room.
    """
    answer = sheet.answer
    solution = answer.solution
    driven = np.column_stack([solution.x, solution.y])
    cones = np.array([(cone.x, cone.y) for cone in answer.course.cones], dtype=float).reshape(-1, 2)
    frame = figures.turned(np.vstack([driven, cones]), size, turn_of(sheet))
    line = frame.on_sheet(driven)
    glyphs = map_parts.cone_glyphs(answer, frame)
    placed = Sheet(
        frame.width, frame.height, size=frame.text, line=figures.dense(line, 5.0), taken=frame.on_sheet(cones)
    ).place([*figures.ends(line), *figures.numbers(answer, line), *_speeds(sheet, units, line)])
    top = -1.5 * frame.text
    foot = frame.height + map_parts.scale_height(frame)
    key = [
        text(words.format(unit=units.speed_unit), 8.0, foot + (1.2 + 1.35 * i) * frame.text, class_="start")
        for i, words in enumerate(_KEY)
    ]
    height = foot + 5.6 * frame.text - top
    body = [
        tag(
            "svg",
            *map_parts.ground(answer, frame),
            x=0.0, y=0.0, width=frame.width, height=frame.height,
        ),
        *_weighted(solution.speed, line),
        *_places(sheet, frame),
        *_rings(sheet, frame),
        *(glyph.svg(with_focus=False, units=units) for glyph in glyphs),
        *(figures.label_svg(spot) for spot in placed),
        *map_parts.scale_and_north(answer, units, frame, top=frame.height + 8.0),
        *key,
    ]  # fmt: skip
    return tag(
        "svg",
        tag("style", figures.standing_style(frame) + " .ring{fill:none;stroke:#1a2026;stroke-width:1.5}"),
        tag("rect", class_="sheet", x=0.0, y=top, width=frame.width, height=height),
        *body,
        xmlns="http://www.w3.org/2000/svg",
        class_="map",
        viewBox=f"0 {top:g} {frame.width:g} {height:g}",
        width=frame.width,
        height=height,
        role="img",
        aria_label=f"Walk map of {solution.course}, turned the way the driver stands at the start",
    )


def _weighted(speed: Array, line: Array) -> Iterator[str]:
    """The line in runs of one weight."""
    low, high = map_parts.colour_range(speed)
    share = np.clip(((speed[1:] + speed[:-1]) / 2 - low) / max(high - low, 1e-9), 0.0, 0.999)
    level = len(_WEIGHTS) - 1 - (share * len(_WEIGHTS)).astype(int)
    starts = np.concatenate([[0], np.nonzero(np.diff(level))[0] + 1, [len(level)]])
    for begin, end in pairwise(starts):
        part = points((float(x), float(y)) for x, y in line[begin : end + 1])
        weight = _WEIGHTS[level[begin]]
        yield tag("polyline", class_="run", points=part, stroke="#545d67", stroke_width=weight)


def _speeds(sheet: WalkSheet, units: Units, line: Array) -> list[Label]:
    solution = sheet.answer.solution
    labels = []
    for stop in sheet.stops[1:-1]:
        x, y = (float(np.interp(stop.feature.slowest_station, solution.station, line[:, i])) for i in (0, 1))
        words = f"{stop.feature.slowest_speed * units.speed_factor:.0f}"
        labels.append(Label(text=words, x=x, y=y, kind="slowest"))
    return labels


def _places(sheet: WalkSheet, frame: Frame) -> Iterator[str]:
    """A bar across the line where braking begins, an arrowhead along it where the throttle stays on."""
    for stop in sheet.stops:
        if stop.braking is not None:
            at, along = _on_line(sheet, frame, stop.braking)
            across = np.array([-along[1], along[0]])
            a, b = at - 9.0 * across, at + 9.0 * across
            yield tag("path", class_="tick", stroke_width=3.0, d=f"M{a[0]:.1f} {a[1]:.1f}L{b[0]:.1f} {b[1]:.1f}")
        if stop.power is not None:
            at, along = _on_line(sheet, frame, stop.power)
            across = np.array([-along[1], along[0]])
            corners = (at + 9.0 * along, at - 5.0 * along + 6.5 * across, at - 5.0 * along - 6.5 * across)
            yield tag("polygon", class_="north", points=points((float(x), float(y)) for x, y in corners))


def _on_line(sheet: WalkSheet, frame: Frame, place: Place) -> tuple[Array, Array]:
    """Where a place lies on the sheet, and the way the car goes there."""
    solution = sheet.answer.solution
    line = np.column_stack([solution.x, solution.y])
    nearest = int(np.argmin(np.hypot(*(line - np.array([place.x, place.y])).T)))
    ends = frame.on_sheet(line[[max(nearest - 1, 0), min(nearest + 1, len(line) - 1)]])
    along = ends[1] - ends[0]
    return frame.on_sheet(np.array([[place.x, place.y]]))[0], along / max(float(np.hypot(*along)), 1e-9)


def _rings(sheet: WalkSheet, frame: Frame) -> Iterator[str]:
    """A ring round the key cone of every feature that has one."""
    for stop in sheet.stops:
        if stop.key_cone is not None:
            x, y = frame.on_sheet(np.array([[stop.key_cone.x, stop.key_cone.y]]))[0]
            yield tag("circle", class_="ring", cx=float(x), cy=float(y), r=2.2 * frame.cone)

"""The map of a solved run as SVG: the line coloured by speed, speeds and prices where they matter."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from conewise.reports import map_parts
from conewise.reports.labels import Label, Placed, Sheet
from conewise.reports.map_parts import Frame
from conewise.reports.svg import tag, text

if TYPE_CHECKING:
    from conewise.reports.answer import LineAnswer
    from conewise.reports.units import Units

Array = NDArray[np.float64]

_PAD = 40.0  # around the course [px]
_EXTENT_PAD = 4.0  # around the cones [m]
_TURNS = (0.0, np.pi / 2)
_TURN_GAIN = 1.12  # a turned map must be this much larger to be worth the turned head
_N_PRICES = 8
_NEAR = 9.0  # two speeds closer than this are one label [px]


@dataclass(frozen=True, slots=True, kw_only=True)
class MapSize:
    """The room for a map. The width is used whole; the height is at most `most_height`."""

    width: float  # [px]
    most_height: float  # [px]
    text: float  # [px]
    stroke: float  # width of the line [px]
    cone: float = 4.0  # half size of a cone's glyph [px]


DESK = MapSize(width=800, most_height=640, text=14, stroke=5)
HAND = MapSize(width=358, most_height=560, text=14, stroke=4, cone=3)
DESK_SUN = MapSize(width=800, most_height=680, text=20, stroke=7, cone=5)
HAND_SUN = MapSize(width=358, most_height=600, text=20, stroke=6)
PRINT = MapSize(width=1200, most_height=900, text=16, stroke=6, cone=5)

# Concrete colours of a map that stands alone; on a page they come from the page.
_ALONE = {
    "paper": "#ffffff",
    "ink": "#1a2026",
    "quiet": "#545d67",
    "rule": "#b9bfc6",
    "wash": "#eceae4",
}


def map_svg(answer: LineAnswer, units: Units, size: MapSize, *, is_alone: bool = True) -> str:
    """The map of a run.

    Parameters
    ----------
    answer : LineAnswer
        The answer; its course supplies the lot, its solution the line and the cones.
    units : Units
        Units of the speeds, prices and the scale.
    size : MapSize
        The room; text and line widths are for exactly this width.
    is_alone : bool, default True
        Whether the drawing carries its own colours and title. On a page they come from the page.

    Returns
    -------
    str
        One `svg` element.
    """
    frame = fit(answer, size)
    line = frame.on_sheet(np.column_stack([answer.solution.x, answer.solution.y]))
    glyphs = map_parts.cone_glyphs(answer, frame)
    placed = _placed(answer, units, frame, line)
    foot = map_parts.foot(answer, units, frame)
    head = [_head(answer, frame), *_key(units, frame)] if is_alone else []
    top = -frame.text * 5.5 if is_alone else 0.0
    body = [
        tag("svg", *map_parts.ground(answer, frame), x=0.0, y=0.0, width=frame.width, height=frame.height),
        *map_parts.coloured_line(answer, line, frame),
        *map_parts.marks(answer, line),
        *(glyph.svg(with_focus=not is_alone, units=units) for glyph in glyphs),
        *(label_svg(spot) for spot in placed),
        *foot,
        *head,
    ]
    height = frame.height + map_parts.foot_height(frame) - top
    return tag(
        "svg",
        tag("style", standing_style(frame)) if is_alone else "",
        tag("rect", class_="sheet", x=0.0, y=top, width=frame.width, height=height),
        *body,
        xmlns="http://www.w3.org/2000/svg",
        class_="map",
        viewBox=f"0 {top:g} {frame.width:g} {height:g}",
        width=frame.width if is_alone else None,
        height=height if is_alone else None,
        role="img" if is_alone else "group",
        aria_label=f"Map of {answer.solution.course}: the line coloured by speed, cones, speeds and prices",
        data_matrix=" ".join(f"{number:.6f}" for number in frame.matrix),
    )


def fit(answer: LineAnswer, size: MapSize) -> Frame:
    """Turn, scale and shift that show the whole course as large as the room allows."""
    cones = np.array([(cone.x, cone.y) for cone in answer.course.cones], dtype=float).reshape(-1, 2)
    plan = np.vstack([np.column_stack([answer.solution.x, answer.solution.y]), cones])
    scales = []
    for turn in _TURNS:
        low, high = _extent(plan, turn)
        width, height = high - low
        scales.append(min((size.width - 2 * _PAD) / width, (size.most_height - 2 * _PAD) / height))
    best = int(np.argmax(scales))
    return turned(plan, size, float(_TURNS[best if scales[best] > _TURN_GAIN * scales[0] else 0]))


def turned(plan: Array, size: MapSize, turn: float) -> Frame:
    """Scale and shift that show points of the plan, shape (n, 2), as large as the room allows after a given turn.

    `turn` is counter-clockwise. [m], [rad]
    """
    low, high = _extent(plan, turn)
    width, height = high - low
    scale = min((size.width - 2 * _PAD) / width, (size.most_height - 2 * _PAD) / height)
    used = min(size.most_height, float(height * scale) + 2 * _PAD)
    shift = np.array([size.width, used]) / 2
    centre = (low + high) / 2
    c, s = np.cos(turn), np.sin(turn)
    matrix = (
        scale * c,
        -scale * s,
        shift[0] - scale * centre[0],
        -scale * s,
        -scale * c,
        shift[1] + scale * centre[1],
    )
    return Frame(
        width=size.width,
        height=used,
        text=size.text,
        stroke=size.stroke,
        cone=size.cone,
        scale=float(scale),
        turn=turn,
        matrix=tuple(float(number) for number in matrix),
    )


def _extent(plan: Array, turn: float) -> tuple[Array, Array]:
    c, s = np.cos(turn), np.sin(turn)
    turned = plan @ np.array([[c, s], [-s, c]])
    return turned.min(axis=0) - _EXTENT_PAD, turned.max(axis=0) + _EXTENT_PAD


def _placed(answer: LineAnswer, units: Units, frame: Frame, line: Array) -> list[Placed]:
    cones = np.array([(cone.x, cone.y) for cone in answer.course.cones], dtype=float).reshape(-1, 2)
    sheet = Sheet(frame.width, frame.height, size=frame.text, line=dense(line, 5.0), taken=frame.on_sheet(cones))
    return sheet.place(_labels(answer, units, frame, line))


def dense(line: Array, spacing: float) -> Array:
    """Points along a line, at most `spacing` apart."""
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    at = np.linspace(0.0, along[-1], max(2, int(along[-1] / spacing) + 1))
    return np.column_stack([np.interp(at, along, line[:, 0]), np.interp(at, along, line[:, 1])])


def _labels(answer: LineAnswer, units: Units, frame: Frame, line: Array) -> list[Label]:
    """Everything that would like a place, weightiest first."""
    solution = answer.solution

    def at(station: float) -> tuple[float, float]:
        return tuple(float(np.interp(station, solution.station, line[:, axis])) for axis in (0, 1))  # type: ignore[return-value]

    def speed_label(station: float, speed: float, kind: str) -> Label:
        x, y = at(station)
        return Label(text=f"{speed * units.speed_factor:.0f}", x=x, y=y, kind=kind, is_close=kind == "passing")

    inner = [f for f in solution.features if f.kind not in {"start", "finish"}]
    slowest = [speed_label(f.slowest_station, f.slowest_speed, "slowest") for f in inner]
    slowest.sort(key=lambda label: float(label.text))
    prices = []
    for cone in answer.dearest_cones[:_N_PRICES]:
        x, y = frame.on_sheet(np.array([[cone.x, cone.y]]))[0]
        prices.append(Label(text=units.price(cone.price), x=float(x), y=float(y), kind="price"))
    passing = [speed_label(f.start, f.entry_speed, "passing") for f in inner]
    passing += [speed_label(f.end, f.exit_speed, "passing") for f in inner]
    kept: list[Label] = []
    for label in passing:
        if not _has_near(label, [*slowest, *kept]):
            kept.append(label)
    return [*ends(line), *_interleaved(slowest, prices), *numbers(answer, line), *kept]


def end_labels(answer: LineAnswer, frame: Frame, line: Array, *, beside: Array) -> list[str]:
    """Start, finish and the numbers of the features, clear of the line, of another one beside it, and of the cones.

    `line` and `beside` have shape (n, 2). [px]
    """
    cones = np.array([(cone.x, cone.y) for cone in answer.course.cones], dtype=float).reshape(-1, 2)
    lines = np.vstack([dense(line, 5.0), dense(beside, 5.0)])
    sheet = Sheet(frame.width, frame.height, size=frame.text, line=lines, taken=frame.on_sheet(cones))
    return [label_svg(spot) for spot in sheet.place([*ends(line), *numbers(answer, line)])]


def ends(line: Array) -> list[Label]:
    """Start and finish of a line of shape (n, 2). [px]"""
    places = (("Start", line[0]), ("Finish", line[-1]))
    return [Label(text=word, x=float(x), y=float(y), kind="end", is_needed=True) for word, (x, y) in places]


def numbers(answer: LineAnswer, line: Array) -> list[Label]:
    """The number of every feature between start and finish, half way through it."""
    solution = answer.solution
    found = []
    for index, feature in enumerate(solution.features, start=1):
        if feature.kind not in {"start", "finish"}:
            middle = (feature.start + feature.end) / 2
            x, y = (float(np.interp(middle, solution.station, line[:, axis])) for axis in (0, 1))
            found.append(Label(text=str(index), x=x, y=y, kind="number", is_close=True))
    return found


def _interleaved(first: list[Label], second: list[Label]) -> list[Label]:
    """Two rankings as one: best of the first, best of the second, and so on."""
    both = []
    for index in range(max(len(first), len(second))):
        both += first[index : index + 1] + second[index : index + 1]
    return both


def _has_near(label: Label, others: list[Label]) -> bool:
    return any(np.hypot(label.x - other.x, label.y - other.y) < _NEAR for other in others)


def label_svg(spot: Placed) -> str:
    """Box, tie line and text of a placed label."""
    label = spot.label
    parts = []
    if spot.is_tied:
        dx, dy = spot.x - label.x, spot.y - label.y
        share = 1 - min(spot.width / 2 / max(abs(dx), 1e-6), spot.height / 2 / max(abs(dy), 1e-6))
        parts.append(
            tag("line", class_="tie", x1=label.x, y1=label.y, x2=label.x + share * dx, y2=label.y + share * dy)
        )
    if label.kind in {"price", "number"}:
        radius = 2.0 if label.kind == "price" else spot.height / 2
        width = spot.width if label.kind == "price" else max(spot.width, spot.height)
        parts.append(
            tag(
                "rect",
                class_=f"box {label.kind}",
                x=spot.x - width / 2,
                y=spot.y - spot.height / 2,
                width=width,
                height=spot.height,
                rx=radius,
            )
        )
    size = spot.height / 1.3
    parts.append(text(label.text, spot.x, spot.y + 0.35 * size, class_=f"label {label.kind}"))
    return tag("g", *parts)


def _head(answer: LineAnswer, frame: Frame) -> str:
    from conewise.reports.sentences import answer_time

    solution = answer.solution
    words = f"{solution.course}, {solution.car}: {answer_time(answer)}"
    if solution.fallback is not None:
        words += " (fallback: quasi-steady on a fixed line)"
    return text(words, 16.0, -3.6 * frame.text, class_="title")


def _key(units: Units, frame: Frame) -> list[str]:
    """What numbers and shapes mean, below the title."""
    top = -2.1 * frame.text
    lines = (
        f"Bold: slowest speed of a feature; plain: speed at its ends; boxed: s per {units.price_step_text} more room.",
        "Filled square: cone on the driver's left; open: on the right; dart: pointer cone; round: feature number.",
    )
    return [text(line, 16.0, top + 1.4 * i * frame.text, class_="start") for i, line in enumerate(lines)]


def standing_style(frame: Frame) -> str:
    """The page's map style with concrete colours and sizes, for a drawing that stands alone."""
    style = map_parts.map_style()
    for name, colour in _ALONE.items():
        style = style.replace(f"var(--{name})", colour)
    style = style.replace("var(--small)", f"{frame.text:g}px")
    return (
        style + f" text{{font-family:'Liberation Sans',Arial,sans-serif}} .title{{font-size:{frame.text * 1.25:g}px}}"
    )

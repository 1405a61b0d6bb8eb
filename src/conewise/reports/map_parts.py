"""The pieces of a map: ground, line, marks, cones, and the foot with colour bar, scale and north."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from html import escape
from importlib.resources import files
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import shapely
from numpy.typing import NDArray

from conewise.reports.palette import cividis
from conewise.reports.svg import points, tag, text

if TYPE_CHECKING:
    from collections.abc import Iterator

    from conewise.course.layout import Cone, Obstacle
    from conewise.reports.answer import LineAnswer
    from conewise.reports.units import Units
    from conewise.solver.result import ConeResult

Array = NDArray[np.float64]

_COLOUR_STEPS = 40
_EDGE_NEAR = 15.0  # an edge of the lot farther from line and cones is left off a map that does not hold the lot [m]
_EDGE_FINE = 0.05  # how closely the line is followed for that [m]
_SCALE_LENGTHS = (5.0, 10.0, 20.0, 50.0, 100.0, 200.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """Where the plan lies on the sheet."""

    width: float  # [px]
    height: float  # without the foot [px]
    text: float  # [px]
    stroke: float  # [px]
    cone: float  # half size of a cone's glyph [px]
    scale: float  # [px/m]
    turn: float  # counter-clockwise turn of the plan [rad]
    matrix: tuple[float, ...]  # x' = m0 x + m1 y + m2, y' = m3 x + m4 y + m5

    def on_sheet(self, plan: Array) -> Array:
        """Points of the plan, shape (n, 2), on the sheet. [px]"""
        m = np.array(self.matrix).reshape(2, 3)
        return np.asarray(plan @ m[:, :2].T + m[:, 2])


@dataclass(frozen=True, slots=True, kw_only=True)
class Glyph:
    """A cone on the sheet."""

    cone: Cone
    result: ConeResult | None
    sides: frozenset[str]  # of the driver, over all its passes
    x: float  # [px]
    y: float
    half: float  # half size [px]
    direction: float  # of a pointer's tip on the sheet [rad]

    def svg(self, *, with_focus: bool, units: Units, words: str = "") -> str:
        """Square or, for a pointer, dart. Filled on the driver's left, open on the right, half and half on both.

        `words` stand instead of its own.
        """
        side = "both" if len(self.sides) > 1 else next(iter(self.sides), "right")
        body = self._dart() if self.cone.points_to is not None else self._square(side)
        return tag(
            "g",
            *body,
            class_=f"cone {side}",
            tabindex=0.0 if with_focus else None,
            role="img" if with_focus else None,
            aria_label=(words or self.words(units)) if with_focus else None,
            data_cone=self.cone.id if with_focus else None,
            data_x=self.x if with_focus else None,
            data_y=self.y if with_focus else None,
        )

    def words(self, units: Units) -> str:
        """The cone in one line."""
        side = " and ".join(f"on your {side}" for side in sorted(self.sides))
        if self.cone.points_to is not None:
            return f"Pointer {self.cone.id}, points to {self.cone.points_to}, {side}"
        if self.result is None:
            return f"Cone {self.cone.id}, {side}" if side else f"Cone {self.cone.id}, not passed"
        price = f"{units.price(self.result.price)} s per {units.price_step_text} more room"
        asked, clear = (
            f"{units.margin(size)} {units.margin_unit}" for size in (self.result.margin, self.result.clearance)
        )
        return f"Cone {self.cone.id}, {side}: {price}; margin asked {asked}, clearance {clear}"

    def _square(self, side: str) -> list[str]:
        h = self.half
        parts = [tag("rect", class_="body", x=self.x - h, y=self.y - h, width=2 * h, height=2 * h)]
        if side == "both":
            parts.append(tag("rect", class_="half", x=self.x - h, y=self.y - h, width=h, height=2 * h))
        return parts

    def _dart(self) -> list[str]:
        along = self.half * np.array([np.cos(self.direction), np.sin(self.direction)])
        across = np.array([-along[1], along[0]])
        centre = np.array([self.x, self.y])
        corners = [centre + 1.5 * along, centre - 1.25 * along + 0.9 * across, centre - 1.25 * along - 0.9 * across]
        return [tag("polygon", class_="body", points=points((float(p[0]), float(p[1])) for p in corners))]


@cache
def map_style() -> str:
    """Style of the map, with the page's colours as variables."""
    return (files("conewise.reports") / "templates" / "map.css").read_text(encoding="utf-8")


def cone_glyphs(answer: LineAnswer, frame: Frame) -> list[Glyph]:
    """All cones of the course, pointers too, with what the run says about them."""
    results: dict[str, ConeResult] = {}
    sides: dict[str, set[str]] = {}
    for result in answer.solution.cones:
        known = results.get(result.id)
        if known is None or result.price > known.price:
            results[result.id] = result
        sides.setdefault(result.id, set()).add("left" if result.is_left else "right")
    cones = {cone.id: cone for cone in answer.course.cones}
    glyphs = []
    for cone in answer.course.cones:
        x, y = frame.on_sheet(np.array([[cone.x, cone.y]]))[0]
        direction = 0.0
        if cone.points_to in cones:
            target = cones[cone.points_to]
            tx, ty = frame.on_sheet(np.array([[target.x, target.y]]))[0]
            direction = float(np.arctan2(ty - y, tx - x))
        seen = sides.get(cone.id) or sides.get(cone.points_to or "", set())
        glyphs.append(
            Glyph(
                cone=cone,
                result=results.get(cone.id),
                sides=frozenset(seen),
                x=float(x),
                y=float(y),
                half=frame.cone,
                direction=direction,
            )
        )
    return glyphs


def ground(answer: LineAnswer, frame: Frame) -> Iterator[str]:
    """Lot, patches, obstacles."""
    site = answer.course.site
    for patch in site.patches:
        yield _area(patch.outline, frame, "patch", f"Patch, friction {patch.friction:g}")
    if site.outline:
        yield from _lot(answer, frame)
    if answer.course.stop is not None and answer.course.stop.outline:
        yield _area(answer.course.stop.outline, frame, "stop", "Stop area")
    for obstacle in site.obstacles:
        yield _obstacle(obstacle, frame)


def _lot(answer: LineAnswer, frame: Frame) -> Iterator[str]:
    """The edge of the lot: whole where it fits, else the stretches of it that are near the course."""
    outline = answer.course.site.outline
    corners = frame.on_sheet(np.array(outline, dtype=float))
    if np.all(corners >= 0.0) and np.all(corners <= [frame.width, frame.height]):
        yield _area(outline, frame, "lot", "Edge of the lot")
        return
    line = shapely.LineString(np.column_stack([answer.solution.x, answer.solution.y])).simplify(_EDGE_FINE)
    cones = [shapely.Point(cone.x, cone.y) for cone in answer.course.cones]
    near = shapely.LinearRing(outline).intersection(shapely.union_all(shapely.buffer([line, *cones], _EDGE_NEAR)))
    for part in getattr(near, "geoms", (near,)):
        if part.length > 0.0:
            pairs = ((float(x), float(y)) for x, y in frame.on_sheet(shapely.get_coordinates(part)))
            yield tag("polyline", tag("title", "Edge of the lot"), class_="lot", points=points(pairs))


def _area(outline: tuple[tuple[float, float], ...], frame: Frame, name: str, title: str) -> str:
    corners = frame.on_sheet(np.array(outline, dtype=float))
    pairs = ((float(x), float(y)) for x, y in corners)
    return tag("polygon", tag("title", escape(title)), class_=name, points=points(pairs))


def _obstacle(obstacle: Obstacle, frame: Frame) -> str:
    title = f"{obstacle.kind} {obstacle.id}"
    if obstacle.centre is None:
        return _area(obstacle.outline, frame, "obstacle", title) if obstacle.outline else ""
    x, y = frame.on_sheet(np.array([obstacle.centre], dtype=float))[0]
    radius = max(3.0, obstacle.radius * frame.scale)
    return tag("circle", tag("title", escape(title)), class_="obstacle", cx=float(x), cy=float(y), r=radius)


def colour_range(speed: Array) -> tuple[float, float]:
    """Speeds at the ends of the colour bar: launch and finish would take half of the colours otherwise. [m/s]"""
    low, high = np.percentile(speed, [3.0, 97.0])
    return float(low), float(high)


def coloured_line(answer: LineAnswer, line: Array, frame: Frame) -> Iterator[str]:
    """The line in runs of one colour, above a casing that holds it on any ground."""
    speed = answer.solution.speed
    low, high = colour_range(speed)
    share = (speed - low) / max(high - low, 1e-9)
    mean = (share[1:] + share[:-1]) / 2
    level = np.clip((mean * _COLOUR_STEPS).astype(int), 0, _COLOUR_STEPS - 1)
    whole = points((float(x), float(y)) for x, y in line)
    yield tag("polyline", class_="casing", points=whole, stroke_width=frame.stroke + 2.5)
    starts = np.concatenate([[0], np.nonzero(np.diff(level))[0] + 1, [len(level)]])
    for begin, end in pairwise(starts):
        part = points((float(x), float(y)) for x, y in line[begin : end + 1])
        colour = cividis((level[begin] + 0.5) / _COLOUR_STEPS)
        yield tag("polyline", class_="run", points=part, stroke=colour, stroke_width=frame.stroke)


def marks(answer: LineAnswer, line: Array) -> Iterator[str]:
    """Ticks across the line where features begin and end, dots where they are slowest."""
    solution = answer.solution
    along = np.gradient(line, axis=0)
    along /= np.maximum(np.hypot(along[:, 0], along[:, 1])[:, None], 1e-9)
    for feature in solution.features:
        for station in (feature.start, feature.end):
            index = int(np.argmin(np.abs(solution.station - station)))
            (x, y), (dx, dy) = line[index], along[index]
            half = 9.0 if feature.kind in {"start", "finish"} else 6.0
            yield tag(
                "line",
                class_="tick",
                x1=float(x - half * dy),
                y1=float(y + half * dx),
                x2=float(x + half * dy),
                y2=float(y - half * dx),
            )
        if feature.kind not in {"start", "finish"}:
            index = int(np.argmin(np.abs(solution.station - feature.slowest_station)))
            yield tag("circle", class_="dot", cx=float(line[index, 0]), cy=float(line[index, 1]), r=3.5)


def foot_height(frame: Frame) -> float:
    """Height of the strip below the map. [px]"""
    return 24.0 + 2.6 * frame.text


def foot(answer: LineAnswer, units: Units, frame: Frame) -> list[str]:
    """Colour bar with the quantity and its unit, scale bar, north."""
    low, high = colour_range(answer.solution.speed)
    left, top = 16.0, frame.height + 1.5 * frame.text
    width = min(220.0, frame.width * 0.46)
    n = 24
    bar = [
        tag("rect", x=left + i * width / n, y=top, width=width / n + 0.5, height=10.0, fill=cividis((i + 0.5) / n))
        for i in range(n)
    ]
    below = top + 12 + frame.text
    words = [
        text(f"Speed [{units.speed_unit}]", left, top - 0.5 * frame.text, class_="label start"),
        text(f"≤ {low * units.speed_factor:.0f}", left, below, class_="label start"),
        text(f"≥ {high * units.speed_factor:.0f}", left + width, below, class_="label stop-end"),
        text(f"{(low + high) / 2 * units.speed_factor:.0f}", left + width / 2, below, class_="label"),
    ]
    return [*bar, *words, *scale_and_north(answer, units, frame, top=top)]


def scale_height(frame: Frame) -> float:
    """Height of a strip with scale bar and north alone. [px]"""
    return 30.0 + 1.2 * frame.text


def scale_and_north(answer: LineAnswer, units: Units, frame: Frame, *, top: float) -> list[str]:
    """Scale bar and arrow to the north, at the right, from `top` on. [px]"""
    return [*_scale_bar(units, frame, top + 10), _north(answer, frame, top)]


def _scale_bar(units: Units, frame: Frame, y: float) -> list[str]:
    room = frame.width * 0.22
    lengths = [length / units.length_factor for length in _SCALE_LENGTHS]
    length = max((size for size in lengths if size * frame.scale <= room), default=lengths[0])
    right = frame.width - 56.0
    left = right - length * frame.scale
    name = f"{length * units.length_factor:.0f} {units.length_unit}"
    bar = tag("path", class_="scale", d=f"M{left:.1f} {y - 6:.1f}V{y:.1f}H{right:.1f}V{y - 6:.1f}")
    return [bar, text(name, (left + right) / 2, y + 2 + frame.text, class_="label")]


def _north(answer: LineAnswer, frame: Frame, y: float) -> str:
    x = frame.width - 28.0
    tip = frame.turn + answer.course.site.heading_to_north
    along = np.array([-np.sin(tip), -np.cos(tip)])
    across = np.array([along[1], -along[0]])
    centre = np.array([x, y + 2])
    corners = [
        centre + 12 * along,
        centre - 9 * along + 6 * across,
        centre - 5 * along,
        centre - 9 * along - 6 * across,
    ]
    arrow = tag("polygon", class_="north", points=points((float(p[0]), float(p[1])) for p in corners))
    return arrow + text("N", x, y + 16 + frame.text, class_="label")

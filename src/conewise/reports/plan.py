"""The plan of a course as SVG: cones by shape, features by number, the way by an arrow."""

from __future__ import annotations

import math
from dataclasses import dataclass
from html import escape
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from conewise.course.layout import Cone, Course, FeatureKind, PassSide

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from conewise.course.layout import Point
    from conewise.quantities import System

Array = NDArray[np.float64]

_WIDTH = 960.0  # of the drawing [px]
_PAD = 48.0  # around the course [px]
_ROOM = 24.0  # around a number, as much as it needs [px]
_CONE = 4.0  # half size of a standing cone [px]
_STYLE = """
.paper{fill:var(--paper,#fff)} text{font:12px system-ui,sans-serif;fill:var(--ink,#1b1b1b)}
.name{font-size:16px;font-weight:600}
.way{fill:none;stroke:var(--ink,#1b1b1b);stroke-width:1.5;stroke-dasharray:6 4;opacity:.65}
.standing{fill:var(--cone,#d9480f);stroke:var(--ink,#1b1b1b);stroke-width:1}
.pointer{fill:var(--paper,#fff);stroke:var(--ink,#1b1b1b);stroke-width:1.2}
.line{stroke:var(--ink,#1b1b1b);stroke-width:2.5} .gate{stroke:var(--ink,#1b1b1b);stroke-width:.8;opacity:.45}
.side{stroke:var(--ink,#1b1b1b);stroke-width:1.4} .edge{fill:none;stroke:var(--ink,#1b1b1b);stroke-width:1;opacity:.6}
.obstacle{fill:var(--ink,#1b1b1b);fill-opacity:.22;stroke:var(--ink,#1b1b1b)}
.patch{fill:var(--patch,#2a6f97);fill-opacity:.18}
.number{fill:var(--paper,#fff);stroke:var(--ink,#1b1b1b);stroke-width:1}
.in{text-anchor:middle;dominant-baseline:central}
"""


@dataclass(frozen=True, slots=True)
class _Sheet:
    """From the plan to the drawing."""

    left: float  # [m]
    top: float  # [m]
    scale: float  # [px/m]
    height: float  # [px]

    def at(self, point: Point) -> tuple[float, float]:
        return _PAD + (point[0] - self.left) * self.scale, _PAD + (self.top - point[1]) * self.scale

    def path(self, points: Iterable[Point], *, closed: bool = False) -> str:
        corners = " L".join(f"{x:.1f} {y:.1f}" for x, y in map(self.at, points))
        return f"M{corners}{' Z' if closed else ''}"


def plan_svg(course: Course, *, way: Array | None = None, system: System = "metric") -> str:
    """Drawing of a course.

    Parameters
    ----------
    course : Course
        The course.
    way : Array, shape (n, 2), or None
        Path to draw, east and north; through the middles of the crossings where there is none. [m]
    system : str, default "metric"
        Unit of the scale bar: "metric" or "us".

    Returns
    -------
    str
        A self-contained SVG. Standing cones are squares, pointers are arrows towards their cone; a tick at a cone
        shows the side on which the car goes, two ticks that either side is open.
    """
    line = _middles(course) if way is None else way
    sheet = _sheet(course, line)
    parts = [
        *_site(course, sheet),
        f'<path class="way" d="{sheet.path(_points(line))}" marker-end="url(#tip)"/>',
        *_crossings(course, sheet, line),
        *(_cone(cone, course, sheet) for cone in course.cones),
        *_numbers(course, sheet, line),
        *_margins(course, sheet, system),
    ]
    body = "\n".join(parts)
    title = escape(f"Plan of the course {course.name}")
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_WIDTH:.0f} {sheet.height:.0f}" role="img">\n'
        f"<title>{title}</title><style>{_STYLE}</style>\n"
        '<defs><marker id="tip" viewBox="0 0 8 8" refX="7" refY="4" markerWidth="8" markerHeight="8" orient="auto">'
        '<path d="M0 0L8 4L0 8" fill="none" stroke="var(--ink,#1b1b1b)"/></marker></defs>\n'
        f'<rect class="paper" width="{_WIDTH:.0f}" height="{sheet.height:.0f}"/>\n{body}\n</svg>\n'
    )


def _points(line: Array) -> list[Point]:
    return [(float(x), float(y)) for x, y in line]


def _middles(course: Course) -> Array:
    """Middle of every crossing, in driving order."""
    places = []
    for feature in course.features:
        for crossing in feature.crossings:
            cones = [course.cone(p.cone) for p in crossing]
            places.append((sum(c.x for c in cones) / len(cones), sum(c.y for c in cones) / len(cones)))
    return np.array(places)


def _sheet(course: Course, line: Array) -> _Sheet:
    """A sheet on which the course, the site and the way have room."""
    site = course.site
    outlines = [site.outline, *(o.outline for o in site.obstacles), *(p.outline for p in site.patches)]
    places = [(c.x, c.y) for c in course.cones] + [point for outline in outlines for point in outline] + _points(line)
    east, north = zip(*places, strict=True)
    width = max(max(east) - min(east), 1.0)
    height = max(max(north) - min(north), 1.0)
    scale = min((_WIDTH - 2 * _PAD) / width, 1600.0 / height)
    return _Sheet(min(east), max(north), scale, height * scale + 2 * _PAD + 56.0)


def _site(course: Course, sheet: _Sheet) -> Iterable[str]:
    """Outline, patches and obstacles."""
    if course.site.outline:
        yield f'<path class="edge" d="{sheet.path(course.site.outline, closed=True)}"/>'
    for patch in course.site.patches:
        label = f"friction {patch.friction:g}"
        yield f'<path class="patch" d="{sheet.path(patch.outline, closed=True)}"><title>{label}</title></path>'
    for obstacle in course.site.obstacles:
        label = f"<title>{escape(obstacle.id)} ({escape(obstacle.kind)})</title>"
        if obstacle.centre is None:
            yield f'<path class="obstacle" d="{sheet.path(obstacle.outline, closed=True)}">{label}</path>'
        else:
            x, y = sheet.at(obstacle.centre)
            radius = max(obstacle.radius * sheet.scale, 3.0)
            yield f'<circle class="obstacle" cx="{x:.1f}" cy="{y:.1f}" r="{radius:.1f}">{label}</circle>'


def _crossings(course: Course, sheet: _Sheet, line: Array) -> Iterable[str]:
    """Gates as thin lines, start and finish as thick ones, the passing side of single cones as ticks."""
    for feature in course.features:
        kind = "line" if feature.kind in {FeatureKind.START, FeatureKind.FINISH} else "gate"
        for crossing in feature.crossings:
            cones = [course.cone(p.cone) for p in crossing]
            if len(cones) > 1:
                ends = [(cones[0].x, cones[0].y), (cones[-1].x, cones[-1].y)]
                yield f'<path class="{kind}" d="{sheet.path(ends)}"/>'
                continue
            heading = _heading(line, cones[0])
            for sign in _SIGNS[crossing[0].pass_side]:
                yield _tick(cones[0], heading + sign * math.pi / 2, sheet)


_SIGNS = {PassSide.LEFT: (1,), PassSide.RIGHT: (-1,), PassSide.EITHER: (1, -1)}


def _heading(line: Array, cone: Cone) -> float:
    """Heading of the way where it comes nearest to a cone. [rad]"""
    nearest = int(np.argmin(np.hypot(line[:, 0] - cone.x, line[:, 1] - cone.y)))
    before, after = line[max(nearest - 1, 0)], line[min(nearest + 1, len(line) - 1)]
    return float(np.arctan2(after[1] - before[1], after[0] - before[0]))


def _tick(cone: Cone, direction: float, sheet: _Sheet) -> str:
    """A short line from the cone to the side on which the car goes."""
    x, y = sheet.at((cone.x, cone.y))
    dx, dy = math.cos(direction), -math.sin(direction)
    x1, y1, x2, y2 = x + dx * _CONE, y + dy * _CONE, x + dx * 3.2 * _CONE, y + dy * 3.2 * _CONE
    return f'<line class="side" x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}"/>'


def _cone(cone: Cone, course: Course, sheet: _Sheet) -> str:
    """A square for a standing cone, an arrowhead towards its cone for a pointer."""
    x, y = sheet.at((cone.x, cone.y))
    label = f"<title>{escape(cone.id)}</title>"
    if cone.points_to is None:
        corner = f'x="{x - _CONE:.1f}" y="{y - _CONE:.1f}" width="{2 * _CONE:.0f}" height="{2 * _CONE:.0f}"'
        return f'<rect class="standing" {corner}>{label}</rect>'
    target = sheet.at((course.cone(cone.points_to).x, course.cone(cone.points_to).y))
    towards = math.atan2(target[1] - y, target[0] - x)
    away = max(math.dist((x, y), target), 3.2 * _CONE)  # beside its cone at any scale
    x, y, angle = target[0] - away * math.cos(towards), target[1] - away * math.sin(towards), math.degrees(towards)
    shape = f"M{1.6 * _CONE:.1f} 0L{-_CONE:.1f} {_CONE:.1f}L{-_CONE:.1f} {-_CONE:.1f}Z"
    turned = f'transform="translate({x:.1f} {y:.1f}) rotate({angle:.1f})"'
    return f'<path class="pointer" d="{shape}" {turned}>{label}</path>'


def _numbers(course: Course, sheet: _Sheet, line: Array) -> Iterable[str]:
    """The number of every feature, set off from its first cone where there is room."""
    first = [course.cone(feature.cone_ids[0]) for feature in course.features]
    taken = [sheet.at((cone.x, cone.y)) for cone in course.cones] + [sheet.at(point) for point in _points(line)]
    places = _free_places([sheet.at((cone.x, cone.y)) for cone in first], taken)
    for index, (feature, place) in enumerate(zip(course.features, places, strict=True), start=1):
        name = escape(feature.id)
        yield f'<circle class="number" cx="{place[0]:.1f}" cy="{place[1]:.1f}" r="9"><title>{name}</title></circle>'
        yield f'<text class="in" x="{place[0]:.1f}" y="{place[1]:.1f}">{index}</text>'


def _free_places(beside: Sequence[Point], taken: Sequence[Point]) -> Iterable[Point]:
    """Beside each point the place that is farthest from what is taken and from the numbers before it. [px]"""
    from scipy.spatial import cKDTree

    turn = np.arange(12) * np.pi / 6
    ring = np.concatenate([r * np.column_stack([np.cos(turn), np.sin(turn)]) for r in (20.0, 32.0)])
    around = np.array(beside)[:, None, :] + ring
    room, _ = cKDTree(taken).query(around)
    is_outside = (around[..., 0] < 10.0) | (around[..., 0] > _WIDTH - 10.0) | (around[..., 1] < 10.0)
    away = np.hypot(*ring.T) / 8 + 100.0 * is_outside
    numbers: dict[tuple[int, int], list[Array]] = {}  # by cells of _ROOM pixels
    for places, room_here, cost in zip(around, np.minimum(room, _ROOM), away, strict=True):
        room_left = room_here
        column, row = (int(n // _ROOM) for n in places.mean(axis=0))
        near = [n for i in range(-2, 3) for j in range(-2, 3) for n in numbers.get((column + i, row + j), ())]
        if near:
            gap = np.min(np.linalg.norm(places[:, None] - np.array(near), axis=2), axis=1)
            room_left = np.minimum(room_here, gap)
        best = places[int(np.argmax(room_left - cost))]
        numbers.setdefault((int(best[0] // _ROOM), int(best[1] // _ROOM)), []).append(best)
        yield float(best[0]), float(best[1])


def _margins(course: Course, sheet: _Sheet, system: System) -> Iterable[str]:
    """Name, scale bar, north, and what the shapes mean."""
    unit, size = ("m", 1.0) if system == "metric" else ("ft", 0.3048)
    steps = [step for step in (5, 10, 20, 50, 100, 200, 500) if step * size * sheet.scale <= 200.0]
    length = steps[-1] if steps else 5
    bottom = sheet.height - 24.0
    yield f'<text class="name" x="{_PAD:.0f}" y="24">{escape(course.name)}</text>'
    end = _PAD + length * size * sheet.scale
    yield f'<path class="line" d="M{_PAD:.1f} {bottom - 14:.1f}H{end:.1f}"/>'
    yield f'<text x="{_PAD:.0f}" y="{bottom + 4:.0f}">{length} {unit}</text>'
    x = _PAD + 240.0
    yield f'<rect class="standing" x="{x:.0f}" y="{bottom - 18:.0f}" width="8" height="8"/>'
    yield f'<text x="{x + 16:.0f}" y="{bottom - 9:.0f}">standing cone; the tick is the side to pass on</text>'
    yield f'<path class="pointer" transform="translate({x + 4:.0f} {bottom + 2:.0f})" d="M6.4 0L-4 4L-4 -4Z"/>'
    yield f'<text x="{x + 16:.0f}" y="{bottom + 6:.0f}">pointer, tip towards its cone</text>'
    if course.site.anchor is not None:
        angle = math.degrees(-course.site.heading_to_north)
        yield (
            f'<g transform="translate({_WIDTH - _PAD:.0f} {bottom - 12:.0f}) rotate({angle:.1f})">'
            '<path class="line" d="M0 14V-14M-5 -7L0 -14L5 -7" fill="none"/></g>'
        )
        yield f'<text x="{_WIDTH - _PAD - 56:.0f}" y="{bottom - 8:.0f}">north</text>'

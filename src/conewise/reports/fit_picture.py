"""Old and new wheel on the hub, to scale: a cross-section seen along the car, strut and fender where they are known."""

from __future__ import annotations

from dataclasses import dataclass
from textwrap import wrap
from typing import TYPE_CHECKING

from conewise.cars.fit_case import short_length
from conewise.cars.tyre_size import RIM_EDGE
from conewise.reports.fit_words import answer_sentence, subject
from conewise.reports.svg import points, tag, text

if TYPE_CHECKING:
    from collections.abc import Iterator

    from conewise.cars.wheel_place import WheelPlace
    from conewise.quantities import System
    from conewise.reports.fit_answer import AxleFit, FitAnswer

_WIDTH = 560.0  # of the drawing; a phone shows it whole [px]
_SCALE = 1000.0  # at most [px/m]
_LABEL = 122.0  # room beside strut and fender [px]
_FOOT = 118.0  # below the last one [px]
_TITLE = 36.0  # above each axle [px]
_AROUND = 0.05  # room above the tyre and below the axle's line [m]
_DROP = 0.022  # depth of the rim's well in the drawing [m]
_TREAD = 0.88  # tread over section width in the drawing
_HUB = 0.075  # radius of the hub's face in the drawing [m]
_WALL = 0.03  # thickness of strut and fender in the drawing [m]
_LINE = 66  # letters of a line
_NOTES = (
    "Seen along the car, to scale in widths, offset and diameters; other shapes are sketched. A drawing is no"
    " permission: try every wheel on at full lock and full bump."
)
_STYLE = """
.paper{fill:#fff} text{font:15px system-ui,sans-serif;fill:#1b1b1b}
.name{font-size:17px;font-weight:600} .axle{font-size:16px;font-weight:600}
.mid{text-anchor:middle} .end{text-anchor:end}
.old{fill:none;stroke:#1b1b1b;stroke-width:1.4;stroke-dasharray:5 4;opacity:.75}
.tyre{fill:#00527a;fill-opacity:.16;stroke:#00527a;stroke-width:2.2}
.rim{fill:none;stroke:#00527a;stroke-width:2.6;stroke-linejoin:round}
.hub{fill:#1b1b1b;fill-opacity:.3;stroke:#1b1b1b} .spacer{fill:#1b1b1b;fill-opacity:.75}
.body{fill:#1b1b1b;fill-opacity:.16;stroke:#1b1b1b;stroke-width:1.4}
.thin{stroke:#1b1b1b;stroke-width:1;fill:none} .centre{stroke-dasharray:12 4 2 4}
@media (prefers-color-scheme:dark){
.paper{fill:#14171a} text{fill:#eceff1} .old,.hub,.body,.thin{stroke:#eceff1} .hub,.body,.spacer{fill:#eceff1}
.tyre{fill:#7cc4ee;stroke:#7cc4ee} .rim{stroke:#7cc4ee}
}
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Sheet:
    """Where a point of the car lies on the sheet: outwards is to the right, up from the axle's line."""

    left: float  # of the hub's face [px]
    bottom: float  # of the axle's line [px]
    scale: float  # [px/m]

    def at(self, outwards: float, up: float) -> tuple[float, float]:
        return self.left + outwards * self.scale, self.bottom - up * self.scale


def fit_svg(answer: FitAnswer, *, system: System = "metric", is_alone: bool = True) -> str:
    """Drawing of the wheels asked about over those that are on.

    Parameters
    ----------
    answer : FitAnswer
    system : str, default "metric"
        Units of the labels.
    is_alone : bool, default True
        Whether the drawing carries its own colours, words and numbers. On a page these stand beside it.

    Returns
    -------
    str
        A self-contained SVG, one cross-section an axle, to scale. Outwards is to the right. Dashed is what is on.
    """
    head = _head(answer, system) if is_alone else []
    parts = [text(words, 20.0, 30.0 + 22.0 * k, class_=kind) for k, (words, kind) in enumerate(head)]
    top = 30.0 + 22.0 * len(head)
    ends = [_ends(fit) for fit in answer.axles]
    scale = min(_SCALE, (_WIDTH - 2 * _LABEL) / max(right - left for left, right in ends))
    for fit, (left, right) in zip(answer.axles, ends, strict=True):
        height = (max(fit.after.radius, fit.before.radius) + 1.4 * _AROUND) * scale
        bottom = top + _TITLE + height - 0.4 * _AROUND * scale
        sheet = _Sheet(left=_WIDTH / 2 - (left + right) / 2 * scale, bottom=bottom, scale=scale)
        parts += _axle(fit, sheet, top, system if is_alone else None)
        top += _TITLE + height
    if not is_alone:
        return tag(
            "svg", *parts, class_="fit", xmlns="http://www.w3.org/2000/svg", role="img",
            viewBox=f"0 0 {_WIDTH:.0f} {top + _TITLE:.0f}", aria_label="Old and new wheels to scale",
        )  # fmt: skip
    height = top + _FOOT
    parts += _legend(top, scale, system)
    body = "\n".join(parts)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_WIDTH:.0f} {height:.0f}" role="img">\n'
        f"{tag('title', 'Old and new wheels to scale')}<style>{_STYLE}</style>\n"
        f'<rect class="paper" width="{_WIDTH:.0f}" height="{height:.0f}"/>\n{body}\n</svg>\n'
    )


def _ends(fit: AxleFit) -> tuple[float, float]:
    """What lies farthest inwards and outwards, strut and fender included. [m]"""
    gaps = fit.clearance
    strut = 0.0 if gaps.strut is None else gaps.strut.value + _WALL
    fender = 0.0 if gaps.fender is None else gaps.fender.value + _WALL
    inner = min(fit.before.inner - strut, fit.after.inner)
    edges = [place.outer_seat + RIM_EDGE for place in (fit.before, fit.after)]
    return inner, max(fit.before.outer_side + fender, fit.after.outer_side, *edges)


def _head(answer: FitAnswer, system: System) -> list[tuple[str, str]]:
    """Lines above the drawing, each with its class."""
    said = wrap(answer_sentence(answer), _LINE - 8)
    return [(line, "name") for line in said] + [(line, "") for line in wrap(f"{subject(answer, system)}.", _LINE)]


def _axle(fit: AxleFit, sheet: _Sheet, top: float, system: System | None) -> Iterator[str]:
    """One axle: surroundings, the old wheel, the new wheel, shifts; without units no numbers."""
    wheels = "" if system is None else f": {fit.after.wheel} with {fit.after.tyre}"
    yield text(f"{fit.axle}{wheels}", 20.0, top + 22.0, class_="axle")
    x, y = sheet.at(0.0, 0.0)
    yield tag("line", class_="thin centre", x1=20.0, y1=y, x2=_WIDTH - 20.0, y2=y)
    yield from _around(fit, sheet, system)
    hub_x, hub_y = sheet.at(-0.05, _HUB)
    yield tag("rect", class_="hub", x=hub_x, y=hub_y, width=x - hub_x, height=y - hub_y)
    if fit.after.spacer > 0:
        yield tag(
            "rect", class_="spacer", x=x, y=hub_y, width=fit.after.spacer * sheet.scale, height=y - hub_y
        )  # fmt: skip
    yield tag("polygon", class_="tyre", points=_tyre(fit.after, sheet))
    yield tag("polyline", class_="rim", points=_rim(fit.after, sheet))
    yield tag("polygon", class_="old", points=_tyre(fit.before, sheet))
    yield tag("polyline", class_="old", points=_rim(fit.before, sheet))
    if system is not None:
        yield from _shifts(fit, sheet, system)


def _tyre(place: WheelPlace, sheet: _Sheet) -> str:
    """Section of a tyre: beads on their seats, side walls out to the section width, a flat tread."""
    rim, wall = place.tyre.rim_diameter / 2, place.tyre.sidewall
    seat, half, tread = place.wheel.width / 2, place.section / 2, _TREAD * place.section / 2
    side = [
        (seat, rim), (0.6 * seat + 0.4 * half, rim + 0.16 * wall), (half, rim + 0.42 * wall), (half, rim + 0.58 * wall),
        (0.6 * half + 0.4 * tread, rim + 0.82 * wall), (tread, rim + 0.95 * wall), (0.93 * tread, rim + wall),
    ]  # fmt: skip
    outline = [(-x, r) for x, r in side] + [(x, r) for x, r in reversed(side)]
    return points(sheet.at(place.middle + x, r) for x, r in outline)


def _rim(place: WheelPlace, sheet: _Sheet) -> str:
    """Edges, bead seats and well of a rim, and its disc down to the hub's face."""
    rim, seat = place.wheel.diameter / 2, place.wheel.width / 2
    edge, middle, low = seat + RIM_EDGE, place.middle, rim - _DROP
    outline = [
        (middle - edge, rim + 0.014), (middle - edge + 0.004, rim), (middle - seat + 0.03, rim),
        (middle - seat + 0.045, low), (middle + seat - 0.06, low), (middle + seat - 0.035, low),
        (place.spacer + 0.005, _HUB + 0.012), (place.spacer, _HUB), (place.spacer, 0.03), (place.spacer, _HUB),
        (place.spacer + 0.005, _HUB + 0.012), (middle + seat - 0.035, low), (middle + seat - 0.03, rim),
        (middle + edge - 0.004, rim), (middle + edge, rim + 0.014),
    ]  # fmt: skip
    return points(sheet.at(x, r) for x, r in outline)


def _around(fit: AxleFit, sheet: _Sheet, system: System | None) -> Iterator[str]:
    """Strut and fender at the gaps that were measured with the old wheel, with what is left."""
    radius = max(fit.after.radius, fit.before.radius)
    top = radius + 0.8 * _AROUND
    gaps = fit.clearance
    strut = None if gaps.strut is None else (fit.before.inner - gaps.strut.value, gaps.strut.value)
    fender = None if gaps.fender is None else (fit.before.outer_side + gaps.fender.value, gaps.fender.value)
    for name, place, sign, moved, low in (
        ("strut", strut, -1, fit.shift.towards_strut, 0.62 * radius),
        ("fender", fender, 1, fit.shift.towards_fender, 0.78 * radius),
    ):
        middle = sheet.at(0.0, (top + low) / 2)[1]
        label_at, words = (20.0 if sign < 0 else _WIDTH - 20.0), "not known"
        side = "" if sign < 0 else "end"
        if place is not None:
            near, gap = place
            x, y = sheet.at(near if sign > 0 else near - _WALL, top)
            wide = _WALL * sheet.scale
            yield tag("rect", class_="body", x=x, y=y, width=wide, height=sheet.at(0.0, low)[1] - y)
            left = short_length(abs(gap - moved), system or "metric")
            words = f"{left} {'left' if gap >= moved else 'short'}"
            label_at, side = (x - 8.0, "end") if sign < 0 else (x + wide + 8.0, "")
        yield text(name, label_at, middle - 4.0, class_=side)
        if system is not None:
            yield text(words, label_at, middle + 14.0, class_=side)


def _shifts(fit: AxleFit, sheet: _Sheet, system: System) -> Iterator[str]:
    """How far the rim's edges move, written inside the wheel."""
    shift = fit.shift
    lines = [
        ("outer edge", shift.outer, "out", "in"), ("inner edge", shift.inner, "in", "out"),
        ("radius", shift.radial, "more", "less"),
    ]  # fmt: skip
    x, y = sheet.at(max(fit.after.spacer, 0.0), 0.0)
    for k, (name, value, way, away) in enumerate(lines):
        words = "as before" if abs(value) < 5e-5 else f"{short_length(abs(value), system)} {way if value > 0 else away}"
        yield text(f"{name}: {words}", max(x + 34.0, _WIDTH / 2 + 10.0), y - 58.0 + 20.0 * k)


def _legend(top: float, scale: float, system: System) -> Iterator[str]:
    y = top + 18.0
    yield tag("rect", class_="tyre", x=20.0, y=y - 10.0, width=26.0, height=14.0)
    yield text("asked about", 54.0, y + 2.0)
    yield tag("rect", class_="old", x=164.0, y=y - 10.0, width=26.0, height=14.0)
    yield text("on the car now", 198.0, y + 2.0)
    unit, count = (0.0254, 4) if system == "us" else (0.01, 10)
    x = 342.0
    end = x + unit * count * scale
    yield tag(
        "path",
        class_="thin",
        d=f"M{x:.1f} {y - 8:.1f}V{y + 4:.1f}M{x:.1f} {y - 2:.1f}H{end:.1f}M{end:.1f} {y - 8:.1f}V{y + 4:.1f}",
    )
    yield text("4 in" if system == "us" else "10 cm", end + 10.0, y + 2.0)
    for k, line in enumerate(wrap(_NOTES, _LINE)):
        yield text(line, 20.0, y + 32.0 + 20.0 * k)

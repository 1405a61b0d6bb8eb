"""Pictures of a car's numbers: how brake force is shared against the ideal, and how far the body rolls, to scale."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from conewise.cars.car import AXLES
from conewise.quantities import show
from conewise.reports.svg import points, tag, text

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from conewise.cars.car import Car
    from conewise.quantities import System
    from conewise.vehicle.sheet import PartSheet

WIDTH = 358.0  # of either drawing; a phone shows it whole [px]
_HEIGHT = 276.0
_LEFT, _RIGHT, _TOP, _BOTTOM = 56.0, 16.0, 36.0, 56.0
_LEAST, _MOST = 0.4, 1.0  # ends of the front share in the drawing
_LARGER = 4.0  # roll is drawn so many times as large
_BODY, _FLOOR = 0.55, 0.12  # height of the sketched body and of its floor above the road [m]
_HIP = 0.08  # by which it is narrower than the track, on each side [m]


def brake_svg(sheet: PartSheet) -> str:
    """Front share of the brake force over deceleration: what the car has, and with what both axles lock together.

    Parameters
    ----------
    sheet : PartSheet
        Of the brakes.
    """
    values = {value.name: float(value.value) for value in sheet.values}
    decelerations = [float(label.split()[0]) for label, _ in sheet.table.rows]
    ideal = [row[2] for _, row in sheet.table.rows]
    most = max(decelerations[-1], values["peak"])
    right, foot = WIDTH - _RIGHT, _HEIGHT - _BOTTOM

    def at(deceleration: float, share: float) -> tuple[float, float]:
        across = (right - _LEFT) * deceleration / most
        return _LEFT + across, foot - (foot - _TOP) * (share - _LEAST) / (_MOST - _LEAST)

    share = values["front_share"]
    line = [at(z, part) for z, part in zip(decelerations, ideal, strict=True)]
    parts = [*_axes(most, at), tag("polyline", class_="ideal", points=points(line))]
    parts.append(tag("polyline", class_="own", points=points([at(0.0, share), at(most, share)])))
    parts.append(tag("path", class_="limit", d=_upright(at(values["peak"], _LEAST)[0], foot)))
    x, y = at(0.05 * most, share)
    parts.append(text(f"this car {share:.2f}", x, y - 8.0, class_="start"))
    x, y = line[-1]
    parts.append(text("both lock together", x - 4.0, y + 48.0, class_="stop-end"))
    parts.append(text("tyres' end", at(values["peak"], _LEAST)[0] - 4.0, _TOP + 12.0, class_="stop-end"))
    label = f"Front share of the brake force {share:.2f}; least with which the rear never locks first"
    return _drawing(parts, f"{label} {values['least_front_share']:.2f}")


def _axes(most: float, place: Callable[[float, float], tuple[float, float]]) -> list[str]:
    foot = _HEIGHT - _BOTTOM
    parts = []
    for share in (0.4, 0.6, 0.8, 1.0):
        x, y = place(0.0, share)
        parts.append(tag("path", class_="grid", d=f"M{x:.1f} {y:.1f}H{WIDTH - _RIGHT:.1f}"))
        parts.append(text(f"{share:.1f}", x - 8.0, y + 5.0, class_="stop-end"))
    for k in range(int(most / 0.4 + 1e-9) + 1):
        x, _ = place(0.4 * k, _LEAST)
        parts.append(text(f"{0.4 * k:.1f}", x, foot + 20.0))
    parts.append(text("Front share [-]", 4.0, 24.0, class_="start", data_axis="y"))
    parts.append(text("Deceleration [g]", (_LEFT + WIDTH) / 2, foot + 44.0, data_axis="x"))
    return parts


def _upright(x: float, foot: float) -> str:
    return f"M{x:.1f} {_TOP:.1f}V{foot:.1f}"


def roll_svg(car: Car, sheet: PartSheet, system: System = "metric") -> str:
    """The car from behind in a left turn: track and heights to scale, the roll four times as large.

    Parameters
    ----------
    car : Car
    sheet : PartSheet
        Of the suspension.
    system : "metric" or "us"
        Of the lengths that are written.
    """
    angle = next(float(value.value) for value in sheet.values if value.name == "roll")
    track, centre = (_mean(car, name) for name in ("track", "roll_centre"))
    radius, height = _mean(car, "tyre.rolling_radius"), car.values["body.cg_height"].value
    wheel = _mean(car, "tyre.section_width") if "front.tyre.section_width" in car.values else 0.2
    scale = (WIDTH - 80.0) / (track + wheel)
    foot, middle = _HEIGHT - _BOTTOM, WIDTH / 2

    def at(across: float, up: float) -> tuple[float, float]:
        return middle + scale * across, foot - scale * up

    half = track / 2 - _HIP
    turned = _LARGER * angle

    def rolled(across: float, up: float) -> tuple[float, float]:
        right, above = across, up - centre
        return at(
            right * np.cos(turned) + above * np.sin(turned), centre - right * np.sin(turned) + above * np.cos(turned)
        )

    body = [(-half, _FLOOR), (half, _FLOOR), (half, _FLOOR + _BODY), (-half, _FLOOR + _BODY)]
    parts = [tag("path", class_="road", d=f"M8 {foot:.1f}H{WIDTH - 8:.1f}")]
    for side in (-1.0, 1.0):
        x, y = at(side * track / 2 - wheel / 2, 2 * radius)
        parts.append(tag("rect", class_="wheel", x=x, y=y, width=scale * wheel, height=2 * scale * radius, rx=4.0))
    parts.append(tag("polygon", class_="still", points=points([at(*corner) for corner in body])))
    parts.append(tag("polygon", class_="rolled", points=points([rolled(*corner) for corner in body])))
    for (x, y), kind, label in (
        (at(0.0, centre), "axis", "roll axis"),
        (rolled(0.0, height), "mass", "centre of gravity"),
    ):
        above = _TOP - 16.0 if kind == "mass" else foot - 8.0  # outside the body, whose lines would cross the words
        lead = f"M{x:.1f} {y:.1f}V{above + 4.0:.1f}" if kind == "mass" else ""
        parts += [tag("path", class_="lead", d=lead)] if lead else []
        parts += [tag("circle", class_=kind, cx=x, cy=y, r=5.0)]
        parts.append(text(label, x if lead else x + 10.0, above if lead else y + 5.0, class_="" if lead else "start"))
    words = f"{np.degrees(angle):.1f} deg at 0.9 g, drawn {_LARGER:.0f} times"
    parts.append(text(words, middle, foot + 24.0))
    lengths = f"track {show(track, 'length', system)}, mass at {show(height, 'length', system)}"
    parts.append(text(lengths, middle, foot + 48.0))
    return _drawing(parts, f"Roll of {words} as large")


def _mean(car: Car, name: str) -> float:
    return sum(car.values[f"{axle}.{name}"].value for axle in AXLES) / len(AXLES)


def _drawing(parts: Sequence[str], label: str) -> str:
    return tag(
        "svg", *parts, class_="picture", xmlns="http://www.w3.org/2000/svg", viewBox=f"0 0 {WIDTH:g} {_HEIGHT:g}",
        role="img", aria_label=label,
    )  # fmt: skip

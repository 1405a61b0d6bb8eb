"""Quantities along the course as small plots that stretch with the page; their texts stay text."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from conewise.reports.units import in_g

if TYPE_CHECKING:
    from conewise.reports.answer import LineAnswer
    from conewise.reports.units import Units

Array = NDArray[np.float64]

STYLES = ("solid", "dashed", "dotted")

_WIDTH = 1000.0  # of a plot's own coordinates
_HEIGHT = 100.0
_LAST_TICK = 0.96  # a number nearer to the end would stand beside the page
_MARK_GAP = {"desk": 34.0, "hand": 40.0}  # between the numbers of two features [px]
_PLOT_WIDTH = {"desk": 700.0, "hand": 300.0}  # [px]


@dataclass(frozen=True, slots=True, kw_only=True)
class Tick:
    """A number beside an axis: its text and its place from the low end."""

    text: str
    percent: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Curve:
    """One curve of a plot."""

    name: str
    path: str
    style: str  # "solid", "dashed" or "dotted"


@dataclass(frozen=True, slots=True, kw_only=True)
class Trace:
    """One quantity along the course."""

    key: str
    title: str
    unit: str
    ticks: tuple[Tick, ...]
    curves: tuple[Curve, ...]
    zero: float | None  # place of zero in the plot's coordinates, where it lies inside


@dataclass(frozen=True, slots=True, kw_only=True)
class FeatureBand:
    """Where a feature lies on the axis of the traces."""

    number: int
    left: float  # [%]
    width: float  # [%]
    is_shown_on_hand: bool  # whether its number has room on a narrow page
    is_shown_on_desk: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Axis:
    """What a plot says about its quantity."""

    key: str
    title: str
    unit: str
    has_floor: bool = False  # starts at zero
    is_stepped: bool = False


_LONGITUDINAL = Axis(key="ax", title="Longitudinal acceleration", unit="g")
_LATERAL = Axis(key="ay", title="Lateral acceleration, left positive", unit="g")
_USE = Axis(key="use", title="Friction use", unit="%", has_floor=True)
_GEAR = Axis(key="gear", title="Gear", unit="number", has_floor=True, is_stepped=True)
_COMMAND = Axis(key="command", title="Throttle (+) and brake (−)", unit="%")


def traces(answer: LineAnswer, units: Units) -> tuple[Trace, ...]:
    """Speed, accelerations, friction use, gear and command, as far as the level has them."""
    solution = answer.solution
    along = solution_shares(answer)
    speed = Axis(key="speed", title="Speed", unit=units.speed_unit, has_floor=True)
    found = [
        plot(speed, along, {"": solution.speed * units.speed_factor}),
        plot(_LONGITUDINAL, along, {"": in_g(1.0) * solution.ax}),
        plot(_LATERAL, along, {"": in_g(1.0) * solution.ay}),
    ]
    use = {"front": solution.friction_use_front, "rear": solution.friction_use_rear}
    percent = {name: 100.0 * values for name, values in use.items() if values is not None}
    if percent:
        found.append(plot(_USE, along, percent))
    if solution.gear.any():
        found.append(plot(_GEAR, along, {"": solution.gear.astype(float)}))
    if solution.command is not None:
        found.append(plot(_COMMAND, along, {"": 100.0 * solution.command}))
    return tuple(found)


def plot(axis: Axis, along: Array, curves: dict[str, Array], *, styles: tuple[str, ...] = STYLES) -> Trace:
    """A plot of curves by name, shape (n,), one style for each; `along`, shape (n,), is their place, 0 to 1."""
    values = np.concatenate([curve[np.isfinite(curve)] for curve in curves.values()])
    low = 0.0 if axis.has_floor else float(values.min(initial=0.0))
    ticks = nice_ticks(low, float(values.max(initial=low)), whole=axis.is_stepped)
    low, span = ticks[0], ticks[-1] - ticks[0]
    digits = next((n for n in range(3) if all(round(tick, n) == tick for tick in ticks)), 3)
    return Trace(
        key=axis.key,
        title=axis.title,
        unit=axis.unit,
        ticks=tuple(
            Tick(text=f"{tick:.{digits}f}".replace("-", "−"), percent=100 * (tick - low) / span) for tick in ticks
        ),
        curves=tuple(
            Curve(name=name, style=style, path=_path(along, (curve - low) / span, is_stepped=axis.is_stepped))
            for style, (name, curve) in zip(styles, curves.items(), strict=False)
        ),
        zero=_HEIGHT * ticks[-1] / span if low < 0.0 < ticks[-1] else None,
    )


def solution_shares(answer: LineAnswer) -> Array:
    """Place of each station between the first and the last, 0 to 1."""
    station = answer.solution.station
    return np.asarray((station - station[0]) / (station[-1] - station[0]))


def _path(along: Array, share: Array, *, is_stepped: bool) -> str:
    x, y = _WIDTH * along, _HEIGHT * (1.0 - share)
    pairs = zip(x[1:], y[1:], strict=True)
    if is_stepped:
        return f"M{x[0]:.1f} {y[0]:.1f}" + "".join(f"H{a:.1f}V{b:.1f}" for a, b in pairs)
    return f"M{x[0]:.1f} {y[0]:.1f}" + "".join(f"L{a:.1f} {b:.1f}" for a, b in pairs)


def nice_ticks(low: float, high: float, *, whole: bool = False) -> tuple[float, ...]:
    """Two to five round numbers that enclose a range.

    Examples
    --------
    >>> nice_ticks(0.0, 82.6)
    (0.0, 50.0, 100.0)
    >>> nice_ticks(-0.86, 0.43)
    (-1.0, -0.5, 0.0, 0.5)
    """
    size = 10.0 ** np.floor(np.log10(max(high - low, 1e-6) / 2))
    if whole:
        size = max(size, 1.0)
    first, last = 0, 1
    for step in (size, 2 * size, 5 * size, 10 * size, 20 * size):
        first, last = int(np.floor(low / step + 1e-9)), int(np.ceil(high / step - 1e-9))
        if last - first <= 4:
            break
    return tuple(round(float(index * step), 9) for index in range(first, max(last, first + 1) + 1))


def station_ticks(answer: LineAnswer, units: Units) -> tuple[Tick, ...]:
    """Round distances along the course."""
    station = answer.solution.station
    length = float(station[-1] - station[0]) * units.length_factor
    step = next((s for s in (20, 50, 100, 200, 500, 1000, 2000) if length / s <= 7.5), 5000)
    last = int(_LAST_TICK * length)
    return tuple(Tick(text=f"{at}", percent=100.0 * at / length) for at in range(0, last + 1, step))


def bands(answer: LineAnswer) -> tuple[FeatureBand, ...]:
    """The features on the axis, with a number wherever it keeps clear of the one before."""
    station = answer.solution.station
    length = float(station[-1] - station[0])
    reached = {"desk": -1e9, "hand": -1e9}
    found = []
    for number, feature in enumerate(answer.solution.features, start=1):
        left, right = ((edge - station[0]) / length for edge in (feature.start, feature.end))
        shown = {}
        for page, width in _PLOT_WIDTH.items():
            middle = (left + right) / 2 * width
            shown[page] = middle - reached[page] >= _MARK_GAP[page]
            if shown[page]:
                reached[page] = middle
        found.append(
            FeatureBand(
                number=number,
                left=float(100 * left),
                width=float(100 * (right - left)),
                is_shown_on_hand=shown["hand"],
                is_shown_on_desk=shown["desk"],
            )
        )
    return tuple(found)

"""What every HTML report is made of: its template, its style, its script, and the figure along the course."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING, Any

import numpy as np

from conewise.reports import figures, map_parts, sentences, traces
from conewise.reports.looks import look_style

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    import jinja2
    from markupsafe import Markup
    from numpy.typing import NDArray

    from conewise.reports.answer import LineAnswer
    from conewise.reports.figures import MapSize
    from conewise.reports.traces import FeatureBand, Tick, Trace
    from conewise.reports.units import Units

_SIZES = {"desk": figures.DESK, "hand": figures.HAND, "desk sun": figures.DESK_SUN, "hand sun": figures.HAND_SUN}
_LOCATOR = figures.MapSize(width=352, most_height=240, text=14, stroke=2)


@dataclass(frozen=True, slots=True, kw_only=True)
class AlongFigure:
    """Quantities along the course, beside a small map with the cursor."""

    traces: tuple[Trace, ...]
    station_ticks: tuple[Tick, ...]
    bands: tuple[FeatureBand, ...]
    locator: dict[str, Any]
    n_stations: int


def along_figure(answer: LineAnswer, found: tuple[Trace, ...], units: Units) -> AlongFigure:
    """The figure of a run's traces."""
    return AlongFigure(
        traces=found,
        station_ticks=traces.station_ticks(answer, units),
        bands=traces.bands(answer),
        locator=_locator(answer),
        n_stations=answer.solution.station.size,
    )


def rendered(
    template: str, draw: Callable[[MapSize], str] | None, *, data: Mapping[str, Any] | None = None, **content: Any
) -> str:
    """One HTML page with its style, its script and its data inside.

    Parameters
    ----------
    template : str
        File name of the template.
    draw : callable, optional
        The drawing for a room, as SVG whose every text is escaped; None for a page without one.
    data : Mapping, optional
        What the cursor along a run shows; None for a page without a run.
    **content
        What the template shows.
    """
    page = _template(template).render(
        maps={} if draw is None else {name: _trusted(draw(size)) for name, size in _SIZES.items()},
        style=_trusted(look_style(follows_system=True) + _asset("report.css") + map_parts.map_style()),
        script=_trusted(("" if data is None else _asset("report.js")) + _asset("look.js")),
        data=data or {},
        **content,
    )
    return str(page)


def cursor_data(answer: LineAnswer, units: Units) -> dict[str, Any]:
    """What the script needs for the cursor of any run, in the units shown."""
    solution = answer.solution
    start = float(solution.station[0])
    return {
        "s": rounded(solution.station - start, 2),
        "t": rounded(solution.elapsed, 3),
        "x": rounded(solution.x, 2),
        "y": rounded(solution.y, 2),
        "v": rounded(solution.speed * units.speed_factor, 1),
        "length": {"factor": units.length_factor, "unit": units.length_unit},
        "speedUnit": units.speed_unit,
        "features": [
            {"name": f"{number} {sentences.feature_name(f)}", "from": round(f.start - start, 2)}
            for number, f in enumerate(solution.features, start=1)
        ],
    }


def rounded(values: NDArray[Any] | None, digits: int) -> list[float] | None:
    """Numbers for the page's script."""
    return None if values is None else np.round(np.asarray(values, dtype=float), digits).tolist()


def _locator(answer: LineAnswer) -> dict[str, Any]:
    """The line alone, small, for beside the traces."""
    frame = figures.fit(answer, _LOCATOR)
    line = frame.on_sheet(np.column_stack([answer.solution.x, answer.solution.y]))
    path = "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in line)
    return {"path": path, "height": round(frame.height, 1), "matrix": " ".join(f"{m:.6f}" for m in frame.matrix)}


def _trusted(words: str) -> Markup:
    """Our own files, and drawings built by `svg.tag`, which escapes."""
    from markupsafe import Markup

    return Markup(words)  # noqa: S704


@cache
def _template(name: str) -> jinja2.Template:
    from jinja2 import Environment, PackageLoader, StrictUndefined

    environment = Environment(
        loader=PackageLoader("conewise.reports"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    return environment.get_template(name)


@cache
def _asset(name: str) -> str:
    return (files("conewise.reports") / "templates" / name).read_text(encoding="utf-8")

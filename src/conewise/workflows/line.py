"""What is the fastest clean way through, for this car? The whole answer of `conewise line`."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from conewise.cars.car_file import read_car
from conewise.cars.driver import LEVELS, read_driver, typical_driver
from conewise.course.files import read_course
from conewise.errors import InputError
from conewise.reports.answer import BuildUpRow, KeySpeed, LineAnswer, SurfaceBand
from conewise.reports.files import write_whole

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from conewise.cars.driver import Driver
    from conewise.reports.units import Units
    from conewise.solver.result import Solution

PACES = (0.7, 0.8, 0.9, 0.95, 1.0)
_PACE_RANGE = (0.3, 1.0)
_FRICTION_RANGE = (0.1, 1.5)
_ENDS = {"start", "finish"}


class SurfaceNameError(InputError):
    """A surface that is neither a factor nor a known name."""

    code = "surface"

    def __init__(self, text: str) -> None:
        low, high = _FRICTION_RANGE
        super().__init__(
            f"The surface is '{text}'; wanted is a factor from {low:g} to {high:g}, or {', '.join(SURFACES)}.",
            where="--surface",
            hint="--surface 0.7 scales the friction by 0.7; --surface wet answers with a range.",
        )


class PaceRangeError(InputError):
    """A pace outside what a driver can use."""

    code = "pace"

    def __init__(self, pace: float) -> None:
        low, high = _PACE_RANGE
        super().__init__(
            f"The pace is {pace:g}; wanted is a share of the friction from {low:g} to {high:g}.",
            where="--pace",
            hint="--pace 0.9 uses nine tenths of the friction there is.",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Surface:
    """A factor on friction, or a band of factors."""

    name: str
    low: float
    high: float

    @property
    def middle(self) -> float:
        """Factor of the run that is shown."""
        return (self.low + self.high) / 2

    @property
    def is_band(self) -> bool:
        """Whether the factor is known only as a band."""
        return self.high > self.low


# Share of the dry friction; common practice, no source.
SURFACES = {
    "dry": Surface(name="dry", low=1.0, high=1.0),
    "damp": Surface(name="damp", low=0.8, high=0.95),
    "wet": Surface(name="wet", low=0.6, high=0.8),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class LineQuestion:
    """What `line` is asked."""

    course: Path
    car: Path
    driver: str = "expert"  # a level, or a driver file
    pace: float | None = None  # the driver's own where None
    surface: str = "dry"
    level: str = "transient"


def surface_named(text: str) -> Surface:
    """Surface of a name or of a factor.

    Raises
    ------
    SurfaceNameError
        If the text is neither.
    """
    known = SURFACES.get(text.strip().lower())
    if known is not None:
        return known
    try:
        factor = float(text)
    except ValueError:
        raise SurfaceNameError(text) from None
    if not _FRICTION_RANGE[0] <= factor <= _FRICTION_RANGE[1]:
        raise SurfaceNameError(text)
    return Surface(name=text, low=factor, high=factor)


def driver_named(text: str) -> Driver:
    """Driver of a level, or of a file."""
    from pathlib import Path

    return typical_driver(text, name=text) if text in LEVELS else read_driver(Path(text))


def answer_line(question: LineQuestion, *, progress: Callable[[str], None]) -> LineAnswer:
    """Read, solve, and gather what a driver asks next.

    Parameters
    ----------
    question : LineQuestion
        Files and conditions.
    progress : callable
        Told in words what is going on.

    Returns
    -------
    LineAnswer
        With the quasi-steady fallback, marked as such, where the solver found no answer.

    Raises
    ------
    InputError, NotFoundError
        If a file or a condition cannot be used.
    InfeasibleError
        If the car has no way through the course.
    """
    surface = surface_named(question.surface)
    if question.pace is not None and not _PACE_RANGE[0] <= question.pace <= _PACE_RANGE[1]:
        raise PaceRangeError(question.pace)
    course, car, driver = read_course(question.course), read_car(question.car), driver_named(question.driver)
    own = driver.friction_share
    assert own is not None
    pace = own.value if question.pace is None else question.pace

    from conewise.workflows import predict  # after the files: a mistake in one is said without waiting

    def solved(what: str, **conditions: Any) -> Solution:
        progress(what)
        asked = {"pace": pace, "surface": surface.middle} | conditions
        return predict.solve(course, car, driver=driver, level=question.level, fallback=True, **asked)

    solution = solved("Solving the run")
    band = None
    if surface.is_band:
        ends = [solved(f"Solving the run at {share:g} of the friction", surface=share) for share in
                (surface.low, surface.high)]  # fmt: skip
        band = SurfaceBand(
            name=surface.name, low=surface.low, high=surface.high, slowest=ends[0].time, fastest=ends[1].time
        )
    build_up = [
        _row(share, solution if share == pace else solved(f"Solving the run at pace {share:.2f}", pace=share))
        for share in sorted({*PACES, pace})
    ]
    return LineAnswer(
        solution=solution,
        course=course,
        driver=question.driver if question.driver in LEVELS else driver.name,
        pace=pace,
        surface=surface.middle,
        band=band,
        build_up=tuple(build_up),
    )


def _row(pace: float, solution: Solution) -> BuildUpRow:
    speeds = (KeySpeed(feature=f.id, speed=f.slowest_speed) for f in solution.features if f.kind not in _ENDS)
    return BuildUpRow(pace=pace, time=solution.time, speeds=tuple(speeds))


def write_answer(
    answer: LineAnswer, units: Units, *, report: Path | None = None, svg: Path | None = None, png: Path | None = None
) -> None:
    """Write the report and the map, as far as a file is named for them.

    Raises
    ------
    UnwritableFileError
        If a file cannot be written.
    """
    from conewise.reports import figures, picture
    from conewise.reports.line_report import line_html

    if report is not None:
        write_whole(report, line_html(answer, units).encode())
    if svg is not None or png is not None:
        drawing = figures.map_svg(answer, units, figures.PRINT)
        if svg is not None:
            write_whole(svg, drawing.encode())
        if png is not None:
            write_whole(png, picture.png(drawing))

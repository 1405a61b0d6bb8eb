"""What is the fastest clean way through, for this car? The whole answer of `conewise line`."""

from __future__ import annotations

from dataclasses import dataclass, replace
from difflib import get_close_matches
from pathlib import Path
from typing import TYPE_CHECKING

from conewise.cars.driver import LEVELS, typical_driver
from conewise.errors import ByFace, InputError, NotFoundError
from conewise.findings import Finding
from conewise.logs.breakdown import FrictionFound
from conewise.reports.answer import LineAnswer, SurfaceBand
from conewise.reports.files import refuse_unwritable, write_whole
from conewise.workflows.named import car_from, course_from, driver_from

if TYPE_CHECKING:
    from collections.abc import Callable

    from conewise.cars.driver import Driver
    from conewise.reports.units import Units
    from conewise.solver.result import Solution
    from conewise.workflows.line_solves import Chosen, LineSolves
    from conewise.workflows.named import Source

PACES = (0.7, 0.8, 0.9, 0.95, 1.0)
# The worth of a limited-slip differential is not identified by this level of model: part of its interval [s].
MODEL_PARTS = {
    f"{axle}.differential.{name}": 0.3
    for axle in ("front", "rear")
    for name in ("preload", "bias_drive", "bias_coast", "ramp_drive", "ramp_coast", "friction_faces")
}
TOLD_SPREAD = 0.05  # how well a told factor is known, half a 90% interval [-]; common practice, no source
_PACE_RANGE = (0.3, 1.0)
_FRICTION_RANGE = (0.1, 1.5)


class SurfaceNameError(InputError):
    """A surface that is neither a factor nor a known name."""

    code = "surface"

    def __init__(self, text: str) -> None:
        low, high = _FRICTION_RANGE
        super().__init__(
            f"The surface is '{text}'; wanted is a factor from {low:g} to {high:g}, or {', '.join(SURFACES)}.",
            where=ByFace("surface", typed="--surface"),
            hint=ByFace(
                "0.7 scales the friction by 0.7; wet answers with a range.",
                typed="--surface 0.7 scales the friction by 0.7; --surface wet answers with a range.",
            ),
        )


class PaceRangeError(InputError):
    """A pace outside what a driver can use."""

    code = "pace"

    def __init__(self, pace: float) -> None:
        low, high = _PACE_RANGE
        super().__init__(
            f"The pace is {pace:g}; wanted is a share of the friction from {low:g} to {high:g}.",
            where=ByFace("pace", typed="--pace"),
            hint=ByFace(
                "0.9 uses nine tenths of the friction there is.",
                typed="--pace 0.9 uses nine tenths of the friction there is.",
            ),
        )


class DriverUnknownError(NotFoundError):
    """A driver that is neither a level nor a file, nor in the book."""

    code = "driver-unknown"

    def __init__(self, text: str) -> None:
        close = get_close_matches(text.lower(), LEVELS, n=1)
        meant = f"Did you mean {close[0]}? " if close else ""
        super().__init__(
            f"'{text}' is none of {', '.join(LEVELS)}, no driver file, and no driver of the book.",
            where=ByFace("driver", typed="--driver"),
            hint=f"{meant}Name a level, a driver file (.toml) that is there, or a driver of the book.",
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

    @property
    def is_measured(self) -> bool:
        """Whether it is a factor; a word such as "dry" says nothing of these tyres on this surface."""
        return self.name not in SURFACES


# Share of the dry friction; common practice, no source.
SURFACES = {
    "dry": Surface(name="dry", low=1.0, high=1.0),
    "damp": Surface(name="damp", low=0.8, high=0.95),
    "wet": Surface(name="wet", low=0.6, high=0.8),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class LineQuestion:
    """What `line` is asked."""

    course: Source
    car: Source
    driver: str | Source = "expert"  # a level, or a driver file
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


def as_told(surface: Surface | None) -> FrictionFound:
    """The friction of a run of which no recording tells it: by what was said of the surface, if anything was."""
    if surface is None:
        return FrictionFound(value=1.0, low=0.0, high=float("inf"), origin="typical")
    value = surface.middle
    if not surface.is_measured:
        return FrictionFound(value=value, low=0.0, high=float("inf"), origin="surface")
    low, high = value * (1.0 - TOLD_SPREAD), value * (1.0 + TOLD_SPREAD)
    return FrictionFound(value=value, low=low, high=high, origin="surface")


def driver_named(word: str | Source) -> Driver:
    """Driver of a level, of a file, or of the book.

    Raises
    ------
    DriverUnknownError
        If the text is neither.
    InputError
        If the file cannot be used.
    """
    if isinstance(word, str):
        if word in LEVELS:
            return typical_driver(word, name=word)
        word = Path(word)
    if isinstance(word, Path) and not word.is_file():
        raise DriverUnknownError(str(word))
    return driver_from(word)


def refuse_pace(pace: float | None) -> None:
    """Say before a file is read that a pace cannot be.

    Raises
    ------
    PaceRangeError
        If it is outside what a driver can use.
    """
    if pace is not None and not _PACE_RANGE[0] <= pace <= _PACE_RANGE[1]:
        raise PaceRangeError(pace)


def pace_used(pace: float | None, driver: Driver) -> float:
    """The pace asked for, or the driver's own."""
    own = driver.friction_share
    assert own is not None
    return own.value if pace is None else pace


def answer_line(
    question: LineQuestion,
    *,
    progress: Callable[[str], None],
    first: Callable[[LineAnswer], None] | None = None,
) -> LineAnswer:
    """Read, solve, and gather what a driver asks next.

    Parameters
    ----------
    question : LineQuestion
        Files and conditions.
    progress : callable
        Told in words what is going on.
    first : callable, optional
        Given the answer without its build-up as soon as the run is solved.

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
    surface, driver, solves = asked(question, progress=progress)
    chosen = solves.priced(solves.best())
    band = _band(surface, solves, chosen) if surface.is_band else None
    if surface.is_band and band is None:
        chosen = replace(chosen, solution=_without_band(chosen.solution, surface))
    answer = replace(solved_answer(solves, chosen), band=band)
    if first is not None:
        first(answer)
    from conewise.workflows import around

    assert driver.scatter is not None
    chosen = solves.graded(chosen)
    answer = replace(
        answer,
        solution=chosen.solution,
        build_up=solves.build_up(chosen, sorted({*PACES, solves.pace})),
        slow_in=around.slow_in(chosen.solution),
        margins=around.margin_plan(solves, chosen, scatter=driver.scatter.value),
        model_parts=MODEL_PARTS,
    )
    shown = answer.solution
    return replace(answer, solution=replace(shown, findings=(*shown.findings, *solves.doubts(shown))))


def asked(question: LineQuestion, *, progress: Callable[[str], None]) -> tuple[Surface, Driver, LineSolves]:
    """The conditions of a question and the solves that answer it; nothing is solved yet.

    Raises
    ------
    InputError, NotFoundError
        If a file or a condition cannot be used.
    """
    surface = surface_named(question.surface)
    refuse_pace(question.pace)
    course, car, driver = course_from(question.course), car_from(question.car), driver_named(question.driver)
    from conewise.workflows.line_solves import LineSolves  # after the files: a mistake in one is said without waiting

    solves = LineSolves(
        course=course,
        car=car,
        driver=driver,
        level=question.level,
        pace=pace_used(question.pace, driver),
        surface=surface.middle,
        progress=progress,
    )
    return surface, driver, solves


def solved_answer(solves: LineSolves, chosen: Chosen) -> LineAnswer:
    """The answer as far as the run alone tells it."""
    return LineAnswer(
        solution=chosen.solution,
        course=solves.course,
        driver=solves.driver.name,
        pace=solves.pace,
        surface=solves.surface,
        time_deviation=solves.time_deviation(chosen),
        gears=chosen.gears,
        sides=chosen.sides,
    )


def _band(surface: Surface, solves: LineSolves, chosen: Chosen) -> SurfaceBand | None:
    """Times at both ends; None where an end is answered by another level than the run that is shown."""
    slow, fast = (
        solves.again(f"Solving the run at {share:g} of the friction", chosen, surface=share)
        for share in (surface.low, surface.high)
    )
    if {slow.level, fast.level} != {chosen.solution.level}:
        return None
    return SurfaceBand(name=surface.name, low=surface.low, high=surface.high, fastest=fast.time, slowest=slow.time)


def _without_band(solution: Solution, surface: Surface) -> Solution:
    words = (
        f"The run could not be solved at both ends of a {surface.name} surface ({surface.low:g} to {surface.high:g} of "
        f"the dry friction): the time stands for {surface.middle:.2f} alone."
    )
    return replace(solution, findings=(*solution.findings, Finding("warning", "band-unsolved", words)))


def refuse_files(*, report: Path | None = None, svg: Path | None = None, png: Path | None = None) -> None:
    """Say before the solve that a file cannot be written where it was asked for; what is there already is replaced.

    Raises
    ------
    FileEndingError
        If a name does not end as its content asks.
    UnwritableFileError
        If a file cannot be written.
    """
    for path, what, *endings in (
        (report, "A report", ".html", ".htm"),
        (svg, "A map as SVG", ".svg"),
        (png, "A map as PNG", ".png"),
    ):
        if path is not None:
            refuse_unwritable(path, what, *endings)


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

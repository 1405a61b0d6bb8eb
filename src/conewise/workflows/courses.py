"""What does the course look like, and is it safe to run: new, check, show, convert."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from conewise.course import checks
from conewise.course.files import CourseFileExistsError, write_course, write_text
from conewise.course.path_checks import Speeds
from conewise.course.questions import course_file, read_answers
from conewise.course.reference import lay_out
from conewise.course.rules import rules_of
from conewise.errors import ConvergenceError, InfeasibleError
from conewise.findings import Finding, Sentence, Value, by_severity, has_stop, in_system
from conewise.reports.course_words import feature_words
from conewise.reports.files import refuse_unwritable, write_whole
from conewise.reports.plan import plan_svg
from conewise.workflows.named import called, car_from, course_from, rules_from

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from conewise.cars.car import Car
    from conewise.course.geometry import CourseGeometry
    from conewise.course.layout import Course
    from conewise.course.rules import Rules
    from conewise.course.stopping import Arrival
    from conewise.quantities import System
    from conewise.solver.result import Solution
    from conewise.workflows.named import Source

Array = NDArray[np.float64]

_PLAN_STEP = 1.0  # between points of the drawn path [m]


@dataclass(frozen=True, slots=True, kw_only=True)
class FeatureRow:
    """One line of the summary."""

    number: int  # in driving order, from 1
    id: str
    kind: str
    words: str
    start: float | None  # station where it begins; None where no path leads through the course [m]
    at: float | None  # station of its first cone or gate, which marks it on the lot [m]
    length: float | None  # [m]


@dataclass(frozen=True, slots=True, kw_only=True)
class CourseSummary:
    """A course at a glance."""

    name: str
    rules: str
    length: float | None  # start to finish along the reference path; None where there is no path [m]
    n_standing: int
    n_pointers: int
    worst_position_sd: float  # largest standard uncertainty of a cone's position [m]
    features: tuple[FeatureRow, ...]
    stop: str  # "" where there is no stop area

    def as_dict(self) -> dict[str, object]:
        """For JSON: SI units, said in the keys."""
        rows = [
            {
                "number": row.number,
                "id": row.id,
                "kind": row.kind,
                "words": row.words,
                "start_m": row.start,
                "at_m": row.at,
                "length_m": row.length,
            }
            for row in self.features
        ]
        return {
            "name": self.name,
            "rules": self.rules,
            "length_m": self.length,
            "standing_cones": self.n_standing,
            "pointer_cones": self.n_pointers,
            "worst_position_sd_m": self.worst_position_sd,
            "stop": self.stop,
            "features": rows,
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class CourseChecked:
    """A course with everything that was found about it, stops first."""

    course: Course
    rules: str  # name of the rule set
    findings: tuple[Finding, ...]

    @property
    def may_run(self) -> bool:
        """Whether no finding says stop. Officials and the event's rule book decide."""
        return not has_stop(list(self.findings))

    def as_dict(self) -> dict[str, object]:
        """For JSON."""
        findings = [
            {"severity": f.severity, "code": f.code, "message": f.message, "where": f.where} for f in self.findings
        ]
        return {"name": self.course.name, "rules": self.rules, "ok": self.may_run, "findings": findings}


def refuse_existing(path: Path, *, force: bool) -> None:
    """Say before the first question that the file is there already.

    Raises
    ------
    CourseFileExistsError
        If it is, and `force` is not said.
    """
    if path.exists() and not force:
        raise CourseFileExistsError(path)


def new_course(answers: Mapping[str, str], path: Path, *, force: bool = False) -> CourseSummary:
    """Write a commented course file from the answers to `questions.QUESTIONS`.

    Raises
    ------
    AnswerError, LotTooSmallError
        If the answers make no course.
    CourseFileExistsError
        If the file is there and `force` is not said.
    """
    write_text(course_file(read_answers(answers)), path, force=force)
    return summary(path)


def check_course(
    path: Source, *, rules: str | Source = "", cars: Sequence[Source] = (), system: System = "metric"
) -> CourseChecked:
    """Everything that is found about a course: rules, order, obstacles, stopping; speeds for the cars entered.

    Parameters
    ----------
    path : Path
        Course file.
    rules : str, Path or BookText, default ""
        Rule set by its name, its file, or of the book; the one that the course names where it is empty.
    cars : sequence of Path, default ()
        Car files. With them the course is solved for each, and gate widths, turning circle, top speed, run-off and
        stop area are judged for the widest, the one that turns least, and the fastest at every place; how near each
        is to rolling over is said.
    system : str, default "metric"
        Units of the messages: "metric" or "us".

    Raises
    ------
    ConewiseError
        If a file cannot be read, or there is no such rule set.
    """
    course = course_from(path)
    limits = rules_of(rules_from(rules or course.rules))
    geometry = laid_out(course)
    if not cars:
        findings = checks.check(course, geometry, rules=limits, system=system)
    else:
        findings = checked_with([car_from(car) for car in cars], course, geometry, rules=limits, system=system)
    return CourseChecked(course=course, rules=limits.name, findings=tuple(findings))


def checked_with(
    cars: Sequence[Car], course: Course, geometry: CourseGeometry | None, *, rules: Rules, system: System = "metric"
) -> list[Finding]:
    """Findings with the speeds that these cars reach, and their own on rolling over; see `check_course`."""
    from conewise.vehicle.derived import safety_findings, turning_radius

    runs, stuck = ([], []) if geometry is None else _runs(course, cars)
    found = checks.check(
        course,
        geometry,
        rules=rules,
        system=system,
        car_width=max(car.value("body.width") for car in cars),
        turning_radius=max(turning_radius(car) for car in cars),
        speed=None if geometry is None else _fastest(geometry, runs),
    )
    found += in_system(stuck, system)
    for car in cars:
        own = (finding for finding in safety_findings(car) if finding.code == "roll-over")
        found += [replace(finding, where=f"{car.name}, {finding.where}") for finding in own]
    return by_severity(found)


def _runs(course: Course, cars: Sequence[Car]) -> tuple[list[tuple[Car, Solution]], list[Finding]]:
    """Every car that gets through with its run, and a finding for every other."""
    from conewise.solver.corridor_problem import NoRoomError
    from conewise.solver.quasi_steady import BODY_ALLOWANCE
    from conewise.workflows.predict import solve

    runs, stuck = [], []
    for car in cars:
        try:
            runs.append((car, solve(course, car, level="quasi-steady")))
        except NoRoomError as error:
            words = "{}: {} That counts {} to either side for the corners of a long body."
            told = Sentence(words, car.name, error.message, Value(BODY_ALLOWANCE, "length", 2))
            stuck.append(Finding("stop", error.code, told, error.where))
        except InfeasibleError as error:
            stuck.append(Finding("stop", error.code, f"{car.name}: {error.message}", error.where))
        except ConvergenceError as error:
            words = f"Speeds are not judged with {car.name}: {error.message}"
            stuck.append(Finding("warning", error.code, words, error.where))
    return runs, stuck


def _arrival(geometry: CourseGeometry, car: Car, run: Solution) -> Arrival:
    from conewise.solver.line_results import arrival
    from conewise.workflows.predict import parameters

    return arrival(geometry, parameters(geometry, car), float(run.speed[-1]))


def _fastest(geometry: CourseGeometry, runs: Sequence[tuple[Car, Solution]]) -> Speeds | None:
    """Stations of one run, at each the speed of the fastest car there, and how each arrives; None without a run."""
    if not runs:
        return None
    station = runs[0][1].station
    fastest = np.max([np.interp(station, run.station, run.speed) for _, run in runs], axis=0)
    return Speeds(station, fastest, [_arrival(geometry, car, run) for car, run in runs])


def laid_out(course: Course) -> CourseGeometry | None:
    """The course along its path; None where no path leads through it, which is a finding and no error here."""
    try:
        return lay_out(course)
    except InfeasibleError:
        return None


def summary(path: Source, *, system: System = "metric") -> CourseSummary:
    """A course at a glance: features in driving order with their place along the course.

    Parameters
    ----------
    path : Path
        Course file.
    system : str, default "metric"
        Units of the lengths in the words: "metric" or "us".
    """
    course = course_from(path)
    geometry = laid_out(course)
    spans = {span.id: span for span in geometry.spans} if geometry else {}
    first: dict[str, float] = {}
    for passed in geometry.own_cones() if geometry else ():
        first.setdefault(passed.feature, passed.station)
    rows = []
    for number, feature in enumerate(course.features, start=1):
        span = spans.get(feature.id)
        rows.append(
            FeatureRow(
                number=number,
                id=feature.id,
                kind=feature.kind.value,
                words=feature_words(course, feature, system=system),
                start=span.start if span else None,
                at=first.get(feature.id),
                length=span.end - span.start if span else None,
            )
        )
    return CourseSummary(
        name=course.name,
        rules=course.rules,
        length=geometry.path.length if geometry else None,
        n_standing=course.n_standing,
        n_pointers=course.n_pointers,
        worst_position_sd=max(cone.position_sd for cone in course.cones),
        features=tuple(rows),
        stop=course.stop.kind if course.stop else "",
    )


def draw_plan(path: Source, into: Path, *, system: System = "metric") -> None:
    """Write the plan of a course as SVG; a drawing that is there is replaced.

    Raises
    ------
    FileEndingError
        If the file to be written does not end in .svg.
    UnwritableFileError
        If it cannot be written.
    """
    refuse_unwritable(into, "A plan", ".svg")
    course = course_from(path)
    write_whole(into, plan_svg(course, way=_way(laid_out(course)), system=system).encode())


def convert_course(source: Source, target: Path, *, force: bool = False) -> list[str]:
    """Write a course in another format; what that format leaves out, in words.

    Raises
    ------
    CourseFileExistsError
        If the target is there and `force` is not said.
    NotAnchoredError
        If GeoJSON is asked for and the course has no anchor.
    """
    return write_course(course_from(source), target, force=force)


def refuse_note(path: Path) -> None:
    """Say before any work that the note for the safety official cannot be written there.

    Raises
    ------
    FileEndingError, UnwritableFileError
        If the name does not end in .pdf, or cannot be written.
    """
    refuse_unwritable(path, "A safety note", ".pdf")


def write_note(checked: CourseChecked, into: Path, *, cars: Sequence[Source] = (), paper: str = "a4") -> None:
    """Write what was found as a note for the event's safety official, who decides.

    Raises
    ------
    UnwritableFileError
        If the file cannot be written.
    """
    names = [called(car) for car in cars]
    write_whole(into, note_of(checked.course, checked.findings, rules=checked.rules, cars=names, paper=paper))


def note_of(
    course: Course, findings: Sequence[Finding], *, rules: str, cars: Sequence[str] = (), paper: str = "a4"
) -> bytes:
    """The note for the event's safety official as PDF; without cars its speeds are an estimate for a quick one."""
    from conewise.reports.safety_note import safety_note

    drawing = plan_svg(course, way=_way(laid_out(course)))
    return safety_note(course, findings, rules=rules, cars=cars, plan=drawing, paper=paper)


def _way(geometry: CourseGeometry | None) -> Array | None:
    """Points of the path that is drawn, shape (n, 2); None where there is no path. [m]"""
    if geometry is None:
        return None
    station = np.arange(0.0, geometry.path.length + _PLAN_STEP, _PLAN_STEP)
    points = geometry.path.at(np.minimum(station, geometry.path.length))
    return np.column_stack([points.x, points.y])

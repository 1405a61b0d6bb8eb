"""The fastest clean run: a course and a car in, a solution of any level out."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from conewise.course.reference import lay_out, permitted_choices
from conewise.errors import InputError
from conewise.quantities import in_unit
from conewise.solver.fine_prices import finely_priced
from conewise.solver.gear_search import LEAST_PROMISE, ROUGH_PROMISE
from conewise.solver.limiter_bend import SidedSlopes, beside_the_limiter
from conewise.solver.line_results import stop_findings
from conewise.solver.min_time import Progress, Run, Settings, rerun, solve_run
from conewise.solver.point_mass_course import point_mass_solution
from conewise.solver.problem import SolverStoppedError
from conewise.solver.quasi_steady import quasi_steady_solution
from conewise.solver.result import Fallback, Gradient, Solution
from conewise.solver.sensitivity import by_parameter
from conewise.solver.solution import transient_solution
from conewise.vehicle import build
from conewise.vehicle.drivetrain import rough_power
from conewise.vehicle.file_slopes import by_error, slopes_by_file
from conewise.vehicle.parameters import ModelParameters
from conewise.vehicle.staging import staged
from conewise.workflows.sides import on_every_side

if TYPE_CHECKING:
    from collections.abc import Mapping

    from conewise.cars.car import Car
    from conewise.cars.driver import Driver
    from conewise.course.geometry import CourseGeometry
    from conewise.course.layout import Course
    from conewise.workflows.sides import Sides

Level = Literal["point-mass", "quasi-steady", "transient"]
LEVELS = ("point-mass", "quasi-steady", "transient")


class LevelError(InputError):
    """A level of model that there is not."""

    code = "level"

    def __init__(self, level: str) -> None:
        super().__init__(f"There is no level '{level}'; there are {', '.join(LEVELS)}.", where="level")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Conditions:
    """What a solve may be told beside course, car and sides; see `solve`."""

    driver: Driver | None = None
    pace: float | None = None
    surface: float = 1.0
    margin: float | Mapping[str, float] = 0.0
    settings: Settings | None = None
    start: Solution | None = None
    progress: Progress | None = None

    @property
    def of_car(self) -> dict[str, Any]:
        """Those that decide the model's numbers."""
        return {"driver": self.driver, "pace": self.pace, "surface": self.surface}

    @property
    def widest_margin(self) -> float:
        """One margin for every cone, as the levels without a margin of each cone take it. [m]"""
        if isinstance(self.margin, float | int):
            return float(self.margin)
        return max(self.margin.values(), default=0.0)


def solve(course: Course, car: Car, *, level: str = "transient", fallback: bool = False, **conditions: Any) -> Solution:
    """The fastest clean run of a car through a course.

    Parameters
    ----------
    course : Course
    car : Car
        Completed with typical values, as `read_car` gives it.
    level : "point-mass", "quasi-steady" or "transient"
    fallback : bool, default False
        Whether a transient solve that stops is answered by the quasi-steady run, marked as such.
    driver : Driver, optional
        None stands for the best possible run.
    pace, surface : float, optional
        Share of the friction that is used, in place of the driver's; factor of the surface.
    margin : float or Mapping of cone id to float, optional
        Margin at every cone; the levels without a margin of each cone leave the widest everywhere. [m]
    choices : Mapping, optional
        Side at either-side features; without it every permitted choice is solved and the fastest returned, with a
        finding for each that could not be solved.
    settings : Settings, optional
        Gears and mesh.
    start : Solution, optional
        A transient solution of the same course and a neighbouring car: solved on from there, on the same mesh, with
        the prices and gradients that this mesh gives; without it prices come from a finer mesh, and gradients of the
        gearing from both sides.
    progress : callable, optional

    Returns
    -------
    Solution

    Raises
    ------
    LevelError
        Where there is no such level.
    InfeasibleError
        Where there is no way through on any side.
    SolverStoppedError
        Where the solver stopped on every side that has a way through, and `fallback` is False.
    """
    found = fastest_run(course, car, level=level, fallback=fallback, **conditions)
    if conditions.get("start") is not None:
        return found
    of_car = {name: conditions[name] for name in ("driver", "pace", "surface") if name in conditions}
    return graded_to_both_sides(finely_priced(found), car, **of_car)


def fastest_run(
    course: Course, car: Car, *, level: str = "transient", fallback: bool = False, **conditions: Any
) -> Solution:
    """As `solve`, with the prices of the run's own mesh: for those who read times and lines, and need no prices."""
    if level not in LEVELS:
        raise LevelError(level)
    choices = conditions.pop("choices", None)
    told = _Conditions(**conditions)
    options = [choices] if choices is not None else permitted_choices(course)
    if told.start is not None:
        options = [told.start.choices]
    sides = on_every_side(options, lambda option: _solved(course, car, option, level=level, told=told))
    if not sides.solved and sides.stopped and fallback and level == "transient":
        return fallback_run(course, car, sides, **conditions)
    return sides.fastest


def fallback_run(course: Course, car: Car, sides: Sides, **conditions: Any) -> Solution:
    """The fastest quasi-steady run on the sides on which the transient solver stopped, marked as a fallback.

    Parameters
    ----------
    course : Course
    car : Car
    sides : Sides
        None of them solved, at least one of them stopped.
    **conditions
        As `solve` takes them.

    Raises
    ------
    InfeasibleError, ConvergenceError
        Where no side has a quasi-steady run either.
    """
    told = _Conditions(**conditions)
    reasons = [(choices, Fallback(feature=error.where, reason=error.message)) for choices, error in sides.stopped]

    def run(choices: dict[str, str]) -> Solution:
        reason = next(reason for stopped, reason in reasons if stopped == choices)
        geometry = lay_out(course, choices=choices)
        p = parameters(geometry, car, **told.of_car)
        return quasi_steady_solution(geometry, p, car=car.name, margin=told.widest_margin, fallback=reason)

    return on_every_side([choices for choices, _ in sides.stopped], run).fastest


def parameters(
    geometry: CourseGeometry, car: Car, *, driver: Driver | None = None, pace: float | None = None, surface: float = 1.0
) -> ModelParameters:
    """The model's numbers for a car on a course."""
    return staged(build.model_parameters(car, driver=driver, pace=pace, surface=surface), geometry)


def _solved(course: Course, car: Car, choices: Mapping[str, str] | None, *, level: str, told: _Conditions) -> Solution:
    geometry = lay_out(course, choices=choices)
    p = parameters(geometry, car, **told.of_car)
    if level == "point-mass":
        return _point_mass(geometry, p, margin=told.widest_margin)
    if level == "quasi-steady":
        return quasi_steady_solution(geometry, p, car=car.name, margin=told.widest_margin)
    run = _run(geometry, p, settings=told.settings or Settings(shift_time=build.gearbox(car).shift_time), told=told)
    return transient_solution(run, car=car.name, gradients=gradients(run, car, **told.of_car))


def _run(geometry: CourseGeometry, p: ModelParameters, *, settings: Settings, told: _Conditions) -> Run:
    """The transient run, from a neighbour where there is one; on a mesh of its own where that fails a check."""
    quiet: dict[str, Any] = {} if told.progress is None else {"progress": told.progress}
    if told.start is not None and isinstance(told.start.warm, Run):
        near = told.start.warm
        least = ROUGH_PROMISE if settings == near.settings else LEAST_PROMISE
        margins = _margins(near.problem.geometry, told.margin)
        run = rerun(near, p, margins=margins, settings=settings, least_promise=least, **quiet)
        if all(check.ok for check in run.checks):
            return run
        margins = _margins(run.problem.geometry, told.margin)
        try:
            return solve_run(run.problem.geometry, p, settings=settings, margins=margins, start=run, **quiet)
        except SolverStoppedError:
            return run  # what it failed is said with it
    return solve_run(geometry, p, settings=settings, margins=_margins(geometry, told.margin), **quiet)


def _margins(geometry: CourseGeometry, margin: float | Mapping[str, float]) -> Any:
    if isinstance(margin, float | int):
        return np.full(len(geometry.passes), float(margin))
    return np.array([float(margin.get(cone.id, 0.0)) for cone in geometry.passes])


def _point_mass(geometry: CourseGeometry, p: ModelParameters, *, margin: float) -> Solution:
    grip = float(p.surface * p.friction_share * min(p.friction_lateral_front, p.friction_lateral_rear))
    run = point_mass_solution(
        geometry,
        friction=grip,
        mass=float(p.mass),
        power=rough_power(p),
        half_width=float(p.body_width) / 2.0,
        margin=margin,
    )
    return replace(run, findings=tuple(stop_findings(geometry, p, float(run.speed[-1]))))


def graded_to_both_sides(solution: Solution, car: Car, **conditions: Any) -> Solution:
    """A transient solution whose gradients hold to both sides where the engine comes to its limiter.

    Parameters
    ----------
    solution : Solution
        With its run, as `transient_solution` gives it; of another level it comes back as it is.
    car : Car
    **conditions
        `driver`, `pace` and `surface` of the run.
    """
    run = solution.warm
    if not isinstance(run, Run):
        return solution
    sides = beside_the_limiter(run.problem, run.point, by_parameter(run.problem, run.point))
    return replace(solution, gradients=gradients(run, car, sides=sides, **conditions))


def doubt_of_car(run: Run, car: Car, *, driver: Driver | None = None) -> float:
    """One standard deviation of the time by what the numbers of the car file may be off by. [s]

    Notes
    -----
    Their errors are taken as independent, those of the same tyre front and rear as one, and the time as straight in
    them. The surface, the course and the model itself are not in it.
    """
    car = build.driven(car, driver)
    slopes = slopes_by_file(car, by_parameter(run.problem, run.point), driver=driver)
    return float(np.linalg.norm(list(by_error(slopes, car.values).values())))


def gradients(run: Run, car: Car, *, sides: SidedSlopes | None = None, **conditions: Any) -> tuple[Gradient, ...]:
    """How the time answers to every number of the car file, to the surface and to the driver, all else equal.

    Parameters
    ----------
    run : Run
    car : Car
    sides : SidedSlopes, optional
        Slopes to either side, in place of the derivatives at the run.
    **conditions
        `driver`, `pace` and `surface` of the run.
    """
    car = build.driven(car, conditions.get("driver"))
    if sides is None:
        slopes = by_parameter(run.problem, run.point)
        sides = SidedSlopes(less=slopes, more=slopes)
    columns = build.jacobian(car, driver=conditions.get("driver"))
    rising, falling = np.maximum(columns, 0.0), np.minimum(columns, 0.0)
    more = sides.more @ rising + sides.less @ falling
    less = sides.less @ rising + sides.more @ falling
    answers = []
    for facts, slope, bend in zip(build.file_parameters(car), (more + less) / 2.0, (more - less) / 2.0, strict=True):
        unit_size = in_unit(1.0, facts.dimension, facts.unit) - in_unit(0.0, facts.dimension, facts.unit)  # type: ignore[arg-type]
        answers.append(
            Gradient(
                name=facts.name,
                unit=facts.unit,
                value=in_unit(facts.value, facts.dimension, facts.unit),  # type: ignore[arg-type]
                reference_step=facts.reference_step * unit_size,
                s_per_unit=float(slope) / unit_size,
                bend=float(bend) / unit_size,
            )
        )
    at = dict(zip(ModelParameters.names(), sides.more, strict=True))  # of these no number bends
    p = run.problem.p
    for name, field, step in (
        ("surface.friction", "surface", 0.01),
        ("driver.friction_share", "friction_share", 0.01),
        ("driver.pedal_rate", "pedal_rate", 0.5),
        ("driver.road_wheel_rate", "road_wheel_rate", 0.1),
        ("driver.launch_share", "launch_share", 0.05),
        ("course.staging", "staging", 0.1),
    ):
        unit = {"pedal_rate": "1/s", "road_wheel_rate": "rad/s", "staging": "m"}.get(field, "")
        value = float(getattr(p, field))
        answers.append(Gradient(name=name, unit=unit, value=value, reference_step=step, s_per_unit=float(at[field])))
    return tuple(answers)

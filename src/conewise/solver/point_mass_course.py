"""The point mass on a whole cone course."""

from __future__ import annotations

from dataclasses import replace
from time import perf_counter
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from conewise.runs import feature_results
from conewise.solver.corridor_problem import LEAST_WIDENING, CorridorMesh, cone_bounds, course_corridor
from conewise.solver.line_results import centre_cone_results
from conewise.solver.point_mass import PointMassProblem, solve_point_mass
from conewise.solver.result import Check, Solution

if TYPE_CHECKING:
    from conewise.course.geometry import CourseGeometry
    from conewise.solver.point_mass import PointMassRun

Array = NDArray[np.float64]

HALF_WIDTH = 0.9  # of a car where none is given [m]
CLEARANCE_TOLERANCE = 0.03  # the path is straight between nodes, the limits hold at nodes [m]
FRICTION_TOLERANCE = 1e-6  # share of the friction
BINDING = 1e-9  # a bound this near to the corridor's is the corridor's [m]


def launch_speed(distance: float, *, grip: float, specific_power: float = np.inf) -> float:
    """Speed of a point mass that has rolled a distance from rest. [m], [m/s2], [W/kg] -> [m/s]

    Notes
    -----
    Grip holds up to the speed P / (m mu g), power from there on: v^3 = v_g^3 + 3 P / m (s - s_g).
    """
    if not np.isfinite(specific_power):
        return float(np.sqrt(2.0 * grip * distance))
    hand_over = specific_power / grip
    reached = hand_over**2 / (2.0 * grip)
    if distance <= reached:
        return float(np.sqrt(2.0 * grip * distance))
    return float(np.cbrt(hand_over**3 + 3.0 * specific_power * (distance - reached)))


def point_mass_solution(
    geometry: CourseGeometry,
    *,
    friction: float,
    mass: float | None = None,
    power: float | None = None,
    half_width: float = HALF_WIDTH,
    margin: float = 0.0,
    step: float = 1.0,
) -> Solution:
    """Fastest run of a point mass through a course.

    Parameters
    ----------
    geometry : CourseGeometry
    friction : float
        In all directions, before the surface's own factor. [-]
    mass : float, optional
        Needed with power. [kg]
    power : float, optional
        At the wheels; without it grip alone limits. [W]
    half_width : float, default 0.9
        The car's centre stays this far from the edge of every cone. [m]
    margin : float, default 0.0
        Room to leave at every cone. [m]
    step : float, default 1.0
        Greatest distance between nodes. [m]

    Returns
    -------
    Solution
        Level "point-mass"; every gear is 0.

    Raises
    ------
    NoRoomError
        Where the car does not fit between cones.
    PointMassInputError, PointMassStuckError
        See `solve_point_mass`.

    Notes
    -----
    The clock starts at the start line with the speed that the staging distance gives. The body has no length: a price
    is that of the centre's bound, summed over the nodes about the cone.
    """
    began = perf_counter()
    corridor = course_corridor(geometry, clearance=half_width + margin, step=step)
    problem = PointMassProblem(corridor=corridor, friction=friction, mass=mass, power=power)
    start = launch_speed(
        geometry.course.staging,
        grip=problem.grip * float(corridor.friction[0]),
        specific_power=problem.specific_power,
    )
    problem = replace(problem, start_speed=start)
    run = solve_point_mass(problem)
    return _solution(geometry, run, problem, half_width=half_width, margin=margin, seconds=perf_counter() - began)


def _solution(
    geometry: CourseGeometry,
    run: PointMassRun,
    problem: PointMassProblem,
    *,
    half_width: float,
    margin: float,
    seconds: float,
) -> Solution:
    cones = centre_cone_results(
        geometry,
        station=run.station,
        line=np.column_stack([run.x, run.y]),
        half_width=half_width,
        margin=margin,
        prices=_prices(geometry, run, half_width + margin),
    )
    return Solution(
        level="point-mass",
        course=geometry.course.name,
        car="point mass",
        time=run.time,
        distance=run.distance,
        station=run.station,
        elapsed=run.elapsed,
        x=run.x,
        y=run.y,
        heading=run.heading,
        lateral_offset=run.lateral_offset,
        speed=run.speed,
        ax=run.ax,
        ay=run.ay,
        gear=np.zeros(run.station.size, dtype=np.int64),
        cones=cones,
        features=feature_results(geometry, station=run.station, elapsed=run.elapsed, speed=run.speed),
        checks=_checks(geometry, run, problem, clearance=min((c.clearance for c in cones), default=margin) - margin),
        choices=geometry.choices,
        statistics={"iterations": float(run.iterations), "seconds": seconds},
    )


def _prices(geometry: CourseGeometry, run: PointMassRun, clearance: float) -> Array:
    """Time lost per metre of margin at each pass: the multipliers of the bounds that it sets. [s/m]"""
    prices = np.zeros(len(geometry.passes))
    set_by: dict[tuple[int, int], tuple[float, int]] = {}
    for i, k, side, bound in cone_bounds(geometry, run.station, clearance):
        tightest = set_by.get((i, side))
        if tightest is None or side * bound < side * tightest[0]:
            set_by[i, side] = (bound, k)
    for (i, side), (bound, k) in set_by.items():
        price = max(side * run.bound_price[i], 0.0)
        cone = geometry.passes[k]
        prices[k] += price * (clearance + cone.radius) / abs(bound - cone.offset)
    return prices


def _checks(
    geometry: CourseGeometry, run: PointMassRun, problem: PointMassProblem, *, clearance: float
) -> tuple[Check, ...]:
    """No fold, no more friction than there is, no cone nearer than asked."""
    mesh = problem.corridor
    assert isinstance(mesh, CorridorMesh)
    offset = np.array([run.lateral_offset[:-1], run.lateral_offset[1:]])
    widening = np.min(1.0 - offset * mesh.curvature, axis=0)
    lateral = run.ay - mesh.ground_across
    pull = run.ax - mesh.ground_along + problem.drag * run.speed**2
    use = np.hypot(lateral, pull) / (problem.grip * mesh.friction)

    def place(values: Array) -> str:
        return geometry.span_at(float(run.station[int(np.argmax(values))])).id

    return (
        Check(
            name="no fold",
            ok=bool(widening.min() >= LEAST_WIDENING - 1e-6),
            value=float(widening.min()),
            limit=LEAST_WIDENING,
            where=place(-widening),
        ),
        Check(
            name="friction",
            ok=bool(use.max() <= 1.0 + FRICTION_TOLERANCE),
            value=float(use.max()),
            limit=1.0,
            where=place(use),
        ),
        Check(
            name="clearance",
            ok=clearance >= -CLEARANCE_TOLERANCE,
            value=clearance,
            limit=-CLEARANCE_TOLERANCE,
            unit="m",
        ),
    )

"""What a driver asks next about a solved run: what late and wide entries cost, and the best margins."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from scipy.special import ndtr

from conewise.reports.answer import ConeMargin, FeaturePrice, MarginPlan
from conewise.solver.min_time import Run
from conewise.solver.node import OFFSET
from conewise.solver.sensitivity import state_prices

if TYPE_CHECKING:
    from conewise.course.layout import Course
    from conewise.solver.result import Solution
    from conewise.workflows.line_solves import Chosen, LineSolves

PENALTY = 2.0  # per standing cone counted [s]; common practice, the event's rules decide
WIDE = 0.3  # the step in which a line is called wide [m]
ROUNDS = 2  # margins are worked out again with the prices of the run that has them
GREATEST_MARGIN = 0.8  # [m]
LEFT_IN_GATE = 0.15  # room that the margins of a gate leave beside the car [m]


def slow_in(solution: Solution) -> tuple[FeaturePrice, ...]:
    """What being late or wide at the entry of each feature costs, from the costates of the run."""
    run = solution.warm
    if not isinstance(run, Run):
        return ()
    mesh, p = run.problem.mesh, run.problem.p
    prices = state_prices(run.point)
    bend = np.append(mesh.curvature, mesh.curvature[-1])
    answers = []
    for feature in solution.features[1:-1]:
        node = int(np.searchsorted(mesh.station, feature.start - float(p.front_reach)))
        slowest = int(
            np.searchsorted(mesh.station, feature.slowest_station - float(p.front_reach)).clip(0, len(bend) - 1)
        )
        outwards = -np.sign(bend[slowest]) or 1.0
        answers.append(
            FeaturePrice(
                feature=feature.id,
                entry_speed_price=float(-prices[0, node]),
                wide_price=float(WIDE * outwards * prices[OFFSET, node]),
            )
        )
    return tuple(answers)


def best_margin(price: float, *, scatter: float, penalty: float = PENALTY) -> float:
    """Margin that minimises price * margin + penalty * P(cone counted). [m]

    Parameters
    ----------
    price : float
        Time lost per metre of margin. [s/m]
    scatter : float
        Standard deviation of the distance at the cone. [m]
    penalty : float
        Per cone counted. [s]

    Notes
    -----
    With a normal distance, P = Phi(-m / scatter); the derivative vanishes at
    m = scatter sqrt(2 ln(penalty / (price scatter sqrt(2 pi)))). A cone dearer than penalty / (scatter sqrt(2 pi)) is
    worth no margin.
    """
    if price <= 0.0:
        return 0.0
    odds = penalty / (price * scatter * np.sqrt(2.0 * np.pi))
    return float(min(scatter * np.sqrt(2.0 * np.log(odds)), GREATEST_MARGIN)) if odds > 1.0 else 0.0


def margin_plan(solves: LineSolves, chosen: Chosen, *, scatter: float) -> MarginPlan | None:
    """Best margins of all cones together, solved again; None where the run with them is not found.

    Parameters
    ----------
    solves : LineSolves
    chosen : Chosen
        The run without margins.
    scatter : float
        Standard deviation of the distance at a cone. [m]
    """
    run, now = chosen.solution.warm, chosen
    if not isinstance(run, Run):
        return None
    wanted: dict[str, float] = {}
    for _ in range(ROUNDS):
        wanted = _margins(now.solution, solves.course, scatter, width=float(run.problem.p.body_width))
        solution = solves.again("Solving the run with the best margins", now, margin=wanted)
        if solution.fallback is not None:
            return None
        now = replace(now, solution=solution)
    clearance: dict[str, float] = {}
    for cone in now.solution.cones:
        if cone.is_standing:
            clearance[cone.id] = min(clearance.get(cone.id, np.inf), cone.clearance)
    return MarginPlan(
        scatter=scatter,
        penalty=PENALTY,
        margins=tuple(ConeMargin(cone=cone, margin=margin) for cone, margin in wanted.items()),
        expected_time=now.solution.time,
        expected_cones=float(sum(ndtr(-away / scatter) for away in clearance.values())),
    )


def _margins(solution: Solution, course: Course, scatter: float, *, width: float) -> dict[str, float]:
    prices: dict[str, float] = {}
    for cone in solution.cones:
        prices[cone.id] = prices.get(cone.id, 0.0) + cone.price
    wanted = {cone: best_margin(price, scatter=scatter) for cone, price in prices.items() if price > 1e-3}
    for feature in course.features:
        for crossing in feature.crossings:
            if len(crossing) == 2:
                a, b = (course.cone(passed.cone) for passed in crossing)
                room = float(np.hypot(a.x - b.x, a.y - b.y)) - (a.base + b.base) / 2.0 - width - LEFT_IN_GATE
                for name in {a.id, b.id} & set(wanted):
                    wanted[name] = min(wanted[name], max(room / 2.0, 0.0))
    return wanted

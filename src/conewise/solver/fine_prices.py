"""Prices of cones from a finer mesh: those of cones that cost little hang on where the nodes fall."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from conewise.findings import Finding
from conewise.solver.gear_search import carried_gears
from conewise.solver.mesh import build_mesh
from conewise.solver.min_time import Run, guessed_speed
from conewise.solver.problem import NEAR, SolverStoppedError
from conewise.solver.sensitivity import cone_prices
from conewise.solver.transfer import carried_point

if TYPE_CHECKING:
    from conewise.solver.result import Solution

Array = NDArray[np.float64]

FINE = 0.4  # steps of the mesh that prices are taken from, as a share of those of the run
BARRIER = 1e-5  # first one of the warm start there
SAME_TIME = 1e-3  # share of the time by which a finer run may differ before it is another run, with other prices
_COARSE = Finding(
    "note", "coarse-prices", "Prices of cones are those of a coarser mesh: single small ones may be a tenth off."
)


def finer(run: Run, share: float = FINE) -> Run:
    """The run on a mesh of this share of the steps, its gears changed where they were.

    Raises
    ------
    SolverStoppedError
        Where it is not found there.
    """
    problem, geometry = run.problem, run.problem.geometry
    settings = replace(run.settings, refine=share * run.settings.refine)
    guessed = guessed_speed(geometry, problem.p)
    mesh = build_mesh(geometry, problem.p, guessed, refine=settings.refine, splits=problem.mesh.splits)
    speed = np.interp(mesh.station, problem.mesh.station, run.point.variables["v_x"])
    gears = carried_gears(run, mesh, speed, p=problem.p, settings=run.settings)
    fine = problem.changed(mesh=mesh, gears=gears)
    start = carried_point(run, fine)
    try:
        return Run(problem=fine, point=fine.warm(start, barrier=BARRIER), settings=settings)
    except SolverStoppedError:  # its multipliers may mislead where much changes between two nodes
        fine, point = fine.cold(start.z, lambda same, _speed: same, options=NEAR)
        return Run(problem=fine, point=point, settings=settings)


def finely_priced(solution: Solution) -> Solution:
    """A transient solution with the prices of a finer mesh.

    Parameters
    ----------
    solution : Solution
        With its run, as `transient_solution` gives it; of another level it comes back as it is.

    Returns
    -------
    Solution
        With its own prices and a note where no such run is found.

    Notes
    -----
    On the run's own mesh single prices below 0.1 s/m are up to 13% off those of half its steps. Where the steps of
    these were halved, 286 of 289 moved by less than 5%, and one by 10%: the run there is another (docs/benchmarks.md).
    """
    run = solution.warm
    if not isinstance(run, Run) or "price_nodes" in solution.statistics:
        return solution
    try:
        fine = finer(run)
    except SolverStoppedError:
        fine = None
    if fine is None or abs(fine.point.time / run.point.time - 1.0) > SAME_TIME:
        return replace(solution, findings=(*solution.findings, _COARSE))
    prices = cone_prices(fine.problem, fine.point)
    cones = tuple(replace(cone, price=float(price)) for cone, price in zip(solution.cones, prices, strict=True))
    statistics = {**solution.statistics, "price_nodes": float(len(fine.problem.mesh.station))}
    return replace(solution, cones=cones, statistics=statistics)

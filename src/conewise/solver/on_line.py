"""The fastest run on a given line: the lateral offset is held, cones are not asked, all else is as in the free run."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from conewise.solver import checks
from conewise.solver.gear_search import DRAFT_NEAR, finished, followed
from conewise.solver.min_time import Run, checked, guess_limits
from conewise.solver.node import HEADING, OFFSET, SCALE
from conewise.solver.problem import COLD, NEAR, SolverStoppedError, first_guess
from conewise.solver.solution import run_features
from conewise.solver.speed_profile import speed_profile

if TYPE_CHECKING:
    from conewise.solver.mesh import Mesh
    from conewise.solver.problem import Problem
    from conewise.vehicle.parameters import ModelParameters

Array = NDArray[np.float64]

WIDTHS = (0.05, 0.02, 0.005)  # to either side of a line, one after the other; docs/models/debrief.md [m]
BESIDE = 0.01  # to either side of a line that is solved from its neighbour [m]
ROUGH = replace(COLD, tolerance=1e-4)
WARM = 1e-4  # first barrier from one width, or from one line, to the next
BEND = 0.5  # length over which the bend of a line is taken for the first guess [m]


def run_on_line(
    run: Run, offset: Array, *, p: ModelParameters | None = None, near: Run | None = None, is_rough: bool = False
) -> Run:
    """The fastest run on a line.

    Parameters
    ----------
    run : Run
        A solved free run: its path, mesh and way to use the gears are taken.
    offset : Array, shape (n_nodes,)
        Lateral offset of the line from the path at the nodes; not asked behind the finish. [m]
    p : ModelParameters, optional
        Another friction or pace; those of the run where left out.
    near : Run, optional
        A run on the same line with another friction, from which to start.
    is_rough : bool, default False
        To about 5 ms, in half the time.

    Returns
    -------
    Run
        Within the narrowest of `WIDTHS` that is solved, each from the one before; see `width_of`. No cone is tested,
        nothing is checked: the line is what it is. Gears follow the speeds while the first of them is solved.

    Raises
    ------
    SolverStoppedError
        Where the car cannot follow the line within the widest; names the feature.
    """
    widest, *narrower = WIDTHS
    found = _begun(run, offset, run.problem.p if p is None else p, width=widest, near=near)
    for width in narrower:
        try:
            found = _held_to(found, offset, width)
        except SolverStoppedError:
            break
    if is_rough:
        return found
    point = found.problem.warm(found.point)
    return replace(found, point=point).spent(point)


def run_beside(line: Run, offset: Array) -> Run:
    """The fastest run on a line a little beside another one, to about 5 ms, within `BESIDE` and with the same gears.

    Parameters
    ----------
    line : Run
        On a line.
    offset : Array, shape (n_nodes,)
        Of the line that is asked for. [m]

    Raises
    ------
    SolverStoppedError
        Where the car cannot follow the line; names the feature.

    Notes
    -----
    Runs beside one line compare with each other, not with it: it is held to less room.
    """
    mesh, z = line.problem.mesh, line.point.z.copy()
    aside = np.where(_is_timed(mesh) > 0.0, offset - line.point.variables["lateral_offset"], 0.0)
    z[:, OFFSET] += aside / SCALE[OFFSET]
    z[:, HEADING] += np.arctan(np.gradient(aside, mesh.station)) / SCALE[HEADING]
    return _held_to(replace(line, point=replace(line.point, z=z)), offset, BESIDE)


def width_of(line: Run) -> float:
    """Room to either side that a run on a line had. [m]"""
    mesh = line.problem.mesh
    return float(mesh.n_high[0] - mesh.n_low[0]) / 2.0


def _begun(run: Run, offset: Array, p: ModelParameters, *, width: float, near: Run | None) -> Run:
    """The fastest run within a width of a line, from nothing or from a run with another friction."""
    problem = run.problem.changed(p=p, mesh=_held(run.problem.mesh, offset, width))
    if near is None:
        guess, options = _guess(problem, offset), ROUGH
    else:
        guess, options = near.point.z, replace(NEAR, tolerance=ROUGH.tolerance)
    problem, point = problem.cold(guess, followed(run.settings), options=options)
    return Run(problem=problem, point=point, settings=run.settings).spent(point)


def _held_to(found: Run, offset: Array, width: float) -> Run:
    """A run on a line, or beside it, held to a width of it."""
    problem = found.problem.changed(mesh=_held(found.problem.mesh, offset, width))
    point = problem.warm(found.point, barrier=WARM, tol=ROUGH.tolerance)
    return replace(found, problem=problem, point=point).spent(point)


def freed(run: Run, line: Run, *, margins: Array | None = None) -> Run:
    """The free run started from a run on a line; the free run that was there where that is faster.

    Parameters
    ----------
    run : Run
        Free.
    line : Run
        On a line, with the same path and mesh.
    margins : Array, shape (n_passes,), optional
        Room asked for at each pass; negative where a line passed nearer. Those of the run where left out. [m]
    """
    problem = run.problem.changed(gears=line.problem.gears)
    if margins is not None:
        problem = problem.changed(margins=margins)
    problem, point = problem.cold(line.point.z, followed(run.settings), options=DRAFT_NEAR)
    found = finished(Run(problem=problem, point=point, settings=run.settings).spent(point))
    if margins is None and run.point.time <= found.point.time:
        return run
    return checked(found)


def room_taken(line: Run) -> Array:
    """How near a run came to the cone of every pass of its course; negative: over it. Shape (n_passes,). [m]"""
    return checks.clearances(line.problem, checks.fine_line(line.problem, line.point))


def feature_times(line: Run) -> Array:
    """Times of the features of a run, shape (n_features,). [s]"""
    return np.array([feature.time for feature in run_features(line)])


def _is_timed(mesh: Mesh) -> Array:
    return (np.arange(mesh.station.size) <= mesh.finish).astype(float)


def _held(mesh: Mesh, offset: Array, width: float) -> Mesh:
    """The mesh with room for one line up to the finish, and without cones."""
    timed = _is_timed(mesh) > 0.0
    none = np.zeros(0, dtype=np.int64)
    return replace(
        mesh,
        n_low=np.where(timed, offset - width, mesh.n_low),
        n_high=np.where(timed, offset + width, mesh.n_high),
        pair_node=none,
        pair_cone=none,
        pair_data=mesh.pair_data[:, :0],
    )


def _guess(problem: Problem, offset: Array) -> Array:
    """Unknowns along the line at a capped friction-circle speed, scaled, shape (n_nodes, N_VARIABLES)."""
    mesh, p = problem.mesh, problem.p
    x, y = mesh.x - offset * np.sin(mesh.heading), mesh.y + offset * np.cos(mesh.heading)
    steps = np.hypot(np.diff(x), np.diff(y))
    along = np.concatenate([[0.0], np.cumsum(np.maximum(steps, 1e-3))])
    heading = np.unwrap(np.arctan2(np.gradient(y, along), np.gradient(x, along)))
    bend = np.gradient(heading, along)
    even = np.linspace(0.0, along[-1], max(int(along[-1] / BEND), 8))
    profile = speed_profile(even, np.interp(even, along, bend), guess_limits(p), start_speed=2.0)
    speed = np.interp(along, even, profile.speed)
    guess = first_guess(mesh, speed, p, bend=bend)
    guess[:, OFFSET] = offset / SCALE[OFFSET]
    guess[:, HEADING] = np.clip(np.angle(np.exp(1j * (heading - mesh.heading))), -1.0, 1.0) / SCALE[HEADING]
    return guess

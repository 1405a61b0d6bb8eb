"""A solved run on another mesh or another path: its unknowns, and on the same path its multipliers too."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from conewise.solver.node import HEADING, OFFSET, SCALE
from conewise.solver.transcription import N_LIMITS, Multipliers

if TYPE_CHECKING:
    from conewise.course.geometry import CourseGeometry
    from conewise.solver.mesh import Mesh
    from conewise.solver.min_time import Run
    from conewise.solver.problem import Point, Problem

Array = NDArray[np.float64]


def carried_over(run: Run, geometry: CourseGeometry, mesh: Mesh) -> Array:
    """Unknowns of a solved run on another mesh or another reference path, scaled."""
    old, values = run.problem, run.point.z * SCALE
    known = old.mesh.station
    if geometry.path is not old.geometry.path:
        before = old.geometry.path.at(known)
        x = before.x - values[:, OFFSET] * np.sin(before.heading)
        y = before.y + values[:, OFFSET] * np.cos(before.heading)
        window = known * geometry.path.length / old.geometry.path.length
        known, values[:, OFFSET] = geometry.path.project_all(
            np.stack([x, y], axis=1), np.stack([window - 12.0, window + 12.0], axis=1)
        )
        turned = before.heading + values[:, HEADING] - geometry.path.at(known).heading
        values[:, HEADING] = (turned + np.pi) % (2 * np.pi) - np.pi
        order = np.argsort(known)
        known, values = known[order], values[order]
    return np.asarray(_columns(mesh.station, known, values) / SCALE)


def carried_point(run: Run, problem: Problem) -> Point:
    """Unknowns and multipliers of a solved run on another mesh of the same path: a warm start there.

    Parameters
    ----------
    run : Run
    problem : Problem
        On the run's own reference path, with its cones.

    Notes
    -----
    Multipliers of defects are the costates between the nodes and are read there. All others are densities times the
    length that a node stands for, since what they push shows itself in the defects either side of it: densities are
    carried over, so that what pushes at a single node weighs the same in all.
    """
    old, point = run.problem, run.point
    before, after = old.mesh.station, problem.mesh.station
    lengths, length = _lengths(before), _lengths(after)[:, None]

    def density(values: Array) -> Array:
        return _columns(after, before, values / lengths[:, None]) * length

    y = point.multipliers
    limits = y.limits[: len(before) * N_LIMITS].reshape(-1, N_LIMITS)
    return replace(
        point,
        z=carried_over(run, problem.geometry, problem.mesh),
        bounds=density(point.bounds),
        multipliers=Multipliers(
            defects=_columns(_middles(after), _middles(before), y.defects),
            algebraic=density(y.algebraic),
            launch=y.launch,
            limits=np.concatenate([density(limits).ravel(), _pairs(old, y.pairs(), problem)]),
        ),
    )


def _pairs(old: Problem, pushes: Array, new: Problem) -> Array:
    """What each cone pushes at each node that it is tested at, shape (n_pairs,)."""
    before, after = old.mesh, new.mesh
    lengths, length = _lengths(before.station), _lengths(after.station)
    out = np.zeros(len(after.pair_node))
    for cone in range(len(new.geometry.passes)):
        here, there = np.flatnonzero(after.pair_cone == cone), np.flatnonzero(before.pair_cone == cone)
        nodes, known = after.pair_node[here], before.pair_node[there]
        density = np.interp(after.station[nodes], before.station[known], pushes[there] / lengths[known])
        out[here] = density * length[nodes]
    return out


def _columns(at: Array, known: Array, values: Array) -> Array:
    return np.stack([np.interp(at, known, column) for column in values.T], axis=1)


def _middles(station: Array) -> Array:
    return np.asarray((station[1:] + station[:-1]) / 2.0)


def _lengths(station: Array) -> Array:
    """Length that each node stands for: half the steps either side of it. [m]"""
    step = np.diff(station)
    return np.asarray((np.append(step, 0.0) + np.append(0.0, step)) / 2.0)

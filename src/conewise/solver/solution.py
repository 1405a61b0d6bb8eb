"""A solved transient run in the shape that every face reads."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from conewise.findings import Finding
from conewise.runs import feature_results
from conewise.solver import checks, sensitivity
from conewise.solver.line_results import cone_result, stop_findings
from conewise.solver.node import node_code
from conewise.solver.replay import interval_times
from conewise.solver.result import ConeResult, Gradient, Solution

if TYPE_CHECKING:
    from conewise.runs import FeatureResult
    from conewise.solver.min_time import Run

Array = NDArray[np.float64]


def transient_solution(run: Run, *, car: str = "", gradients: tuple[Gradient, ...] = ()) -> Solution:
    """The run between the beams, at the nodes of its mesh."""
    problem, point = run.problem, run.point
    geometry, mesh, p, v = problem.geometry, problem.mesh, problem.p, point.variables
    timed = slice(0, mesh.finish + 1)
    path = geometry.path.at(mesh.station)
    n = v["lateral_offset"]
    x, y = path.x - n * np.sin(path.heading), path.y + n * np.cos(path.heading)
    report = _report(run)
    elapsed = _elapsed(run)
    speed = np.hypot(v["v_x"], v["v_y"])
    cos, sin = np.cos(v["relative_heading"]), np.sin(v["relative_heading"])
    line = np.hypot(np.diff(x[timed]), np.diff(y[timed]))
    return Solution(
        level="transient",
        course=geometry.course.name,
        car=car,
        time=point.time,
        distance=float(line.sum() + mesh.extra),
        station=mesh.station[timed],
        elapsed=elapsed,
        x=x[timed],
        y=y[timed],
        heading=(path.heading + v["relative_heading"])[timed],
        lateral_offset=n[timed],
        speed=speed[timed],
        ax=(v["specific_x"] + mesh.ground_along * cos + mesh.ground_across * sin)[timed],
        ay=(v["specific_y"] + mesh.ground_across * cos - mesh.ground_along * sin)[timed],
        gear=problem.gears.gear[timed],
        yaw_rate=v["yaw_rate"][timed],
        sideslip=np.arctan2(v["v_y"], v["v_x"])[timed],
        roll=v["roll"][timed],
        road_wheel_angle=v["road_wheel_angle"][timed],
        command=v["command"][timed],
        wheel_loads=report[:4].T[timed],
        friction_use_front=report[4][timed],
        friction_use_rear=report[5][timed],
        cones=_cones(run),
        features=_features(run, elapsed, speed[timed]),
        gradients=gradients,
        checks=run.checks,
        findings=(*stop_findings(geometry, p, float(speed[mesh.finish])), *_lifted(run, report[:4])),
        choices=dict(geometry.choices),
        statistics={
            "iterations": float(run.iterations),
            "solve_s": run.seconds,
            "nodes": float(len(mesh.station)),
            "smoothing": point.smoothing,
        },
        warm=run,
    )


def run_features(run: Run) -> tuple[FeatureResult, ...]:
    """Features timed by the front of the car, as the beams do; their times sum to the run's."""
    v = run.point.variables
    speed = np.hypot(v["v_x"], v["v_y"])[: run.problem.mesh.finish + 1]
    return _features(run, _elapsed(run), speed)


def _elapsed(run: Run) -> Array:
    """Time since the start beam at the nodes between the beams. [s]"""
    intervals = interval_times(run.problem, run.point)[: run.problem.mesh.finish]
    return np.asarray(run.point.time - intervals.sum() + np.concatenate([[0.0], np.cumsum(intervals)]))


def _report(run: Run) -> Array:
    problem = run.problem
    data = problem.mesh.node_data(problem.gears, 0.0)
    return node_code().motion(run.point.z.T, data, problem.p.vector())[0]


def _cones(run: Run) -> tuple[ConeResult, ...]:
    prices = sensitivity.cone_prices(run.problem, run.point)
    clearances = checks.clearances(run.problem, checks.fine_line(run.problem, run.point))
    return tuple(
        cone_result(cone, price=float(price), margin=float(margin), clearance=float(clearance))
        for cone, price, margin, clearance in zip(
            run.problem.geometry.passes, prices, run.problem.margins, clearances, strict=True
        )
    )


def _features(run: Run, elapsed: Array, speed: Array) -> tuple[FeatureResult, ...]:
    mesh = run.problem.mesh
    front = mesh.station[: mesh.finish + 1] + float(run.problem.p.front_reach)
    if mesh.extra > 0.0:
        front, elapsed, speed = np.append(0.0, front), np.append(0.0, elapsed), np.append(speed[:1], speed)
    return feature_results(run.problem.geometry, station=front, elapsed=elapsed, speed=speed)


def _lifted(run: Run, loads: Array) -> list[Finding]:
    """Both wheels of a side near zero: the car is close to tipping."""
    sides = np.minimum(loads[0] + loads[2], loads[1] + loads[3])
    weight = float(run.problem.p.mass * run.problem.p.gravity)
    worst = int(np.argmin(sides))
    if sides[worst] > 0.02 * weight:
        return []
    where = run.problem.geometry.span_at(float(run.problem.mesh.station[worst])).id
    return [
        Finding(
            "stop", "side-lifts", "Both wheels of one side leave the ground in the model; the car may roll over.", where
        )
    ]

"""The answer as plain data: what `--json` prints. Keys carry their unit and do not depend on the units shown."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any

import numpy as np

from conewise.findings import said_in

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from conewise.findings import Finding
    from conewise.reports.answer import LineAnswer
    from conewise.runs import FeatureResult
    from conewise.solver.result import ConeResult, Gradient, Solution


def finding_record(finding: Finding) -> dict[str, str]:
    """A finding; `message` has its quantities in metric, and `message_us` where they differ in US units."""
    told = asdict(finding) | {"message": str(finding.message)}
    us = said_in(finding.message, "us")
    return told if us == finding.message else told | {"message_us": us}


def line_record(answer: LineAnswer) -> dict[str, Any]:
    """The whole answer as JSON-ready data.

    Parameters
    ----------
    answer : LineAnswer
        The answer of a solved run.

    Returns
    -------
    dict
        `ok` (the command leaves with 0), `is_checked`, `is_stopped`, `time_s`, `level`, `distance_m`, `fallback`,
        `checks`, `stations`, `cones`, `features`, `gradients` and what
        was asked beside them; every key ends in its unit.
    """
    solution = answer.solution
    return {
        "ok": answer.exit_code == 0,
        "is_checked": not answer.failed_checks,
        "is_stopped": answer.is_stopped,
        "course": solution.course,
        "car": solution.car,
        "driver": answer.driver,
        "pace": answer.pace,
        "surface": answer.surface,
        "level": solution.level,
        "time_s": solution.time,
        "time_deviation_s": answer.time_deviation,
        "distance_m": solution.distance,
        "fallback": None if solution.fallback is None else asdict(solution.fallback),
        "surface_band": _band(answer),
        "checks": [asdict(check) for check in solution.checks],
        "findings": [finding_record(finding) for finding in solution.findings],
        "stations": _stations(solution),
        "cones": [_cone(cone) for cone in solution.cones],
        "features": [_feature(feature) for feature in solution.features],
        "gradients": [_gradient(gradient, answer) for gradient in solution.gradients],
        "build_up": [
            {
                "pace": row.pace,
                "time_s": row.time,
                "slowest": [{"feature": s.feature, "speed_m_s": s.speed} for s in row.speeds],
            }
            for row in answer.build_up
        ],
        "gear_choices": [{"label": g.label, "time_s": g.time, "is_best": g.is_best} for g in answer.gears],
        "side_choices": [
            {"feature": s.feature, "side": s.side, "time_s": s.time, "is_best": s.is_best} for s in answer.sides
        ],
        "slow_in": [
            {
                "feature": p.feature,
                "entry_speed_s_per_m_s": p.entry_speed_price,
                "wide_s_per_m": p.wide_price / 0.3,
            }
            for p in answer.slow_in
        ],
        "margin_plan": _margin_plan(answer),
        "statistics": dict(solution.statistics),
    }


def _numbers(values: NDArray[Any] | None) -> list[float] | None:
    return None if values is None else np.asarray(values).tolist()


def _stations(solution: Solution) -> dict[str, list[float] | None]:
    arrays = {
        "s_m": solution.station,
        "t_s": solution.elapsed,
        "x_m": solution.x,
        "y_m": solution.y,
        "heading_rad": solution.heading,
        "speed_m_s": solution.speed,
        "ax_m_s2": solution.ax,
        "ay_m_s2": solution.ay,
        "gear": solution.gear,
        "road_wheel_angle_rad": solution.road_wheel_angle,
        "command": solution.command,
        "friction_use_front": solution.friction_use_front,
        "friction_use_rear": solution.friction_use_rear,
    }
    return {name: _numbers(values) for name, values in arrays.items()}


def _cone(cone: ConeResult) -> dict[str, Any]:
    return {
        "id": cone.id,
        "feature": cone.feature,
        "side_of_driver": "left" if cone.is_left else "right",
        "is_standing": cone.is_standing,
        "x_m": cone.x,
        "y_m": cone.y,
        "s_m": cone.station,
        "price_s_per_m": cone.price,
        "margin_m": cone.margin,
        "clearance_m": cone.clearance,
    }


def _feature(feature: FeatureResult) -> dict[str, Any]:
    return {
        "id": feature.id,
        "kind": feature.kind,
        "time_s": feature.time,
        "entry": {"s_m": feature.start, "speed_m_s": feature.entry_speed},
        "slowest": {"s_m": feature.slowest_station, "speed_m_s": feature.slowest_speed},
        "exit": {"s_m": feature.end, "speed_m_s": feature.exit_speed},
    }


def _gradient(gradient: Gradient, answer: LineAnswer) -> dict[str, Any]:
    low, high = answer.interval(gradient)
    return {
        "name": gradient.name,
        "unit": gradient.unit,
        "value": gradient.value,
        "reference_step": gradient.reference_step,
        "s_per_unit": gradient.s_per_unit,
        "bend_s_per_unit": gradient.bend,
        "s_per_step": gradient.s_per_step,
        "s_per_step_low": low,
        "s_per_step_high": high,
        "s_per_percent": gradient.s_per_percent,
    }


def _band(answer: LineAnswer) -> dict[str, Any] | None:
    band = answer.band
    if band is None:
        return None
    return {
        "name": band.name,
        "surface_low": band.low,
        "surface_high": band.high,
        "fastest_s": band.fastest,
        "slowest_s": band.slowest,
    }


def _margin_plan(answer: LineAnswer) -> dict[str, Any] | None:
    plan = answer.margins
    if plan is None:
        return None
    return {
        "scatter_m": plan.scatter,
        "penalty_s": plan.penalty,
        "expected_time_s": plan.expected_time,
        "expected_cones": plan.expected_cones,
        "margins": [{"id": m.cone, "margin_m": m.margin} for m in plan.margins],
    }


def quick_record(solution: Solution, *, step: float) -> dict[str, Any]:
    """Time and line of a run, thinned to one place every so many metres, for a map that is drawn again and again."""
    along = solution.station
    kept = np.unique(np.append(np.searchsorted(along, np.arange(along[0], along[-1], step)), along.size - 1))
    return {
        "level": solution.level,
        "time_s": round(solution.time, 3),
        "s_m": np.round(along[kept] - along[0], 2).tolist(),
        "t_s": np.round(solution.elapsed[kept], 3).tolist(),
        "x_m": np.round(solution.x[kept], 2).tolist(),
        "y_m": np.round(solution.y[kept], 2).tolist(),
        "speed_m_s": np.round(solution.speed[kept], 2).tolist(),
        "findings": [finding_record(finding) for finding in solution.findings],
    }

"""The advice as plain data: what `conewise advise --json` prints. Keys end in their unit; what is not known is null."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from conewise.quantities import in_unit

if TYPE_CHECKING:
    from conewise.advisor.advice import Advice, Package, PackageAnswer
    from conewise.advisor.rows import Handling, Option, Row
    from conewise.money import Money


def advice_record(advice: Advice) -> dict[str, Any]:
    """The whole advice as JSON-ready data; numbers that are not known are NaN or None."""
    return {
        "ok": not advice.doubts and not advice.stopped,
        "stopped": advice.stopped or None,
        "doubts": list(advice.doubts),
        "courses": list(advice.base),
        "base_s": dict(advice.base),
        "weights": {course: advice.weights.get(course, 1.0) for course in advice.base},
        "interval": 0.9,
        "class_code": advice.car_class or None,
        "class_reason": advice.class_reason or None,
        "driver_first": advice.driver_first or None,
        "changes": [_row(row) for row in advice.rows],
        "packages": [] if advice.packages is None else [_package(one) for one in advice.packages.packages],
        "limits": None if advice.packages is None else _limits(advice.packages),
        "findings": [asdict(finding) for finding in advice.findings],
        "cautions": sorted({caution for row in advice.rows for caution in row.cautions}),
    }


def _row(row: Row) -> dict[str, Any]:
    low, high = row.interval
    option = row.option
    return {
        "name": option.name,
        "kind": option.kind,
        "is_solved": bool(row.solved),
        "gain_s": row.gain,
        "low_s": low,
        "high_s": high,
        "linear_s": row.linear,
        "indexed_gain_s": row.indexed,
        "by_course": {
            effect.course: {
                "gain_s": effect.gain,
                "linear_s": effect.linear,
                "round_trip_s": effect.closure,
                "front_less_rear_before": effect.lean[0],
                "front_less_rear_after": effect.lean[1],
            }
            for effect in row.effects
        },
        "parts_s": {"parameter": max(row.parameter), "numerical": row.numerical, "model": row.model},
        "price": _amount(option.price),
        "currency": _currency(option.price),
        "hours": option.hours,
        "price_per_tenth": row.price_per_tenth,
        **_class(option),
        "handling": row.handling,
        "handling_numbers": None if option.handling is None else _handling(*option.handling),
        "proposed": option.is_proposed,
        "required": option.is_required,
        "findings": [asdict(finding) for finding in option.findings],
        "cautions": list(row.cautions),
        "note": row.note,
    }


def _class(option: Option) -> dict[str, Any]:
    told = option.car_class
    if told is None:
        return {"class_code": None, "class_moves": None, "class_reason": None}
    return {"class_code": told.code or None, "class_moves": told.is_moved, "class_reason": told.reason}


def _handling(before: Handling, after: Handling) -> dict[str, Any]:
    return {"before": _numbers(before), "after": _numbers(after)}


def _numbers(handling: Handling) -> dict[str, float]:
    return {
        "understeer_gradient_deg_per_g": in_unit(handling.understeer_gradient, "angle", "deg"),
        "brake_front_share": handling.brake_front_share,
        "critical_deceleration_g": handling.critical_deceleration,
        "ride_frequency_front_hz": handling.ride_frequency_front,
        "ride_frequency_rear_hz": handling.ride_frequency_rear,
        "load_transfer_front_share": handling.load_transfer_distribution,
    }


def _package(package: Package) -> dict[str, Any]:
    low, high = package.row.interval
    return {
        "names": list(package.names),
        "gain_s": package.row.gain,
        "low_s": low,
        "high_s": high,
        "expected_s": package.expected,
        "price": _amount(package.price),
        "currency": _currency(package.price),
        "hours": package.hours,
        "class_code": package.car_class or None,
        "handling": package.row.handling,
        "steps": [
            {
                "names": list(step.names),
                "gain_s": step.gain,
                "price": _amount(step.price),
                "hours": step.hours,
                "reason": step.reason,
            }
            for step in package.steps
        ],
        "cautions": list(package.row.cautions),
    }


def _limits(answer: PackageAnswer) -> dict[str, Any]:
    return {
        "budget": _amount(answer.budget),
        "currency": _currency(answer.budget),
        "hours": answer.hours,
        "class_code": answer.car_class or None,
        "findings": [asdict(finding) for finding in answer.findings],
        "by_budget": [
            {"names": list(rung.names), "price": _amount(rung.price), "currency": _currency(rung.price),
             "expected_s": rung.expected}
            for rung in answer.rungs
        ],
    }  # fmt: skip


def _amount(price: Money | None) -> float | None:
    return None if price is None else float(price.amount)


def _currency(price: Money | None) -> str | None:
    return None if price is None or not price.currency else price.currency

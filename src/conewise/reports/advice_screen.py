"""Advice as the screen shows it: rows that sharpen, packages as steps, what other budgets would buy."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from conewise.findings import by_severity
from conewise.reports import advice_words
from conewise.reports.advice_report import handling_numbers

if TYPE_CHECKING:
    from collections.abc import Iterable

    from conewise.advisor.advice import Advice, Package, PackageAnswer
    from conewise.advisor.rows import Row


def row_screen(row: Row) -> dict[str, Any]:
    """One change: its gain with the interval once it is solved, by its slope until then."""
    option, is_solved = row.option, bool(row.solved)
    low, high = row.interval if is_solved else (row.linear, row.linear)
    told = option.car_class
    return {
        "name": option.name,
        "kind": option.kind,
        "gain": row.gain if is_solved else row.linear,
        "low": low,
        "high": high,
        "is_solved": is_solved,
        "words": advice_words.gain(row),
        "is_first": option.is_first,
        "is_proposed": option.is_proposed,
        "price": "" if option.price is None else str(option.price),
        "price_per_tenth": row.price_per_tenth,
        "hours": option.hours,
        "class": "" if told is None else told.code or "none",
        "class_moves": told is not None and told.is_moved,
        "handling": row.handling,
        "note": row.note,
        "findings": [finding.message for finding in option.findings],
    }


def rows_screen(rows: Iterable[Row]) -> list[dict[str, Any]]:
    """Several changes, in their order."""
    return [row_screen(row) for row in rows]


def advice_screen(advice: Advice) -> dict[str, Any]:
    """Everything that the page shows, as JSON can hold it."""
    best, packages = advice.best, advice.packages
    return {
        "car": advice.car,
        "headline": advice_words.headline(advice),
        "best": None if best is None else row_screen(best),
        "doubts": list(advice.doubts),
        "driver_first": advice.driver_first,
        "class": advice_words.class_sentence(advice),
        "base": [[course, time, advice.weights.get(course, 1.0)] for course, time in advice.base.items()],
        "rows": rows_screen(advice.rows),
        "handling": _handling(advice),
        "limits": "" if packages is None else advice_words.limits(packages),
        "packages": None if packages is None else [_package(one) for one in packages.packages],
        "rungs": [] if packages is None else _rungs(packages),
        "currency": "" if packages is None or packages.budget is None else packages.budget.currency,
        "budget": None if packages is None or packages.budget is None else float(packages.budget.amount),
        "notes": [list(note) for note in advice_words.notes(advice)],
        "findings": [
            [one.severity, one.message]
            for one in by_severity([*advice.findings, *(() if packages is None else packages.findings)])
        ],
        "cautions": advice_words.cautions(advice),
    }


def _handling(advice: Advice) -> list[list[str]]:
    """Name, words and numbers of every change to the car; the car as it stands first, without a name."""
    told = [(row, row.option.handling) for row in advice.rows if row.option.handling and not row.option.is_first]
    rows = [[row.option.name, row.handling, *handling_numbers(pair[1], pair[0])] for row, pair in told if pair]
    return [["", "", *handling_numbers(told[0][1][0])], *rows] if told and told[0][1] else []


def _package(package: Package) -> dict[str, Any]:
    return {
        "names": list(package.names),
        "sentence": advice_words.package_sentence(package),
        "gain": package.row.gain if package.row.solved else None,
        "price": str(package.price),
        "steps": [
            {
                "what": " + ".join(step.names),
                "gain": advice_words.seconds(step.gain),
                "price": str(step.price),
                "hours": step.hours,
                "reason": step.reason,
            }
            for step in package.steps
        ],
    }


def _rungs(packages: PackageAnswer) -> list[dict[str, Any]]:
    return [
        {
            "price": float(rung.price.amount), "shown": str(rung.price), "names": list(rung.names),
            "expected": rung.expected,
        }
        for rung in packages.rungs
    ]  # fmt: skip

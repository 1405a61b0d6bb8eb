"""Made-up answers of a search for settings, for every face."""

from __future__ import annotations

from dataclasses import replace

from conewise.findings import Finding
from conewise.reports.settings_answer import (
    BoundRow,
    CourseTime,
    Gain,
    HandlingLine,
    OneClick,
    RangeEnd,
    SettingRow,
    SettingsAnswer,
)

COSTS = Gain(value=-0.031, low=-0.05, high=-0.012)
UNKNOWN = Gain(value=0.004, low=-0.05, high=0.06)
SMALL = Gain(value=0.001, low=-0.004, high=0.005)


def row(name="front bar", **others):
    told = {
        "name": name,
        "kind": "bar",
        "field": "front.bar_arm",
        "dimension": "length",
        "unit": "m",
        "now": 0.23,
        "best": 0.25,
        "low": 0.21,
        "high": 0.25,
        "clicks": 1,
        "leaning": 0.25,
        "verdict": "moved",
        "alone": Gain(value=0.12, low=0.06, high=0.18),
        "in_company": Gain(value=0.11, low=0.05, high=0.17),
        "up": OneClick(reason="end of its range"),
        "down": OneClick(cost=COSTS.turned),
        "note": "Both sides in the same hole.",
    }
    return SettingRow(**(told | others))


def still(name, verdict, cost, **others):
    """A setting that stays."""
    gone = {"alone": None, "in_company": None, "clicks": 0, "note": ""}
    clicks = {"up": OneClick(cost=cost), "down": OneClick(cost=cost)}
    told = {"best": 0.23, "verdict": verdict} | gone | clicks | others
    return row(name, **({"leaning": told["best"]} | told))


def settings_answer(**others):
    told = {
        "car": "Marigold",
        "driver": "regular",
        "surface": 1.0,
        "courses": (
            CourseTime(name="Harbour Yard, long slaloms", weight=0.75, now=36.31, best=36.19),
            CourseTime(name="Old Mill airfield", weight=0.25, now=48.02, best=47.91),
        ),
        "rows": (
            row(),
            still(
                "front camber",
                "as it is",
                COSTS.turned,
                kind="camber",
                field="front.camber",
                dimension="angle",
                unit="deg",
                now=-0.0384,
                best=-0.0384,
                low=-0.0524,
                high=-0.0175,
            ),
            still(
                "front tyre pressure",
                "cannot tell",
                UNKNOWN,
                kind="tyre",
                field="front.tyre.pressure",
                dimension="pressure",
                unit="bar",
                now=206842.7,
                best=206842.7,
                leaning=220632.0,
                low=179264.0,
                high=248211.0,
            ),
            still("rear bar", "hardly matters", SMALL),
        ),
        "not_moved": (("rear tyre pressure", "the car file does not say rear.tyre.pressure_low"),),
        "bounds": (
            BoundRow(
                name="lock order of the brakes",
                asks="the rear axle never locks first up to the tyres' peak, dry or wet",
                before=1.0,
                after=1.0,
                least=0.8,
                unit="points of front share to spare",
                digits=1,
                cost=0.05,
            ),
            BoundRow(
                name="understeer",
                asks="the understeer gradient stays positive up to 0.9 of the limit, for a regular driver",
                before=0.28,
                after=0.31,
                least=0.0,
                unit="deg/g at least",
                digits=2,
            ),
        ),
        "range_ends": (RangeEnd(name="front bar", end="its range", cost=0.04),),
        "leaning": Gain(value=0.02, low=-0.04, high=0.08),
        "together": Gain(value=0.118, low=0.05, high=0.19),
        "handling": (
            HandlingLine(name="along the line", before="neutral at the limit", after="neutral at the limit, as before"),
            HandlingLine(
                name="steady turn at 60 km/h",
                before="understeer at the limit: the front gives way first",
                after="balanced at the limit: both ends give way together",
            ),
            HandlingLine(name="understeer gradient near straight ahead", before="0.31 deg/g", after="0.24 deg/g"),
            HandlingLine(name="front share of the load transfer", before="60.1 %", after="58.3 %"),
            HandlingLine(name="front share of the brakes", before="76.1 %", after="76.1 %"),
        ),
        "cautions": (
            "The rule book, the maker's manual and a qualified mechanic decide.",
            "Never under a car on a jack alone: stands, level ground, chocks.",
            "Tyre pressure stays within the limits marked by the car's maker and on the tyre.",
            "Test brakes at walking speed after any work.",
        ),
        "findings": (Finding("warning", "roll-over", "The static stability factor is 1.25.", "body.cg_height"),),
        "n_solves": 38,
    }
    return SettingsAnswer(**(told | others))


def as_it_is():
    """An answer that moves nothing."""
    full = settings_answer()
    rows = (
        *full.rows[1:],
        still("front toe", "hardly matters", SMALL),
        still("front dampers", "hardly matters", SMALL),
    )
    return replace(full, rows=rows, together=None, range_ends=(), notes=("No ranges are given.",))

"""Made-up advice for the faces: rows with gains and losses, what has no seconds, packages as steps."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from conewise.advisor.advice import Advice, Package, PackageAnswer, PackageRow, Step
from conewise.advisor.rows import ClassEffect, Effect, Handling, Option, Row
from conewise.findings import Finding
from conewise.money import Money, money

COURSES = ("Made-up Lot", "Long Apron")
BASE = {"Made-up Lot": 41.2, "Long Apron": 58.7}
STANDS = Handling(
    understeer_gradient=0.0089,
    brake_front_share=0.72,
    critical_deceleration=1.31,
    ride_frequency_front=1.9,
    ride_frequency_rear=1.8,
    load_transfer_distribution=0.55,
)
SAFETY = "extinguisher with bracket"
INDEX = {"S": 0.8, "T": 0.82, "P": 0.85}
LOCKS = Finding("stop", "rear-locks-first", "From 0.90 g on the rear axle would lock first, and the tyres hold 1.20 g.")


def option(name, kind, price=None, hours=None, *, code="S", **others):
    """Something that could be done, with its class and its handling."""
    moved = replace(STANDS, understeer_gradient=STANDS.understeer_gradient * 1.3, ride_frequency_front=2.1)
    told = {
        "price": None if price is None else money(price, where="price", currency="EUR"),
        "hours": hours,
        "car_class": ClassEffect(code=code, before="S", reason=f"{code} takes it", index=INDEX[code], index_before=0.8),
        "handling": (STANDS, moved if kind in {"bar", "spring"} else STANDS),
    }
    return Option(name=name, kind=kind, **(told | others))


def row(gain, *told, lean=(0.03, 0.05), **others):
    """A row with nearly the same gain on both courses."""
    effects = [
        Effect(
            course=course, linear=gain, base=BASE[course], gain=gain * share, common={"mass.total": 0.02},
            lean=lean, draws=0.1 * abs(gain) * np.linspace(-1.0, 1.0, 9),
        )
        for course, share in zip(COURSES, (1.1, 0.9), strict=True)
    ]  # fmt: skip
    return Row(option=option(*told, **others), effects=tuple(effects))


def _rows():
    return (
        Row(
            option=option("extinguisher with bracket", "safety", 85, 1, has_effect=False, is_required=True), effects=()
        ),
        row(0.84, "seat time: as quick as a typical expert driver", "driver", note="Typical values."),
        row(0.31, "tyres 225/45R15, treadwear 200", "tyre", 760, 2),
        row(0.14, "wheels 15x9 +25", "wheel", "689.90", 1, code="T"),
        row(0.09, "front bar, 2 mm thicker", "bar", 210, 2, code="T"),
        row(0.004, "light battery in the boot", "mass", 195, 1, code="T"),
        row(-0.07, "springs, a quarter stiffer", "spring", 390, 6, code="T"),
        Row(option=option("strut brace", "other", 140, 1, code="P", has_effect=False), effects=()),
        Row(
            option=option("limited-slip differential", "differential", None, 8),
            effects=(Effect(course=COURSES[0], linear=0.2, stopped="The solver stopped at gate-3."),),
        ),
        row(0.5, "rear pads with more bite", "brake", 90, 1, findings=(LOCKS,)),
    )


def _package(rows, names, gains):
    told = {one.option.name: one for one in rows}
    effects = tuple(
        Effect(course=course, linear=sum(gains), base=BASE[course], gain=sum(gains), lean=(0.03, 0.06))
        for course in COURSES
    )
    members = tuple((told[name].option.kind, gain) for name, gain in zip(names, gains, strict=True))
    prices = [told[name].option.price for name in names]
    whole = PackageRow(option=option(" + ".join(names), "other", None, 5.0, code="T"), effects=effects, members=members)
    steps = [
        Step(names=(name,), gain=gain, price=price, hours=told[name].option.hours,
             reason="Inspection asks for it." if told[name].option.is_required else "")
        for name, gain, price in zip(names, gains, prices, strict=True)
    ]  # fmt: skip
    whole_price = Money(sum(price.amount for price in prices), "EUR")
    return Package(
        names=tuple(names),
        row=whole,
        price=whole_price,
        hours=5.0,
        expected=sum(gains),
        steps=tuple(steps),
        car_class="T",
    )


def made_up_advice(**changes):
    """A whole advice with every part filled in."""
    rows = _rows()
    packages = PackageAnswer(
        budget=money("1500 EUR", where=""),
        hours=12.0,
        car_class="T",
        packages=(
            _package(rows, [SAFETY, rows[2].option.name, rows[4].option.name], [0.0, 0.31, 0.08]),
            _package(rows, [SAFETY, rows[2].option.name, rows[6].option.name], [0.0, 0.31, -0.02]),
        ),
        findings=(
            Finding("warning", "price-missing", "Ranked, but in no package: limited-slip differential.", "packages"),
        ),
    )
    told = {
        "base": BASE,
        "rows": rows,
        "car": "Light rear-drive",
        "weights": {COURSES[0]: 3.0, COURSES[1]: 1.0},
        "findings": (
            Finding("warning", "modified-unknown", "The car file does not say what was modified.", "car.toml"),
        ),
        "car_class": "S",
        "class_reason": "S takes it (as it was sold)",
        "driver_first": "12 runs in this car so far. Seat time and safety items come first.",
        "packages": packages,
    }
    return Advice(**(told | changes))


def plain_advice():
    """Advice without rules, budget or a gain."""
    rows = tuple(
        replace(one, option=replace(one.option, car_class=None, handling=None)) for one in _rows() if one.solved
    )
    losing = [replace(one, effects=tuple(replace(e, gain=-0.1) for e in one.effects)) for one in rows]
    return Advice(base=BASE, rows=tuple(losing), car="Light rear-drive")


def named_advice(name):
    """The same advice with one name everywhere that a person chooses it."""
    advice = made_up_advice(car=name)
    rows = tuple(replace(one, option=replace(one.option, name=f"{name} {k}")) for k, one in enumerate(advice.rows))
    return replace(advice, rows=rows, packages=None)

"""Packages from solved rows: who may be in one, how pairs interact, in which steps; the solves are made up."""

from __future__ import annotations

from dataclasses import dataclass, field
from types import SimpleNamespace

import numpy as np
import pytest

from conewise.advisor.rows import Effect, Row
from conewise.cars.changes_file import read_parts
from conewise.cars.classes_file import read_classes
from conewise.money import money
from conewise.workflows import advise_question as asking
from conewise.workflows.packages import PackageSearch, Wanted
from tests.unit.workflows.test_advise import CAR, COURSE, DEMO, asked

RULES = DEMO / "rules" / "three-valleys.toml"
PART = '[[part]]\nname = "{}"\nkind = "{}"\n{}\n[[part.edit]]\nfield = "{}"\nscale = {}\n'
GRIP = "front.tyre.friction"


def part(name, price, *, kind="bar", field="front.bar_diameter", scale=1.02, more=""):
    money_line = "" if price is None else f"price = {price}\n"
    return PART.format(name, kind, money_line + more, field, scale)


@dataclass
class MadeUp:
    """An evaluation whose gains are told by a rule on the model's numbers; `curvature` makes pairs interact."""

    work: object
    curvature: float = 0.0
    asked: list = field(default_factory=list)

    def __post_init__(self):
        p = self.work.parameters(self.work.car)
        self.start = p.vector()
        random = np.random.default_rng(5)
        self.slopes_at_start = random.normal(0.0, 1.0, len(self.start)) / np.maximum(np.abs(self.start), 1.0)
        self.weights = np.abs(self.slopes_at_start)
        self.bases = SimpleNamespace(bases=[SimpleNamespace(p=p)], slopes=[self.slopes_at_start])
        self.known = {}

    def time(self, p):
        d = p.vector() - self.start
        return 40.0 + self.slopes_at_start @ d + 0.5 * self.curvature * (self.weights @ d) ** 2

    def slope(self, p):
        d = p.vector() - self.start
        return self.slopes_at_start + self.curvature * (self.weights @ d) * self.weights

    def effects_of(self, direction):
        self.known[direction.option.name, 0] = self.slope(direction.p)
        gain = float(40.0 - self.time(direction.p))
        return (Effect(course=self.work.courses[0].name, linear=gain, gain=gain, base=40.0),)

    def slopes(self, name, course):
        return self.known.get((name, course))

    def of(self, directions):
        self.asked += [direction.option.name for direction in directions]
        return [self.effects_of(direction) for direction in directions]


@pytest.fixture
def search(tmp_path):
    def made(text, *, budget="1500", hours=None, car_class=None, curvature=0.0, gains=None):
        file = tmp_path / "parts.toml"
        file.write_text(text, encoding="utf-8")
        work = asking.read_question(asked(changes=None, parts=file, rules=RULES if car_class else None)).work
        evaluation = MadeUp(work=work, curvature=curvature)
        rows = {}
        for direction in work.directions():
            effects = evaluation.effects_of(direction) if direction.option.has_effect else ()
            if gains and direction.option.name in gains:
                told = gains[direction.option.name]
                effects = (Effect(course=work.courses[0].name, linear=told, gain=told, base=40.0),)
            rows[direction.option.name] = Row(option=direction.option, effects=effects)
        classes = read_classes(RULES)
        wanted = Wanted(
            budget=None if budget is None else money(budget, where="--budget"),
            hours=hours,
            car_class=next((c for c in classes if c.code == car_class), None),
        )
        return PackageSearch(work=work, evaluation=evaluation, rows=rows, wanted=wanted)

    return made


def codes(answer):
    return {finding.code: finding.message for finding in answer.findings}


def test_what_has_no_price_or_another_currency_or_no_hours_is_named_and_in_no_package(search):
    text = (
        part("cheap", 100, field="front.spring_rate", more="hours = 1\n")
        + part("unpriced", None, field="rear.spring_rate")
        + part("abroad", '"90 USD"', field="front.damping", more="hours = 1\n")
        + part("unhurried", 50, field="rear.damping")
    )
    names = ("cheap", "unpriced", "abroad", "unhurried")
    answer = search(text, budget="1500 EUR", hours=5.0, gains=dict.fromkeys(names, 0.2)).answer()
    assert [package.names for package in answer.packages] == [("cheap",)]
    found = codes(answer)
    assert "unpriced" in found["price-missing"]
    assert "abroad (90 USD)" in found["price-currency"]
    assert "unhurried" in found["hours-missing"]


def test_a_car_that_should_not_run_gets_no_package_and_is_told_why(search, monkeypatch, tmp_path):
    rearward = tmp_path / "rearward.toml"
    rearward.write_text(CAR.read_text().replace('pad_friction = "0.37"', 'pad_friction = "0.50"'))
    monkeypatch.setitem(asked.__globals__, "CAR", rearward)
    answer = search(part("stiffer bar", 100), gains={"stiffer bar": 0.3}).answer()
    assert not answer.packages
    assert "should not run" in codes(answer)["no-package"]


def test_with_a_budget_below_every_price_only_free_changes_are_left(search):
    text = part("free", 0, field="front.spring_rate") + part("dear", 10, field="rear.spring_rate")
    gains = {"free": 0.1, "dear": 0.5}
    answer = search(text, budget="9.99", gains=gains).answer()
    assert [package.names for package in answer.packages] == [("free",)]
    nothing = search(part("dear", 10), budget="9.99", gains={"dear": 0.5}).answer()
    assert nothing.packages == ()
    assert "No set of these changes" in codes(nothing)["no-package"]


def test_two_of_one_place_are_never_in_one_package(search):
    text = "".join(part(name, 100, field="front.spring_rate", more='place = "springs"\n') for name in ("a", "b"))
    answer = search(text, gains={"a": 0.3, "b": 0.2}).answer()
    assert [package.names for package in answer.packages] == [("a",), ("b",)]


def test_a_package_keeps_the_class(search):
    text = part("power", 100, kind="power", field="engine.torque_scale") + part("pads", 50, kind="brake",
        field="front.brake.pad_friction")  # fmt: skip
    answer = search(text, car_class="S", gains={"power": 0.5, "pads": 0.1}).answer()
    assert [package.names for package in answer.packages] == [("pads",)]
    assert answer.car_class == "S"
    free = search(text, gains={"power": 0.5, "pads": 0.1}).answer()
    assert {"power", "pads"} in [set(package.names) for package in free.packages]


def test_what_inspection_asks_for_comes_first_in_every_package(search):
    text = part("bar", 200) + '[[part]]\nname = "extinguisher"\nkind = "safety"\nprice = 80\nrequired = true\n'
    answer = search(text, gains={"bar": 0.2}).answer()
    assert all(package.names[0] == "extinguisher" for package in answer.packages)
    best = next(package for package in answer.packages if len(package.names) == 2)
    assert best.steps[0].reason == "Inspection asks for it."
    assert [step.names for step in best.steps] == [("extinguisher",), ("bar",)]
    assert str(best.price) == "280"
    short = search(text, budget="79", gains={"bar": 0.2}).answer()
    assert "extinguisher" in codes(short)["no-package"]


def test_what_is_needed_is_done_before_what_needs_it(search):
    text = part("dampers", 300, kind="damper", field="front.damping", more='needs = ["springs"]\n') + part(
        "springs", 100, kind="spring", field="front.spring_rate"
    )
    answer = search(text, gains={"dampers": 0.4, "springs": 0.02}).answer()
    names = [package.names for package in answer.packages]
    assert ("springs", "dampers") in names
    assert ("dampers",) not in names


def test_steps_add_up_to_the_package_and_start_with_the_row_itself(search):
    text = part("springs", 100, kind="spring", field="front.spring_rate", scale=1.05) + part(
        "dampers", 200, kind="damper", field="rear.damping", scale=1.1
    )
    made = search(text, curvature=2.0)
    made.evaluation.slopes_at_start = -np.abs(made.evaluation.slopes_at_start)  # so that both gain
    made.evaluation.bases.slopes[0] = made.evaluation.slopes_at_start
    made.rows.update(
        {d.option.name: Row(option=d.option, effects=made.evaluation.effects_of(d)) for d in made.work.directions()}
    )
    answer = made.answer()
    best = next(package for package in answer.packages if len(package.names) == 2)
    assert sum(step.gain for step in best.steps) == pytest.approx(best.row.gain)
    assert best.steps[0].gain == pytest.approx(made.rows[best.names[0]].gain)
    assert len(made.evaluation.asked) == len(set(made.evaluation.asked))


def test_the_interaction_of_a_pair_is_exact_where_the_time_bends_like_a_parabola(search):
    text = part("springs", 100, kind="spring", field="front.spring_rate", scale=1.05) + part(
        "dampers", 200, kind="damper", field="rear.damping", scale=1.1
    )
    made = search(text, curvature=0.7)
    springs, dampers = made.work.changes
    both = made.work.direction((springs, dampers))
    alone = [float(40.0 - made.evaluation.time(made.work.direction((c,)).p)) for c in (springs, dampers)]
    together = float(40.0 - made.evaluation.time(both.p))
    assert made._extra(springs, dampers) == pytest.approx(together - sum(alone), rel=1e-6, abs=1e-12)


def test_a_part_that_is_unsafe_alone_may_be_safe_with_what_it_needs(search):
    needs = 'needs = ["front pads"]\n'
    rear = part("rear pads", 50, kind="brake", field="rear.brake.pad_friction", scale=1.3, more=needs)
    front = part("front pads", 50, kind="brake", field="front.brake.pad_friction", scale=1.3)
    made = search(rear + front, gains={"rear pads": 0.2, "front pads": 0.1})
    assert not made.rows["rear pads"].option.is_proposed
    answer = made.answer()
    together = next(package for package in answer.packages if len(package.names) == 2)
    assert together.names == ("front pads", "rear pads")
    alone = search(rear.replace(needs, "") + front, gains={"rear pads": 0.2, "front pads": 0.1})
    assert all("rear pads" not in package.names for package in alone.answer().packages)


def test_the_demo_parts_can_be_read_with_their_rules():
    question = asked(changes=None, parts=DEMO / "parts" / "workshop-list.toml", rules=RULES, courses=(COURSE,), car=CAR)
    work = asking.read_question(question).work
    assert len(work.changes) == len(read_parts(DEMO / "parts" / "workshop-list.toml"))
    assert work.own_class.code == "S"

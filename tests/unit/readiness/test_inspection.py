"""The inspection list: what is not looked at blocks, and what opens it again."""

from __future__ import annotations

from datetime import date

import pytest

from conewise.event.cars import CHANGE_KINDS, CarChange, CheckEntry, TyreState
from conewise.readiness.inspection import items_for, judge_car
from tests.days import CLUB, car, checks, event_day, moment

RULE = CLUB.inspection


def open_items(of, **facts):
    return judge_car(of, event_day(cars=(of,), **({"checks": checks(of)} | facts)), rule=RULE)


def opened(of, **facts):
    return {item.code.removeprefix("inspection-") for item in open_items(of, **facts) if item.blocks}


def change(kind, hour=10, **facts):
    usual = {"id": "c1", "car": "pepper", "kind": kind, "happened_at": moment(hour)}
    return CarChange.model_validate(usual | facts)


def test_nothing_is_open_where_all_was_looked_at():
    assert open_items(car()) == ()


def test_what_nobody_looked_at_blocks():
    every = {item.id for item in items_for(car(), RULE)}
    assert opened(car(), checks=()) == every
    assert opened(car(), checks=checks(car(), but={"seat"})) == {"seat"}


def test_the_list_is_that_of_the_issue_of_inspection():
    """Common practice: club pages; see reference/inspection/CITATION.md."""
    wanted = {
        "battery",
        "throttle-return",
        "tyres",
        "wheel-nuts",
        "wheel-nuts-cold",
        "hub-caps",
        "loose-items",
        "leaks",
        "seat",
    }
    assert wanted <= {item.id for item in items_for(car(), RULE)}


def test_what_a_car_has_makes_its_list():
    fuel, electric = ({item.id for item in items_for(car(energy=energy), RULE)} for energy in ("fuel", "electric"))
    assert "isolation" in electric - fuel
    assert {"fuel-system", "throttle-return", "noise"} <= fuel - electric
    assert "roof" in {item.id for item in items_for(car(body="open"), RULE)} - fuel


def test_a_failed_item_says_who_and_why():
    bad = CheckEntry(
        id="x",
        event="spring",
        car="pepper",
        item="seat",
        result="failed",
        looked_by="Bo",
        looked_at=moment(9),
        note="loose",
    )
    (item,) = open_items(car(), checks=(*checks(car()), bad))
    assert item.code == "inspection-seat"
    assert "Bo" in item.reason
    assert "loose" in item.reason


def test_the_last_look_counts():
    bad = CheckEntry(
        id="x", event="spring", car="pepper", item="seat", result="failed", looked_by="Bo", looked_at=moment(7)
    )
    assert opened(car(), checks=(bad, *checks(car()))) == set()
    at_once = bad.changed(looked_at=moment(8))
    assert opened(car(), checks=(*checks(car()), at_once)) == {"seat"}


@pytest.mark.parametrize("kind", CHANGE_KINDS)
def test_work_and_incidents_open_the_items_concerned_again(kind):
    concerned = {item.id for item in items_for(car(), RULE) if kind in item.reopened_by}
    assert concerned
    assert opened(car(), changes=(change(kind),)) == concerned
    assert opened(car(), changes=(change(kind, hour=7),)) == set()
    assert opened(car(), changes=(change(kind, car="marigold"),)) == set()


def test_at_the_same_moment_the_item_is_open():
    assert "brake-pads" in opened(car(), changes=(change("brakes", hour=8),))


def test_a_look_after_the_work_closes_the_item():
    again = checks(car(), at=moment(11))
    assert opened(car(), checks=(*checks(car()), *again), changes=(change("contact"),)) == set()


def test_a_look_of_another_event_does_not_count():
    assert "seat" in opened(car(), checks=checks(car(), event="autumn"))


def test_a_look_after_the_event_does_not_count():
    late = checks(car(), at=moment(8, day=date(2026, 5, 18)))
    assert "seat" in opened(car(), checks=late)


def test_wheel_nuts_need_the_maker_s_torque():
    assert opened(car(wheel_torque=None)) == {"wheel-nuts", "wheel-nuts-cold"}


@pytest.mark.parametrize(
    ("value", "is_open"),
    [("98 N m", False), ("72.3 lb ft", False), ("80 N m", True), ("98", True), ("tight", True), ("", True)],
)
def test_a_torque_that_was_used_is_held_to_the_maker_s(value, is_open):
    """98 N m is 72.28 lb ft, by the definitions of foot, pound and standard gravity."""
    used = tuple(c.changed(value=value) if c.item == "wheel-nuts" else c for c in checks(car()))
    assert (opened(car(), checks=used) == {"wheel-nuts"}) is is_open


def test_the_second_look_at_the_nuts_may_say_only_that_they_hold():
    bare = tuple(c.changed(value="") if c.item == "wheel-nuts-cold" else c for c in checks(car()))
    assert opened(car(), checks=bare) == set()


def test_the_cold_check_comes_after_the_torque():
    early = tuple(c.changed(looked_at=moment(8)) if c.item == "wheel-nuts-cold" else c for c in checks(car()))
    assert opened(car(), checks=early) == {"wheel-nuts-cold"}


def test_an_item_that_is_not_on_the_list_is_said():
    odd = CheckEntry(
        id="x", event="spring", car="pepper", item="seats", result="passed", looked_by="Bo", looked_at=moment(8)
    )
    assert opened(car(), checks=(*checks(car()), odd)) == {"unknown"}


@pytest.mark.parametrize(
    ("protection", "is_open"), [("none", True), ("unknown", True), ("hoop", False), ("roof", False)]
)
def test_an_open_car_says_what_protects_in_a_roll(protection, is_open):
    of = car(body="open", roll_protection=protection)
    assert ("car-roll-protection" in opened(of)) is is_open


def test_old_tyres_are_a_warning_and_those_from_the_future_block():
    old = open_items(car(tyres=(TyreState(axle="front", date_code="0118"),)))
    assert [(item.code, item.blocks) for item in old] == [("tyre-age", False)]
    assert opened(car(tyres=(TyreState(axle="rear", date_code="2226"),))) == {"tyre-from-the-future"}
    assert opened(car(tyres=(TyreState(axle="rear", date_code="2026"),))) == set()


def test_what_happens_after_the_event_does_not_open_it_again():
    later = change("brakes", happened_at=moment(9, day=date(2026, 5, 18)))
    assert open_items(car(), changes=(later,)) == ()

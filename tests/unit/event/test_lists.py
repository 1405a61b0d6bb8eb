"""Packing by weather and company, the card of a first event, and money over a season."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from conewise.event.day import Entry, Expense, Money, Packed
from conewise.event.lists import first_event_card, packing_list, season_costs
from tests.days import event, event_day, minor, person


def items(**facts):
    return [row.item for row in packing_list(event_day(**facts))]


def money(amount, currency="EUR"):
    return Money(amount=Decimal(amount), currency=currency)


def test_water_and_food_are_always_there():
    found = " ".join(items())
    assert "Water" in found
    assert "no lunch break" in found


def test_weather_and_company_add_to_the_list():
    plain = set(items(event=event(weather="dry")))
    assert any("Rain jacket" in item for item in set(items(event=event(weather="wet"))) - plain)
    assert any("Shade" in item for item in set(items(event=event(weather="hot"))) - plain)
    assert any("Guardian" in item for item in set(items(event=event(weather="dry"), people=(minor(),))) - plain)
    shared = (Entry(person="ana", car="pepper"), Entry(person="bo", car="pepper"))
    assert any("second helmet" in item for item in set(items(event=event(weather="dry", entries=shared))) - plain)


def test_what_is_packed_is_kept_and_own_things_stand_behind():
    packed = (
        Packed(id="p1", event="spring", item="Helmet"),
        Packed(id="p2", event="spring", item="Drone", is_packed=False),
        Packed(id="p3", event="autumn", item="Kite"),
    )
    rows = {row.item: row.is_packed for row in packing_list(event_day(packed=packed))}
    assert rows["Helmet"] is True
    assert rows["Drone"] is False
    assert "Kite" not in rows


def test_the_card_says_what_a_first_event_asks():
    card = " ".join(first_event_card())
    for words in ("Helmet on", "starter", "Look ahead", "red flag", "Off course", "walking pace", "No phone"):
        assert words in card


def test_money_over_a_season_worked_by_hand():
    """Two entries at 45 EUR; 60.50 EUR of fuel; an event abroad where 80 USD were paid in place of the fee of 70."""
    fuel = Expense(id="x1", event="spring", day=date(2026, 5, 17), kind="fuel", money=money("60.50"))
    entry = Expense(id="x2", event="autumn", day=date(2026, 9, 1), kind="entry", money=money("80", "USD"))
    entries = (Entry(person="ana", car="pepper"), Entry(person="bo", car="pepper"))
    people = (person(), person("bo"))
    spring = event_day(event=event(fee=money("45"), entries=entries), people=people, expenses=(fuel,))
    autumn = event_day(event=event(id="autumn", day=date(2026, 9, 1), fee=money("70", "USD")), expenses=(entry, fuel))
    found = {(cost.year, cost.currency): (cost.total, cost.by_kind) for cost in season_costs([spring, autumn])}
    assert found == {
        (2026, "EUR"): (Decimal("150.50"), {"fuel": Decimal("60.50"), "entry": Decimal(90)}),
        (2026, "USD"): (Decimal(80), {"entry": Decimal(80)}),
    }

"""The event as a page: plan, packing, entries, calendar, money."""

from __future__ import annotations

import icalendar
import pytest

EVENT = "/api/events/september"


def page(client, query="event=september"):
    return client.get(f"/prepare/event?{query}").text


def test_the_day_is_planned_backwards(client):
    everyone = page(client)
    assert "Arrive at" in everyone
    assert "run, heat A" in everyone
    own = page(client, "event=september&driver=bo")
    assert "run, heat B" in own
    assert "work, heat A" in own
    assert "run, heat A" not in own


def test_the_calendar_is_read_by_another_reader(client):
    """icalendar, an independent reader of RFC 5545."""
    answer = client.get(f"{EVENT}/calendar?driver=bo")
    assert answer.headers["content-type"].startswith("text/calendar")
    assert 'filename="september.ics"' in answer.headers["content-disposition"]
    read = icalendar.Calendar.from_ical(answer.content)
    assert any("run, heat B" in str(one["SUMMARY"]) for one in read.walk("VEVENT"))


def test_packing_is_ticked(client):
    item = client.get(EVENT).json()["packing"][0]["item"]
    for state in (True, False, True):
        sent = {"item": item, "is_packed": state}
        assert client.post(f"{EVENT}/packing", json=sent).json() == {"ok": True}
        assert client.get(EVENT).json()["packing"][0] == sent
    assert f'value="{item}" checked' in page(client).replace("&#39;", "'")


def test_money_is_written_down_once_and_taken_out(client):
    sent = {"id": "e-1", "kind": "fuel", "amount": "31.50 EUR", "note": "on the way"}
    for _ in range(2):
        assert client.post(f"{EVENT}/expenses", json=sent).json()["id"] == "e-1"
    (cost,) = client.get(EVENT).json()["costs"]
    assert cost["by_kind"]["fuel"] == "31.50"
    assert "31.50 EUR, on the way" in page(client)
    client.post(f"{EVENT}/expenses/e-1/taken-back", json={})
    assert "31.50 EUR" not in page(client)


def test_the_money_is_that_of_the_season(client):
    assert "1280.00 EUR" in page(client)  # four events, eight entries, 40 EUR


@pytest.mark.parametrize("amount", ["31.50", "EUR", "-3 EUR", "1e9 EUR", "99999999999 EUR"])
def test_an_amount_that_is_none_is_refused_at_its_field(client, amount):
    refused = client.post(f"{EVENT}/expenses", json={"id": "e-1", "kind": "fuel", "amount": amount})
    assert (refused.status_code, refused.json()["where"]) == (422, "amount")


def test_without_an_event(empty):
    assert "No event is chosen" in empty.get("/prepare/event").text

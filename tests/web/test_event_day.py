"""The event day over HTTP: looks, runs, and what is refused."""

from __future__ import annotations

import pytest

EVENT = "/api/events/september"


def look(client, item="tyres", key="e-1", **facts):
    seen = next(
        one for one in client.get(f"{EVENT}/readiness").json()["cars"] if one["id"] == "pepper"
    )["items"]  # fmt: skip
    shown = next(one["seen"] for one in seen if one["code"] == item)
    sent = {"id": key, "car": "pepper", "item": item, "result": "passed", "looked_by": "Bo Carver", "seen": shown}
    return client.post(f"{EVENT}/car-looks", json=sent | facts)


def test_the_board_is_a_page_and_a_record(client):
    page = client.get("/prepare/ready?event=september").text
    assert "items are open: not ready to run." in page
    record = client.get(f"{EVENT}/readiness").json()
    assert (record["ready"], record["n_blocking"] > 10) == (False, True)
    assert "555" not in str(record) + page  # nobody's telephone
    assert "Rules: Three Valleys, club classes." in page
    april = client.get("/prepare/ready?event=april").text
    assert "Nothing open on your list; the event&#39;s inspection decides." in april


def test_a_look_is_written_down_and_taken_back(client):
    before = client.get(f"{EVENT}/readiness").json()["n_blocking"]
    assert look(client).json()["id"] == "e-1"
    assert client.get(f"{EVENT}/readiness").json()["n_blocking"] == before - 1
    assert client.post(f"{EVENT}/car-looks/e-1/taken-back", json={"looked_by": "Bo Carver"}).status_code == 200
    assert client.get(f"{EVENT}/readiness").json()["n_blocking"] == before


def test_two_at_one_item_are_told(client):
    assert look(client, key="e-1").status_code == 200
    refused = look(client, key="e-2", seen="")
    assert (refused.status_code, refused.json()["code"]) == (409, "looked-meanwhile")
    assert "Bo Carver looked at it meanwhile" in refused.json()["message"]


def test_a_report_opens_items(client):
    sent = {"id": "e-3", "car": "boulder", "kind": "leak", "looked_by": "Bo Carver"}
    before = client.get(f"{EVENT}/readiness").json()["n_blocking"]
    assert client.post(f"{EVENT}/reports", json=sent).json()["id"] == "e-3"
    assert client.get(f"{EVENT}/readiness").json()["n_blocking"] > before
    client.post(f"{EVENT}/reports/e-3/taken-back", json={"looked_by": "Bo Carver"})
    assert client.get(f"{EVENT}/readiness").json()["n_blocking"] == before


@pytest.mark.parametrize(
    ("path", "sent", "status"),
    [
        ("helmet-looks", {"helmet": "ana-helmet", "look": "fit", "result": "failed", "version": 1}, 200),
        ("helmet-looks", {"helmet": "ana-helmet", "look": "fit", "result": "failed", "version": 9}, 409),
        ("helmet-looks", {"helmet": "ana-helmet", "look": "colour", "result": "failed", "version": 1}, 422),
        ("papers", {"person": "ana", "paper": "ride-alongs", "value": "no", "version": 9}, 409),
        ("papers", {"person": "ana", "paper": "licence", "value": "soon", "version": 1}, 422),
        ("wheel-torques", {"car": "pepper", "written": "80", "version": 1}, 422),
        ("loans", {"id": "e-4", "helmet": "ghost", "person": "ana"}, 422),
        ("car-looks", {"id": "E 1", "car": "pepper", "item": "tyres", "result": "passed"}, 422),
    ],
)
def test_what_is_sent_is_held_to_the_book(client, path, sent, status):
    assert client.post(f"{EVENT}/{path}", json=sent | {"looked_by": "Bo"}).status_code == status


def run(client, key="e-1", **facts):
    sent = {"id": key, "driver": "bo", "car": "marigold", "run": 3, "time": "36001+1", "waited": 30}
    return client.post(f"{EVENT}/runs", json=sent | facts)


def test_a_run_comes_once_and_is_taken_back_and_corrected(client):
    first = run(client).json()
    assert (first["run"], first["total_s"], first["why"]) == (3, 38.001, "")
    assert run(client).json() == first
    listed = client.get(f"{EVENT}/run-list").json()["runs"]
    assert [one["written"] for one in listed if one["run"] == 3] == ["36.001+1"]
    correction = {"version": 1, "time": "36.001", "reason": "Cones counted again"}
    corrected = client.post(f"{EVENT}/runs/e-1/corrections", json=correction).json()
    assert (corrected["version"], corrected["total_s"]) == (2, 36.001)
    assert client.post(f"{EVENT}/runs/e-1/corrections", json=correction).json() == corrected
    other = client.post(f"{EVENT}/runs/e-1/corrections", json=correction | {"time": "DNF"})
    assert (other.status_code, other.json()["code"]) == (409, "record-changed")
    assert client.post(f"{EVENT}/runs/e-1/taken-back", json={}).json()["was_there"]
    refused = run(client)
    assert (refused.status_code, refused.json()["code"]) == (409, "run-taken-back")


@pytest.mark.parametrize(
    ("facts", "status", "code"),
    [
        ({"run": 1}, 409, "run-there"),
        ({"driver": "ghost"}, 404, "person-unknown"),
        ({"time": "6234"}, 422, "time-form"),
        ({"car": "ghost"}, 422, "runs-file"),
        ({"run": 0}, 422, "request"),
    ],
)
def test_a_run_that_is_not_clear_is_refused(client, facts, status, code):
    refused = run(client, **facts)
    assert (refused.status_code, refused.json()["code"]) == (status, code)


def test_events_that_are_not_there(client):
    for path in ("readiness", "run-list"):
        assert client.get(f"/api/events/autumn/{path}").status_code == 404


def test_pages_without_a_book_say_so(empty):
    assert "No event is chosen" in empty.get("/prepare/ready").text
    assert "No event is chosen" in empty.get("/drive/runs").text

"""Results, the overview and the build-up on pages say what the commands say."""

from __future__ import annotations

import html
import re

import pytest

EVENT = "/api/events/september"


def text(client, path):
    answer = client.get(path)
    assert answer.status_code == 200
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", answer.text)))


def test_the_results_are_those_of_the_record(client):
    page = text(client, "/drive/results?event=september")
    record = client.get(f"{EVENT}/results").json()
    for row in record["rows"]:
        assert row["name"] in page
        assert row["total_s"] is None or f"{row['total_s']:.3f}" in page
    assert record["who_decides"] in page
    assert "Nothing was corrected." in page


def test_a_correction_stands_in_the_results(client):
    runs = client.get(f"{EVENT}/run-list").json()["runs"]
    was = next(run["written"] for run in runs if run["id"] == "september-ana-2")
    sent = {"version": 1, "time": "36.575+1", "reason": "Cones counted again"}
    client.post(f"{EVENT}/runs/september-ana-2/corrections", json=sent)
    page = text(client, "/drive/results?event=september")
    assert f"Ana Brook, run 2: {was} became 36.575+1. Cones counted again" in page


def test_who_needs_what_and_why(client):
    everybody = text(client, "/drive/overview?event=september")
    assert "Work on" in everybody or "Room at" in everybody or "Learn" in everybody
    of_bo = text(client, "/drive/overview?event=september&mentor=bo").split("Drivers of")[-1]
    assert "Gus Holloway" in of_bo
    assert "Robin Ivers" not in of_bo


def test_a_driver_has_a_page(client):
    page = text(client, "/drive/driver?event=september&driver=fay")
    for event in ("April", "May", "July", "September"):
        assert f"Three Valleys, {event}" in page
    assert "Ana Brook rode along with Fay Garland" in page
    early = text(client, "/drive/driver?event=may&driver=fay").split("Events")[-1]
    assert "July" not in early
    assert "Whose page?" in text(client, "/drive/driver?event=september")
    assert client.get(f"{EVENT}/drivers/fay").json()["driver"] == "fay"


def test_the_runs_to_come(client):
    own = text(client, "/drive/build-up?event=september&driver=robin")
    assert "Run 3 at" in own
    assert "Fay" not in own.split("Robin Ivers, Pepper")[-1]
    assert "estimates, not permissions" in own
    plan = client.get(f"{EVENT}/drivers/robin/build-up").json()
    assert [run["run"] for run in plan["runs"]] == [3, 4]
    assert "Fay Garland, Pepper" in text(client, "/drive/build-up?event=september")


@pytest.mark.parametrize("path", ["/drive/results", "/drive/overview", "/drive/driver", "/drive/build-up"])
def test_without_a_book(empty, path):
    assert empty.get(path).status_code == 200


def test_who_is_not_there(client):
    assert client.get(f"{EVENT}/drivers/ghost").status_code == 404
    assert client.get(f"{EVENT}/drivers/ghost/build-up").status_code == 404

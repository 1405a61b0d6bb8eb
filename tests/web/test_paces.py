"""Times and key speeds of the runs to come, worked out as a job and kept."""

from __future__ import annotations

import pytest

from conewise.web import paces_work
from conewise.web.work import Desk
from conewise.workflows.book_place import BookPlace
from conewise.workflows.jobs import Asker, ask, jobs_of
from conewise.workflows.paces import KIND, NAMES
from tests.web_app import keep_short_course

EVENT = "/api/events/september"
SOLVED = {
    "paces": [
        {"pace": pace, "time_s": 40.0 / pace, "speeds": [{"feature": "slalom 1", "slowest_speed_m_per_s": 20.0 * pace}]}
        for pace in (0.6, 0.8, 1.0)
    ]
}


@pytest.fixture
def solved(settings):
    """The answer of the job for Robin's car, as if it were solved."""
    place = BookPlace(book=settings.book, now=settings.now)
    job = ask(place, KIND, {"course": "harbour-yard", "car": "pepper"}, names=NAMES, asker=Asker())
    with jobs_of(place) as jobs:
        jobs.take(KIND)
        jobs.finish(job.id, SOLVED)


def test_without_it_the_page_offers_to_work_it_out(client):
    page = client.get("/drive/build-up?event=september&driver=robin").text
    assert "Work out times and speeds" in page
    assert '[{"course":"harbour-yard","car":"pepper"}]' in page
    assert client.get(f"{EVENT}/drivers/robin/build-up").json()["is_predicted"] is False


def test_with_it_every_build_up_has_times_and_speeds(solved, client):
    plan = client.get(f"{EVENT}/drivers/robin/build-up").json()
    first = plan["runs"][0]
    times = [40.0 / 0.6, 40.0 / 0.8, 40.0]  # between the solved paces in a straight line
    assert times[2] < first["predicted_time_s"] < times[0]
    assert first["key_speeds"] == [
        {
            "feature": "slalom 1",
            "slowest_speed_m_per_s": pytest.approx(20.0 * first["pace"], rel=1e-3),
        }  # pace: 3 digits
    ]
    assert plan["reached_pace"] is not None
    page = client.get("/drive/build-up?event=september&driver=robin").text
    assert "km/h" in page
    assert "Work out times and speeds" not in page
    cards = client.get(f"{EVENT}/field").json()["run_cards"]
    assert cards["robin"]["runs"] == plan["runs"]
    assert cards["ana"]["is_predicted"] is False  # another car


@pytest.mark.slow
def test_the_work_solves_a_course(settings):
    keep_short_course(settings.book)
    told = []
    desk = Desk(
        place=BookPlace(book=settings.book, now=settings.now),
        job="",
        tell=lambda *news: told.append(news),
        show=lambda _: None,
    )
    found = paces_work.paces(paces_work.PacesAsked(course="short", car="pepper"), desk)
    times = [row["time_s"] for row in sorted(found["paces"], key=lambda row: row["pace"])]
    assert len(times) == 5
    assert times == sorted(times, reverse=True)
    assert told

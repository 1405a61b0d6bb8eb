"""The plan of the day and the emergency sheet: what is set, for whom, on either paper."""

from __future__ import annotations

import pytest

from conewise.event.calendar import said
from conewise.event.people import EmergencyContact, Guardian
from conewise.event.plan import plan_day
from conewise.reports.day_pdf import Reachable, day_plan_data, day_plan_pdf, emergency_data, emergency_pdf
from tests import days

CARD = ("Helmet on.", "Look ahead.")
MENTORS = {"ana": "Bo"}


@pytest.fixture
def day():
    return days.event_day()


@pytest.fixture
def plan(day):
    return plan_day(day, day.event.schedule)


def test_everybody_s_plan_has_the_steps_of_the_screen(day, plan):
    data = day_plan_data(day, plan, mentors=MENTORS, card=CARD)
    assert [row[2] for row in data["steps"]] == [said(step) for step in plan.steps]
    assert data["answer"] == f"be there at {plan.begin:%H:%M}"
    assert [row[1] for row in data["people"]] == [one.name for one in plan.people]
    assert data["people"][0][5] == "Bo"
    assert data["card"] == []


def test_one_driver_s_plan_has_own_steps_and_the_first_event_card(day, plan):
    data = day_plan_data(day, plan, mentors=MENTORS, only="ana", card=CARD)
    (own,) = [one for one in plan.people if one.person == "ana"]
    assert [row[0] for row in data["steps"]] == [f"{step.begin:%H:%M}" for step in own.steps]
    assert (data["title"], data["mentor"], data["people"]) == (own.name, "Bo", [])
    assert data["card"] == list(CARD)


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_both_are_printed(day, plan, paper):
    assert day_plan_pdf(day, plan, mentors={}, card=CARD, paper=paper).startswith(b"%PDF-")
    people = [Reachable(person=days.person(medical="#asthma *bad*"), called="Ana")]
    assert emergency_pdf(day, people, mentor="Bo", paper=paper).startswith(b"%PDF-")


def test_whom_to_call(day):
    minor = days.person(
        "robin",
        emergency=EmergencyContact(name="Kim", phone="555 0100", relation="aunt"),
        guardian=Guardian(name="Pat", phone="555 0199"),
        medical="bee stings",
    )
    nobody = days.person("cy", emergency=None)
    first, second = emergency_data(
        day, [Reachable(person=minor, called="Robin", number="8", car="pepper"), Reachable(person=nobody, called="Cy")],
        mentor="Bo",
    )["people"]  # fmt: skip
    assert first["calls"] == [["555 0100", "Kim, aunt"], ["555 0199", "Pat, guardian"]]
    assert (first["medical"], first["about"]) == ("bee stings", "number 8, pepper")
    assert second["calls"] == []

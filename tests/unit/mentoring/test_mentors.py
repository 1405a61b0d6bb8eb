"""Mentors: alike many beginners each, nobody who runs at the same time, a choice stays."""

from __future__ import annotations

from collections import Counter

from conewise.event.day import Entry
from conewise.mentoring.mentors import assign_mentors
from tests.days import CLUB, event, event_day, person


def day(novices, mentors, **facts):
    """Beginners run in heat A, mentors in B, unless told otherwise by id."""
    heats = facts.pop("heats", {})
    everybody = [*novices, *mentors]
    usual = {one.id: "A" if one in novices else "B" for one in everybody} | heats
    entries = tuple(Entry(person=one.id, car="pepper", heat=usual[one.id]) for one in everybody)
    return event_day(event=event(entries=entries), people=tuple(everybody))


def novice(key, **facts):
    return person(key, **({"level": "novice", "events_driven": 0} | facts))


def mentor(key, **facts):
    return person(key, can_mentor=True, **facts)


def pairs(of):
    return {pair.driver: pair.mentor for pair in assign_mentors(of, CLUB.people)}


def test_beginners_are_spread_evenly():
    novices = [novice(f"n{k}") for k in range(5)]
    mentors = [mentor("m1"), mentor("m2"), mentor("m3")]
    found = Counter(pairs(day(novices, mentors)).values())
    assert sorted(found.values()) == [1, 2, 2]


def test_a_choice_stays_and_counts():
    novices = [novice("n1", mentor="m1"), novice("n2", mentor="m1"), novice("n3"), novice("n4")]
    found = assign_mentors(day(novices, [mentor("m1"), mentor("m2")]), CLUB.people)
    assert {pair.driver: (pair.mentor, pair.is_chosen) for pair in found} == {
        "n1": ("m1", True),
        "n2": ("m1", True),
        "n3": ("m2", False),
        "n4": ("m2", False),
    }


def test_nobody_mentors_while_running_where_that_can_be_avoided():
    novices = [novice("n1"), novice("n2")]
    mentors = [mentor("m1"), mentor("m2")]
    assert set(pairs(day(novices, mentors, heats={"m1": "A"})).values()) == {"m2"}
    both = assign_mentors(day(novices, mentors, heats={"m1": "A", "m2": "A"}), CLUB.people)
    assert all(pair.same_heat and pair.mentor for pair in both)


def test_the_most_experienced_take_the_least_experienced():
    novices = [novice("n1", events_driven=4), novice("n2", events_driven=0)]
    mentors = [mentor("m1", events_driven=10), mentor("m2", events_driven=90)]
    assert pairs(day(novices, mentors)) == {"n1": "m1", "n2": "m2"}


def test_without_mentors_there_is_nobody():
    assert pairs(day([novice("n1")], [])) == {"n1": ""}


def test_who_is_no_beginner_gets_none():
    assert pairs(day([], [mentor("m1"), person("ana")])) == {}

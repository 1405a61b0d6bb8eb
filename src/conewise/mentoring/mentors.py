"""Who mentors whom: beginners spread evenly over mentors who are free while they run."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import linear_sum_assignment

from conewise.readiness.driver import is_novice

if TYPE_CHECKING:
    from conewise.event.day import EventDay
    from conewise.event.people import Person
    from conewise.event.rules import PeopleRule

# What an assignment costs; only their order matters: first nobody runs at the same time, then all have alike many,
# then the most experienced take those with the least experience.
_SAME_HEAT = 1e6
_ONE_MORE = 1e3


@dataclass(frozen=True, slots=True, kw_only=True)
class Pairing:
    """A beginner with a mentor; an empty mentor where there is none."""

    driver: str
    mentor: str
    is_chosen: bool  # written down before; otherwise a proposal
    same_heat: bool  # both run at the same time


def assign_mentors(day: EventDay, rule: PeopleRule) -> tuple[Pairing, ...]:
    """A mentor for every beginner who is entered; a choice that is written down stays.

    The others are spread so that the mentors have alike many, nobody mentors who runs in the same heat where that can
    be avoided, and the most experienced take the least experienced.

    Parameters
    ----------
    day : EventDay
    rule : PeopleRule
        Says who is a beginner.
    """
    entered = list(dict.fromkeys(entry.person for entry in day.event.entries))
    people = [person for key in entered if (person := day.person(key)) is not None]
    novices = [person for person in people if is_novice(person, rule) and not person.can_mentor]
    chosen = {person.id: person.mentor for person in novices if day.person(person.mentor) is not None}
    open_novices = [person for person in novices if person.id not in chosen]
    mentors = sorted(
        (person for person in day.people if person.can_mentor), key=lambda person: (-person.events_driven, person.id)
    )
    load = {mentor.id: sum(taken == mentor.id for taken in chosen.values()) for mentor in mentors}
    proposed = _proposed(open_novices, mentors, load=load, day=day)
    pairs = []
    for person in novices:
        mentor = chosen.get(person.id) or proposed.get(person.id, "")
        pairs.append(
            Pairing(
                driver=person.id,
                mentor=mentor,
                is_chosen=person.id in chosen,
                same_heat=_same_heat(person.id, mentor, day),
            )
        )
    return tuple(pairs)


def _proposed(novices: list[Person], mentors: list[Person], *, load: dict[str, int], day: EventDay) -> dict[str, str]:
    """The cheapest assignment of beginners to the places of the mentors."""
    if not novices or not mentors:
        return {}
    by_need = sorted(novices, key=lambda person: (person.events_driven, person.id))
    places = [(mentor, number) for mentor in mentors for number in range(len(novices))]
    cost = np.zeros((len(by_need), len(places)))
    for i, novice in enumerate(by_need):
        for k, (mentor, number) in enumerate(places):
            rank = mentors.index(mentor)
            cost[i, k] = _SAME_HEAT * _same_heat(novice.id, mentor.id, day)
            cost[i, k] += _ONE_MORE * (load[mentor.id] + number) + rank * (len(by_need) - i) / len(by_need)
    rows, columns = linear_sum_assignment(cost)
    return {by_need[i].id: places[k][0].id for i, k in zip(rows, columns, strict=True)}


def _same_heat(driver: str, mentor: str, day: EventDay) -> bool:
    """Whether both run at the same time."""
    heats = [
        {entry.heat for entry in day.event.entries if entry.person == key and entry.heat} for key in (driver, mentor)
    ]
    return bool(heats[0] & heats[1])

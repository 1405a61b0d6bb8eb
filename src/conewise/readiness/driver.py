"""May this driver run? Age and guardian, licence, waiver, mentor, helmet, and whom to call."""

from __future__ import annotations

from typing import TYPE_CHECKING

from conewise.event.people import age
from conewise.readiness.items import OpenItem

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import date

    from conewise.event.day import Entry, EventDay
    from conewise.event.people import Person
    from conewise.event.rules import PeopleRule


def is_novice(person: Person, rule: PeopleRule) -> bool:
    """Whether a person counts as a beginner: by level, or by the events driven before this one."""
    return person.level == "novice" or person.events_driven < rule.novice_events


def judge_driver(person: Person, day: EventDay, *, rule: PeopleRule) -> tuple[OpenItem, ...]:
    """What is open on a driver of an event day.

    Parameters
    ----------
    person : Person
        Entered at the event.
    day : EventDay
    rule : PeopleRule
        Of the event's rule set.
    """
    when = day.event.day
    return (
        *_age_items(person, when, rule),
        *_waiver_items(person, when, rule),
        *_licence_items(person, when, rule),
        *_mentor_items(person, day, rule),
        *_entry_items(person, day),
        *_contact_items(person),
    )


def _age_items(person: Person, when: date, rule: PeopleRule) -> Iterator[OpenItem]:
    if person.born is None:
        reason = f"No date of birth is written down; whether a guardian must sign (below {rule.adult_age}) is open."
        yield OpenItem("driver-age", "Age", reason)
        return
    if person.born > when:
        yield OpenItem("driver-age", "Age", f"Born on {person.born}, after the event on {when}. Correct the date.")
        return
    years = age(person.born, when)
    if years >= rule.adult_age or not rule.guardian_waiver:
        return
    signed = person.guardian.waiver_signed if person.guardian else None
    if signed is None:
        reason = f"{years} years old on {when}: a guardian's waiver with its date is needed."
        yield OpenItem("driver-guardian", "Guardian's waiver", reason)
    elif signed > when:
        reason = f"Signed on {signed}, after the event on {when}. Correct the date, or have it signed."
        yield OpenItem("driver-guardian", "Guardian's waiver", reason)


def _waiver_items(person: Person, when: date, rule: PeopleRule) -> Iterator[OpenItem]:
    if not rule.waiver:
        return
    if person.waiver_signed is None:
        yield OpenItem("driver-waiver", "Waiver", "Not signed, or its date is not written down.")
    elif person.waiver_signed > when:
        reason = f"Signed on {person.waiver_signed}, after the event on {when}. Correct the date, or have it signed."
        yield OpenItem("driver-waiver", "Waiver", reason)


def _licence_items(person: Person, when: date, rule: PeopleRule) -> Iterator[OpenItem]:
    if not rule.licence:
        return
    licence = person.licence
    if licence is None or licence.seen is None:
        yield OpenItem("driver-licence", "Licence", "Nobody has looked at it yet.")
    elif licence.seen > when:
        reason = f"Looked at on {licence.seen}, after the event on {when}. Correct the date."
        yield OpenItem("driver-licence", "Licence", reason)
    if licence is not None and licence.valid_until is not None and licence.valid_until < when:
        yield OpenItem("driver-licence-ended", "Licence", f"Valid until {licence.valid_until}; the event is on {when}.")


def _mentor_items(person: Person, day: EventDay, rule: PeopleRule) -> Iterator[OpenItem]:
    if not is_novice(person, rule):
        return
    mentor = day.person(person.mentor) if person.mentor else None
    if mentor is None:
        reason = "A beginner without a mentor. `conewise event plan` proposes one."
        yield OpenItem("driver-mentor", "Mentor", reason, blocks=rule.novice_mentor)
    elif not mentor.can_mentor:
        reason = f"{day.called(mentor.id)} is not marked as somebody who mentors."
        yield OpenItem("driver-mentor", "Mentor", reason, blocks=rule.novice_mentor)
    if person.ride_alongs is None:
        reason = "Nobody has asked whether a passenger may ride along."
        yield OpenItem("driver-ride-alongs", "Ride-alongs", reason, blocks=False)


def _entry_items(person: Person, day: EventDay) -> Iterator[OpenItem]:
    entries = [entry for entry in day.event.entries if entry.person == person.id]
    for entry in entries:
        if not helmet_of(entry, day):
            reason = "No helmet is named for this entry, own or loan."
            yield OpenItem("driver-helmet", "Helmet", reason)
        if not entry.number:
            yield OpenItem("driver-number", "Number", "No number is given out yet.", blocks=False)
        else:
            others = [other for other in day.event.entries if other is not entry and _one_plate(other, entry)]
            for other in others:
                reason = f"Number {entry.number} {entry.class_code} belongs to {day.called(other.person)} as well."
                yield OpenItem("driver-number-twice", "Number", " ".join(reason.split()))
        if day.event.classes and entry.class_code not in day.event.classes:
            reason = f"Class '{entry.class_code}' is none of the event's: {', '.join(day.event.classes)}."
            yield OpenItem("driver-class", "Class", reason)
        if entry.heat and entry.heat == entry.work_heat:
            reason = f"Runs and works in heat {entry.heat}; one of the two must move."
            yield OpenItem("driver-heat", "Heats", reason)
        for known, word in ((entry.heat, "run"), (entry.work_heat, "work")):
            if known and day.event.heats and known not in day.event.heats:
                reason = f"The {word} heat '{known}' is none of the event's: {', '.join(day.event.heats)}."
                yield OpenItem("driver-heat-unknown", "Heats", reason)


def _one_plate(one: Entry, other: Entry) -> bool:
    """Whether two entries cannot be told apart by the timekeeper."""
    return (one.number, one.class_code) == (other.number, other.class_code)


def _contact_items(person: Person) -> Iterator[OpenItem]:
    if person.emergency is None or not person.emergency.phone:
        reason = "No emergency contact is written down (it stays on this machine)."
        yield OpenItem("driver-emergency", "Emergency contact", reason, blocks=False)


def helmet_of(entry: Entry, day: EventDay) -> str:
    """Id of the helmet that somebody wears: the one of the entry, or the one on loan; "" where there is none."""
    if entry.helmet:
        return entry.helmet
    return next((one.helmet for one in day.loans if (one.event, one.person) == (day.event.id, entry.person)), "")

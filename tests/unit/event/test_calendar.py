"""Calendar files, read by an independent reader."""

from __future__ import annotations

from datetime import UTC, date, datetime, time

import icalendar
import pytest

from conewise.event.calendar import TimeZoneUnknownError, calendar_text
from conewise.event.day import Schedule
from conewise.event.plan import plan_day
from tests.days import event, event_day, moment

STAMP = datetime(2026, 4, 1, 12, 0, tzinfo=UTC)


def entries(text):
    calendar = icalendar.Calendar.from_ical(text)
    assert calendar["VERSION"] == "2.0"
    assert calendar["PRODID"]
    return calendar.walk("VEVENT")


def planned(**facts):
    day = event_day(event=event(**facts))
    return day.event, plan_day(day, Schedule(first_car=time(9, 30), course_length=720.0))


def test_every_step_is_an_entry_in_utc():
    """Dublin is an hour ahead of UTC in May (summer time, IANA data base)."""
    of, plan = planned(time_zone="Europe/Dublin", place="Old Mill; gate 2, east")
    found = entries(calendar_text(of, plan, stamp=STAMP))
    assert len(found) == len(plan.steps)
    assert found[0]["DTSTART"].dt == datetime(2026, 5, 17, 5, 45, tzinfo=UTC)
    assert found[-1]["DTEND"].dt == datetime(2026, 5, 17, 8, 46, tzinfo=UTC)
    assert str(found[0]["LOCATION"]) == "Old Mill; gate 2, east"
    assert len({str(one["UID"]) for one in found}) == len(found)
    assert found[0]["DTSTAMP"].dt == STAMP


def test_without_a_time_zone_the_times_are_those_of_the_clock():
    of, plan = planned()
    (first, *_) = entries(calendar_text(of, plan, stamp=STAMP))
    assert first["DTSTART"].dt == moment(6, 45)


def test_without_a_plan_it_is_a_whole_day():
    of, _ = planned(day=date(2028, 2, 29))
    (only,) = entries(calendar_text(of, None, stamp=STAMP))
    assert only["DTSTART"].dt == date(2028, 2, 29)
    assert str(only["SUMMARY"]) == of.name


def test_the_own_steps_of_one_person():
    of, plan = planned()
    found = entries(calendar_text(of, plan, stamp=STAMP, person="ana"))
    assert [str(one["SUMMARY"]) for one in found][-2:] == ["Spring day: run, heat A", "Spring day: work, heat B"]


@pytest.mark.parametrize("name", ["A, B; C \\ D", "ä" * 90, "日" * 70, "two\\nwords", "x" * 75])
def test_any_name_survives_escaping_and_folding(name):
    of, plan = planned(name=name)
    text = calendar_text(of, plan, stamp=STAMP)
    assert all(str(one["SUMMARY"]).startswith(name) for one in entries(text))
    assert all(len(line.encode()) <= 75 for line in text.split("\r\n"))
    assert text.endswith("END:VCALENDAR\r\n")
    assert "\n" not in text.replace("\r\n", "")


@pytest.mark.parametrize("zone", ["Mars/Olympus", "../etc/passwd", "Europe"])
def test_a_time_zone_that_nobody_knows(zone):
    of, plan = planned(time_zone=zone)
    with pytest.raises(TimeZoneUnknownError):
        calendar_text(of, plan, stamp=STAMP)

"""An event is made, planned and put into a calendar."""

from __future__ import annotations

from datetime import UTC, datetime

import icalendar
import pytest

from conewise.errors import ConewiseError
from conewise.event.day import Schedule
from conewise.event.event_file import event_text
from conewise.workflows.event_plan import (
    EventFileExistsError,
    NoScheduleError,
    emergency_contacts,
    event_record,
    new_event,
    plan_event,
    plan_record,
    show_event,
    write_calendar,
)
from conewise.workflows.events import load_day
from tests import days
from tests.days import SOURCE
from tests.solved import DEMO_COURSES

STAMP = datetime(2026, 4, 1, tzinfo=UTC)


@pytest.fixture
def written(tmp_path):
    """Writes a day to a file and reads it back with its rules."""

    def write(**facts):
        path = tmp_path / "spring.toml"
        path.write_text(event_text(days.event_day(**facts)), encoding="utf-8")
        return load_day(path, source=SOURCE)

    return write


def test_a_new_event_stays_unless_forced(tmp_path):
    path = tmp_path / "new.toml"
    new_event({"name": "Day", "day": "2026-05-17"}, path)
    with pytest.raises(EventFileExistsError):
        new_event({"name": "Other", "day": "2026-05-17"}, path)
    new_event({"name": "Other", "day": "2026-05-17"}, path, force=True)
    assert load_day(path, source=SOURCE).day.event.name == "Other"


def test_a_wrong_answer_writes_nothing(tmp_path):
    path = tmp_path / "new.toml"
    with pytest.raises(ConewiseError):
        new_event({"name": "Day", "day": "soon"}, path)
    assert list(tmp_path.iterdir()) == []


def test_a_plan_needs_a_schedule(written):
    with pytest.raises(NoScheduleError):
        plan_event(written(event=days.event(schedule=None)))


def test_the_course_file_gives_the_length(tmp_path, written):
    course = (DEMO_COURSES / "harbour-yard.toml").read_text(encoding="utf-8")
    (tmp_path / "course.toml").write_text(course, encoding="utf-8")
    with_course = days.event(course_file="course.toml", schedule=Schedule(first_car="09:30"))
    told = days.event(course_file="course.toml", schedule=Schedule(first_car="09:30", course_length=100.0))
    begins = [plan_event(written(event=of)).plan.begin for of in (with_course, told)]
    walk = [(1751 * 0.3048 - 100) * 3 / 1.2 / 60]  # 1751 ft by `course show`
    assert (begins[1] - begins[0]).total_seconds() / 60 == pytest.approx(walk[0], abs=1.5)  # whole minutes


def test_the_plan_as_json(written):
    record = plan_record(plan_event(written()), "ana")
    assert record["steps"][-1]["what"] == "run, heat B"
    assert [one["driver"] for one in record["drivers"]] == ["ana"]


def test_the_calendar_is_written_whole(tmp_path, written):
    out = tmp_path / "spring.ics"
    n_entries = write_calendar(written(), out, stamp=STAMP, driver="12")
    assert len(icalendar.Calendar.from_ical(out.read_bytes()).walk("VEVENT")) == n_entries == 7
    with pytest.raises(ConewiseError):
        write_calendar(written(), tmp_path / "spring.txt", stamp=STAMP)


def test_an_event_without_a_schedule_is_a_day_in_the_calendar(tmp_path, written):
    out = tmp_path / "spring.ics"
    assert write_calendar(written(event=days.event(schedule=None)), out, stamp=STAMP) == 1


def test_the_event_as_json_has_nothing_private(written):
    loaded = written(people=(days.person(medical="asthma"),))
    text = str(event_record(show_event([loaded])))
    assert "asthma" not in text
    assert "555" not in text
    assert emergency_contacts(loaded)[0][0].medical == "asthma"
    assert emergency_contacts(loaded, "ana")[0][1] == "Ana"

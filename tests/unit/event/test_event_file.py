"""Event files: what is written is read back; ids are found, kept apart, and refused twice."""

from __future__ import annotations

import pytest

from conewise.errors import ConewiseError
from conewise.event.cars import CarChange, TyreState
from conewise.event.day import Expense, Money, Packed, Registration, Schedule
from conewise.event.event_file import EventFileMissingError, event_day, event_text, read_event
from conewise.event.helmets import Loan
from conewise.event.runs import RideAlong
from tests import days

FULL = days.event_day(
    event=days.event(
        schedule=Schedule(first_car="09:30", course_length=812.3456789, interval=47.1),
        fee=Money(amount="45.50", currency="EUR"),
        registration=Registration(opens="2026-04-01", on_the_day=True),
        place='A "place", with\ttab'.replace("\t", " "),
    ),
    people=(days.person(), days.minor(medical="asthma\nspray in the bag")),
    cars=(days.car(tyres=(TyreState(axle="front", date_code="2322", tread=0.0041),)),),
    helmets=(days.helmet(), days.helmet("blue", labels=("DOT", "M2020D"))),
    loans=(Loan(id="l", event="spring", helmet="blue", person="kid"),),
    changes=(CarChange(id="c", car="pepper", kind="leak", happened_at=days.moment(9, 5)),),
    ride_alongs=(RideAlong(id="r", event="spring", driver="ana", passenger="kid", said="look up"),),
    expenses=(Expense(id="x", day="2026-05-17", money=Money(amount="3", currency="EUR")),),
    packed=(Packed(id="p", event="spring", item="Helmet"),),
)


def test_what_is_written_is_read_back():
    assert event_day(event_text(FULL), file="x") == FULL


def test_a_file_on_disk(tmp_path):
    path = tmp_path / "spring.toml"
    path.write_bytes(b"\xef\xbb\xbf" + event_text(FULL).replace("\n", "\r\n").encode())
    assert read_event(path).event == FULL.event


def test_ids_that_nobody_gave_are_made_and_kept_apart():
    text = (
        '[event]\nname = "Day"\nday = 2026-05-17\n'
        + '[[person]]\nname = "Sam Reed"\n' * 2
        + '[[person]]\nid = "sam-reed-2"\nname = "X"\n'
    )
    assert [person.id for person in event_day(text, file="x").people] == ["sam-reed", "sam-reed-3", "sam-reed-2"]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "no [event]"),
        ('[event]\nname = "Day"\nday = 2026-05-17\nentries = []\n', "[[entry]]"),
        ("[event]\nday = 2026-05-17\n", "'id' is missing|'name' is missing"),
        ('[event]\nname = "Day"\nday = 2026-05-17\n[[persons]]\nname = "A"\n', "persons"),
        ('[event]\nname = "Day"\nday = 2026-05-17\n' + '[[car]]\nid = "a"\nname = "A"\n' * 2, "twice"),
        ("event = 3\n", "[event]"),
    ],
)
def test_what_is_refused(text, words):
    with pytest.raises(ConewiseError) as refused:
        event_day(text, file="day.toml")
    said = f"{refused.value.message} {refused.value.hint}"
    assert any(part in said for part in words.split("|"))
    assert "day.toml" in refused.value.where


def test_a_file_that_is_not_there(tmp_path):
    with pytest.raises(EventFileMissingError):
        read_event(tmp_path / "nothing.toml")


@pytest.mark.parametrize("content", [b"", b"\x89PNG\x00", b"#" * 5_000_001])
def test_a_file_that_is_none(tmp_path, content):
    path = tmp_path / "odd.toml"
    path.write_bytes(content)
    with pytest.raises(ConewiseError) as refused:
        read_event(path)
    assert refused.value.code == "event-file"

"""`conewise event`, as it is typed."""

from __future__ import annotations

import io
import json
import sys

import pytest

from conewise.cli.main import run
from conewise.event.event_file import event_text
from tests import days


@pytest.fixture
def typed(monkeypatch, capsys):
    """Runs a command line with answers on its input: exit code, stdout, stderr."""

    def command(*words, answers=""):
        monkeypatch.setattr(sys, "stdin", io.StringIO(answers))
        code = run(["event", *map(str, words)])
        out, err = capsys.readouterr()
        assert "Traceback" not in err + out
        return code, out, err

    return command


@pytest.fixture
def spring(tmp_path):
    path = tmp_path / "spring.toml"
    beginner = days.person("bo", level="novice", events_driven=0, medical="asthma")
    entries = (
        *days.event().entries,
        days.event().entries[0].changed(person="bo", number="13", heat="B", work_heat="A"),
    )
    day = days.event_day(
        event=days.event(entries=entries, fee="45 EUR"), people=(days.person(can_mentor=True), beginner),
        helmets=(days.helmet(), days.helmet("blue")),
    )  # fmt: skip
    path.write_text(event_text(day), encoding="utf-8")
    return path


def test_new_asks_and_writes(typed, tmp_path, capsys):
    path = tmp_path / "new.toml"
    code, out, err = typed("new", path, answers="Day\n2028-02-29\n\n\n\n\n\n\n")
    assert code == 0
    assert "conewise ready" in out
    assert "On which day" in err
    assert run(["ready", str(path)]) == 10
    assert "Nobody is entered yet." in capsys.readouterr().out
    assert typed("new", path)[0] == 4


def test_new_without_a_day_is_refused(typed, tmp_path):
    code, _, err = typed("new", tmp_path / "new.toml", answers="Day\n\n")
    assert code == 2
    assert "a day such as" in err
    assert not (tmp_path / "new.toml").exists()


def test_show(typed, spring):
    code, out, _ = typed("show", spring)
    assert code == 0
    for words in ("Spring day", "Entries", "Loan helmets", "To pack", "90 EUR"):
        assert words in out
    assert "asthma" not in out
    assert json.loads(typed("show", spring, "--json")[1])["entries"][0]["driver"] == "ana"
    assert "red flag" in typed("show", spring, "--card")[1]


def test_plan(typed, spring):
    code, out, _ = typed("plan", spring)
    assert code == 0
    assert "walk the course" in out
    assert "proposed" in out
    only = typed("plan", spring, "--driver", "13")[1]
    assert "Bo" in only
    assert "run, heat A" not in only
    assert json.loads(typed("plan", spring, "--json")[1])["mentors"][0]["mentor"] == "ana"


def test_calendar(typed, spring, tmp_path):
    code, out, _ = typed("calendar", spring, "--out", tmp_path / "s.ics")
    assert code == 0
    assert "7 entries" in out
    assert (tmp_path / "s.ics").read_bytes().startswith(b"BEGIN:VCALENDAR\r\n")


def test_contact_is_the_one_place_for_private_notes(typed, spring):
    _, out, _ = typed("contact", spring, "--driver", "bo")
    assert "555 0100" in out
    assert "asthma" in out
    assert "Ana" not in out
    assert len(json.loads(typed("contact", spring, "--json")[1])["people"]) == 2


def test_an_event_of_the_book_is_named_by_its_id(typed, spring, tmp_path):
    folder = tmp_path / "book"
    assert run(["book", "add", str(spring), "--book", str(folder)]) == 0
    assert "Spring day" in typed("show", "spring", "--book", folder)[1]

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


def test_contacts_of_anybody_in_the_book_need_no_event(typed, spring, tmp_path):
    folder = tmp_path / "book"
    assert run(["book", "add", str(spring), "--book", str(folder)]) == 0
    _, out, _ = typed("contact", "--driver", "bo", "--book", folder)
    assert "555 0100" in out
    assert len(json.loads(typed("contact", "--book", folder, "--json")[1])["people"]) >= 2
    assert typed("contact", "--book", tmp_path / "none")[0] == 3


def test_the_emergency_sheet_is_printed_by_a_mentor_only(typed, spring, tmp_path):
    sheet = tmp_path / "contacts.pdf"
    code, _, err = typed("contact", spring, "--pdf", sheet)
    assert (code, "not-a-mentor" in err, sheet.exists()) == (2, True, False)
    code, _, err = typed("contact", spring, "--pdf", sheet, "--mentor", "bo")
    assert (code, "is no mentor" in err) == (2, True)
    assert typed("contact", spring, "--pdf", sheet, "--mentor", "ana", "--paper", "letter")[0] == 0
    assert sheet.read_bytes().startswith(b"%PDF-")
    assert sheet.stat().st_mode & 0o077 == 0
    assert typed("contact", "--pdf", sheet, "--mentor", "ana")[0] == 2


def test_the_plan_is_printed_for_everybody_and_for_one(typed, spring, tmp_path):
    for words in ((), ("--driver", "ana")):
        sheet = tmp_path / "plan.pdf"
        assert typed("plan", spring, "--pdf", sheet, *words)[0] == 0
        assert sheet.read_bytes().startswith(b"%PDF-")
        sheet.unlink()

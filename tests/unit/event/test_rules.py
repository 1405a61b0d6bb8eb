"""Rule sets of an event day: what is shipped, what a person's file changes, what is refused."""

from __future__ import annotations

import pytest

from conewise.errors import InputError
from conewise.event.rules import load_event_rules


def rules(tmp_path, text):
    path = tmp_path / "ours.toml"
    path.write_text(text, encoding="utf-8")
    return load_event_rules(str(path))


def test_penalties_as_published():
    """2 s a cone: a club's basic rules, and Formula SAE Rules 2026, D.11.3, which gives 20 s for off course."""
    club, student = load_event_rules("club"), load_event_rules("student")
    assert (club.penalty.cone, club.penalty.off_course) == (2.0, None)
    assert (student.penalty.cone, student.penalty.off_course) == (2.0, 20.0)


def test_what_a_file_does_not_have_is_club_practice_and_said(tmp_path):
    found = rules(tmp_path, '[penalty]\ncone = "1 s"\noff_course = "10 s"\n')
    assert (found.penalty.cone, found.penalty.off_course) == (1.0, 10.0)
    assert found.from_club == ("results", "people", "helmet", "inspection")
    assert found.helmet == load_event_rules("club").helmet


def test_items_are_added_and_left_out(tmp_path):
    added = '[[inspection.item]]\nid = "tow-hook"\ntext = "Tow hook"\nreopened_by = ["contact"]\n'
    text = f'[inspection]\nwithout = ["noise"]\n{added}'
    ids = [item.id for item in rules(tmp_path, text).inspection.items]
    assert "noise" not in ids
    assert ids[-1] == "tow-hook"
    assert rules(tmp_path, '[inspection]\nlist = "none"\n').inspection.items == ()


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('[penalty]\ncone = "-2 s"\n', "cone"),
        ('[penalty]\ncone = "2 kg"\n', "cone"),
        ("[penalty]\ncone = 2\n", "unit"),
        ('[penalty]\noff_course = "20 s"\n', "cone"),
        ('[penalty]\ncone = "2 s"\noff_course = "gone"\n', "off_course"),
        ('[results]\nties = "coin"\n', "next-best"),
        ("[results]\ncounted_runs = 0\n", "counted_runs"),
        ("[people]\nadult_age = 3\n", "adult_age"),
        ("[helmet]\npreceeding = 2\n", "preceding"),
        ('[helmet.until]\n"SA2005" = "soon"\n', "line 2"),
        ('[inspection]\nwithout = ["engine"]\n', "engine"),
        ('[inspection]\nwithout = "noise"\n', "list"),
        ('[inspection]\nlist = "1999"\n', "1999"),
        ('[[inspection.item]]\nid = "seat"\ntext = "Seat"\n', "twice"),
        ('[[inspection.item]]\nid = "x"\ntext = "X"\nreopened_by = ["rain"]\n', "reopened_by"),
        ('penalty = "2 s"\n', "[penalty]"),
    ],
)
def test_what_is_refused_with_its_place(tmp_path, text, words):
    with pytest.raises(InputError) as refused:
        rules(tmp_path, text)
    assert words in f"{refused.value.message} {refused.value.where} {refused.value.hint}"
    assert "ours.toml" in refused.value.where


def test_a_helmet_table_without_dates_takes_those_of_club_practice_and_says_so(tmp_path):
    """Else a label that went out long ago would be accepted for ever; an empty table says that there are no days."""
    club = load_event_rules("club").helmet
    found = rules(tmp_path, '[helmet]\nfamilies = ["SA"]\npreceding = 1\n')
    assert (found.helmet.families, found.helmet.preceding) == (("SA",), 1)
    assert (found.helmet.until, found.helmet.change_over) == (club.until, club.change_over)
    assert "dates of helmet labels" in found.from_club
    own = rules(tmp_path, '[helmet]\nfamilies = ["SA"]\n[helmet.until]\n"SA2010" = 2024-12-31\n[helmet.change_over]\n')
    assert list(own.helmet.until) == ["SA2010"]
    assert own.helmet.change_over == {}
    assert "dates of helmet labels" not in own.from_club

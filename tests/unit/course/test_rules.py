"""Rule sets: the shipped ones against what was published, and a person's own file."""

from __future__ import annotations

import pytest

from conewise.course.rules import Rules, load
from conewise.errors import InputError
from conewise.rule_set import NotARuleFileError, UnknownRulesError


def test_the_student_rules_are_as_published():
    """Formula SAE Rules 2026 V1.0, D.11.1.1; top speed D.12.2.2 (endurance)."""
    rules = load("student")
    assert rules.slalom_spacing == 7.62
    assert rules.slalom_spacing_largest == 12.19
    assert rules.gate_width == 3.5
    assert rules.straight_between_hairpins == 60.0
    assert rules.straight_elsewhere == 45.0
    assert (rules.turn_diameter, rules.turn_diameter_largest) == (23.0, 45.0)
    assert rules.hairpin_diameter == 9.0
    assert rules.top_speed == pytest.approx(105 / 3.6)


def test_the_club_rules_are_as_commonly_quoted():
    """A club's course-design page that quotes a national rule book: 15, 45, 25 and 150 ft; 1 ft is 0.3048 m."""
    rules = load("club")
    assert rules.gate_width == pytest.approx(4.572)
    assert rules.slalom_spacing == pytest.approx(13.716)
    assert rules.obstacle_distance == pytest.approx(7.62)
    assert rules.straight_before_sharp_turn == pytest.approx(45.72)
    assert rules.top_speed == pytest.approx(62 * 1609.344 / 3600)  # low 60s mph


def test_a_persons_file_is_read(tmp_path):
    file = tmp_path / "our club.toml"
    file.write_text('title = "Ours"\ngate_width = "16 ft"\nslalom_spacing = 15\n', encoding="utf-8")
    assert load(str(file)) == Rules(name="our club", title="Ours", gate_width=16 * 0.3048, slalom_spacing=15.0)


@pytest.mark.parametrize("name", ["nobody", "missing.toml", "rules.txt", "x" * 5000 + ".toml"])
def test_unknown_rules_are_named(name):
    with pytest.raises(UnknownRulesError) as refused:
        load(name)
    assert "club and student" in refused.value.hint


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('gate_width = "60 psi"', "gate_width"),
        ("gate_width = 0", "gate_width"),
        ("gate_width = nan", "gate_width"),
        ("gate_with = 5", "gate_with"),
        ("slalom_spacing = 20\nslalom_spacing_largest = 10", "slalom_spacing_largest"),
        ("stop_share = 2", "stop_share"),
        ('title = "a"\ngate_width = = 4', "line 2"),
    ],
)
def test_a_wrong_limit_is_an_error_with_its_place(tmp_path, text, words):
    file = tmp_path / "wrong.toml"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as refused:
        load(str(file))
    assert words in f"{refused.value.message} {refused.value.where}"
    assert "wrong.toml" in refused.value.where


def test_a_photo_is_no_rule_file(tmp_path):
    file = tmp_path / "photo.toml"
    file.write_bytes(b"\x89PNG\r\n\x1a\n\x00\xff\xfe")
    with pytest.raises(NotARuleFileError):
        load(str(file))

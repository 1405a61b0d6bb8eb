"""Notes typed on the walk: a course when they make one, and nothing lost when they do not."""

import pytest

from conewise.course.walk_again import WalkAgainError
from conewise.course.walk_notes import WalkNoteError
from conewise.workflows import walk_notes

NOTES = ["start", "slalom 4 cones every 24 paces first to your left after 30 paces", "finish after 30 paces"]


def test_notes_become_a_course(tmp_path):
    path = tmp_path / "back-lot.toml"
    course = walk_notes.write_walk(path, NOTES, pace="0.75 m")
    assert course.name == "Back lot"
    assert [feature.kind for feature in course.features] == ["start", "slalom", "finish"]
    assert course.cones[3].x - course.cones[2].x == pytest.approx(24 * 0.75, abs=1e-3)


def test_a_second_walk_is_added_to_the_file(tmp_path):
    path = tmp_path / "lot.toml"
    first = walk_notes.write_walk(path, NOTES, pace="0.75 m")
    longer = [note.replace("24", "25") for note in NOTES]
    both = walk_notes.add_walk(path, longer, pace="0.75 m")
    gap = both.cones[3].x - both.cones[2].x
    assert 24 * 0.75 < gap < 25 * 0.75
    assert both.cones[5].position_sd < first.cones[5].position_sd


def test_a_walk_of_another_course_leaves_the_file_as_it_is(tmp_path):
    path = tmp_path / "lot.toml"
    walk_notes.write_walk(path, NOTES, pace="0.75 m")
    before = path.read_bytes()
    with pytest.raises(WalkAgainError):
        walk_notes.add_walk(path, [note.replace("left", "right") for note in NOTES], pace="0.75 m")
    assert path.read_bytes() == before


def test_notes_that_make_no_course_write_nothing(tmp_path):
    path = tmp_path / "lot.toml"
    with pytest.raises(Exception, match="pace"):  # paces are counted, and their length is not given
        walk_notes.write_walk(path, NOTES)
    assert not path.exists()


def test_a_line_that_is_not_understood_counts_for_nothing():
    with pytest.raises(WalkNoteError):
        walk_notes.understood("straight 20 m, jump 3 m", number=1)


def test_quotation_marks_in_a_name_do_not_break_the_file(tmp_path):
    course = walk_notes.write_walk(tmp_path / "lot.toml", NOTES, pace="0.75 m", name='The "big" lot \\ east')
    assert course.name == 'The "big" lot \\ east'

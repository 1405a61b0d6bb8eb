"""What is named is a file where it is there, else what the book has; readers name file or record, line and field."""

from __future__ import annotations

from pathlib import Path

import pytest

from conewise.course.files import write_course
from conewise.errors import ConewiseError, InputError
from conewise.workflows import named
from conewise.workflows.book_add import Said, Whose, add_files
from conewise.workflows.book_place import BookPlace
from conewise.workflows.courses import check_course, convert_course, summary
from conewise.workflows.logs import open_log
from conewise.workflows.prove import TestNumberError, recorded_times, times_named
from tests.books import DEMO, Clock, example_day, opened
from tests.solved import short_course

COURSE = DEMO / "courses" / "harbour-yard.toml"
CAR = DEMO / "cars" / "pepper.toml"
LOG = DEMO / "logs" / "harbour-yard-evening.csv"


@pytest.fixture
def place(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return BookPlace(book=tmp_path / "book", now=Clock())


@pytest.fixture
def filled(place):
    parts, rules = DEMO / "parts" / "short-list.toml", DEMO / "rules" / "three-valleys.toml"
    add_files(place, [COURSE, CAR, DEMO / "changes" / "winter.toml", parts, rules, LOG])
    return place


def test_a_file_comes_before_the_book(filled):
    assert named.source("pepper", "car-file", filled) == named.BookText(
        kind="car-file", name="pepper", text=CAR.read_text(encoding="utf-8")
    )
    Path("pepper").write_text("here", encoding="utf-8")
    assert named.source("pepper", "car-file", filled) == Path("pepper")
    assert named.source("pepper.toml", "car-file", filled) == Path("pepper.toml")
    assert named.source("cars/pepper", "car-file", filled) == Path("cars/pepper")


def test_sources_read_like_their_files(filled):
    course, car = named.source("harbour-yard", "course", filled), named.source("pepper", "car-file", filled)
    assert named.course_from(course).features == named.course_from(COURSE).features
    assert named.car_from(car).values == named.car_from(CAR).values
    assert named.changes_from(named.source("winter", "changes", filled))
    assert named.parts_from(named.source("short-list", "changes", filled))
    assert named.rules_from(named.rules_source("three-valleys", filled)).name == "three-valleys"
    log = open_log(named.log_source("harbour-yard-evening", filled))
    assert log.duration == open_log(LOG).duration
    assert summary(course).as_dict() == summary(COURSE).as_dict()
    short = Path("short.toml")
    write_course(short_course(), short)
    add_files(filled, [short])
    kept = named.source("short", "course", filled)
    assert check_course(kept, cars=[car]).as_dict() == check_course(short, cars=[CAR]).as_dict()
    convert_course(course, Path("copy.toml"))
    assert named.course_from(Path("copy.toml")).cones == named.course_from(COURSE).cones


def test_pages_take_ids_of_an_open_book(filled):
    with filled.opened() as book:
        assert named.kept_source(book, "course", "harbour-yard") == named.source("harbour-yard", "course", filled)
        assert named.kept_recording(book, "harbour-yard-evening").record.name == LOG.name
        with pytest.raises(ConewiseError, match="no course 'harbor-yard' in the book") as caught:
            named.kept_source(book, "course", "harbor-yard")
    assert "harbour-yard" in caught.value.hint


@pytest.mark.parametrize(
    ("word", "kind", "hint"),
    [
        ("harbor-yard", "course", "Near: harbour-yard."),
        ("Harbour Yard", "course", "Near: harbour-yard."),
        ("pepper", "course", "The book has a car of that name."),
        ("peper", "car-file", "Near: pepper."),
        ("other", "car-file", "Near: other.toml (a file), pepper."),
        ("evening", "log", "Near: harbour-yard-evening."),
    ],
)
def test_a_name_that_is_nothing_says_what_is_near(filled, word, kind, hint):
    Path("other.toml").write_text("", encoding="utf-8")
    with pytest.raises(named.NoSuchNameError) as caught:
        named.log_source(word, filled) if kind == "log" else named.source(word, kind, filled)
    assert caught.value.exit_code == 3
    assert hint in caught.value.hint


def test_without_a_book_none_is_made(place):
    with pytest.raises(named.NoSuchNameError) as caught:
        named.source("harbour-yard", "course", place)
    assert "conewise book add" in caught.value.hint
    assert named.driver_source("expert", place) == "expert"
    assert named.driver_source("exprt", place) == "exprt"
    assert named.rules_source("club", place) == "club"
    assert not place.folder.exists()


def test_a_record_is_named_like_a_file_with_line_and_field(place):
    with pytest.raises(InputError) as caught:
        named.car_from(named.BookText(kind="car-file", name="pepper", text='kind = "hatch"\nmas = 3\n'))
    assert caught.value.where == "car 'pepper' of the book, line 1, kind"
    with pytest.raises(InputError) as caught:
        named.course_from(named.BookText(kind="course", name="yard", text='name = "Yard"\ncones = 3\n'))
    assert caught.value.where.startswith("course 'yard' of the book, line 2")


def test_what_a_file_is_is_known_by_what_is_in_it(place, tmp_path):
    driver = tmp_path / "kim.toml"
    driver.write_text('name = "Kim"\nlevel = "novice"\nscatter = "40 cm"\n', encoding="utf-8")
    convert_course(COURSE, tmp_path / "yard.csv")
    convert_course(COURSE, tmp_path / "lot.geojson")
    done = add_files(place, [driver, tmp_path / "yard.csv", tmp_path / "lot.geojson"])
    assert done.added == ["driver-file kim", "course yard", "course lot"]
    kim = named.driver_from(named.driver_source("kim", place))
    assert (kim.level, kim.scatter.value) == ("novice", 0.4)
    assert add_files(place, [driver], Said(name="kim-2")).added == ["driver-file kim-2"]


def test_a_changed_file_is_a_new_version_and_a_recording_too(place, tmp_path):
    log = tmp_path / "evening.csv"
    lines = LOG.read_text(encoding="utf-8").splitlines(keepends=True)
    log.write_text("".join(lines), encoding="utf-8")
    assert add_files(place, [log]).added == ["log evening"]
    assert add_files(place, [log]).same == ["log evening"]
    log.write_text("".join(lines[:-100]), encoding="utf-8")
    assert add_files(place, [log], Said(reason="cut")).changed == ["log evening"]
    source = named.log_source("evening", place)
    assert open_log(source).duration < open_log(LOG).duration
    with pytest.raises(ConewiseError, match="no person of that name"):
        add_files(place, [log], Said(whose=Whose(person="nobody")))


def test_times_of_stored_events_are_those_of_a_times_file(place):
    from conewise.store.days import keep_day
    from conewise.workflows.events import load_day

    day = example_day()
    first = day.runs[0]
    runs = [
        first.changed(id=f"r{i}", order=i, raw_time=60.0 - i, set_up="stiff" if i > 2 else "soft", outcome="timed",
                      is_void=i == 2, passenger="")
        for i in (1, 2, 3, 4)
    ]  # fmt: skip
    runs.append(first.changed(id="r5", order=5, outcome="dnf", raw_time=None, passenger=""))
    with opened(place.book) as book:
        keep_day(book, day.changed(runs=tuple(runs), ride_alongs=()))
    times = times_named(["lot-1"], place)
    assert list(times.outcome) == ["finished", "rerun", "finished", "finished", "dnf"]
    assert times.setups == ("soft", "stiff")
    assert list(times.raw_time[[0, 2, 3]]) == [59.0, 57.0, 56.0]
    assert times_named([Path("spring.csv")], place) == Path("spring.csv")
    with pytest.raises(TestNumberError, match="number of files of times is 2; wanted is one file") as caught:
        times_named([Path("spring.csv"), Path("autumn.csv")], place)
    assert (caught.value.as_dict()["where"], caught.value.as_typed()["where"]) == ("times", "TIMES")
    assert recorded_times([load_day(Path("lot-1"), source=place)]).file == "runs of lot-1"

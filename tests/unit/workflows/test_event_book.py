"""A day goes into the book and comes out as it was; runs and corrections are kept there."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from conewise.errors import ConewiseError
from conewise.event.event_file import event_text
from conewise.rule_set import UnknownRulesError
from conewise.store.errors import NotABookError
from conewise.workflows.event_book import keep_event
from conewise.workflows.events import course_of, load_day, machine_of
from conewise.workflows.photo_details import picture_alone
from conewise.workflows.ready import answer_ready
from conewise.workflows.results import answer_results
from conewise.workflows.run_entry import RunEntry, add_run
from tests import days
from tests.cars import DEMO
from tests.photos import photo
from tests.solved import DEMO_COURSES

RULES = '[penalty]\ncone = "1 s"\n\n[[class]]\ncode = "S"\nindex = 0.8\n'


@pytest.fixture
def source(tmp_path):
    return replace(days.SOURCE, book=tmp_path / "book")


@pytest.fixture
def spring(tmp_path):
    (tmp_path / "pepper.toml").write_bytes((DEMO / "pepper.toml").read_bytes())
    (tmp_path / "yard.toml").write_bytes((DEMO_COURSES / "harbour-yard.toml").read_bytes())
    (tmp_path / "ours.toml").write_text(RULES, encoding="utf-8")
    day = days.event_day(
        event=days.event(course_file="yard.toml", rules="ours.toml"), cars=(days.car(car_file="pepper.toml"),)
    )
    path = tmp_path / "spring.toml"
    path.write_text(event_text(day), encoding="utf-8")
    (tmp_path / "spring.runs.csv").write_text("driver,run,time\nana,1,62.345+1\n", encoding="utf-8")
    return path


def test_what_is_kept_gives_the_same_answers(spring, source):
    from_files = load_day(spring, source=source)
    done = keep_event(from_files, source)
    assert done.event == "spring"
    kept = load_day(Path("spring"), source=source)
    assert answer_ready(kept).sentence == answer_ready(from_files).sentence
    assert [row.indexed for row in answer_results(kept).rows] == [
        row.indexed for row in answer_results(from_files).rows
    ]
    assert kept.rules.penalty.cone == 1.0
    assert kept.day.runs == from_files.day.runs
    assert course_of(kept).name == course_of(from_files).name
    assert machine_of(kept, kept.day.cars[0]).name == "Pepper"


def test_where_a_day_is_refused_no_photo_of_it_is_kept(spring, source, tmp_path, monkeypatch):
    check = days.checks(days.car())[0].changed(photo="belts.jpg")
    day = load_day(spring, source=source).day
    spring.write_text(event_text(day.changed(checks=(check,), runs=())), encoding="utf-8")
    (tmp_path / "belts.jpg").write_bytes(photo("jpeg"))
    loaded = load_day(spring, source=source)

    def breaks(*_, **__):
        raise NotABookError("it breaks here", where="test")

    monkeypatch.setattr("conewise.workflows.event_book.write_day", breaks)
    with pytest.raises(NotABookError, match="it breaks here"):
        keep_event(loaded, source)
    with source.opened() as book, book.reading() as reader:
        assert reader.file_names() == {}
    monkeypatch.undo()
    keep_event(loaded, source)
    with source.opened() as book, book.reading() as reader:
        assert list(reader.file_names().values()) == ["belts.jpg"]


def test_what_is_kept_twice_is_kept_once(spring, source):
    keep_event(load_day(spring, source=source), source)
    again = keep_event(load_day(spring, source=source), source)
    assert (again.kept.added, again.kept.changed) == ((), ())


def test_runs_are_written_to_the_book_and_corrections_are_versions(spring, source):
    keep_event(load_day(spring, source=source), source)

    def add(time, **facts):
        return add_run(load_day(Path("spring"), source=source), RunEntry(driver="ana", time=time, **facts))

    assert add("61.5").run.order == 2
    corrected = add("61.5+1", number=2, reason="cone seen late")
    assert corrected.total == 62.5
    (correction,) = corrected.loaded.corrections
    assert (correction.before.cones, correction.after.cones, correction.reason) == (0, 1, "cone seen late")
    noted = add("61.5+1", number=2, reason="debrief of a recording", focus="look ahead")
    assert noted.run.focus == "look ahead"
    assert noted.loaded.corrections == (correction,)
    with pytest.raises(ConewiseError):
        add("60.0", number=1)
    assert len(load_day(Path("spring"), source=source).day.runs) == 2


@pytest.mark.parametrize(("rules", "where"), [("", "spring.toml, event, rules"), ("nosuch", "--rules")])
def test_a_rule_set_that_is_not_there_is_told_with_what_names_it(spring, source, rules, where):
    spring.write_text(spring.read_text(encoding="utf-8").replace("ours.toml", "ourz"), encoding="utf-8")
    with pytest.raises(UnknownRulesError) as refused:
        load_day(spring, source=source, rules=rules)
    assert refused.value.where.endswith(where)


def test_an_event_that_is_not_there(spring, source):
    keep_event(load_day(spring, source=source), source)
    with pytest.raises(ConewiseError, match="no event 'autumn'"):
        load_day(Path("autumn"), source=source)
    with pytest.raises(ConewiseError, match="has its runs there"):
        load_day(Path("spring"), source=source, runs=spring)


def test_without_a_book_nothing_is_made(source):
    with pytest.raises(ConewiseError):
        load_day(Path("spring"), source=source)
    assert not source.book.exists()


def test_a_photo_goes_into_the_book_with_its_check(spring, source):
    text = spring.read_text(encoding="utf-8")
    check = '\n[[check]]\nid = "t"\ncar = "pepper"\nitem = "tyres"\nresult = "passed"\nlooked_by = "Bo"\n'
    spring.write_text(text + check + 'looked_at = 2026-05-17T08:00:00\nphoto = "tyre.png"\n', encoding="utf-8")
    with pytest.raises(ConewiseError, match=r"no photo 'tyre\.png'") as caught:
        load_day(spring, source=source)
    assert caught.value.where.endswith("check t, photo")
    (spring.parent / "tyre.png").write_bytes(b"not a picture")
    with pytest.raises(ConewiseError, match="is no picture"):
        load_day(spring, source=source)
    picture = photo("png")
    (spring.parent / "tyre.png").write_bytes(picture)
    keep_event(load_day(spring, source=source), source)
    (kept,) = [one for one in load_day(Path("spring"), source=source).day.checks if one.id == "t"]
    with source.opened() as book:
        assert book.files.content(kept.photo) == picture_alone(picture, "image/png")
    assert keep_event(load_day(spring, source=source), source).kept.changed == ()


def test_an_event_that_cannot_be_kept_leaves_none_of_its_files_behind(spring, source, monkeypatch):
    """Car, course and rules go into the book with the day that names them, or not at all."""
    from conewise.store import days as store_days
    from conewise.store.errors import BrokenLinkError
    from conewise.store.kinds import BY_NAME

    loaded = load_day(spring, source=source)
    in_order = store_days._in_order

    def broken(day):
        yield from in_order(day)
        yield days.helmet("blue", owner="nobody-known")

    monkeypatch.setattr(store_days, "_in_order", broken)
    with pytest.raises(BrokenLinkError):
        keep_event(loaded, source)
    with source.opened() as book:
        assert [len(book.every(BY_NAME[kind].record)) for kind in ("car-file", "course", "rules", "event")] == [0] * 4

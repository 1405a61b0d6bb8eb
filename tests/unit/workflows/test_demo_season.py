"""The season is kept in the demonstration's own folder, once."""

from __future__ import annotations

from pathlib import Path

from conewise.demo.season import EVENTS
from conewise.workflows.book_place import BookPlace
from conewise.workflows.demo import write_examples
from conewise.workflows.demo_book import keep_demo_book
from conewise.workflows.demo_season import season
from conewise.workflows.events import load_day, machine_of
from tests.days import SOURCE


def test_whoever_waits_for_the_book_is_told_its_steps_once(tmp_path):
    told = []
    keep_demo_book(tmp_path, now=SOURCE.now, tell=told.append)
    assert told[0].startswith("The demo book is made, once, in ")
    assert len([words for words in told if words.startswith("Event ")]) == len(EVENTS)
    n_told = len(told)
    keep_demo_book(tmp_path, now=SOURCE.now, tell=told.append)
    assert len(told) == n_told


def test_the_book_of_the_demonstration(tmp_path, monkeypatch):
    own = tmp_path / "own"
    monkeypatch.setenv("XDG_DATA_HOME", str(own))
    write_examples(tmp_path)
    first = season(tmp_path, now=SOURCE.now)
    assert first.book == tmp_path / "book"
    assert not own.exists()
    assert not first.readiness.ready
    assert {row.class_code for row in first.results.rows} == {"S", "T", "P"}
    assert sum(row.place is not None for row in first.results.rows) >= 6
    again = season(tmp_path, now=SOURCE.now)
    assert again.results == first.results
    loaded = load_day(Path(first.event), source=BookPlace(now=SOURCE.now, book=first.book))
    assert loaded.corrections == ()
    assert machine_of(loaded, loaded.day.car("pepper")).name == "Pepper"

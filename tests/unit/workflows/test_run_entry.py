"""Two writers at one table or book lose nothing; what is odd is asked back; a run that is sent twice is one run."""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from conewise.errors import ConewiseError
from conewise.event.event_file import event_text
from conewise.event.runs import Run
from conewise.workflows.book_place import opened
from conewise.workflows.event_book import keep_event
from conewise.workflows.events import load_day
from conewise.workflows.run_entry import RunEntry, add_run
from tests import days

N_WRITERS, N_RUNS = 3, 6


@pytest.fixture
def source(tmp_path):
    return replace(days.SOURCE, book=tmp_path / "book")


@pytest.fixture
def spring(tmp_path):
    path = tmp_path / "spring.toml"
    path.write_text(event_text(days.event_day()), encoding="utf-8")
    return path


@pytest.fixture
def kept(spring, source):
    keep_event(load_day(spring, source=source), source)
    return Path("spring")


def add(where, source, time="62.345", **facts):
    return add_run(load_day(where, source=source), RunEntry(driver="ana", time=time, **facts))


_WRITER = """
import sys
from dataclasses import replace
from pathlib import Path
from conewise.workflows.events import load_day
from conewise.workflows.run_entry import RunEntry, add_run
from tests import days
where, book, writer, n = Path(sys.argv[1]), Path(sys.argv[2]), int(sys.argv[3]), int(sys.argv[4])
source = replace(days.SOURCE, book=book)
for number in range(n):
    add_run(load_day(where, source=source), RunEntry(driver="ana", time=f"6{writer}.{number:03d}"))
"""


@pytest.mark.parametrize("place", ["table", "book"])
def test_writers_at_once_lose_nothing_and_number_every_run_once(place, spring, source, request):
    where = spring if place == "table" else request.getfixturevalue("kept")
    environment = os.environ | {"PYTHONPATH": os.pathsep.join(sys.path)}
    writers = [
        subprocess.Popen(
            [sys.executable, "-c", _WRITER, str(where), str(source.book), str(writer), str(N_RUNS)], env=environment
        )
        for writer in range(N_WRITERS)
    ]
    assert [writer.wait(timeout=300) for writer in writers] == [0] * N_WRITERS
    runs = load_day(where, source=source).day.runs
    assert sorted(run.order for run in runs) == list(range(1, N_WRITERS * N_RUNS + 1))
    assert sorted(run.raw_time for run in runs) == sorted(
        60 + writer + number / 1000 for writer in range(N_WRITERS) for number in range(N_RUNS)
    )


def test_a_row_is_on_the_disk_before_the_answer_says_so(spring, source, monkeypatch):
    from conewise.workflows import run_table

    synced = []
    monkeypatch.setattr(
        run_table.os, "fsync", lambda _: synced.append(spring.with_suffix(".runs.csv").read_text(encoding="utf-8"))
    )
    add(spring, source)
    assert "ana,1,62.345" in synced[0]  # the row, before the file is synced
    assert len(synced) == 2  # and the folder that got a new name


def test_a_table_that_another_program_holds_is_not_written(spring, source, monkeypatch):
    from conewise.workflows import run_table

    monkeypatch.setattr(run_table, "_TRIES", 2)
    add(spring, source)
    with run_table._held(spring.with_suffix(".runs.csv")), pytest.raises(ConewiseError) as refused:
        add(spring, source)
    assert refused.value.code == "runs-locked"
    assert len(load_day(spring, source=source).day.runs) == 1


def test_a_table_that_was_begun_and_never_written_has_no_runs(spring, source):
    spring.with_suffix(".runs.csv").touch()
    assert load_day(spring, source=source).day.runs == ()
    assert add(spring, source).run.order == 1


@pytest.mark.parametrize("place", ["table", "book"])
def test_what_is_odd_is_asked_back_in_words(place, spring, source, request):
    where = spring if place == "table" else request.getfixturevalue("kept")
    for _ in range(4):
        add(where, source)
    with pytest.raises(ConewiseError, match="the next run of Ana is 5, and runs 5 to 8 are not written down") as gap:
        add(where, source, number=9)
    assert "--sure if it is run 9" in gap.value.hint
    with pytest.raises(ConewiseError, match="You say 99 cones in one run"):
        add(where, source, "62.345+99")
    assert len(load_day(where, source=source).day.runs) == 4
    assert add(where, source, "62.345+99", number=9, is_sure=True).run.cones == 99
    assert add(where, source).run.order == 10


def test_a_run_that_comes_twice_is_one_run(kept, source):
    first = add(kept, source, run_id="e-0123", number=1)
    again = add(kept, source, run_id="e-0123", number=1)
    assert (first.run.id, again.run, again.before) == ("e-0123", first.run, None)
    assert len(again.loaded.day.runs) == 1


def test_a_run_that_was_taken_back_does_not_come_again(kept, source):
    add(kept, source, run_id="e-0123")
    with opened(source.book, now=source.now) as book:
        book.remove(Run, "e-0123")
    with pytest.raises(ConewiseError) as refused:
        add(kept, source, run_id="e-0123")
    assert refused.value.code == "run-taken-back"


def test_the_same_run_from_two_people_is_asked(kept, source):
    add(kept, source, run_id="e-0123", number=1)
    with pytest.raises(ConewiseError) as refused:
        add(kept, source, "62.400", run_id="e-0456", number=1)
    assert refused.value.code == "run-there"
    assert (refused.value.before.written, refused.value.following) == ("62.345", 2)


def test_a_correction_keeps_what_a_debrief_found(kept, source):
    from conewise.event.runs import FeatureLoss

    first = add(kept, source).run
    loss = FeatureLoss(feature="s1", kind="slalom", seconds=0.4)
    with opened(source.book, now=source.now) as book:
        book.change(first.changed(losses=(loss,)), version=1)
    corrected = add(kept, source, "62.345+1", number=1, reason="cone seen late")
    assert corrected.run.losses == (loss,)
    assert corrected.run.id == first.id
    again = add(kept, source, "61.345+1", number=1, reason="misread")
    assert again.run.losses == ()  # a debrief of another time

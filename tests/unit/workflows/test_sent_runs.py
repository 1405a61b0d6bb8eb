"""Runs that are sent: once however often they come, taken back, corrected with their history."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import timedelta

import pytest

from conewise.errors import ConewiseError
from conewise.event.runs import Run
from conewise.store.days import keep_day
from conewise.workflows import sent_runs
from conewise.workflows.book_place import opened
from conewise.workflows.run_entry import RunEntry
from conewise.workflows.sent_runs import RunCorrection
from tests import days


@pytest.fixture
def source(tmp_path):
    source = replace(days.SOURCE, book=tmp_path / "book")
    with opened(source.book, now=source.now) as book:
        keep_day(book, days.event_day(event=days.event(time_zone="UTC")))
    return source


def send(source, key, time="62345", number=1, *, ago=0, **facts):
    entry = RunEntry(driver="ana", time=time, number=number, run_id=key, is_sure=True, by="phone 1", **facts)
    return sent_runs.take_run(source, "spring", entry, ago=timedelta(minutes=ago))


def test_a_run_is_taken_once_however_often_it_comes(source):
    first = send(source, "e-1", "62345+1")
    assert (first["run"], first["written"], first["total_s"], first["version"]) == (1, "62.345+1", 64.345, 1)
    assert [send(source, "e-1", "62345+1") for _ in range(3)] == [first] * 3
    with opened(source.book, now=source.now) as book:
        assert len(book.every(Run)) == 1


def test_two_phones_that_send_the_same_run_at_once_add_it_once(source):
    with ThreadPoolExecutor(8) as pool:
        answers = list(pool.map(lambda _: send(source, "e-1"), range(8)))
    assert {answer["id"] for answer in answers} == {"e-1"}
    with opened(source.book, now=source.now) as book:
        assert len(book.every(Run)) == 1


def test_a_run_that_is_taken_back_stays_away(source):
    send(source, "e-1")
    assert sent_runs.take_run_back(source, "e-1", by="phone 1")["was_there"]
    assert not sent_runs.take_run_back(source, "e-1", by="phone 1")["was_there"]
    with pytest.raises(ConewiseError) as refused:
        send(source, "e-1")
    assert refused.value.code == "run-taken-back"
    assert send(source, "e-2")["run"] == 1
    with pytest.raises(ConewiseError) as unknown:
        sent_runs.take_run_back(source, "e-9", by="phone 1")
    assert unknown.value.code == "no-such-record"


def test_a_correction_keeps_what_it_corrects_and_is_made_once(source):
    send(source, "e-1")
    correction = RunCorrection(run_id="e-1", version=1, time="62345+1", reason="cone seen late", by="Bo")
    corrected = sent_runs.correct_run(source, "spring", correction)
    assert (corrected["total_s"], corrected["version"]) == (64.345, 2)
    assert [(one["written"], one["by"], one["reason"]) for one in corrected["history"]] == [
        ("62.345", "phone 1", ""),
        ("62.345+1", "Bo", "cone seen late"),
    ]
    assert sent_runs.correct_run(source, "spring", correction) == corrected
    with pytest.raises(ConewiseError) as refused:
        sent_runs.correct_run(source, "spring", replace(correction, time="62345+2", by="Cy"))
    assert refused.value.code == "record-changed"
    assert "Bo" in refused.value.message
    further = sent_runs.correct_run(source, "spring", replace(correction, version=2, time="61.0"))
    assert (further["version"], len(further["history"])) == (3, 3)


def test_a_run_is_dated_to_when_it_was_entered(source):
    assert send(source, "e-1", ago=30)["driven_at"] == "2026-05-17T11:30:00"

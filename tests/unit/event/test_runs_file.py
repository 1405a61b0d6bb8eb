"""A table of runs: read with words for what is wrong, corrected with a reason, written back as it was."""

from __future__ import annotations

import pytest

from conewise.errors import ConewiseError
from conewise.event.runs import Run
from conewise.event.runs_file import COLUMNS, RunsFileError, read_run_table, run_row, run_table_text
from tests.days import event, event_day, moment, person

DAY = event_day(people=(person(), person("bo")))


def read(text, day=DAY):
    return read_run_table(text.encode() if isinstance(text, str) else text, day, file="runs.csv")


@pytest.mark.parametrize(
    "text",
    [
        'driver,run,time\nana,1,"62,345+1"\n',
        "driver;run;time\nana;1;62,345+1\n",
        "Driver\tRun\tTime\nAna\t1\t62.345+1\n",
        "﻿driver,run,time\r\nana , 1 , 62.345 (1)\r\n\r\n",
    ],
)
def test_whatever_parts_the_columns(text):
    (run,) = read(text).runs
    assert (run.person, run.car, run.order, run.raw_time, run.cones) == ("ana", "pepper", 1, 62.345, 1)


def test_every_column():
    pressures = '"32 32 30 30 psi","2.4 2.4 2.2 2.2 bar"'
    row = f'ana,1,62.345,pepper,bo,2026-05-17T10:12:00,soft,street,{pressures},dry,look up,"a, b",x.csv,\n'
    (run,) = read(",".join(COLUMNS) + "\n" + row).runs
    assert run.passenger == "bo"
    assert run.driven_at == moment(10, 12)
    assert run.hot_pressures == pytest.approx((240000.0, 240000.0, 220000.0, 220000.0))
    assert run.cold_pressures[0] == pytest.approx(220632.2)  # 32 psi; 1 psi is 6894.757 Pa
    assert run.notes == "a, b"


def test_a_correction_keeps_what_was_there():
    table = read("driver,run,time,reason\nana,1,62.345,\nana,2,61.0,\nana,1,62.345+1,cone seen late\n")
    assert [(run.order, run.cones) for run in table.runs] == [(1, 1), (2, 0)]
    (correction,) = table.corrections
    assert (correction.before.cones, correction.after.cones, correction.reason) == (0, 1, "cone seen late")


def test_a_row_that_changes_no_result_corrects_none():
    table = read("driver,run,time,notes,reason\nana,1,62.345,,\nana,1,62.345,windy,wind noted\n")
    assert table.runs[0].notes == "windy"
    assert table.corrections == ()


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "empty"),
        ("\x89PNG\x00", "text file"),
        ("driver,time\nana,62.345\n", "'run' is missing"),
        ("driver,run,time,speed\n", "no column 'speed'"),
        ("driver,run,time,run\n", "twice"),
        ("driver,run,time\nana,1,62,345\n", "quotation marks"),
        ("driver,run,time\nana,1,-62.345\n", "line 2, time"),
        ("driver,run,time\nana,1,62\n", "62.0"),
        ("driver,run,time\nana,first,62.345\n", "number"),
        ("driver,run,time\nana,0,62.345\n", "order"),
        ("driver,run,time\nana,²,62.345\n", "number"),
        ("driver,run,time\nghost,1,62.345\n", "ghost"),
        ("driver,run,time\nana,1,62.345\nana,1,62.345\n", "run 1 already"),
        ("driver,run,time,car\nana,1,62.345,ghost\n", "pepper"),
        ("driver,run,time,passenger\nana,1,62.345,ana\n", "rides along"),
        ("driver,run,time,driven_at\nana,1,62.345,noon\n", "driven_at"),
        ("driver,run,time,cold_pressures\nana,1,62.345,32 psi\n", "four"),
        ("driver,run,time,cold_pressures\nana,1,62.345,32 32 30 30 kg\n", "unit of mass"),
        ('driver,run,time\nana,1,"62.345\n', "breaks off"),
    ],
)
def test_what_is_refused_with_its_line(text, words):
    with pytest.raises(ConewiseError) as refused:
        read(text)
    assert words in f"{refused.value.message} {refused.value.where} {refused.value.hint}"
    assert "runs.csv" in refused.value.where


def test_rows_are_written_so_that_they_are_read_back():
    run = Run(
        id="spring-ana-1", event="spring", person="ana", car="pepper", order=1, raw_time=62.345, cones=1,
        written="62.345+1",
        driven_at=moment(10), cold_pressures=(220632.2, 220632.2, 206842.7, 206842.7), notes='a "b", c', set_up="soft",
    )  # fmt: skip
    assert read(run_table_text([run_row(run)])).runs == (run,)


def test_rows_go_behind_what_is_there_in_its_own_columns():
    before = "driver;run;time\nana;1;62,345"
    after = run_table_text([{"driver": "bo", "run": "1", "time": "61,5+1", "car": ""}], before=before)
    assert after == "driver;run;time\nana;1;62,345\nbo;1;61,5+1\n"
    with pytest.raises(RunsFileError, match="notes"):
        run_table_text([{"driver": "bo", "run": "1", "time": "61.5", "notes": "x"}], before=before)


def test_ten_thousand_runs_are_read():
    people = tuple(person(f"d{n}") for n in range(100))
    many = "".join(f"d{n},{order},62.345+{order % 3}\n" for n in range(100) for order in range(1, 101))
    runs = read("driver,run,time\n" + many, event_day(people=people)).runs
    assert len({run.id for run in runs}) == 10_000


def test_long_names_that_begin_alike_make_ids_of_their_own():
    """The events of a season are called alike up to the date, and a book keeps the runs of all of them."""
    keys = ["three-valleys-evening-autocross-2026-04-12", "three-valleys-evening-autocross-2026-05-10"]
    names = [f"somebody-with-a-rather-long-name-{n}" for n in (1, 2)]
    days = [event_day(event=event(id=key), people=tuple(map(person, names)), checks=()) for key in keys]
    text = "driver,run,time\n" + "".join(f"{name},{order},62.345\n" for name in names for order in (1, 11))
    ids = [run.id for day in days for run in read(text, day).runs]
    assert len(set(ids)) == len(ids) == 8
    assert all(len(one) <= 60 for one in ids)
    assert [run.id for day in days for run in read(text, day).runs] == ids

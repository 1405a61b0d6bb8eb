"""Long work over HTTP: asked for, followed, stopped, gone on with after the server was killed."""

from __future__ import annotations

import hashlib
import json
import os
import signal
import socket
import threading
import time
from datetime import UTC, datetime

import httpx
import pytest

from conewise.errors import InfeasibleError
from conewise.event.runs import Run
from conewise.workflows.book_place import BookPlace, opened
from conewise.workflows.jobs import jobs_of, program
from conewise.workflows.recordings import recordings
from tests.web_app import (
    ServedApart,
    client_of,
    free_port,
    keep_short_course,
    served,
    settings_over,
    workers_of,
)

QUESTION = {"course": "short", "car": "pepper"}
PATIENCE = 240.0  # for a solve, on a machine that has much to do [s]


def real_clock():
    return datetime.now(UTC)


@pytest.fixture
def settings(tmp_path, demonstration):
    """Over a copy of the demo book with a short course; the clock is that of the worker."""
    found = settings_over(tmp_path, demonstration, now=real_clock)
    keep_short_course(found.book)
    return found


def asked(client, question=None, **more):
    return client.post("/api/jobs", json={"kind": "line", "question": question or QUESTION, **more})


def until(client, job, wanted):
    """The job as soon as it is as wanted; one that is over becomes nothing else any more."""
    end = time.monotonic() + PATIENCE
    while not wanted(now := client.get(f"/api/jobs/{job}").json()):
        assert not now["is_over"], now
        assert time.monotonic() < end, now
        time.sleep(0.1)
    return now


@pytest.fixture
def without_worker(settings, monkeypatch):
    """A client whose jobs nobody takes."""
    monkeypatch.setattr("conewise.web.workshop.Workshop.open", lambda *_: None)
    return client_of(settings)


def test_the_same_question_is_the_same_job_until_what_it_rests_on_changes(without_worker, settings):
    first = asked(without_worker)
    assert first.status_code == 202
    assert (first.json()["state"], first.json()["question"]["driver"]) == ("waiting", "expert")
    assert asked(without_worker).json()["id"] == first.json()["id"]
    assert asked(without_worker, QUESTION | {"pace": 0.9}).json()["id"] != first.json()["id"]
    keep_another_car(settings)
    assert asked(without_worker).json()["id"] != first.json()["id"]


def test_another_program_answers_anew(without_worker, monkeypatch):
    first = asked(without_worker).json()["id"]
    monkeypatch.setattr("conewise.workflows.jobs.program", lambda: "the next one")
    assert asked(without_worker).json()["id"] != first


def test_a_changed_line_of_source_is_another_program(tmp_path, monkeypatch):
    package = tmp_path / "conewise"
    (package / "web" / "catalogue").mkdir(parents=True)
    source, words = package / "tyre.py", package / "web" / "catalogue" / "en.toml"
    source.write_text("GRIP = 1.0\n")
    words.write_text('title = "Tyre"\n')
    monkeypatch.setattr("conewise.workflows.jobs.files", lambda _: package)
    before = program.__wrapped__()
    words.write_text('title = "Tyres"\n')
    assert program.__wrapped__() == before
    source.write_text("GRIP = 1.1\n")
    assert program.__wrapped__() != before


def keep_another_car(settings):
    from conewise.store.texts import CarText

    with opened(settings.book, now=real_clock) as book:
        kept = book.one(CarText, "pepper")
        book.change(CarText(id="pepper", text=kept.record.text + "# looked at\n"), version=kept.version)


def test_a_question_of_the_same_place_stops_the_one_before(without_worker):
    first = asked(without_worker, slot="course page").json()["id"]
    other = asked(without_worker, QUESTION | {"pace": 0.8}).json()["id"]
    second = asked(without_worker, QUESTION | {"pace": 0.9}, slot="course page").json()["id"]
    states = {job["id"]: job["state"] for job in without_worker.get("/api/jobs").json()}
    assert states == {first: "stopped", other: "waiting", second: "waiting"}
    assert asked(without_worker, slot="course page").json()["state"] == "waiting"  # asked again


@pytest.mark.parametrize(
    ("body", "status", "where"),
    [
        ({"kind": "lines", "question": {}}, 404, "kind"),
        ({"kind": "line", "question": {"course": "short"}}, 422, "question.car"),
        ({"kind": "line", "question": QUESTION | {"pace": 7}}, 422, "question.pace"),
        ({"kind": "line", "question": QUESTION | {"car": "none"}}, 404, "car-file none"),
        ({"kind": "line", "question": QUESTION | {"more": 1}}, 422, "question.more"),
        ({"kind": "line", "question": QUESTION | {"driver": "../drivers/hurried.toml"}}, 422, "question.driver"),
        ({"kind": "paces", "question": QUESTION | {"course": "/etc/hosts"}}, 422, "question.course"),
        ({"kind": "line"}, 422, "question"),
    ],
)
def test_what_cannot_be_asked_is_said_at_once(without_worker, body, status, where):
    told = without_worker.post("/api/jobs", json=body)
    assert (told.status_code, told.json()["where"]) == (status, where)


def test_a_job_that_is_not_there(without_worker):
    for answer in (
        without_worker.get("/api/jobs/x"),
        without_worker.get("/api/jobs/x/events"),
        without_worker.delete("/api/jobs/x"),
    ):
        assert answer.status_code == 404


def test_one_that_waits_is_stopped_at_once_and_its_stream_ends(without_worker):
    job = asked(without_worker).json()["id"]
    assert without_worker.delete(f"/api/jobs/{job}").json()["state"] == "stopped"
    stream = without_worker.get(f"/api/jobs/{job}/events")
    assert stream.headers["content-type"].startswith("text/event-stream")
    assert "content-encoding" not in stream.headers
    [event] = stream.text.strip().split("\n\n")
    assert event.startswith("event: job\ndata: ")


def test_the_page_lists_what_is_in_hand(without_worker):
    asked(without_worker)
    page = without_worker.get("/jobs", headers={"accept": "text/html"}).text
    assert "1 answer is being worked out." in page
    assert '<b>The line</b> <span class="note">Short, Pepper, expert</span>' in page


def test_recordings_and_people_are_told_by_name(without_worker):
    names = {"course": "harbour-yard", "car_file": "marigold"}
    log = {"log": "harbour-yard-evening", "run": 2} | names
    check = {"sent": "0" * 64, "name": "evening.csv", "sent_at": "2026-09-13", "person": "dee", "event": "september"}
    for kind, question in (("debrief", log), ("log-check", check)):
        assert without_worker.post("/api/jobs", json={"kind": kind, "question": question}).status_code == 202
    page = without_worker.get("/jobs", headers={"accept": "text/html"}).text
    assert "harbour-yard-evening.csv, " in page
    assert "run 2" in page
    assert "evening.csv, " in page
    assert "0" * 64 not in page
    assert ">dee" not in page


def test_a_job_that_waits_says_what_is_before_it(without_worker, settings):
    first = asked(without_worker).json()
    assert first["behind"] == []
    second = asked(without_worker, QUESTION | {"pace": 0.9}).json()
    assert second["behind"] == ["The line (Short, Pepper, expert)"]
    assert asked(without_worker).json()["behind"] == []  # asked for again it keeps its place
    with jobs_of(BookPlace(book=settings.book, now=real_clock)) as jobs:
        jobs.take()
        assert without_worker.get(f"/api/jobs/{second['id']}").json()["behind"] == second["behind"]
        jobs.fail(first["id"], InfeasibleError("No way through.", where="gate 3"))
    assert without_worker.get(f"/api/jobs/{second['id']}").json()["behind"] == []


def test_what_failed_is_put_away_and_nothing_else(without_worker, settings):
    job = asked(without_worker).json()["id"]
    refused = without_worker.post(f"/api/jobs/{job}/put-away", json={})
    assert (refused.status_code, refused.json()["code"]) == (409, "job-not-failed")
    with jobs_of(BookPlace(book=settings.book, now=real_clock)) as jobs:
        jobs.take()
        jobs.fail(job, InfeasibleError("No way through.", where="gate 3"))
    assert without_worker.post(f"/api/jobs/{job}/put-away", json={}).status_code == 204
    assert without_worker.get("/api/jobs").json() == []
    assert without_worker.post(f"/api/jobs/{job}/put-away", json={}).status_code == 404


def test_the_same_question_of_two_slots_is_waited_for_in_the_other(without_worker):
    job = asked(without_worker, slot="page-a").json()["id"]
    assert asked(without_worker, slot="page-b").json()["id"] == job
    assert without_worker.delete(f"/api/jobs/{job}?slot=page-a").json()["state"] == "waiting"
    assert without_worker.delete(f"/api/jobs/{job}?slot=page-b").json()["state"] == "stopped"
    asked(without_worker, slot="page-a")
    assert without_worker.delete(f"/api/jobs/{job}?slot=page-c").json()["state"] == "stopped"  # a page that did not ask


@pytest.mark.slow
def test_a_line_is_followed_from_waiting_to_its_answer_while_pages_stay_quick(settings):
    with served(settings) as address, httpx.Client(base_url=address, timeout=PATIENCE) as client:
        job = asked(client).json()["id"]
        with client.stream("GET", f"/api/jobs/{job}/events") as stream:
            told = [json.loads(line[6:]) for line in stream.iter_lines() if line.startswith("data: ")]
        states = [event["state"] for event in told]
        assert states[0] == "waiting"
        assert states[-1] == "done"
        shares = [event["progress"] for event in told]
        assert shares == sorted(shares)
        times = [event["result"]["time_s"] for event in told if event.get("result")]
        assert len(times) >= 2  # the run alone first, then the whole answer
        assert times[-1] == pytest.approx(times[0])
        whole = client.get(f"/api/jobs/{job}").json()["result"]
        assert whole["build_up"]
        assert asked(client).json()["state"] == "done"  # nothing is worked out twice


@pytest.fixture(scope="module")
def at_work(tmp_path_factory, demonstration):
    """A server that has its worker, and its book; each test asks what no other does."""
    found = settings_over(tmp_path_factory.mktemp("at-work"), demonstration, now=real_clock)
    keep_short_course(found.book)
    with served(found) as address:
        yield address, found.book


@pytest.mark.slow
def test_a_line_at_work_is_stopped(at_work):
    address, _ = at_work
    with httpx.Client(base_url=address, timeout=PATIENCE) as client:
        job = asked(client, {"course": "harbour-yard", "car": "pepper"}).json()["id"]
        until(client, job, lambda now: now["state"] == "running" and now["message"])
        assert client.delete(f"/api/jobs/{job}").json()["state"] == "stopping"
        assert until(client, job, lambda now: now["is_over"])["state"] == "stopped"
        assert until(client, asked(client).json()["id"], lambda now: now["is_over"])["state"] == "done"


@pytest.mark.slow
def test_a_worker_that_is_killed_is_replaced(at_work):
    address, book = at_work
    with httpx.Client(base_url=address, timeout=PATIENCE) as client:
        job = asked(client, QUESTION | {"pace": 0.9}).json()["id"]
        until(client, job, lambda now: now["state"] == "running")
        [worker] = workers_of(book)
        os.kill(worker, signal.SIGKILL)
        assert until(client, job, lambda now: now["is_over"])["state"] == "done"


@pytest.mark.slow
def test_after_the_server_was_killed_in_a_solve_the_next_one_goes_on(settings):
    port = free_port()
    server = ServedApart(settings.book, port)
    try:
        with httpx.Client(base_url=f"http://127.0.0.1:{port}", timeout=PATIENCE) as client:
            job = asked(client).json()["id"]
            until(client, job, lambda now: now["state"] == "running")
            server.kill()
            end = time.monotonic() + 30
            while workers_of(settings.book):  # it ends with the server
                assert time.monotonic() < end
                time.sleep(0.1)
            server = ServedApart(settings.book, port)
            found = until(client, job, lambda now: now["is_over"])
            assert found["state"] == "done"
            assert found["result"]["time_s"] > 5
    finally:
        server.kill()


def sent_run(client, number):
    """Write run `number` down as a phone does; whether it was confirmed."""
    body = {"id": f"kill-{number}", "driver": "ana", "run": number, "time": "48.123"}
    try:
        answer = client.post("/api/events/september/runs", json=body)
    except httpx.TransportError:
        return False
    assert answer.status_code == 200, answer.text
    return True


@pytest.mark.slow
def test_no_run_that_was_confirmed_is_lost_and_none_is_double_when_the_server_is_killed(settings):
    port = free_port()
    server = ServedApart(settings.book, port)
    killing = threading.Timer(0.6, server.kill)
    try:
        with httpx.Client(base_url=f"http://127.0.0.1:{port}", timeout=PATIENCE) as client:
            sent_run(client, 3)
            killing.start()
            confirmed = [3]
            while sent_run(client, confirmed[-1] + 1):
                confirmed.append(confirmed[-1] + 1)
            killing.join()
            there = {kept.id for kept in runs_of(settings)}
            assert {f"kill-{number}" for number in confirmed} <= there
            server = ServedApart(settings.book, port)
            for number in range(3, confirmed[-1] + 3):  # the phone sends all of them once more
                assert sent_run(client, number)
        own = [kept.record.order for kept in runs_of(settings) if kept.id.startswith("kill-")]
        assert sorted(own) == list(range(3, confirmed[-1] + 3))
    finally:
        killing.cancel()
        server.kill()


RECORDED = b"time [s],speed [km/h],latitude [deg],longitude [deg]\n" + b"".join(
    b"%.1f,%d,51.0%05d,4.0\n" % (0.1 * k, 20 + k % 30, k) for k in range(60_000)
)


def cut_off(port, content, *, after):
    """Begin to send a recording and stop in the middle; the connection, which is to be closed."""
    calling = socket.create_connection(("127.0.0.1", port))
    head = (
        f"POST /api/recordings?name=cut.csv HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nOrigin: http://127.0.0.1:{port}\r\n"
    )
    calling.sendall(f"{head}Content-Length: {len(content)}\r\n\r\n".encode() + content[:after])
    return calling


def sent_whole(client, content, name):
    told = client.post(
        "/api/recordings", params={"name": name}, content=content, headers={"origin": str(client.base_url)}
    )
    assert told.status_code == 201, told.text
    return told.json()


def read_and_kept(client, sent):
    question = sent | {"event": "september", "person": "fay"}
    return client.post("/api/jobs", json={"kind": "log-check", "question": question}).json()["id"]


@pytest.mark.slow
def test_a_recording_that_was_confirmed_outlives_the_server_and_half_of_one_does_not_count(settings):
    port = free_port()
    whole, half = RECORDED, RECORDED + b"6000.0,20,51.0,4.0\n"
    before = {one.id for one in recordings_of(settings)}
    server = ServedApart(settings.book, port)
    try:
        with httpx.Client(base_url=server.address, timeout=PATIENCE) as client:
            sent = sent_whole(client, whole, "whole.csv")
            with cut_off(port, half, after=len(half) // 2):
                time.sleep(0.3)
                server.kill()
            assert [path.read_bytes() == whole for path in settings.book.glob("incoming/??/*")] == [True]
            server = ServedApart(settings.book, port)
            lost = read_and_kept(client, sent | {"sent": hashlib.sha256(half).hexdigest(), "name": "cut.csv"})
            assert until(client, lost, lambda now: now["is_over"])["error"]["code"] == "upload-gone"
            job = read_and_kept(client, sent)
            until(client, job, lambda now: now["state"] != "waiting")
            server.kill()  # while the file is read and kept
            server = ServedApart(settings.book, port)
            found = until(client, job, lambda now: now["is_over"])
            assert found["state"] == "done", found
            again = sent_whole(client, half, "cut.csv")
            assert until(client, read_and_kept(client, again), lambda now: now["is_over"])["state"] == "done"
        there = [(one.name, one.person) for one in recordings_of(settings) if one.id not in before]
        assert sorted(there) == [("cut.csv", "fay"), ("whole.csv", "fay")]
        assert list(settings.book.glob("incoming/??/*")) == []
    finally:
        server.kill()


def recordings_of(settings):
    return recordings(BookPlace(book=settings.book, now=real_clock))


def runs_of(settings):
    with opened(settings.book, now=real_clock) as book:
        return book.every(Run, event="september")

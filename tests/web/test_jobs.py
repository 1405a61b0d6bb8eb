"""Long work over HTTP: asked for, followed, stopped, gone on with after the server was killed."""

from __future__ import annotations

import json
import os
import signal
import socket
import subprocess
import sys
import threading
import time
from datetime import UTC, datetime

import httpx
import pytest

from conewise.event.runs import Run
from conewise.workflows.book_place import opened
from tests.web_app import client_of, keep_short_course, served, settings_over

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
    """The job as soon as it is as wanted."""
    end = time.monotonic() + PATIENCE
    while not wanted(now := client.get(f"/api/jobs/{job}").json()):
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
    assert "short, pepper, expert" in page


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


@pytest.mark.slow
def test_a_line_at_work_is_stopped(settings):
    with served(settings) as address, httpx.Client(base_url=address, timeout=PATIENCE) as client:
        job = asked(client, {"course": "harbour-yard", "car": "pepper"}).json()["id"]
        until(client, job, lambda now: now["state"] == "running" and now["message"])
        assert client.delete(f"/api/jobs/{job}").json()["state"] == "stopping"
        assert until(client, job, lambda now: now["is_over"])["state"] == "stopped"
        assert until(client, asked(client).json()["id"], lambda now: now["is_over"])["state"] == "done"


@pytest.mark.slow
def test_a_worker_that_is_killed_is_replaced(settings):
    with served(settings) as address, httpx.Client(base_url=address, timeout=PATIENCE) as client:
        job = asked(client).json()["id"]
        until(client, job, lambda now: now["state"] == "running")
        [worker] = workers_of(settings.book)
        os.kill(worker, signal.SIGKILL)
        assert until(client, job, lambda now: now["is_over"])["state"] == "done"


def workers_of(book):
    """Processes that work for a book."""
    listed = subprocess.run(["ps", "-eww", "-o", "pid=,args="], capture_output=True, text=True, check=True).stdout
    rows = [line.split(None, 1) for line in listed.splitlines()]
    return [int(pid) for pid, words in rows if "conewise.web.worker" in words and str(book) in words]


def free_port():
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        return found.getsockname()[1]


class Served:
    """`conewise serve` as a process of its own, that can be killed."""

    def __init__(self, book, port):
        program = "from conewise.cli.main import main; main()"
        self.process = subprocess.Popen(
            [sys.executable, "-c", program, "serve", "--book", str(book), "--port", str(port)],
            stdout=subprocess.PIPE,
            text=True,
        )
        said = self.process.stdout.readline()
        assert f"http://127.0.0.1:{port}/" in said

    def kill(self):
        self.process.kill()
        self.process.wait()
        if not self.process.stdout.closed:
            self.process.stdout.close()


@pytest.mark.slow
def test_after_the_server_was_killed_in_a_solve_the_next_one_goes_on(settings):
    port = free_port()
    server = Served(settings.book, port)
    try:
        with httpx.Client(base_url=f"http://127.0.0.1:{port}", timeout=PATIENCE) as client:
            job = asked(client).json()["id"]
            until(client, job, lambda now: now["state"] == "running")
            server.kill()
            end = time.monotonic() + 30
            while workers_of(settings.book):  # it ends with the server
                assert time.monotonic() < end
                time.sleep(0.1)
            server = Served(settings.book, port)
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
    server = Served(settings.book, port)
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
            server = Served(settings.book, port)
            for number in range(3, confirmed[-1] + 3):  # the phone sends all of them once more
                assert sent_run(client, number)
        own = [kept.record.order for kept in runs_of(settings) if kept.id.startswith("kill-")]
        assert sorted(own) == list(range(3, confirmed[-1] + 3))
    finally:
        killing.cancel()
        server.kill()


def runs_of(settings):
    with opened(settings.book, now=real_clock) as book:
        return book.every(Run, event="september")

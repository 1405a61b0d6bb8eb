"""Debrief over HTTP: files that are sent, questions about columns, answers shown, sheets, what is kept."""

from __future__ import annotations

import hashlib
import os
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from conewise.event.runs import Run
from conewise.store.logs import kept_log
from conewise.web import debrief_work
from conewise.web.debrief_work import CompareAsked, DebriefAsked, LogCheckAsked, TimesAsked
from conewise.web.work import Desk
from conewise.workflows.book_place import BookPlace, opened
from conewise.workflows.jobs import Asker, JobState, ask, jobs_of
from conewise.workflows.logs import Arms
from conewise.workflows.recordings import MOST_BYTES, recordings, safe_name
from tests import web_app
from tests.debrief_fixture import compared_runs, reduced_debrief, told_debrief
from tests.web_answers import DEBRIEF, debrief_result, keep_job

ORIGIN = {"origin": "http://127.0.0.1"}
DEE = "?event=september&driver=dee"
CLEAR = b"time [s],speed [km/h],latitude [deg],longitude [deg]\n" + b"".join(
    b"%.1f,%d,51.0%05d,4.0\n" % (0.1 * k, 20 + k % 30, k) for k in range(600)
)
UNCLEAR = b"a,b,c\n" + b"".join(b"%.1f,%.2f,%.2f\n" % (0.1 * k, 10 + k % 7, 3.0) for k in range(600))


@pytest.fixture
def place(settings):
    return BookPlace(book=settings.book, now=lambda: datetime.now(UTC))


@pytest.fixture
def desk(place):
    return Desk(place=place, job="", tell=lambda *_: None, show=lambda _: None)


def send(client, content=CLEAR, name="run.csv"):
    return client.post("/api/recordings", params={"name": name}, content=content, headers=ORIGIN)


def check(desk, sent, **more):
    asked = LogCheckAsked(**{**sent, "event": "september", "person": "fay", **more})
    return debrief_work.log_check(asked, desk)


def test_a_file_is_taken_under_its_content_and_a_safe_name(client, settings):
    told = send(client, name="../../<b>night run</b>.csv").json()
    assert told["sent"] == hashlib.sha256(CLEAR).hexdigest()
    assert told["name"] == "b.csv"
    waiting = settings.book / "incoming" / told["sent"][:2] / told["sent"]
    assert waiting.read_bytes() == CLEAR
    assert not list(settings.book.parent.rglob("*night*"))


@pytest.mark.parametrize(
    ("name", "content", "code"),
    [("run.exe", CLEAR, "upload-kind"), ("run", CLEAR, "upload-kind"), ("run.csv", b"", "upload-size")],
)
def test_what_is_no_recording_is_refused(client, name, content, code):
    answer = send(client, content, name)
    assert (answer.status_code, answer.json()["code"]) == (422, code)
    assert ("Cut the recording" in answer.text) == bool(content and code == "upload-size")


def test_too_much_is_refused_before_and_while_it_comes(client, settings):
    said = client.post(
        "/api/recordings?name=a.csv", content=b"x", headers=ORIGIN | {"content-length": str(MOST_BYTES + 1)}
    )
    assert said.json()["code"] == "too-large"
    parts = (b"0" * 1_000_000 for _ in range(MOST_BYTES // 1_000_000 + 1))
    unsaid = client.post("/api/recordings?name=a.csv", content=parts, headers=ORIGIN)
    assert unsaid.json()["code"] == "unsized"
    assert not list((settings.book / "incoming").rglob("?" * 64))


def test_a_page_of_another_site_cannot_send(client):
    answer = client.post("/api/recordings?name=a.csv", content=CLEAR, headers={"origin": "http://elsewhere.example"})
    assert answer.status_code == 403


@pytest.mark.parametrize(
    ("told", "shown"),
    [
        ("/etc/passwd", "passwd"), ("..", "recording"), ("a\x00b\n.csv", "a b.csv"),
        ("x" * 300 + ".csv", "x" * 80 + ".csv"),
        ("C:\\logs\\run.fit", "run.fit"),
    ],
)  # fmt: skip
def test_names_are_not_trusted(told, shown):
    assert safe_name(told) == shown


def test_a_recording_is_kept_with_its_driver_and_the_file_that_waited_is_let_go(client, desk, place, settings):
    found = check(desk, send(client).json())
    assert found["log"] == "run"
    assert found["summary"]["duration_s"] == pytest.approx(59.9)
    assert found["next"] is None
    kept = [one for one in recordings(place, event="september") if one.id == "run"]
    assert [(one.person, one.person_name) for one in kept] == [("fay", "Fay Barlow")] or kept[0].person == "fay"
    assert not list((settings.book / "incoming").rglob("?" * 64))


def test_the_debrief_of_a_recording_is_for_the_phone_that_sent_it(client, place, monkeypatch):
    monkeypatch.setattr("conewise.workflows.recordings.runs_found", lambda *_, **__: [[1, "run", 40.0]])
    more = {"event": "september", "person": "fay", "course": "harbour-yard", "car_file": "marigold"}
    asked = LogCheckAsked(**{**send(client).json(), **more})
    phone = Asker(device="p" * 64)
    check = ask(place, "log-check", asked.model_dump(mode="json"), names={}, asker=phone)
    with jobs_of(place) as jobs:
        jobs.take("log-check")
        found = debrief_work.log_check(
            asked, Desk(place=place, job=check.id, tell=lambda *_: None, show=lambda _: None)
        )
        jobs.finish(check.id, found)
        assert jobs.leave(found["next"], Asker()).state is JobState.WAITING  # the laptop never asked
        assert jobs.leave(found["next"], Asker(device=phone.device)).state is JobState.STOPPED


def test_no_debrief_follows_where_nobody_waits_for_it(client, place, monkeypatch):
    monkeypatch.setattr("conewise.workflows.recordings.runs_found", lambda *_, **__: [[1, "run", 40.0]])
    more = {"event": "september", "person": "fay", "course": "harbour-yard", "car_file": "marigold"}
    asked = LogCheckAsked(**{**send(client).json(), **more})
    desk = Desk(place=place, job="log-check-gone", tell=lambda *_: None, show=lambda _: None)
    assert debrief_work.log_check(asked, desk)["next"] is None
    with jobs_of(place) as jobs:
        assert jobs.every("debrief") == ()


def test_another_file_of_the_same_name_is_another_recording_and_the_same_file_is_the_same(client, desk):
    assert check(desk, send(client).json())["log"] == "run"
    assert check(desk, send(client, CLEAR + b"60.0,30,51.00600,4.0\n").json())["log"] == "run-2"
    assert check(desk, send(client).json())["log"] == "run"


def test_where_antenna_and_sensor_sit_is_kept_with_the_recording(client, desk, place):
    def arms():
        with place.opened(create=False) as book:
            return kept_log(book, "run").arms

    check(desk, send(client).json(), antenna="0,6; -0,3")
    assert arms() == Arms(antenna=(0.6, -0.3))
    check(desk, send(client).json())  # the same file once more, and nothing said
    assert arms() == Arms(antenna=(0.6, -0.3))
    check(desk, send(client).json(), antenna="0.5 m, 0 m", sensor="\u22120.1 0")
    assert arms() == Arms(antenna=(0.5, 0.0), sensor=(-0.1, 0.0))
    check(desk, send(client).json(), antenna="0.7, 0")  # one of them alone: the other stays
    assert arms() == Arms(antenna=(0.7, 0.0), sensor=(-0.1, 0.0))
    check(desk, send(client).json(), sensor="0.2, 0.1")
    assert arms() == Arms(antenna=(0.7, 0.0), sensor=(0.2, 0.1))


@pytest.mark.parametrize("told", ["0.6", "left", "0.6, -0.3, 1", "9, 0", "0.6, x", "0.6 ft, 1 ft"])
def test_a_place_that_is_in_no_car_is_refused_at_once(client, told):
    question = send(client).json() | {"sensor": told}
    answer = client.post("/api/jobs", json={"kind": "log-check", "question": question}, headers=ORIGIN)
    assert (answer.status_code, answer.json()["code"], answer.json()["where"]) == (422, "arm", "sensor")


def test_columns_that_are_unsure_are_asked_for_and_the_file_waits(client, desk, settings, monkeypatch, tmp_path):
    monkeypatch.setattr("conewise.workflows.logs.answers_folder", lambda: tmp_path / "answers")
    sent = send(client, UNCLEAR).json()
    questions = check(desk, sent)["questions"]
    assert {one["column"] for one in questions} >= {"a"}
    assert all(one["guesses"] and len(one["values"]) <= 5 for one in questions)
    assert list((settings.book / "incoming").rglob("?" * 64))
    keep_job(settings.book, "log-check", LogCheckAsked(**sent).model_dump(mode="json"), {"questions": questions})
    page = client.get("/debrief" + DEE).text
    assert 'data-asks="log-check-done"' in page
    said = tuple(
        f"{one['column']}={'time:s' if one['column'] == 'a' else 'speed:km/h' if one['column'] == 'b' else 'ignore'}"
        for one in questions
    )
    assert check(desk, sent, columns=said)["log"] == "run"
    assert 'data-asks="log-check-done"' not in client.get("/debrief" + DEE).text


def test_a_file_that_is_gone_is_said(desk):
    with pytest.raises(Exception, match="no longer there"):
        check(desk, {"sent": "0" * 64, "name": "run.csv", "sent_at": "now"})


def test_work_that_ended_after_the_recording_was_kept_finds_it_when_it_goes_on(client, desk, place):
    sent = send(client).json()
    first = check(desk, sent)
    assert not list((place.folder / "incoming").glob("??/*"))
    again = check(desk, sent)
    assert again["log"] == first["log"]
    assert again["summary"]["duration_s"] == first["summary"]["duration_s"]


def test_what_a_killed_server_half_wrote_is_let_go_after_a_while(client, place):
    send(client)
    [folder] = (place.folder / "incoming").glob("??")
    new, old = folder / ".being-written-new", folder / ".being-written-old"
    for path, age in ((new, timedelta(minutes=5)), (old, timedelta(hours=2))):
        path.write_bytes(b"half")
        moment = (web_app.clock() - age).timestamp()
        os.utime(path, (moment, moment))
    send(client)
    assert (new.exists(), old.exists()) == (True, False)


def test_the_answer_is_the_largest_and_the_rest_is_closed(client, settings):
    answer = told_debrief()
    job = keep_job(settings.book, "debrief", DEBRIEF, debrief_result(answer))
    page = client.get("/debrief" + DEE).text
    assert f'<h1 class="focus-text">{answer.focuses[0].advice}</h1>' in page
    also = page[page.index('<details class="fold also"') :].split("</details>")[0]
    assert "open" not in also.split(">")[0]
    assert answer.focuses[1].advice in also
    assert f"/debrief/sheet/{job}.pdf" in page


def test_a_place_without_a_cause_is_the_largest_and_an_answer_from_before_has_none(client, settings):
    answer = reduced_debrief()
    result = debrief_result(answer)
    keep_job(settings.book, "debrief", DEBRIEF, result, job_id="now")
    page = client.get("/debrief" + DEE).text
    assert f'<h1 class="focus-text">Look at {answer.where.feature}: time is lost there' in page
    assert "0.41 s are lost there, for its length 0.27 s more" in page
    assert "place to work on" in page
    del result["screen"]["where"]
    keep_job(settings.book, "debrief", DEBRIEF, result, job_id="before")
    before = client.get("/debrief" + DEE + "&job=before").text
    assert '<h1 class="focus-text">Nothing stands out' in before


def test_another_driver_does_not_see_it_and_everybody_does(client, settings):
    keep_job(settings.book, "debrief", DEBRIEF, debrief_result(told_debrief()))
    advice = told_debrief().focuses[0].advice
    assert advice not in client.get("/debrief?event=september&driver=fay").text
    assert advice in client.get("/debrief?event=september").text


def test_two_runs_are_shown_without_a_cause(client, settings):
    asked = CompareAsked(log="harbour-yard-evening", against="x", course="harbour-yard", car_file="marigold")
    keep_job(settings.book, "compare", asked.model_dump(mode="json"), debrief_result(compared_runs()))
    page = client.get("/debrief" + DEE).text
    assert "run 4 of the evening" in page
    assert "cannot tell" not in page


def test_decimals_are_the_readers(client, settings):
    keep_job(settings.book, "debrief", DEBRIEF, debrief_result(told_debrief()))
    client.cookies.set("conewise-decimal", "comma")
    page = client.get("/debrief" + DEE).text
    assert "Friction 1,00" in page or "Friction 0," in page


def test_the_sheet_is_a_file(client, settings):
    job = keep_job(settings.book, "debrief", DEBRIEF, debrief_result(told_debrief()))
    for paper in ("a4", "letter"):
        sheet = client.get(f"/debrief/sheet/{job}.pdf", params={"paper": paper})
        assert sheet.headers["content-type"] == "application/pdf"
        assert sheet.content.startswith(b"%PDF")
    assert client.get(f"/debrief/sheet/{job}.pdf?paper=a0").status_code == 422
    assert client.get("/debrief/sheet/nothing.pdf").status_code == 404


def test_a_debrief_is_kept_with_its_run_and_what_it_asks_is_answered(desk, place, monkeypatch):
    answer = told_debrief()
    seen = []

    def answered(question, *, progress, first):
        seen.append(question)
        first(answer.told)
        return answer

    monkeypatch.setattr("conewise.workflows.debrief.answer_debrief", answered)
    asked = DebriefAsked(**{**DEBRIEF, "kept_run": "september-dee-2", "hit": ["a4"], "system": "us"})
    found = debrief_work.debrief(asked, desk)
    assert (found["kept"]["run"], found["kept"]["order"], found["kept"]["person"]) == ("september-dee-2", 2, "dee")
    assert (seen[0].hit, seen[0].system) == (frozenset({"a4"}), "us")
    with opened(place.folder, now=place.now) as book:
        run = book.one(Run, "september-dee-2").record
    assert [loss.feature for loss in run.losses] == [gap.id for gap in answer.breakdown.features]
    unknown = debrief_work.debrief(DebriefAsked(**DEBRIEF), desk)
    assert unknown["kept"]["run"] is None or unknown["kept"]["run"].startswith("september-dee")


def test_times_alone_ask_what_they_have(client):
    page = client.get("/debrief" + DEE).text
    assert 'id="by-times"' in page
    asked = TimesAsked(event="september", person="dee", course="harbour-yard", car_file="marigold", times=("47.3+1",))
    assert asked.times == ("47.3+1",)


def test_what_waits_has_its_place(client, place):
    with jobs_of(place, create=False) as jobs:
        for k, kind in enumerate(("line", "debrief", "debrief")):
            jobs.submit(f"{kind}-{k}", kind, {"question": DEBRIEF | {"run": k + 1}}, asker=Asker())
        jobs.take("line")
    page = client.get("/debrief" + DEE).text
    assert page.index('data-job="debrief-1"') < page.index('data-job="debrief-2"')
    assert "Place 2" in page
    assert "Place 3" in page


def test_without_a_book_the_start_page_helps(empty):
    assert empty.get("/debrief").headers["location"] == "/"


def test_the_recording_of_the_demo_is_listed(client):
    page = client.get("/debrief" + DEE).text
    assert "harbour-yard-evening.csv" in page
    assert Path("harbour-yard-evening.csv").stem in page

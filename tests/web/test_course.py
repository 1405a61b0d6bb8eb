"""Courses over the web: what is drawn, what is kept, what is refused."""

from __future__ import annotations

import json
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack

import pytest

from conewise.course.layout import Course
from conewise.course.rules import RulesValueError
from conewise.store.texts import RulesText
from conewise.workflows import course_book
from conewise.workflows.book_place import opened
from conewise.workflows.course_book import as_file
from tests.web_app import client_of

HTML = {"accept": "text/html"}
ORIGIN = {"origin": "http://127.0.0.1"}
ID = "harbour-yard"


@pytest.fixture
def record(client):
    return client.get(f"/api/courses/{ID}").json()


def test_the_list_has_every_course_of_the_book(client):
    found = client.get("/api/courses").json()["courses"]
    assert ID in {one["id"] for one in found}
    one = next(one for one in found if one["id"] == ID)
    assert (one["standing_cones"], one["pointer_cones"], one["features"], one["problem"]) == (43, 5, 14, "")
    assert one["events"]
    page = client.get("/prepare/courses", headers=HTML).text
    assert "Harbour Yard, long slaloms" in page


def test_without_a_book_the_list_is_empty_and_a_course_can_begin(empty):
    assert empty.get("/api/courses").json() == {"courses": []}
    assert empty.get("/prepare/courses", headers=HTML).status_code == 200
    begun = empty.post("/prepare/courses", data={"name": "Back lot"}, headers=HTML | ORIGIN)
    assert (begun.status_code, begun.headers["location"]) == (303, "/prepare/courses/back-lot/draw")
    assert [one["kind"] for one in empty.get("/api/courses/back-lot").json()["entries"]] == [
        "start",
        "slalom",
        "finish",
    ]


def test_a_drawing_is_told_in_words_with_its_path_and_its_findings(client, record):
    drawn = client.post("/api/course/drawn", json={"course": record["course"]}).json()
    assert drawn == {key: value for key, value in record.items() if key not in {"id", "version"}}
    assert drawn["entries"][1]["words"] == "slalom of 6 cones, 16.0 m apart, first cone to your right"
    assert drawn["length_m"] == pytest.approx(534, abs=1)
    assert drawn["path_m"][0] == pytest.approx([44, 22], abs=0.1)


def test_a_finding_names_the_cone_it_concerns(client, record):
    course = record["course"]
    a, b = (record["entries"][1]["cones"][k] for k in (1, 2))
    second = next(cone for cone in course["cones"] if cone["id"] == b)
    second["x"] -= 6.0
    drawn = client.post("/api/course/drawn", json={"course": course}).json()
    (tight,) = (one for one in drawn["findings"] if one["code"] == "slalom-tight")
    assert tight["entries"] == ["slalom 1"]
    assert tight["cones"] == [a, b]


def test_an_act_changes_the_drawing_and_nothing_in_the_book(client, record):
    act = {"kind": "add", "entry": "slalom 1", "words": "gate 6 m wide after 30 m", "follow": False}
    changed = client.post("/api/course/changed", json={"course": record["course"], "change": act}).json()
    assert [one["id"] for one in changed["entries"]][2] == "gate 1"
    assert len(changed["course"]["cones"]) == 50
    assert client.get(f"/api/courses/{ID}").json() == record


@pytest.mark.parametrize(
    ("act", "code"),
    [
        ({"kind": "remove", "entry": "nothing"}, "entry-unknown"),
        ({"kind": "add", "entry": "slalom 1", "words": "a slalom"}, "walk-note"),
        ({"kind": "add", "entry": "finish", "words": "gate after 3 m"}, "act-refused"),
        ({"kind": "paint", "entry": "finish"}, "request"),
        ({"kind": "place", "entry": "slalom 1", "turn": 1e9}, "request"),
    ],
)
def test_an_act_that_cannot_be_is_refused_in_words(client, record, act, code):
    answer = client.post("/api/course/changed", json={"course": record["course"], "change": act})
    assert (answer.status_code, answer.json()["code"]) == (422, code)
    assert answer.json()["hint"]


def test_a_course_that_contradicts_itself_is_refused_in_words(client, record):
    course = record["course"]
    course["features"].pop(0)
    answer = client.post("/api/course/drawn", json={"course": course})
    assert (answer.status_code, answer.json()["code"]) == (422, "course-order")


def test_notes_are_drawn_as_far_as_they_are_understood(client):
    asked = {"name": "Lot", "notes": "start\nslalom 5 cones every 18 m first to your left after 20 m\nslal"}
    drawn = client.post("/api/course/typed", json=asked).json()
    assert [one["kind"] for one in drawn["entries"]] == ["start", "slalom", "finish"]
    assert [one["line"] for one in drawn["problems"]] == [3]
    assert not drawn["is_complete"]
    whole = asked | {"notes": asked["notes"].removesuffix("slal") + "finish after 20 paces"}
    drawn = client.post("/api/course/typed", json=whole | {"pace": "0.75 m"}).json()
    assert (drawn["problems"], drawn["is_complete"]) == ([], True)
    assert drawn["length_m"] == pytest.approx(20 + 4 * 18 + 20 * 0.75, rel=0.02)  # the path weaves
    nothing = client.post("/api/course/typed", json=asked | {"notes": "hello"})
    assert (nothing.status_code, nothing.json()["code"]) == (422, "notes-empty")


def test_a_new_version_is_kept_and_a_stale_one_is_a_conflict(client, record):
    course = record["course"] | {"name": "Harbour Yard, changed"}
    saved = client.put(f"/api/courses/{ID}", json={"course": course, "version": record["version"]})
    assert saved.json() == {"id": ID, "version": record["version"] + 1}
    stale = client.put(f"/api/courses/{ID}", json={"course": record["course"], "version": record["version"]})
    assert (stale.status_code, stale.json()["code"]) == (409, "record-changed")
    assert client.get(f"/api/courses/{ID}").json()["course"]["name"] == "Harbour Yard, changed"
    anew = client.post("/api/courses", json={"course": record["course"]})
    assert (anew.status_code, anew.json()["id"]) == (201, "harbour-yard-long-slaloms")


def test_two_who_save_at_once_lose_nothing(settings, record):
    with ExitStack() as stack:
        clients = [stack.enter_context(client_of(settings)) for _ in range(4)]
        for one in clients:  # the framework makes its tables with the first request, and not from several threads
            one.get("/api/courses")

        def save(number):
            asked = {"course": record["course"] | {"name": f"By {number}"}, "version": record["version"]}
            return clients[number].put(f"/api/courses/{ID}", json=asked).status_code

        with ThreadPoolExecutor(4) as pool:
            assert sorted(pool.map(save, range(4))) == [200, 409, 409, 409]


@pytest.mark.parametrize("kind", ["toml", "csv", "geojson", "svg"])
def test_a_course_goes_out_and_comes_back(client, record, kind, tmp_path):
    answer = client.get(f"/prepare/courses/{ID}/file/{kind}")
    assert answer.status_code == 200
    assert answer.headers["content-disposition"] == f"attachment; filename*=UTF-8''{ID}.{kind}"
    if kind == "svg":
        assert answer.text.startswith("<svg")
        return
    files = {"file": (f"copy.{kind}", answer.content)}
    taken = client.post("/prepare/courses/file", files=files, headers=HTML | ORIGIN)
    assert taken.status_code == 303
    copy = client.get(taken.headers["location"].replace("/prepare/", "/api/")).json()
    assert [one["words"] for one in copy["entries"]] == [one["words"] for one in record["entries"]]


def test_waypoints_come_in(client):
    words = ("start left", "start right", "finish left", "finish right")
    body = "".join(
        f'<wpt lat="{51 - 5e-5 * (k % 2):.6f}" lon="{7 + 9e-4 * (k // 2):.6f}"><name>p{k}</name><cmt>{said}</cmt></wpt>'
        for k, said in enumerate(words)
    )
    text = f'<gpx version="1.1" creator="by hand" xmlns="http://www.topografix.com/GPX/1/1">{body}</gpx>'
    taken = client.post("/prepare/courses/file", files={"file": ("lot.gpx", text.encode())}, headers=HTML | ORIGIN)
    assert taken.headers["location"] == "/prepare/courses/lot"


@pytest.mark.parametrize(
    ("name", "content", "code"),
    [
        ("course.exe", b"MZ", "course-file"),
        ("course.toml", b"", "course-file"),
        ("course.toml", b"\xff\xfe\x00", "course-file"),
        ("course.toml", b"name = 3", "course-field"),
        ("../../etc/passwd", b"root", "course-file"),
        ("course.gpx", b"<gpx>", "gpx"),
    ],
)
def test_a_file_that_is_no_course_is_refused_in_words(client, name, content, code):
    answer = client.post("/prepare/courses/file", files={"file": (name, content)}, headers=ORIGIN)
    assert (answer.status_code, answer.json()["code"]) == (422, code)


@pytest.mark.parametrize(
    ("files", "words"),
    [
        ({"file": ("", b"")}, "No file is chosen yet."),
        ({"file": ("x.toml", b"")}, "is empty"),
        (
            {"file": ("x.toml", b'kind = "coupe"\n[mass]\n')},
            "This is a car file, not a course file: it has kind, [mass].",
        ),
    ],
)
def test_why_a_file_was_not_taken_stands_beside_the_field(client, files, words):
    answer = client.post("/prepare/courses/file", files=files, headers=HTML | ORIGIN)
    assert answer.status_code == 422
    told = answer.text.split('<form class="fields" id="file-form"')[1].split("</form>")[0]
    assert words in told.split('id="file-problem">')[1]
    assert 'aria-describedby="file-problem"' in told
    assert "courses in the book" in answer.text


def test_a_course_file_that_is_too_large_is_refused_beside_the_field(client):
    files = {"file": ("x.csv", b"#" * (course_book.MOST_BYTES + 1))}
    answer = client.post("/prepare/courses/file", files=files, headers=HTML | ORIGIN)
    assert answer.status_code == 422
    assert "has more than 5 MB" in answer.text.split('id="file-problem">')[1]


def test_a_course_file_of_two_megabytes_is_taken(client, record):
    text = client.get("/prepare/courses/harbour-yard/file/toml").content
    files = {"file": ("long.toml", text + b"#\n" * 1_000_000)}
    assert client.post("/prepare/courses/file", files=files, headers=HTML | ORIGIN).status_code == 303


def test_a_rule_set_is_never_a_file_of_this_computer(client, record, tmp_path):
    secret = tmp_path / "secret.toml"
    secret.write_text("hidden = 1", encoding="utf-8")
    drawn = client.post("/api/course/drawn", json={"course": record["course"] | {"rules": str(secret)}}).json()
    assert drawn["findings"][0]["code"] == "rules-unknown"
    assert "hidden" not in json.dumps(drawn)


def test_a_kept_rule_set_that_cannot_be_used_is_said_and_the_usual_one_holds(client, record, settings, monkeypatch):
    """Such as one that was kept when more of the deceleration could still be counted on."""

    def refused(_text):
        raise RulesValueError("'stop_share' is 0.8; it may be 0.5 at the most.", where="stop_share")

    with opened(settings.book, now=settings.now) as book:
        rules = book.every(RulesText)[0].id
    monkeypatch.setattr(course_book, "rules_of", refused)
    drawn = client.post("/api/course/drawn", json={"course": record["course"] | {"rules": rules}}).json()
    assert drawn["findings"][0]["code"] == "rules-unknown"
    assert "cannot be used" in drawn["findings"][0]["message"]


def test_units_are_those_of_the_reader(client, record):
    client.cookies.set("conewise-units", "us")
    drawn = client.get(f"/api/courses/{ID}").json()
    assert drawn["entries"][1]["words"] == "slalom of 6 cones, 52.5 ft apart, first cone to your right"
    assert all("km/h" not in one["message"] and " m " not in one["message"] for one in drawn["findings"])
    assert any("mph" in one["message"] for one in drawn["findings"])
    assert drawn["length_m"] == record["length_m"]


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_what_is_found_is_a_note_for_the_official(client, paper):
    page = client.get(f"/prepare/courses/{ID}", headers={"accept": "text/html"}).text
    assert f'href="/prepare/courses/{ID}/safety.pdf"' in page
    made = client.get(f"/prepare/courses/{ID}/safety.pdf?paper={paper}")
    assert (made.status_code, made.headers["content-type"]) == (200, "application/pdf")
    assert made.content.startswith(b"%PDF")
    assert client.get(f"/prepare/courses/{ID}/safety.pdf?paper=a0").status_code == 422


def test_the_note_of_a_line_has_the_speeds_of_its_car(client, monkeypatch):
    """The line's page links the note with its car; without one it says that none was named."""
    page = client.get(f"/walk/line?course={ID}&with_car=pepper", headers=HTML).text
    assert f'/prepare/courses/{ID}/safety.pdf?with_car=pepper"' in page
    told = []
    monkeypatch.setattr("conewise.reports.documents.pdf", lambda _name, data, **_more: told.append(data) or b"%PDF")
    assert client.get(f"/prepare/courses/{ID}/safety.pdf?with_car=pepper").status_code == 200
    assert client.get(f"/prepare/courses/{ID}/safety.pdf").status_code == 200
    assert "Speeds of: pepper." in told[0]["sentence"]
    assert "No car was named" in told[1]["sentence"]
    assert "predicted speed" in str(told[0]["groups"])
    assert "estimated for a quick car" in str(told[1]["groups"])
    assert client.get(f"/prepare/courses/{ID}/safety.pdf?with_car=nowhere").status_code == 404


def test_pages_count_cones_as_the_command_does(client):
    assert "43 standing cones, pointers: 5" in client.get(f"/prepare/courses/{ID}", headers=HTML).text
    assert "43 standing cones, pointers: 5" in client.get("/prepare/courses", headers=HTML).text


def test_unknown_courses_and_formats_are_said(client):
    assert client.get("/api/courses/nowhere").json()["code"] == "no-such-record"
    assert client.get("/prepare/courses/nowhere", headers=HTML).status_code == 404
    assert client.get(f"/prepare/courses/{ID}/file/exe").json()["code"] == "course-format"


def test_the_line_of_a_drawing_follows_a_cone(client, record):
    """A slalom that is opened by half a metre is faster: the car swings less."""
    asked = {"drawing": "a", "number": 1, "course": record["course"], "car": "marigold"}
    first = client.post("/api/course/line", json=asked).json()
    assert first["level"] == "quasi-steady"
    assert first["time_s"] == pytest.approx(35.6, abs=0.5)
    third = record["entries"][1]["cones"][2]
    cone = next(one for one in record["course"]["cones"] if one["id"] == third)
    sides = {p["cone"]: p["pass_side"] for f in record["course"]["features"] for c in f["crossings"] for p in c}
    cone["y"] += -0.5 if sides[third] == "left" else 0.5  # away from the car
    moved = client.post("/api/course/line", json=asked | {"number": 2, "is_dragged": True}).json()
    assert moved["time_s"] < first["time_s"] - 0.01
    late = client.post("/api/course/line", json=asked)
    assert (late.status_code, late.json()["code"]) == (409, "superseded")


def test_files_say_what_they_leave_out(record):
    course = Course.model_validate(record["course"])
    assert as_file(course, "x", "csv").omitted[:1] == ("name",)
    assert as_file(course, "x", "toml").omitted == ()

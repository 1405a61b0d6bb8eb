"""Who is let in, what each role may ask, and what never goes over the network."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from conewise.event.people import EmergencyContact, Guardian, Licence, Person
from conewise.event.runs import Run
from conewise.web.app import ROUTERS, create_app
from conewise.web.pairing import GOOD_FOR, TRIES, TRIES_OF_ALL, Pairings, TooManyTriesError, code_address, code_picture
from conewise.web.server import running
from conewise.workflows.book_place import opened
from tests.web_app import client_of

ORIGIN = "http://192.0.2.1:8460"  # RFC 5737: addresses for documents
HTML = {"accept": "text/html"}
SECRETS = {
    "medical": "bee-stings-9071", "contact": "Zed Contact-9071", "guardian": "Yon Guardian-9071", "licence": "LIC-9071",
}  # fmt: skip


@pytest.fixture
def settings(settings):
    """In a network, over the demo book; one person has private details."""
    now = settings.now
    with opened(settings.book, now=now) as book:
        kept = book.one(Person, "robin")
        private = kept.record.changed(
            medical=SECRETS["medical"],
            emergency=EmergencyContact(name=SECRETS["contact"], phone="555-9071"),
            guardian=Guardian(name=SECRETS["guardian"], phone="555-9071"),
            licence=Licence(number=SECRETS["licence"]),
        )
        book.change(private, version=kept.version)
    return replace(settings, origin=ORIGIN, hosts=(*settings.hosts, "192.0.2.1"))


@pytest.fixture
def app(settings):
    return create_app(settings)


@pytest.fixture
def laptop(app, settings):
    return client_of(settings, app=app)


@pytest.fixture
def device(app, settings):
    """A function that makes a device in the network, not let in yet."""

    def make(address="192.0.2.7"):
        return client_of(settings, app=app, address=ORIGIN, client=address)

    return make


@pytest.fixture
def let_in(app, device):
    """A function that makes a device of a role."""

    def make(role, person="", address="192.0.2.7"):
        made = device(address)
        code = app.state.pairings.offer(role, person)
        told = made.post("/api/pair", json={"code": code, "device": f"the {role}'s"})
        assert told.status_code == 200, told.text
        return made

    return make


def test_a_device_that_is_not_let_in_gets_the_way_in_and_nothing_else(device):
    stranger = device()
    for path in ("/", "/drive/runs", "/phones", "/nothing", "/help"):
        answer = stranger.get(path, headers=HTML)
        assert (answer.status_code, answer.headers["location"]) == (303, "/pair")
    for path in ("/api/jobs", "/api/description", "/api/who", "/api/events/september/run-list"):
        assert stranger.get(path).status_code == 401
    assert stranger.post("/api/jobs", json={}).json()["code"] == "not-let-in"
    page = stranger.get("/pair", headers=HTML)
    assert page.status_code == 200
    assert "Three Valleys" not in page.text
    assert stranger.get(re.search(r'href="(/static/[^"]+)"', page.text)[1]).status_code == 200


@pytest.mark.parametrize(
    ("client", "host"),
    [("192.0.2.7", "localhost:8460"), ("192.0.2.7", "127.0.0.1:8460"), ("127.0.0.1", "192.0.2.1:8460")],
)
def test_only_a_browser_on_the_laptop_by_its_own_names_is_the_laptop(app, settings, client, host):
    asking = client_of(settings, app=app, client=client)
    assert asking.get("/api/who", headers={"host": host}).status_code == 401
    assert client_of(settings, app=app).get("/api/who").json()["is_laptop"] is True


def test_a_code_lets_one_device_in_once(app, device, laptop):
    code = app.state.pairings.offer("driver", "ben")
    first = device()
    told = first.post("/api/pair", json={"code": code, "device": "  blue \n phone "})
    assert told.json() == {"role": "driver", "person": "ben", "to": "/"}
    cookie = told.headers["set-cookie"]
    assert re.match(r"conewise-session-8460=[\w-]{43}; HttpOnly; Max-Age=259200; Path=/; SameSite=strict$", cookie)
    assert first.get("/api/who").json() == {
        "role": "driver", "person": "ben", "device": "blue phone", "is_laptop": False,
    }  # fmt: skip
    again = device("192.0.2.8").post("/api/pair", json={"code": code})
    assert (again.status_code, again.json()["code"]) == (403, "pairing-code")
    assert "set-cookie" not in again.headers
    assert "1 device is let in." in laptop.get("/phones", headers=HTML).text


def test_a_code_is_good_for_minutes():
    moment = [datetime(2026, 5, 1, tzinfo=UTC)]
    pairings = Pairings(lambda: moment[0])
    code = pairings.offer("mentor")
    moment[0] += GOOD_FOR
    assert timedelta(0) < GOOD_FOR <= timedelta(minutes=10)  # ASVS 5.0, 6.5.5
    with pytest.raises(Exception, match="not good"):
        pairings.take(code, address="a")


def test_codes_are_long_and_differ():
    pairings = Pairings(lambda: datetime.now(UTC))
    codes = {pairings.offer("mentor") for _ in range(50)}
    assert len(codes) == 50
    assert all(re.fullmatch(r"[\w-]{22}", code) for code in codes)  # 128 random bits


def test_guessing_is_slowed_down(app, device):
    code = app.state.pairings.offer("mentor")
    guessing = device("192.0.2.66")
    answers = [guessing.post("/api/pair", json={"code": f"guess-{n}"}).status_code for n in range(TRIES + 2)]
    assert answers == [403] * TRIES + [429, 429]
    assert guessing.post("/api/pair", json={"code": code}).status_code == 429  # not even a good one
    assert device("192.0.2.9").post("/api/pair", json={"code": code}).status_code == 200


def test_guessing_from_many_addresses_is_slowed_down():
    pairings = Pairings(lambda: datetime(2026, 5, 1, tzinfo=UTC))
    for number in range(TRIES_OF_ALL):
        with pytest.raises(Exception, match="not good"):
            pairings.take("guess", address=f"address {number}")
    with pytest.raises(TooManyTriesError):
        pairings.take("guess", address="another")


def test_the_code_stands_where_no_server_sees_it(laptop):
    page = laptop.post("/phones", data={"role": "recorder"}, headers=HTML | {"origin": "http://127.0.0.1"})
    assert page.status_code == 200
    assert "<svg" in page.text
    assert code_address(ORIGIN, "x") == f"{ORIGIN}/pair#x"
    assert " style=" not in code_picture(code_address(ORIGIN, "x"))
    assert page.headers["cache-control"] == "no-store"


def test_a_driver_s_phone_needs_a_driver(laptop):
    page = laptop.post("/phones", data={"role": "driver"}, headers=HTML | {"origin": "http://127.0.0.1"})
    assert page.status_code == 422
    assert "Choose whose phone it is." in page.text


def test_a_device_is_shown_out_at_once(laptop, let_in):
    first, second = let_in("recorder"), let_in("mentor", address="192.0.2.8")
    page = laptop.get("/phones", headers=HTML).text
    [mentors, recorders] = re.findall(r'name="session" value="(\w{64})"', page)
    laptop.post("/phones/out", data={"session": recorders}, headers={"origin": "http://127.0.0.1"})
    assert first.get("/api/who").status_code == 401
    assert second.get("/api/who").status_code == 200
    laptop.post("/phones/out", headers={"origin": "http://127.0.0.1"})
    assert second.get("/api/who").status_code == 401
    assert mentors != recorders


def test_a_device_can_leave(let_in):
    phone = let_in("driver", "ana")
    [secret] = [cookie.value for cookie in phone.cookies.jar if cookie.name == "conewise-session-8460"]
    answer = phone.post("/leave", headers={"origin": ORIGIN})
    assert (answer.status_code, answer.headers["location"]) == (303, "/pair")
    assert phone.get("/api/who").status_code == 401
    phone.cookies.set("conewise-session-8460", secret)
    assert phone.get("/api/who").status_code == 401  # the server has forgotten it too


def test_a_session_outlives_the_server_and_a_code_does_not(settings, app, let_in):
    phone = let_in("recorder")
    code = app.state.pairings.offer("mentor")
    restarted = client_of(settings, app=create_app(settings), address=ORIGIN, client="192.0.2.7")
    restarted.cookies = phone.cookies
    assert restarted.get("/api/who").json()["role"] == "recorder"
    assert restarted.post("/api/pair", json={"code": code}).status_code == 403


def test_a_made_up_cookie_is_nobody(device):
    stranger = device()
    for secret in ("", "x", "../book", "a" * 5000, "'; DROP TABLE web_session; --"):
        stranger.cookies.set("conewise-session-8460", secret)
        assert stranger.get("/api/who").status_code == 401


# What the small roles may ask, written out: everything else is refused.
RECORDER = {
    "GET /drive/runs", "GET /field", "GET /api/events/{event}/field",
    "GET /api/events/{event}/run-list", "POST /api/events/{event}/runs",
    "POST /api/events/{event}/runs/{run}/taken-back", "POST /api/events/{event}/runs/{run}/corrections",
}  # fmt: skip
EVERYBODY = {
    "GET /choices", "POST /choices", "GET /help", "GET /help/{name:path}", "GET /help/pictures/{name}", "POST /leave",
    "GET /api/who", "GET /static/{of}/{path:path}", "GET /pair", "POST /api/pair",
}  # fmt: skip
LAPTOP = {"GET /phones", "POST /phones", "POST /phones/out", "POST /book", "GET /first", "POST /first"}
EXAMPLES = {
    "event": "september", "driver": "ana", "person": "ana", "car": "pepper", "course": "harbour-yard", "name": "guide",
    "of": "x", "path": "x", "name:path": "guide", "path:path": "x", "run": "none", "job_id": "none",
}  # fmt: skip


def routes():
    """Every route as "METHOD path", with an example path."""
    yield "GET /api/description", "GET", "/api/description"
    for route in (route for router in ROUTERS for route in router.routes):
        for method in sorted(route.methods - {"HEAD", "OPTIONS"}):
            path = re.sub(r"\{([^}]+)\}", lambda part: EXAMPLES.get(part[1], "none"), route.path)
            yield f"{method} {route.path}", method, path


def refused(answer):
    """Whether an answer says that this may not be asked."""
    location = answer.headers.get("location", "")
    is_json = answer.headers.get("content-type", "").startswith("application/json")
    code = answer.json().get("code", "") if is_json and isinstance(answer.json(), dict) else ""
    return (answer.status_code in (401, 403) and code in ("not-let-in", "not-allowed")) or location == "/pair"


def asked(client, method, path):
    return client.request(method, path, headers={"origin": ORIGIN}, json={} if method == "POST" else None)


def test_the_recorder_may_write_runs_down_and_nothing_else(let_in):
    recorder = let_in("recorder")
    every = list(routes())
    assert len(every) > 40
    open_to = {
        name for name, method, path in every if name != "POST /leave" and not refused(asked(recorder, method, path))
    }
    assert open_to | {"POST /leave"} == RECORDER | EVERYBODY


def test_nobody_but_the_laptop_lets_others_in_or_changes_the_book_that_is_shown(let_in):
    mentor = let_in("mentor")
    every = {name: (method, path) for name, method, path in routes()}
    assert set(every) >= LAPTOP
    for name in LAPTOP:
        assert refused(asked(mentor, *every[name])), name
    assert not refused(asked(mentor, "GET", "/"))
    assert 'href="/emergency' not in mentor.get("/", headers=HTML).text
    assert mentor.get("/emergency").status_code == 403


def test_a_driver_sees_what_is_that_driver_s_own(let_in):
    ana = let_in("driver", "ana")
    page = ana.get("/?driver=bo", headers=HTML).text
    assert "Three Valleys, September · Ana Brook" in page
    assert "Bo Carver" not in page
    assert ana.get("/api/events/september/drivers/ana").status_code == 200
    assert ana.get("/api/events/september/drivers/bo").status_code == 403
    for path in ("/prepare/ready", "/drive/overview", "/drive/runs", "/jobs", "/api/jobs", "/prepare"):
        assert ana.get(path).status_code == 403
    assert ana.post("/api/events/september/runs", json={}, headers={"origin": ORIGIN}).status_code == 403
    assert 'href="/prepare' not in page
    assert 'href="/walk' in page


def work_of(client, kind, question):
    return client.post(
        "/api/jobs", json={"kind": kind, "question": question, "slot": "line"}, headers={"origin": ORIGIN}
    )


LINE = {"course": "harbour-yard", "car": "boulder"}
LOG = {"sent": "0" * 64, "name": "a.csv", "sent_at": "now"}
RUN = {"log": "harbour-yard-evening", "course": "harbour-yard", "car_file": "marigold"}  # recorded by dee in marigold
TIMES = {"event": "september", "course": "harbour-yard", "times": ["48.1"]}


@pytest.fixture
def nobody_works(monkeypatch):
    """Jobs wait."""
    monkeypatch.setattr("conewise.web.workshop.Workshop.open", lambda *_: None)


@pytest.mark.parametrize(
    ("kind", "question"),
    [
        ("line", LINE | {"car": "marigold"}),  # another driver's car
        ("line", LINE | {"course": "evening-walk"}),  # no event of hers is there
        ("line", LINE | {"driver": "hurried"}),  # how somebody else drives
        ("paces", LINE | {"car": "marigold"}),
        ("log-check", LOG),  # nobody's
        ("log-check", LOG | {"person": "dee"}),
        ("log-check", LOG | {"person": "ana", "car": "marigold"}),
        ("log-check", LOG | {"person": "ana", "event": "none"}),
        ("debrief", RUN),
        ("debrief", RUN | {"log": "ana-1", "car_file": "boulder", "kept_run": "dee-run"}),
        ("debrief", RUN | {"log": "ana-1", "car_file": "boulder", "others": ["harbour-yard-evening"]}),
        ("compare", RUN | {"log": "ana-1", "against": "harbour-yard-evening", "car_file": "boulder"}),
        ("debrief-times", TIMES | {"person": "dee", "car_file": "boulder"}),
        ("advise", {"courses": ["harbour-yard"], "car_file": "boulder"}),  # for mentors
        ("settings", {"courses": ["harbour-yard"], "car_file": "boulder"}),
    ],
)
@pytest.mark.usefixtures("nobody_works", "recorded_by_ana")
def test_a_driver_s_phone_asks_for_no_work_about_others(let_in, laptop, kind, question):
    answer = work_of(let_in("driver", "ana"), kind, question)
    assert (answer.status_code, answer.json()["code"]) == (403, "not-allowed"), answer.text
    assert laptop.get("/api/jobs").json() == []


@pytest.mark.parametrize(
    ("kind", "question"),
    [
        ("line", LINE),
        ("line", LINE | {"driver": "novice"}),
        ("paces", LINE),
        ("log-check", LOG | {"person": "ana", "event": "september", "car": "boulder", "car_file": "boulder"}),
        ("debrief", RUN | {"log": "ana-1", "car_file": "boulder"}),
        ("compare", RUN | {"log": "ana-1", "against": "ana-1", "car_file": "boulder"}),
        ("debrief-times", TIMES | {"person": "ana", "car_file": "boulder"}),
    ],
)
@pytest.mark.usefixtures("nobody_works", "recorded_by_ana")
def test_a_driver_s_phone_asks_for_work_about_that_driver_follows_and_stops_it(let_in, kind, question):
    ana, bo = let_in("driver", "ana"), let_in("driver", "bo", address="192.0.2.8")
    recorder = let_in("recorder", address="192.0.2.9")
    answer = work_of(ana, kind, question)
    assert answer.status_code == 202, answer.text
    job = f"/api/jobs/{answer.json()['id']}"
    assert ana.get(job).json()["state"] == "waiting"
    for other in (bo, recorder):
        assert [other.get(job).status_code, other.get(f"{job}/events").status_code] == [403, 403]
        assert other.delete(job, headers={"origin": ORIGIN}).status_code == 403
    assert work_of(recorder, kind, question).status_code == 403
    assert ana.delete(job, headers={"origin": ORIGIN}).json()["state"] == "stopped"


@pytest.fixture
def recorded_by_ana(settings):
    """A recording of hers, and one of dee's that the demo book has."""
    from conewise.store.logs import StoredLog

    with opened(settings.book, now=settings.now) as book:
        there = book.one(StoredLog, "harbour-yard-evening").record
        book.add(there.changed(id="ana-1", name="a.csv", person="ana", car=""))


@pytest.mark.usefixtures("nobody_works")
def test_a_question_of_a_phone_stops_no_work_of_another_device(let_in, laptop):
    asked = {"kind": "line", "question": {"course": "old-mill-airfield", "car": "marigold"}, "slot": "line"}
    first = laptop.post("/api/jobs", json=asked, headers={"origin": "http://127.0.0.1"}).json()["id"]
    work_of(let_in("driver", "ana"), "line", LINE)
    assert laptop.get(f"/api/jobs/{first}").json()["state"] == "waiting"


@pytest.mark.usefixtures("nobody_works")
def test_a_phone_that_asks_what_the_laptop_asked_does_not_stop_it_for_the_laptop(let_in, laptop):
    home = {"origin": "http://127.0.0.1"}
    body = {"kind": "line", "question": LINE, "slot": "line-0"}
    job = laptop.post("/api/jobs", json=body, headers=home).json()["id"]
    ana, mentor = let_in("driver", "ana"), let_in("mentor", address="192.0.2.8")
    for phone in (ana, mentor):
        assert work_of(phone, "line", LINE).json()["id"] == job
    assert ana.delete(f"/api/jobs/{job}", headers={"origin": ORIGIN}).json()["state"] == "waiting"
    assert work_of(ana, "line", LINE).json()["id"] == job
    work_of(ana, "line", LINE | {"pace": 0.9})  # its next question
    assert laptop.get(f"/api/jobs/{job}").json()["state"] == "waiting"
    assert laptop.delete(f"/api/jobs/{job}", headers=home).json()["state"] == "waiting"
    refused = ana.delete(f"/api/jobs/{job}?for_all=true", headers={"origin": ORIGIN})
    assert (refused.status_code, refused.json()["code"]) == (403, "not-allowed")
    assert mentor.delete(f"/api/jobs/{job}?for_all=true", headers={"origin": ORIGIN}).json()["state"] == "stopped"
    assert work_of(ana, "line", LINE).json()["state"] == "waiting"
    assert ana.delete(f"/api/jobs/{job}", headers={"origin": ORIGIN}).json()["state"] == "stopped"  # nobody is left


@pytest.mark.usefixtures("nobody_works")
def test_a_file_that_is_somebody_else_s_recording_stays_theirs(let_in, settings):
    from conewise.store.logs import StoredLog

    with opened(settings.book, now=settings.now) as book:
        address = book.one(StoredLog, "harbour-yard-evening").record.original
    answer = work_of(let_in("driver", "ana"), "log-check", LOG | {"person": "ana", "sent": address})
    assert answer.status_code == 403


def test_the_pages_of_a_driver_s_phone_offer_that_driver_s_own(let_in):
    ana = let_in("driver", "ana")
    for path in ("/debrief", "/walk/line"):
        page = ana.get(path, headers=HTML).text
        assert "boulder" in page
        assert "marigold" not in page.lower()


def test_a_recorder_starts_where_the_runs_are(let_in):
    answer = let_in("recorder").get("/", headers=HTML)
    assert (answer.status_code, answer.headers["location"]) == (303, "/field")


@pytest.mark.parametrize(("role", "person"), [("mentor", ""), ("driver", "robin"), ("recorder", "")])
def test_private_details_never_go_over_the_network(let_in, settings, role, person):
    phone = let_in(role, person)
    n_answered = 0
    for _, method, path in routes():
        if method != "GET" or path.endswith("/events"):
            continue
        for query in ("", "?event=september&driver=robin"):
            answer = phone.get(path + query, headers=HTML)
            n_answered += answer.status_code == 200
            assert not [what for what, words in SECRETS.items() if words in answer.text], path
            assert "555-9071" not in answer.text
    assert n_answered > 5
    with opened(settings.book, now=settings.now) as book:
        assert book.one(Person, "robin").record.medical == SECRETS["medical"]


def test_the_laptop_has_the_emergency_page_and_no_device_does(laptop, let_in):
    page = laptop.get("/emergency?event=september", headers=HTML)
    assert SECRETS["contact"] in page.text
    assert SECRETS["medical"] in page.text
    assert let_in("mentor").get("/emergency?event=september").status_code == 403


def test_over_the_network_private_details_are_not_even_read(settings):
    from pathlib import Path

    from conewise.workflows.book_place import BookPlace
    from conewise.workflows.events import load_day

    place = BookPlace(book=settings.book, now=settings.now, hides_private=True)
    robin = load_day(Path("september"), source=place).day.person("robin")
    assert (robin.medical, robin.emergency) == ("", None)


def test_a_run_from_a_phone_has_the_phone_in_its_history(let_in, settings):
    recorder = let_in("recorder")
    sent = {"id": "phone-1", "driver": "ana", "run": 3, "time": "48.123"}
    told = recorder.post("/api/events/september/runs", json=sent, headers={"origin": ORIGIN})
    assert told.status_code == 200, told.text
    with opened(settings.book, now=settings.now) as book:
        [version] = book.history(Run, "phone-1")
    assert version.by == "the recorder's (recorder)"


def test_two_who_change_one_thing_are_told_and_nothing_is_lost(let_in, settings):
    first, second = let_in("recorder"), let_in("mentor", address="192.0.2.8")
    sent = {"id": "phone-1", "driver": "ana", "run": 3, "time": "48.123"}
    assert first.post("/api/events/september/runs", json=sent, headers={"origin": ORIGIN}).status_code == 200
    path = "/api/events/september/runs/phone-1/corrections"
    one = first.post(path, json={"version": 1, "time": "48.321", "reason": "misread"}, headers={"origin": ORIGIN})
    other = second.post(path, json={"version": 1, "time": "48.123+1", "reason": "cone"}, headers={"origin": ORIGIN})
    assert (one.status_code, other.status_code) == (200, 409)
    assert other.json()["hint"]
    with opened(settings.book, now=settings.now) as book:
        assert book.one(Run, "phone-1").record.raw_time == 48.321


def test_no_request_is_written_down_by_the_server(app):
    assert running(app).config.access_log is False
    assert running(app).config.proxy_headers is False


def test_each_role_takes_its_own_onto_the_lot(let_in):
    packs = {
        role: let_in(role, person).get("/api/events/september/field").json()
        for role, person in (("mentor", ""), ("driver", "ana"), ("recorder", ""))
    }
    assert packs["mentor"]["parts"] == ["walk", "card", "drill", "runs"]
    assert len(packs["mentor"]["run_cards"]) == 8
    assert list(packs["driver"]["run_cards"]) == ["ana"]
    assert packs["driver"]["list"]["runs"] == []
    assert "runs" not in packs["driver"]["parts"]
    assert (packs["recorder"]["parts"], packs["recorder"]["course"], packs["recorder"]["run_cards"]) == (
        ["runs"],
        None,
        {},
    )
    assert len(packs["recorder"]["list"]["runs"]) > 8

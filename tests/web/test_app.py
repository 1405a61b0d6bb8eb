"""What every page and every answer has."""

from __future__ import annotations

import gzip
import json
import re
from dataclasses import replace
from html import unescape

import pytest

from conewise.errors import ConflictError
from conewise.event.people import Person
from conewise.web import assets
from conewise.web.texts import catalogue
from conewise.workflows.book_place import opened
from tests.web_app import NOW, client_of

HTML = {"accept": "text/html"}
FORM = {"look": "dark", "units": "us", "decimal": "comma"}


def test_the_start_page_names_the_event_of_the_day(client):
    page = client.get("/", headers=HTML)
    assert page.status_code == 200
    assert "Three Valleys, September" in page.text
    assert "8 drivers, 5 cars" in page.text


def test_without_a_book_the_start_page_says_so_and_makes_none(empty, tmp_path):
    assert "Nothing is in the book yet." in empty.get("/", headers=HTML).text
    assert not (tmp_path / "book").exists()


def test_what_is_chosen_is_kept_in_the_address_and_in_a_cookie(client):
    page = client.get("/?event=april&driver=fay", headers=HTML)
    assert "Three Valleys, April · Fay Garland · Pepper" in page.text
    assert "event=april&amp;driver=fay&amp;car=pepper" in page.text
    assert "Three Valleys, April · Fay Garland · Pepper" in client.get("/", headers=HTML).text
    assert "Fay Garland · " not in client.get("/?event=may", headers=HTML).text


@pytest.mark.parametrize(
    "path", ["/", "/drive/runs", "/drive/results", "/field", "/debrief", "/prepare/ready", "/time"]
)
@pytest.mark.parametrize("name", ["event", "driver", "car"])
def test_what_an_address_names_and_the_book_does_not_have_is_said_and_others_are_offered(client, path, name):
    offers = {"event": ("april", "Three Valleys, April"), "driver": ("fay", "Fay Garland"), "car": ("pepper", "Pepper")}
    query = f"{name}=%3Cb%3Egone" if name == "event" else f"event=april&{name}=%3Cb%3Egone"
    answer = client.get(f"{path}?{query}", headers=HTML)
    assert answer.status_code == 404
    assert f"There is no {name} &#39;&lt;b&gt;gone&#39; in this book." in answer.text
    key, words = offers[name]
    [address] = re.findall(f'<li><a href="([^"]+)"><span>{words}</span></a>', answer.text)
    assert f"{name}={key}" in address
    assert client.get(unescape(address), headers=HTML).status_code == 200
    told = client.get(f"{path}?{name}=gone").json()
    assert (told["code"], told["where"]) == ("not-in-book", name)
    assert key in told["hint"]


def test_what_only_the_cookie_names_and_has_gone_is_left_out(client):
    client.cookies.set("conewise-chosen", "event=gone&driver=nobody&car=x")
    page = client.get("/", headers=HTML)
    assert page.status_code == 200
    assert "Three Valleys, September" in page.text
    assert "nobody" not in page.text


def test_a_driver_of_the_book_who_is_not_at_the_event_shows_everybody(client, settings):
    with opened(settings.book, now=settings.now) as book:
        book.add(Person(id="una", name="Una Marsh", level="novice"))
    page = client.get("/?event=april&driver=una", headers=HTML)
    assert (page.status_code, "Una Marsh" in page.text) == (200, False)


@pytest.mark.parametrize(
    "path", ["/", "/field?event=september", "/drive/results?event=september", "/walk/line?event=april", "/choices"]
)
def test_a_page_differs_from_look_to_look_in_the_look_that_it_wears_alone(settings, path):
    """What browser tests rest on that open a page once and choose its looks there."""
    client = client_of(replace(settings, now=lambda: NOW))  # some pages say when they were made

    def worn(look):
        page = client.get(path, headers=HTML | {"cookie": f"conewise-look={look}"})
        assert page.status_code == 200
        assert f'data-look="{look}"' in page.text
        return re.sub(rf' data-look="{look}"|(?<=name="look" value="{look}") checked', "", page.text)

    assert worn("light") == worn("dark") == worn("sunlight")


def test_look_units_and_decimals_are_kept_by_the_browser(client):
    answer = client.post("/choices", data=FORM, headers=HTML | {"origin": "http://127.0.0.1"})
    assert answer.status_code == 303
    assert '<html lang="en" data-look="dark" data-units="us" data-decimal="comma">' in client.get("/").text


@pytest.mark.parametrize("path", ["/", "/choices", "/nothing-here", "/api/description", "/api/nothing"])
def test_every_answer_has_the_headers(client, path):
    headers = client.get(path, headers=HTML).headers
    assert "'unsafe" not in headers["content-security-policy"]
    assert headers["content-security-policy"].startswith("default-src 'none'; script-src 'self';")
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["referrer-policy"] == "same-origin"
    assert headers["cache-control"] == "no-store"
    assert "server" not in headers


def test_a_page_that_is_not_there_is_a_page_for_people_and_json_for_scripts(client):
    page = client.get("/nothing-here", headers=HTML)
    assert page.status_code == 404
    assert "There is no such page." in page.text
    told = client.get("/api/nothing")
    assert told.status_code == 404
    assert told.json() == {
        "ok": False, "code": "no-page", "message": "There is no such page.", "where": "/api/nothing",
        "hint": "Start from the first page; its links lead everywhere.",
    }  # fmt: skip


def test_a_field_that_is_wrong_is_named(client):
    told = client.post("/choices", data=FORM | {"units": "leagues"}, headers={"origin": "http://127.0.0.1"})
    assert told.status_code == 422
    assert told.json()["where"] == "units"


def test_every_family_of_errors_has_its_status(settings):
    client = client_of(settings)

    @client.app.get("/api/busy")
    def busy():
        raise ConflictError("Somebody else changed it.", where="run 3")

    told = client.get("/api/busy")
    assert told.status_code == 409
    assert told.json()["where"] == "run 3"


def test_a_fault_is_said_in_a_sentence_and_kept_in_a_log(settings, logs_of_faults):
    client = client_of(settings)

    @client.app.get("/api/broken")
    def broken():
        return 1 / 0

    told = client.get("/api/broken?secret=1")
    assert told.status_code == 500
    assert re.fullmatch(r"Something went wrong inside conewise; .* Report \w{8}\.", told.json()["message"])
    assert "Traceback" not in told.text
    [log] = logs_of_faults.glob("report-*.log")
    assert "ZeroDivisionError" in log.read_text(encoding="utf-8")
    assert "secret" not in log.read_text(encoding="utf-8")


@pytest.mark.parametrize("host", ["example.org", "127.0.0.1.example.org", "", "10.0.0.1"])
def test_another_name_is_not_answered(client, host):
    """DNS rebinding: a page of another site whose name leads here."""
    assert client.get("/", headers={"host": host}).status_code == 400


@pytest.mark.parametrize("host", ["127.0.0.1:8460", "localhost:8460", "[::1]:8460"])
def test_the_names_of_this_computer_are_answered(client, host):
    assert client.get("/", headers={"host": host}).status_code == 200


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({"origin": "http://127.0.0.1"}, 303),
        ({"origin": "http://127.0.0.1", "sec-fetch-site": "same-origin"}, 303),
        ({"origin": "http://127.0.0.1:9"}, 403),
        ({"origin": "https://example.org"}, 403),
        ({"origin": "null"}, 403),
        ({"origin": ""}, 403),
        ({"origin": "http://127.0.0.1", "sec-fetch-site": "cross-site"}, 403),
        ({"sec-fetch-site": "same-site"}, 403),
        ({}, 403),
    ],
)
def test_a_form_of_another_site_changes_nothing(client, headers, status):
    assert client.post("/choices", data=FORM, headers=headers).status_code == status


def test_a_program_without_an_origin_is_heard_with_json_only(client):
    assert client.post("/choices", json={}).status_code == 422  # heard, and told what is missing
    assert client.post("/choices", content="look=dark", headers={"content-type": "text/plain"}).status_code == 403


def test_assets_come_packed_and_may_be_kept_for_ever(client):
    page = client.get("/", headers=HTML).text
    found = re.findall(r'(?:href|src)="(/static/[^"]+)"', page)
    assert len(found) >= 5
    for path in found:
        answer = client.get(path, headers={"accept-encoding": "gzip"})
        assert answer.status_code == 200
        assert answer.headers["cache-control"] == "public, max-age=31536000, immutable"
        assert answer.headers["content-encoding"] == "gzip"
        assert client.get(path, headers={"accept-encoding": ""}).content == answer.content
    style = assets.assets()["css/base.css"]
    assert gzip.decompress(style.packed) == style.content


@pytest.mark.parametrize(
    "path", ["/static/0/css/base.css", "/static/{}/../app.py", "/static/{}/%2e%2e/app.py", "/static/{}/css/none.css"]
)
def test_no_other_file_is_an_asset(client, path):
    assert client.get(path.format(assets.version())).status_code == 404


def test_nothing_in_a_page_or_style_leads_outside():
    for path, asset in assets.assets().items():
        addresses = set(re.findall(rb"https?://[^\s\"'<>)]+", asset.content))
        assert addresses <= {b"http://www.w3.org/2000/svg"}, path


def test_the_description_names_only_what_scripts_ask(client):
    told = client.get("/api/description").json()
    assert told["info"]["title"] == "conewise"
    assert all(path.startswith("/api/") for path in told["paths"])
    assert client.get("/docs").status_code == client.get("/redoc").status_code == 404


def test_every_string_of_the_catalogue_is_a_plain_sentence():
    for key, words in catalogue().items():
        assert words.strip() == words != "", key
        assert not re.search(r"[<>&]|\bplease\b|!|\bclick\b", words, re.IGNORECASE), key
    assert json.dumps(catalogue())


def test_a_request_that_sends_too_much_is_not_read(client):
    told = client.post("/api/jobs", content=b"{" + b" " * 1_000_001, headers={"content-type": "application/json"})
    assert (told.status_code, told.json()["code"]) == (413, "too-large")
    assert "1.0 MB were to be sent" in told.json()["message"]


def test_a_request_that_does_not_say_how_much_it_sends_is_not_read(client):
    told = client.post("/api/jobs", content=iter([b"{}"]), headers={"content-type": "application/json"})
    assert (told.status_code, told.json()["code"]) == (411, "unsized")


@pytest.mark.parametrize("encoding", ["gzip", "deflate", "br", "zstd"])
def test_packed_content_is_not_unpacked(client, encoding):
    headers = {"content-type": "application/json", "content-encoding": encoding}
    told = client.post("/api/jobs", content=gzip.compress(b"{}"), headers=headers)
    assert (told.status_code, told.json()["code"]) == (415, "packed")

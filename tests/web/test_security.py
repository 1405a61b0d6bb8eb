"""The list of docs/security.md holds: every row names a test that is there; and what has no better place."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

from conewise.store.texts import CarText
from conewise.web.app import ROUTERS
from conewise.workflows.book_place import opened

PROJECT = Path(__file__).resolve().parents[2]
LIST = (PROJECT / "docs" / "security.md").read_text(encoding="utf-8")
ROWS = re.findall(r"^\| ([\d.]+[^|]*) \| [^|]+ \| `([^`]+)::(\w+)` \|$", LIST, re.MULTILINE)
HTML = {"accept": "text/html"}


def reading_routes():
    for route in (route for router in ROUTERS for route in router.routes):
        if "GET" in route.methods and "{" not in route.path:
            yield route.path


def test_the_list_was_read():
    assert len(ROWS) > 25


@pytest.mark.parametrize(("requirement", "path", "name"), ROWS)
def test_every_requirement_has_a_test(requirement, path, name):
    tree = ast.parse((PROJECT / path).read_text(encoding="utf-8"))
    assert name in {node.name for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)}, requirement


def test_reading_changes_nothing(client, settings):
    before = settings.book.joinpath("book.sqlite").read_bytes(), revisions(settings)
    for path in reading_routes():
        client.get(path, headers=HTML)
        client.head(path, headers=HTML)
    assert revisions(settings) == before[1]


def revisions(settings):
    from sqlalchemy import func, select

    from conewise.store.tables import JobRow, Revision, WebSessionRow

    with opened(settings.book, now=settings.now) as book, book.reading() as reader:
        return [
            reader.session.scalar(select(func.count()).select_from(row)) for row in (Revision, JobRow, WebSessionRow)
        ]


def test_every_answer_says_what_it_is(client):
    for path in [*reading_routes(), "/nothing", "/api/nothing"]:
        answer = client.get(path, headers=HTML)
        kind = answer.headers.get("content-type", "")
        if answer.status_code < 300:
            assert kind.startswith(("text/", "application/")), path
        if kind.startswith("text/"):
            assert "charset=utf-8" in kind, path


@pytest.mark.parametrize("name", ["../../x", "/etc/x", "..\\x", "con", "a\x00b", "x" * 300])
def test_a_name_that_was_sent_is_never_a_path(empty, tmp_path, name):
    from tests.web.test_first import ALL

    before = {path for path in tmp_path.rglob("*") if "book" not in path.parts}
    answer = empty.post(
        "/first", data={"page": 3} | ALL | {"car_name": name}, headers=HTML | {"origin": "http://127.0.0.1"}
    )
    assert answer.status_code in (303, 422)
    assert {path for path in tmp_path.rglob("*") if "book" not in path.parts} == before
    if answer.status_code == 303:
        with opened(tmp_path / "book", now=lambda: None) as book, book.reading() as reader:
            [kept] = reader.ids(CarText)
        assert re.fullmatch(r"[a-z0-9-]+", kept)


def test_pages_of_a_hostile_book_stay_pages(client, settings):
    """A name that is markup is text on every page that has it."""
    from conewise.event.people import Person

    hostile = "<img src=x onerror=alert(1)>\"'&amp;"
    with opened(settings.book, now=settings.now) as book:
        kept = book.one(Person, "ana")
        book.change(kept.record.changed(name=hostile), version=kept.version)
    n_seen = 0
    for path in reading_routes():
        page = client.get(f"{path}?event=september&driver=ana", headers=HTML)
        if page.headers.get("content-type", "").startswith("text/html"):
            assert "<img src=x" not in page.text, path
            n_seen += "&lt;img src=x" in page.text
    assert n_seen > 5


@pytest.mark.parametrize("host", ["evil.example", "127.0.0.1.evil.example", "<script>"])
def test_a_foreign_name_gets_a_plain_page_that_says_what_to_do(client, host):
    """It loads nothing and tells nothing of the book; a script gets the one shape of every error."""
    page = client.get("/", headers={"host": host, "accept": "text/html"})
    assert page.status_code == 400
    assert "does not answer to the name" in page.text
    assert "Open the address that the program printed" in page.text
    assert "<script" not in page.text
    assert "src=" not in page.text
    assert "href=" not in page.text
    assert "Three Valleys" not in page.text
    told = client.get("/api/courses", headers={"host": host}).json()
    assert (told["ok"], told["code"]) == (False, "unknown-host")


def test_a_wrong_field_is_named_in_our_own_words(client):
    asked = {"kind": "line", "question": {"course": "harbour-yard", "car": "marigold", "pace": 3}}
    told = client.post("/api/jobs", json=asked, headers={"origin": "http://127.0.0.1"})
    assert told.status_code == 422
    assert told.json()["message"] == "'pace' is '3': 1 or less is wanted."
    assert told.json()["where"] == "question.pace"
    broken = client.post(
        "/api/jobs", content=b"{", headers={"origin": "http://127.0.0.1", "content-type": "application/json"}
    )
    assert broken.json()["message"] == "'body': JSON is wanted."

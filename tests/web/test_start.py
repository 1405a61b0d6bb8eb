"""The first page, the steps, the two books, the guide."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest

from conewise.web.guide import folder
from conewise.web.way import STEPS, WAY
from tests.web_app import NOW, client_of, settings_over

HTML = {"accept": "text/html"}
FROM_HERE = HTML | {"origin": "http://127.0.0.1"}


def test_what_is_due_is_the_largest_text_of_the_first_page(client):
    page = client.get("/", headers=HTML).text
    assert "Today: Three Valleys, September" in page
    assert re.search(r"<h1[^>]*>19 things are open before anybody runs\.</h1>", page)
    assert "16 of 32 runs are written down." in page


@pytest.mark.parametrize(("days", "words"), [(-1, "Tomorrow"), (-12, "In 12 days"), (3, "Latest event")])
def test_the_first_page_says_when_the_event_is(tmp_path, demonstration, days, words):
    settings = settings_over(tmp_path, demonstration, now=lambda: NOW + timedelta(days=days))
    assert f"{words}: Three Valleys, September" in client_of(settings).get("/", headers=HTML).text


@pytest.mark.parametrize("step", STEPS)
def test_every_step_has_a_page(client, step):
    page = client.get(f"/{step}", headers=HTML)
    assert page.status_code == 200
    assert 'aria-current="page"' in page.text


def test_every_page_of_the_way_is_there(client):
    places = [place for step in WAY.values() for place in step]
    assert len({place.path for place in places}) == len(places)
    for place in places:
        assert client.get(place.path, headers=HTML).status_code == 200, place.path


def test_without_a_book_two_ways_are_offered(empty):
    page = empty.get("/", headers=HTML).text
    assert 'href="/first"' in page
    assert "Open the demo book" in page
    assert empty.get("/prepare", headers=HTML).status_code == 200


def test_the_demo_book_is_shown_with_a_banner_and_left_again(empty, tmp_path):
    assert empty.post("/book", data={"which": "demo"}, headers=FROM_HERE).status_code == 303
    assert "This is the demo book" in empty.get("/", headers=HTML).text
    assert "Three Valleys" in empty.get("/", headers=HTML).text
    assert not (tmp_path / "book").exists()
    empty.post("/book", data={"which": "own"}, headers=FROM_HERE)
    page = empty.get("/", headers=HTML).text
    assert "Nothing is in the book yet." in page
    assert "demo book:" not in page


def test_the_guide_is_there_with_all_that_it_leads_to(client):
    seen, pending = set(), {"/help"}
    while pending:
        path = pending.pop()
        seen.add(path)
        answer = client.get(path, headers=HTML)
        assert answer.status_code == 200, path
        assert " style=" not in answer.text
        found = re.findall(r'(?:href|src)="(/help[^"#]*)', answer.text)
        pending |= {link.split("?")[0] for link in found} - seen
    assert {"/help", "/help/formats", "/help/errors", "/help/models/settings"} <= seen


def test_links_to_a_section_of_the_guide_lead_there(client):
    page = client.get("/help", headers=HTML).text
    anchors = re.findall(r'href="#([^"]+)"', page)
    assert len(anchors) > 20
    assert all(f'id="{anchor}"' in page for anchor in anchors)


@pytest.mark.parametrize("name", ["nothing", "../pyproject", "models/../../x", "Guide", "decisions", "guide.md", "%00"])
def test_no_other_file_is_help(client, name):
    assert client.get(f"/help/{name}", headers=HTML).status_code == 404


def test_the_guide_comes_from_the_docs():
    assert (folder() / "guide.md").is_file()

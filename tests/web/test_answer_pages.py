"""Change, proof and cars over HTTP: what is asked, what is shown, and what stands in the way."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from conewise.advisor.advice import Rung
from conewise.money import money
from conewise.proof import times_file
from conewise.reports import advice_words
from conewise.store.texts import CarText, ChangesText
from conewise.web import change_work
from conewise.web.change_work import AdviseAsked, SettingsAsked
from conewise.web.work import Desk, kinds
from conewise.workflows.book_place import BookPlace, opened
from conewise.workflows.jobs import Asker, ask
from tests.advice_fixture import made_up_advice
from tests.settings_fixture import settings_answer
from tests.web_answers import ADVISE, SETTINGS, advice_result, keep_job, settings_result

ORIGIN = {"origin": "http://127.0.0.1"}
DEE = "event=september&driver=dee"


@pytest.fixture
def place(settings):
    return BookPlace(book=settings.book, now=lambda: datetime.now(UTC))


@pytest.fixture
def sent(client, demonstration):
    """A times file that was sent: its address."""
    content = (demonstration / "times" / "harbour-yard-bar-test.csv").read_bytes()
    return client.post("/api/recordings?name=bar.csv", content=content, headers=ORIGIN).json()["sent"]


def test_every_kind_of_work_has_its_words_and_its_question(client):
    assert {"line", "log-check", "debrief", "debrief-times", "compare", "advise", "settings"} <= set(kinds())
    for kind in kinds():
        assert client.post("/api/jobs", json={"kind": kind, "question": {"nonsense": 1}}).status_code == 422


def test_the_advice_is_shown_with_the_best_as_its_heading(client, settings):
    advice = made_up_advice()
    keep_job(settings.book, "advise", ADVISE, advice_result(advice))
    page = client.get(f"/change?{DEE}").text
    assert f'id="headline">{advice_words.headline(advice)}</h1>'.replace("+", "+") in page
    assert "Inspection asks for it." in page
    assert "the rear axle would lock first" in page
    assert "limited-slip differential" in page


def test_another_budget_is_shown_from_the_rungs(settings):
    from dataclasses import replace

    advice = made_up_advice()
    rungs = (Rung(names=("a", "b"), price=money("845 EUR", where=""), expected=0.3),)
    shown = advice_result(replace(advice, packages=replace(advice.packages, rungs=rungs)))
    assert shown["screen"]["rungs"] == [{"price": 845.0, "shown": "845 EUR", "names": ["a", "b"], "expected": 0.3}]
    assert shown["record"]["limits"]["by_budget"][0]["expected_s"] == 0.3


def test_gains_are_shown_by_slope_first_and_sharpen(place, monkeypatch):
    """What the page is shown on the way: rough rows, then one solved after the other."""
    advice = made_up_advice()
    shown, told = [], []

    def answered(question, *, progress, first, step, partial):
        assert [str(one) for one in question.courses] == ["course 'harbour-yard' of the book"]
        progress("Reading")
        first(advice)
        step(1, 4)
        partial(advice.rows[2])
        return advice

    monkeypatch.setattr("conewise.workflows.advise.answer_advise", answered)
    desk = Desk(
        place=place, job="", tell=lambda share, words: told.append((share, words)), show=lambda x: shown.append(str(x))
    )
    asked = AdviseAsked(courses=("harbour-yard",), car_file="marigold", parts="workshop-list")
    found = change_work.advise(asked, desk)
    assert len(shown) == 2
    assert found["record"]["changes"]
    assert told[-1][1] == "1 of 4 runs solved"
    assert 0.0 < told[0][0] < told[-1][0] < 1.0


@pytest.mark.parametrize(
    ("budget", "words"), [("lots", "it is no number"), ("-5", "zero or more"), ("0", "nothing can be bought for it")]
)
def test_a_budget_that_cannot_be_is_refused_beside_its_field_before_any_work(client, budget, words):
    question = {"courses": ["harbour-yard"], "car_file": "marigold", "parts": "workshop-list", "budget": budget}
    told = client.post("/api/jobs", json={"kind": "advise", "question": question})
    assert (told.status_code, told.json()["where"]) == (422, "question.budget")
    assert words in told.json()["message"]
    assert client.get("/api/jobs").json() == []


WHOLE = {"courses": ["harbour-yard"], "car_file": "marigold", "parts": "workshop-list"}


@pytest.mark.parametrize(
    ("told", "field", "words"),
    [
        ({"courses": []}, "courses", "No course is ticked. Tick the courses"),
        ({"parts": ""}, "parts", "There is nothing to compare: no list of parts and none of changes"),
        ({"car_class": "S"}, "car_class", "The class 'S' was asked for, and no rules were named. Choose the rule set"),
        (
            {"car_class": "Q", "rules": "three-valleys"},
            "car_class",
            "There is no class 'Q' in these rules. They have: S",
        ),
        ({"hours": -1}, "hours", "'hours' is '-1': 0 or more is wanted."),
    ],
)
def test_what_cannot_be_asked_is_refused_beside_its_field_before_any_work(client, told, field, words):
    answer = client.post("/api/jobs", json={"kind": "advise", "question": WHOLE | told})
    said = answer.json()
    assert (answer.status_code in (404, 422), said["where"].removeprefix("question.")) == (True, field)
    assert words in f"{said['message']} {said['hint']}"
    assert not re.search(r"--[a-z]|question\.", f"{said['message']} {said['hint']}")
    assert client.get("/api/jobs").json() == []


def test_settings_without_a_course_are_refused_before_any_work(client):
    question = {"courses": [], "car_file": "marigold"}
    answer = client.post("/api/jobs", json={"kind": "settings", "question": question})
    assert (answer.status_code, answer.json()["code"], answer.json()["where"]) == (
        422,
        "no-course-ticked",
        "question.courses",
    )
    assert client.get("/api/jobs").json() == []


@pytest.mark.parametrize(
    ("told", "words"), [("many", "is &#39;many&#39;; wanted is a whole number"), ("900", "is 900; wanted is")]
)
def test_a_number_of_a_plan_is_refused_beside_its_field_and_stays(client, told, words):
    page = client.get(f"/prove/plan?runs={told}").text
    label = page.split(f'name="runs" inputmode="numeric" value="{told}" aria-invalid="true"')[1].split("<label>")[0]
    assert words in label
    assert page.count('class="problem"') == 1


@pytest.mark.parametrize("path", ["/change", "/change/settings", "/debrief"])
def test_an_answer_that_has_gone_is_said_and_those_that_are_there_are_offered(client, settings, path):
    keep_job(settings.book, "advise", ADVISE, advice_result(made_up_advice()))
    answer = client.get(f"{path}?{DEE}&job=gone", headers={"accept": "text/html"})
    assert answer.status_code == 404
    assert "There is no answer &#39;gone&#39; in this book." in answer.text
    assert "kept for seven days" in answer.text
    assert ("job=advise-done" in answer.text) == (path == "/change")
    if path == "/change":
        assert "What to change next (" in answer.text


def test_a_changed_list_or_course_is_another_question(place):
    names = kinds()["advise"].names
    asked = AdviseAsked(courses=("harbour-yard", "old-mill-airfield"), car_file="marigold", parts="workshop-list")
    question = asked.model_dump(mode="json")
    first = ask(place, "advise", question, names=names, asker=Asker())
    assert ask(place, "advise", question, names=names, asker=Asker()).id == first.id
    with opened(place.folder, now=place.now) as book:
        kept = book.one(CarText, "marigold")
        book.change(kept.record.changed(text=kept.record.text + "\n# seen\n"), version=kept.version)
    assert ask(place, "advise", question, names=names, asker=Asker()).id != first.id


def test_the_settings_are_shown(client, settings, place, monkeypatch):
    answer = settings_answer()
    monkeypatch.setattr("conewise.workflows.settings.answer_settings", lambda *_, **__: answer)
    desk = Desk(place=place, job="", tell=lambda *_: None, show=lambda _: None)
    found = change_work.settings(SettingsAsked(courses=("harbour-yard",), car_file="marigold"), desk)
    assert found == settings_result(answer)
    keep_job(settings.book, "settings", SETTINGS, found)
    page = client.get(f"/change/settings?{DEE}").text
    assert answer.headline.replace("+", "+") in page


def test_the_forms_offer_what_the_book_has(client):
    page = client.get(f"/change?{DEE}").text
    for word in ("Workshop list (15)", "winter", "three-valleys", "old-mill-airfield", "marigold"):
        assert word in page


def test_times_of_a_file_are_judged(client, sent):
    page = client.get("/prove", params={"times": sent, "name": "bar.csv"}).text
    heading = page.split('<h1 class="focus-text">')[1].split("</h1>")[0]
    assert "The change helped" in heading
    assert page.count("<svg") == 4
    assert "stiff rear bar" in page.split('name="before"')[1]


def test_what_cannot_be_judged_is_said_above_the_form(client, sent):
    page = client.get("/prove", params={"times": sent, "before": "nothing like that"}).text
    assert 'class="problem"' in page
    book = client.get("/prove?of=september&of=july").text
    assert 'class="problem"' in book or "focus-text" in book
    assert client.get("/prove", params={"times": "0" * 64}).status_code == 404


def test_a_plan_is_proposed_or_its_numbers_are_refused(client):
    assert "A B" in client.get("/prove/plan?runs=8").text
    refused = client.get("/prove/plan?runs=900").text
    assert "The number of runs of a day is 900; wanted is a number from" in refused
    assert "--" not in refused.split('class="problem"')[1].split("</p>")[0]
    assert 'class="problem"' in client.get("/prove/plan?runs=many").text
    assert client.get("/api/proof/plan?runs=8").json()["n_runs"] == 8


def test_the_car_is_shown_with_its_versions_and_its_log(client, place):
    with opened(place.folder, now=place.now) as book:
        kept = book.one(CarText, "marigold")
        text = kept.record.text.replace('driver = { value = "78 kg"', 'driver = { value = "80 kg"')
        assert text != kept.record.text
        book.change(kept.record.changed(text=text), version=kept.version, reason="weighed again")
    page = client.get(f"/prepare/car?{DEE}").text
    assert "Version 2" in page
    assert re.search(r"mass\.driver: 78[.0]* kg becomes 80[.0]* kg", page)
    assert "wheel nuts cold" in page
    assert "108 N m" in page
    assert page.count("<svg") >= 2
    assert client.get("/api/cars/marigold").json()["name"].startswith("Marigold")


def test_the_set_up_sheet_is_a_file(client):
    sheet = client.get("/prepare/car/setup.pdf?file=marigold&paper=letter")
    assert sheet.headers["content-type"] == "application/pdf"
    assert client.get("/prepare/car/setup.pdf?file=nobody").status_code == 404


def test_wheels_are_tried_and_the_words_of_the_command_stay_away(client):
    page = client.get("/prepare/fit", params={"file": "marigold", "wheel": "16x8 +30", "tyre": "225/45R16"}).text
    assert 'class="fit"' in page
    assert "<style" not in page
    assert "--" not in page.split("<main")[1].split("</main")[0].replace("<!--", "")
    assert client.get("/api/cars/marigold/fit?wheel=16x8+%2B30").json()["diameter_mm"] > 500
    refused = client.get("/prepare/fit", params={"file": "marigold", "wheel": "16x8"}).text
    assert "offset is missing" in refused


@pytest.mark.parametrize("path", ["/change", "/change/settings", "/prove", "/prepare/car", "/prepare/fit"])
def test_without_a_book_the_start_page_helps(empty, path):
    assert empty.get(path).headers["location"] == "/"


def test_the_demo_has_lists(demonstration):
    assert sorted(path.stem for path in Path(demonstration).glob("parts/*.toml")) == ["short-list", "workshop-list"]


def test_a_package_that_is_solved_shakes_nothing_while_gains_are_shown():
    """It is no row of the ranking; the page shows it with the whole answer."""
    from types import SimpleNamespace

    from conewise.web.change_work import _Gains

    shown = []
    gains = _Gains(SimpleNamespace(show=shown.append, tell=lambda *_: None))
    advice = made_up_advice()
    gains.first(advice)
    row = advice.rows[0]
    gains.partial(replace(row, option=replace(row.option, name="two parts + a third")))
    assert len(shown) == 1
    gains.partial(row)
    assert len(shown) == 2
    assert len(shown[-1]["rows"]) == len(advice.rows)


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [("", b"", "No file is chosen yet."), ("a.csv", b"MZ\x00", "is not a text file"), ("a.csv", b"", "is empty")],
)
def test_prove_says_beside_the_field_why_a_file_is_not_taken(client, name, content, words):
    headers = {"accept": "text/html", "origin": "http://127.0.0.1"}
    answer = client.post("/prove/file", files={"file": (name, content)}, headers=headers)
    assert answer.status_code == 422
    assert words in answer.text.split('id="file-problem">')[1]


def test_a_times_file_that_is_too_large_is_refused_beside_the_field(client):
    content = b"driver,date,run,time\n" + b"#" * times_file.MOST_BYTES
    answer = client.post(
        "/prove/file", files={"file": ("a.csv", content)}, headers={"accept": "text/html", "origin": "http://127.0.0.1"}
    )
    assert answer.status_code == 422
    assert "has more than 20 MB" in answer.text.split('id="file-problem">')[1]


def test_a_times_file_of_two_megabytes_is_judged(client, demonstration):
    content = (demonstration / "times" / "harbour-yard-bar-test.csv").read_bytes()
    files = {"file": ("bar.csv", content + b"\n" * 2_000_000)}
    answer = client.post("/prove/file", files=files, headers={"accept": "text/html", "origin": "http://127.0.0.1"})
    assert answer.status_code == 303


def test_a_script_is_told_as_a_record_why_a_times_file_is_not_taken(client):
    headers = {"accept": "application/json", "origin": "http://127.0.0.1"}
    answer = client.post("/prove/file", files={"file": ("a.csv", b"")}, headers=headers)
    assert (answer.status_code, answer.json()["code"]) == (422, "times-file")


def test_lists_on_change_are_called_by_name(client, settings):
    with opened(settings.book, now=settings.now) as book:
        text = book.one(ChangesText, "winter").record.text
        book.add(ChangesText(id="winter-2", text=f'name = "Work of the winter"\n{text}'))
    page = client.get("/change", headers={"accept": "text/html"}).text
    options = re.findall(r'<option value="(short-list|winter|winter-2)"[^>]*>([^<]+)</option>', page)
    called = {key: words.split(",")[0].split(" (")[0] for key, words in options}
    assert called == {"short-list": "Short list", "winter": "Winter", "winter-2": "Work of the winter"}


def test_prove_takes_a_file_without_a_script(client, demonstration):
    content = (demonstration / "times" / "harbour-yard-bar-test.csv").read_bytes()
    headers = {"accept": "text/html", "origin": "http://127.0.0.1"}
    answer = client.post("/prove/file", files={"file": ("bar.csv", content)}, headers=headers)
    assert answer.status_code == 303
    assert "The change helped" in client.get(answer.headers["location"], headers=headers).text

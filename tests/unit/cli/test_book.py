"""`conewise book` from the command line: what is said, what is printed as JSON, which exit code."""

from __future__ import annotations

import json

import pytest

from conewise.cli.main import run
from conewise.event.event_file import event_text
from conewise.store.texts import CarText
from tests.books import DEMO, TEXTS, example_day

CAR = str(DEMO / "cars" / "pepper.toml")


@pytest.fixture
def place(tmp_path, monkeypatch):
    """A folder for a book that is not there yet, named by the environment."""
    monkeypatch.setenv("CONEWISE_BOOK", str(tmp_path / "book"))
    return tmp_path


def said(capsys, *words, code=0):
    """What a command prints, its exit code held to the wanted one."""
    assert run(["book", *map(str, words)]) == code
    out, err = capsys.readouterr()
    return out + err


def record(capsys, *words, code=0):
    return json.loads(said(capsys, *words, "--json", code=code))


def test_a_book_from_its_first_file_to_another_laptop(place, capsys):
    assert "car-file pepper" in said(capsys, "add", CAR)
    again = record(capsys, "add", CAR)
    assert (again["added"], again["changed"], again["same"]) == ([], [], ["car-file pepper"])
    shown = record(capsys, "show")
    assert (shown["counts"]["car-file"], shown["cars"], shown["folder"]) == (1, ["pepper"], str(place / "book"))
    assert record(capsys, "check") == {"ok": True, "folder": str(place / "book"), "findings": []}
    assert "read it back" in said(capsys, "backup", place / "b.zip")
    assert record(capsys, "backup", place / "b.zip", code=4)["code"] == "book-target-there"
    assert record(capsys, "restore", place / "b.zip", code=4)["code"] == "book-there"
    restored = record(capsys, "restore", place / "b.zip", "--book", place / "laptop")
    assert (restored["book"], restored["kept_aside"]) == (str(place / "laptop"), None)
    assert "1  car-file" in said(capsys, "show", "--book", place / "laptop")
    assert "is kept in" in said(capsys, "restore", place / "b.zip", "--force")
    assert "left out" in said(capsys, "export", place / "out")
    assert record(capsys, "export", place / "all", "--with-private")["private"] is True
    assert record(capsys, "import", place / "out")["same"] == 1


def test_a_car_file_that_was_changed_is_a_new_set_up(place, capsys, tmp_path):
    path = tmp_path / "pepper.toml"
    path.write_text(TEXTS[0].text, encoding="utf-8")
    said(capsys, "add", path)
    path.write_text(TEXTS[0].text + "# softer rear bar\n", encoding="utf-8")
    assert record(capsys, "add", path, "--reason", "softer bar")["changed"] == ["car-file pepper"]
    from tests.books import opened

    with opened(place / "book") as book:
        first, second = book.history(CarText, "pepper")
    assert (first.record.text, second.reason) == (TEXTS[0].text, "softer bar")


def test_an_event_file_brings_its_people_and_what_it_names(place, capsys, tmp_path):
    day = example_day()
    car = day.cars[0].changed(car_file="pepper.toml")
    path = tmp_path / "lot-1.toml"
    path.write_text(event_text(day.changed(cars=(car,), runs=(), ride_alongs=())), encoding="utf-8")
    (tmp_path / "pepper.toml").write_text(TEXTS[0].text, encoding="utf-8")
    added = record(capsys, "add", path)["added"]
    assert {"event lot-1", "person ben", "car pepper", "car-file pepper", "check check-1"} <= set(added)
    again = record(capsys, "add", path)
    assert (again["added"], again["changed"]) == ([], [])
    path.write_text(path.read_text(encoding="utf-8").replace("Ben Tarn", "Ben J. Tarn"), encoding="utf-8")
    assert record(capsys, "add", path)["changed"] == ["person ben"]


def test_what_is_lost_is_exit_code_10(place, capsys):
    said(capsys, "add", CAR)
    from tests.books import opened

    with opened(place / "book") as book:
        book.files.path(book.keep_file(b"photo", "dent.jpg")).unlink()
    checked = record(capsys, "check", code=10)
    assert checked["ok"] is False
    assert [finding["code"] for finding in checked["findings"]] == ["book-file"]
    assert "is lost" in said(capsys, "check", code=10)


@pytest.mark.parametrize(
    ("words", "code", "exit_code"),
    [
        (["show"], "book-missing", 3),
        (["check"], "book-missing", 3),
        (["backup", "b.zip"], "book-missing", 3),
        (["export", "out"], "book-missing", 3),
        (["restore", "none.zip"], "backup-unusable", 2),
        (["add", "none.toml"], "added-file-missing", 3),
        (["add", "README.md"], "no-table", 2),
        (["add", "history.toml"], "not-kept", 2),
        (["add", "README.md", "README.md", "--as", "x"], "not-kept", 2),
        (["add", "history.toml", "--as", "My Car"], "not-kept", 2),
        (["import", "README.md"], "export-unusable", 2),
        (["import", "."], "export-unusable", 2),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, list) else str(value),
)
def test_what_cannot_be_done_is_said(place, capsys, monkeypatch, words, code, exit_code):
    monkeypatch.chdir(place)
    (place / "README.md").write_text("Hello", encoding="utf-8")
    (place / "history.toml").write_text('setup_of = "pepper.toml"\n', encoding="utf-8")
    told = record(capsys, *words, code=exit_code)
    assert (told["code"], told["ok"]) == (code, False)
    assert told["hint"]

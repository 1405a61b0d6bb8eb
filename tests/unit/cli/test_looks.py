"""`conewise event look` and `conewise event ride`, as they are typed."""

from __future__ import annotations

import json

import pytest

from conewise.cli.main import run
from conewise.event.event_file import event_text
from conewise.workflows.photo_details import picture_alone
from tests import days
from tests.photos import photo


@pytest.fixture
def spring(tmp_path):
    path = tmp_path / "spring.toml"
    path.write_text(event_text(days.event_day()), encoding="utf-8")
    (tmp_path / "spring.runs.csv").write_text("driver,run,time\nana,1,62.345+1\n", encoding="utf-8")
    return path


@pytest.fixture
def typed(capsys, tmp_path, spring):
    """Runs a command line on a book that has the event: exit code, stdout, stderr."""

    def command(*words, where=tmp_path / "book"):
        code = run([*map(str, words), *(("--book", str(where)) if where else ())])
        out, err = capsys.readouterr()
        assert "Traceback" not in err + out
        return code, out, err

    assert command("book", "add", spring)[0] == 0
    return command


def test_a_look_at_a_car_counts_at_once_with_its_photo(typed, tmp_path):
    picture = tmp_path / "nut.jpg"
    picture.write_bytes(photo("jpeg", 6))
    said = ("--value", "98 N m", "--note", "all four", "--by", "Bo", "--photo", picture)
    code, out, _ = typed(
        "event", "look", "spring", "--of", "pepper", "--item", "wheel-nuts", "--result", "failed", *said
    )
    assert (code, "failed" in out) == (0, True)
    found = json.loads(typed("ready", "spring", "--json")[1])
    assert '"inspection-wheel-nuts"' in json.dumps(found)
    assert not found["ready"]
    kept = [path.read_bytes() for path in (tmp_path / "book" / "files").rglob("*") if path.is_file()]
    assert picture_alone(picture.read_bytes(), "image/jpeg") in kept
    assert picture.read_bytes() not in kept
    assert typed("event", "look", "spring", "--of", "Pepper", "--item", "wheel-nuts", *said[:6])[0] == 0
    cars = json.dumps(json.loads(typed("ready", "spring", "--json")[1])["cars"])
    assert '"inspection-wheel-nuts"' not in cars
    assert '"inspection-wheel-nuts-cold"' in cars  # torqued anew: to be checked again, cold


def test_a_look_at_a_helmet(typed):
    assert (
        typed("event", "look", "spring", "--of", "red", "--item", "strap", "--result", "failed", "--by", "bo")[0] == 0
    )
    code, out, _ = typed("ready", "spring")
    assert (code, "Another helmet is needed" in out) == (10, True)


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (("--of", "boat", "--item", "tyres", "--by", "Bo"), 3, "pepper, red"),
        (("--of", "pepper", "--item", "wings", "--by", "Bo"), 3, "wheel-nuts"),
        (("--of", "pepper", "--item", "tyres", "--by", "Bo", "--result", "fine"), 2, "does not apply"),
        (("--of", "red", "--item", "colour", "--by", "Bo"), 3, "strap"),
        (("--of", "red", "--item", "strap", "--by", "Bo", "--result", "does not apply"), 2, "not looked at"),
        (("--of", "pepper", "--item", "tyres", "--by", "Bo", "--photo", "none.jpg"), 3, "none.jpg"),
    ],
)
def test_what_is_none_is_refused_with_what_there_is(typed, words, code, said):
    found, _, err = typed("event", "look", "spring", *words)
    assert found == code
    assert said in err


def test_a_ride_along_stands_on_the_driver_s_page(typed):
    said = ("--passenger", "ana", "--said", "Look ahead.")
    code, out, _ = typed("event", "ride", "spring", "--driver", "ana", "--run", 1, *said, "--json")
    assert code == 0
    assert json.loads(out)["said"] == "Look ahead."
    assert 'Look ahead."' in typed("run", "page", "spring", "--driver", "ana")[1]
    assert typed("event", "ride", "spring", "--driver", "ana", "--run", 7, *said)[0] == 3
    assert typed("event", "ride", "spring", "--driver", "nobody", *said)[0] in (2, 3)


def test_an_event_that_is_a_file_is_not_written_to(typed, spring):
    before = spring.read_bytes()
    for words in (
        ("look", "--of", "pepper", "--item", "tyres", "--by", "Bo"),
        ("ride", "--driver", "ana", "--passenger", "ana"),
    ):
        code, _, err = typed("event", words[0], spring, *words[1:])
        assert (code, "conewise book add" in err) == (2, True)
    assert spring.read_bytes() == before

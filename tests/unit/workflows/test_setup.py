"""The set-up history of a car file: begun, added to, taken back, and checked before anything is written."""

from datetime import datetime, timedelta

import pytest

from conewise.cars.car_file import read_car
from conewise.cars.change import ImpossibleChangeError
from conewise.cars.toml_file import CarFieldError
from conewise.workflows import setup
from tests.cars import DEMO

AT = datetime(2026, 5, 2, 9, 30)  # noqa: DTZ001  # the clock where the car is
HOUR = timedelta(hours=1)


@pytest.fixture
def car(tmp_path):
    path = tmp_path / "marigold.toml"
    path.write_text((DEMO / "marigold.toml").read_text())
    return path


def test_a_car_without_history_is_as_its_file_says(car):
    answer = setup.setup_on(car, AT)
    assert answer.label == "0"
    assert answer.car == read_car(car)
    assert answer.differences == ()
    assert list(car.parent.iterdir()) == [car]


def test_an_entry_is_written_and_told(car):
    answer = setup.setup_add(
        car, setup.typed_change("bar off", ["front.bar_stiffness = 0 N m/deg"], note="links off"), AT
    )
    assert answer.label == "1"
    assert [(d.name, d.before, d.after) for d in answer.done] == [("front.bar_stiffness", None, 0.0)]
    back = setup.setup_undo(car, 1, AT + HOUR)
    assert [(d.name, d.before, d.after) for d in back.done] == [("front.bar_stiffness", 0.0, None)]
    assert back.car == read_car(car)
    during = setup.setup_on(car, AT + HOUR / 2).as_dict()
    assert during["setup"] == "1"
    assert during["entries"][0]["note"] == "links off"
    assert setup.setup_on(setup.history_path(car), AT + HOUR / 2).car == setup.setup_on(car, AT + HOUR / 2).car


def test_what_hangs_on_an_edit_is_told_too(car):
    answer = setup.setup_add(car, setup.typed_change("other wheels", ["front.wheel.offset += -5 mm"]), AT)
    assert {d.name for d in answer.differences} == {"front.wheel.offset", "front.track"}


def test_words_that_change_are_told_and_what_reads_the_same_is_not(car):
    change = setup.typed_change("locked", ["rear.differential.kind = locked", "front.camber += 0.0001 deg"])
    answer = setup.setup_add(car, change, AT)
    rows = setup.difference_rows(answer.done, "metric")
    assert ("rear.differential.kind", "limited-slip", "locked") in rows
    assert "front.camber" not in {row[0] for row in rows}
    assert "front.camber" in {d.name for d in answer.done}
    assert answer.as_dict()["words"] == [
        {"name": "rear.differential.kind", "before": "limited-slip", "after": "locked"}
    ]


def test_nothing_is_written_for_an_impossible_entry(car):
    setup.setup_add(car, setup.typed_change("a", ["mass.total += -30 kg"]), AT)
    before = setup.history_path(car).read_text()
    with pytest.raises(ImpossibleChangeError):
        setup.setup_add(car, setup.typed_change("b", ["mass.total += -2 t"]), AT + HOUR)
    with pytest.raises(CarFieldError):
        setup.setup_undo(car, 1, AT - HOUR)
    assert setup.history_path(car).read_text() == before
    assert len(list(car.parent.iterdir())) == 2


def test_a_later_entry_that_needs_an_earlier_one_is_found_when_that_is_undone(car):
    """At every time of the history the car must be one that can exist."""
    setup.setup_add(car, setup.typed_change("ballast", ["mass.total += 600 kg"]), AT)
    setup.setup_add(car, setup.typed_change("lighter", ["mass.total += -1400 kg"]), AT + HOUR)
    with pytest.raises(ImpossibleChangeError, match="lighter"):
        setup.setup_undo(car, 1, AT + 2 * HOUR)


def test_an_edited_car_file_is_noticed(car):
    setup.setup_add(car, setup.typed_change("camber", ["front.camber = -2.5 deg"]), AT)
    assert "car-edited" not in {f.code for f in setup.setup_on(car, AT).findings}
    car.write_text(car.read_text() + "# weighed again\n")
    assert "car-edited" in {f.code for f in setup.setup_on(car, AT).findings}


@pytest.mark.parametrize(
    "text", ["front.camber", "= 3", "front camber = 3 deg", "front.camber -= 1 deg", "front.camber ="]
)
def test_an_edit_that_is_none(text):
    with pytest.raises(setup.EditTextError):
        setup.typed_change("x", [text])


def test_edits_as_people_type_them():
    change = setup.typed_change(
        "x", ["brakes.abs=false", 'front.tyre.size = "205/50R15"', "transmission.final_drive *= 1.05"]
    )
    assert [edit.action for edit in change.edits] == ["set", "set", "scale"]
    assert change.edits[0].value is False
    with pytest.raises(setup.NothingChangedError):
        setup.typed_change("x", [])


def test_times_as_people_type_them():
    assert setup.when_named(None, AT) == AT
    assert setup.when_named("2026-05-02 10:15", AT) == datetime(2026, 5, 2, 10, 15)  # noqa: DTZ001
    with pytest.raises(setup.TimeError):
        setup.when_named("last Sunday", AT)


def test_a_change_of_a_file_by_its_name():
    changes = DEMO.parent / "changes" / "roadster.toml"
    assert setup.named_change(changes, "more preload").name == "more preload"
    with pytest.raises(setup.ChangeMissingError, match="less preload"):
        setup.named_change(changes, "less preload")

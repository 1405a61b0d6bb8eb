"""The set-up sheet of a file with its history, and of a car of the book with its versions."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from conewise.event.cars import EventCar, WheelTorque
from conewise.store.texts import CarText
from conewise.workflows import setup
from conewise.workflows.book_place import BookPlace
from conewise.workflows.named import source
from conewise.workflows.setup_sheet import NotKeptYetError, setup_sheet, write_setup
from tests.books import Clock, opened
from tests.cars import DEMO

AT = datetime(2026, 5, 2, 9, 30)  # noqa: DTZ001  # the clock where the car is
TEXT = (DEMO / "marigold.toml").read_text(encoding="utf-8")


@pytest.fixture
def place(tmp_path):
    return BookPlace(book=tmp_path / "book", now=Clock())


def test_of_a_file_with_its_history(tmp_path, place):
    car = tmp_path / "marigold.toml"
    car.write_text(TEXT, encoding="utf-8")
    assert setup_sheet(car, AT, place=place).label == "as the car file"
    setup.setup_add(car, setup.typed_change("more camber", ["front.camber = -2.8 deg"], note="shims"), AT)
    sheet = setup_sheet(car, AT, place=place)
    assert (sheet.label, sheet.changes) == ("set-up 1", (("2026-05-02", "more camber: shims"),))
    assert sheet.car.value("front.camber") == pytest.approx(-0.04887, abs=1e-5)  # -2.8 deg
    write_setup(sheet, tmp_path / "sheet.pdf")
    assert (tmp_path / "sheet.pdf").read_bytes().startswith(b"%PDF-")


def test_of_a_car_of_the_book(place):
    with opened(place.book) as book:
        book.add(CarText(id="marigold", text=TEXT))
        book.change(CarText(id="marigold", text=TEXT + "# softer\n"), version=1, reason="softer rear bar")
        torque = WheelTorque(written="108 N m")
        book.add(EventCar(id="mari", name="Marigold", car_file="marigold", wheel_torque=torque))
    sheet = setup_sheet(source("marigold", "car-file", place), AT, place=place)
    assert sheet.label == "version 2"
    assert [words for _, words in sheet.changes] == ["version 1", "version 2: softer rear bar"]
    assert sheet.torque == "108 N m"


def test_of_a_car_of_the_book_as_it_was(place):
    changed = TEXT.replace('value = "-2.2 deg"', 'value = "-2.8 deg"')
    with opened(place.book) as book:
        book.add(CarText(id="marigold", text=TEXT))
    with opened(place.book, now=Clock(datetime(2026, 5, 20, 8, tzinfo=UTC))) as book:
        book.change(CarText(id="marigold", text=changed), version=1, reason="more camber")
    car = source("marigold", "car-file", place)
    assert car.text == changed
    then, now = (setup_sheet(car, at, place=place) for at in (AT, AT + timedelta(days=30)))
    assert (then.label, [words for _, words in then.changes]) == ("version 1", ["version 1"])
    assert now.label == "version 2"
    assert [round(one.car.value("front.camber") * 180 / 3.14159265, 4) for one in (then, now)] == [-2.2, -2.8]
    with pytest.raises(NotKeptYetError, match="2026-04-02 09:30"):
        setup_sheet(car, AT - timedelta(days=30), place=place)

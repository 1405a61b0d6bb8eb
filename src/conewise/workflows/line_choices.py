"""What a page of the line can be about: courses, cars with their set-ups, and drivers of the book."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from conewise.cars.driver import LEVELS
from conewise.errors import NotFoundError
from conewise.store.texts import CarText, CourseText, DriverText
from conewise.workflows.book_texts import named
from conewise.workflows.chosen import Named
from conewise.workflows.named import BookText

if TYPE_CHECKING:
    from datetime import datetime

    from conewise.workflows.book_place import BookPlace


class NoSuchSetupError(NotFoundError):
    """A car has no set-up of that number."""

    code = "no-such-setup"
    default_hint = "Choose one of its set-ups; their numbers are the versions of its car file."

    def __init__(self, car: str, version: int) -> None:
        super().__init__(f"The car '{car}' has no set-up {version}.", where="setup")


@dataclass(frozen=True, slots=True, kw_only=True)
class SetupRow:
    """One version of a car file."""

    version: int
    at: datetime  # when it was written (UTC)
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LineChoices:
    """What there is to choose; `setups` are those of one car, latest first."""

    courses: tuple[Named, ...]
    cars: tuple[Named, ...]
    drivers: tuple[Named, ...]
    setups: tuple[SetupRow, ...]


def line_choices(place: BookPlace, car: str) -> LineChoices:
    """Courses, cars and drivers of the book, and the set-ups of one car.

    Parameters
    ----------
    place : BookPlace
        The book; it must be there.
    car : str
        Id of a car file; "" for none.
    """
    with place.opened(create=False) as book, book.reading() as reader:
        courses, cars, drivers = (
            named(kept.record for kept in reader.every(kind)) for kind in (CourseText, CarText, DriverText)
        )
        versions = reader.history(CarText, car) if car else ()
    setups = tuple(
        SetupRow(version=one.version, at=one.at, reason=one.reason)
        for one in reversed(versions)
        if one.record is not None
    )
    levels = tuple(Named(level, level) for level in LEVELS)
    return LineChoices(courses=courses, cars=cars, drivers=levels + drivers, setups=setups)


def car_setup(place: BookPlace, car: str, version: int) -> BookText:
    """A car file as it was in one of its versions.

    Raises
    ------
    NoSuchSetupError
        If there is no such version.
    """
    with place.opened(create=False) as book:
        found = next((one for one in book.history(CarText, car) if one.version == version), None)
    if found is None or found.record is None:
        raise NoSuchSetupError(car, version)
    return BookText(kind="car-file", name=f"{car}, set-up {version}", text=found.record.text)

"""Looks and ride-alongs as they are typed on a command line: at an event of the book, by names."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING
from uuid import uuid4

from conewise.errors import InputError, NotFoundError
from conewise.event.helmets import LOOKS, Helmet
from conewise.event.naming import People
from conewise.event.runs import RideAlong
from conewise.readiness.inspection import latest
from conewise.workflows.looks import CarLook, HelmetLook, look_at_car, look_at_helmet
from conewise.workflows.photos import keep_photo, photo_beside

if TYPE_CHECKING:
    from pathlib import Path

    from conewise.event.cars import CheckResult, EventCar
    from conewise.event.helmets import LookResult
    from conewise.workflows.book_place import BookPlace
    from conewise.workflows.events import LoadedDay


class NotInTheBookError(InputError):
    """Something is to be written down at an event that is a file."""

    code = "event-is-a-file"
    default_hint = "Write it into the file, or put the event into the book first: conewise book add EVENT.toml."

    def __init__(self, place: str) -> None:
        super().__init__("Looks and ride-alongs are written into the book, and this event is a file.", where=place)


class NothingOfThatNameError(NotFoundError):
    """A car, helmet, item or run of the event that is not there."""

    code = "nothing-of-that-name"

    def __init__(self, what: str, name: str, known: tuple[str, ...], *, where: str) -> None:
        hint = f"There are: {', '.join(known)}." if known else "There is none."
        super().__init__(f"There is no {what} '{name}'.", where=where, hint=hint)


class ResultWordError(InputError):
    """A result that a look cannot have."""

    code = "look-result"

    def __init__(self, result: str, known: tuple[str, ...]) -> None:
        super().__init__(f"A look cannot be '{result}'.", where="--result", hint=f"One of: {', '.join(known)}.")


@dataclass(frozen=True, slots=True, kw_only=True)
class LookTyped:
    """One look. `of` is a car or a helmet, by id or name; `item` one of the inspection, or of a helmet.

    by: who looked; id, number or name of somebody of the event, or any name.
    """

    of: str
    item: str
    result: str
    by: str
    value: str = ""
    note: str = ""
    photo: Path | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Noted:
    """What was written down: of what, and in words."""

    of: str
    item: str
    result: str


def note_look(loaded: LoadedDay, place: BookPlace, typed: LookTyped) -> Noted:
    """Write a look at a car or a helmet into the book.

    Raises
    ------
    NotInTheBookError
        If the event is a file.
    NothingOfThatNameError, ResultWordError
        If a name or the result is none.
    ConewiseError
        If the book cannot be written, or the photo is none.
    """
    if loaded.file is not None:
        raise NotInTheBookError(str(loaded.file))
    day, by = loaded.day, _by(loaded, typed.by)
    car = next((one for one in day.cars if typed.of.casefold() in (one.id, one.name.casefold())), None)
    if car is not None:
        return _at_car(loaded, place, typed, car=car, by=by)
    helmet = next((one for one in day.helmets if one.id == typed.of), None)
    if helmet is None:
        known = (*(one.id for one in day.cars), *(one.id for one in day.helmets))
        raise NothingOfThatNameError("car or helmet", typed.of, known, where="--of")
    return _at_helmet(loaded, place, typed, helmet=helmet, by=by)


def note_ride(loaded: LoadedDay, place: BookPlace, ride: RideAlong) -> RideAlong:
    """Write down that somebody rode along; names of driver and passenger may be ids, numbers or names.

    Raises
    ------
    NotInTheBookError
        If the event is a file.
    ConewiseError
        If a name is none, or the book cannot be written.
    """
    if loaded.file is not None:
        raise NotInTheBookError(str(loaded.file))
    with place.opened(create=False) as book, book.writing(by=ride.driver) as writer:
        writer.add(ride)
    return ride


def ride_along(loaded: LoadedDay, *, driver: str, passenger: str, run: int | None, said: str) -> RideAlong:
    """The ride-along of names as they are typed, of one of the driver's runs or of none in particular.

    Raises
    ------
    ConewiseError
        If nobody has one of the names, or the driver no such run.
    """
    people = People(loaded.day)
    who, guest = people.named(driver, where="--driver"), people.named(passenger, where="--passenger")
    own = {one.order: one.id for one in loaded.day.runs if one.person == who.id}
    if run is not None and run not in own:
        raise NothingOfThatNameError("run", str(run), tuple(map(str, sorted(own))), where="--run")
    return RideAlong(
        id=f"ride-{uuid4().hex[:16]}", event=loaded.day.event.id, driver=who.id, passenger=guest.id,
        run="" if run is None else own[run], said=said,
    )  # fmt: skip


def _by(loaded: LoadedDay, name: str) -> str:
    """A person of the event as the book writes them, or the name as it was typed."""
    known = {one.id: one.name for one in loaded.day.people}
    return known.get(name, name)


def _at_car(loaded: LoadedDay, place: BookPlace, typed: LookTyped, *, car: EventCar, by: str) -> Noted:
    results: tuple[CheckResult, ...] = ("passed", "failed", "does not apply")
    if typed.result not in results:
        raise ResultWordError(typed.result, results)
    items = {one.id: one.text for one in loaded.rules.inspection.items}
    if typed.item not in items:
        raise NothingOfThatNameError("item of the inspection", typed.item, tuple(items), where="--item")
    photo = ""
    if typed.photo is not None:
        content = photo_beside(typed.photo, typed.photo.name, where="--photo")
        with place.opened(create=False) as book:
            photo = keep_photo(book, content, typed.photo.name)
    checks = [one for one in loaded.day.checks if (one.car, one.item) == (car.id, typed.item)]
    last = latest(checks)
    look = CarLook(
        look_id=f"look-{uuid4().hex[:16]}", car=car.id, item=typed.item, result=typed.result,
        looked_by=by, seen=last.id if last else "", value=typed.value, note=typed.note, photo=photo,
    )  # fmt: skip
    look_at_car(place, loaded.day.event.id, look)
    return Noted(of=car.name, item=items[typed.item], result=typed.result)


def _at_helmet(loaded: LoadedDay, place: BookPlace, typed: LookTyped, *, helmet: Helmet, by: str) -> Noted:
    results: tuple[LookResult, ...] = ("passed", "failed", "not looked at")
    if typed.result not in results:
        raise ResultWordError(typed.result, results)
    if typed.item not in LOOKS:
        raise NothingOfThatNameError("look at a helmet", typed.item, LOOKS, where="--item")
    with place.opened(create=False) as book:
        version = book.one(Helmet, helmet.id).version
    look = HelmetLook(
        helmet=helmet.id, look=typed.item, result=typed.result, looked_by=by, version=version, note=typed.note
    )  # fmt: skip
    look_at_helmet(place, loaded.day.event.id, look)
    return Noted(of=f"helmet {helmet.id}", item=typed.item, result=typed.result)

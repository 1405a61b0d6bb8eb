"""Who is meant: a driver by id, by number or by name; two with one name are asked about."""

from __future__ import annotations

from typing import TYPE_CHECKING

from conewise.errors import InputError, NotFoundError
from conewise.toml_source import nearest

if TYPE_CHECKING:
    from collections.abc import Sequence

    from conewise.event.day import EventDay
    from conewise.event.people import Person


class UnknownPersonError(NotFoundError):
    """Nobody of this day is called so."""

    code = "person-unknown"

    def __init__(self, text: str, known: Sequence[str], *, where: str) -> None:
        listed = ", ".join(known[:12]) or "nobody"
        super().__init__(
            f"Nobody here is called '{text}'.",
            where=where,
            hint=f"{nearest(text, list(known))}Known are: {listed}.",
        )


class AmbiguousPersonError(InputError):
    """Several people are meant by one name."""

    code = "person-ambiguous"

    def __init__(self, text: str, ids: Sequence[str], *, where: str) -> None:
        super().__init__(
            f"'{text}' may be {' or '.join(ids)}.",
            where=where,
            hint="Say the id or the number instead of the name.",
        )


class AmbiguousCarError(InputError):
    """A driver is entered in several cars, and none is named."""

    code = "car-ambiguous"

    def __init__(self, text: str, cars: Sequence[str], *, where: str) -> None:
        super().__init__(
            f"{text} is entered in {' and '.join(cars)}.", where=where, hint="Name the car of the run as well."
        )


class People:
    """Finds the people of a day by what they are called."""

    def __init__(self, day: EventDay) -> None:
        self._day = day
        self._by_id = {person.id: person for person in day.people}
        self._by_name: dict[str, list[Person]] = {}
        for person in day.people:
            self._by_name.setdefault(_plain(person.name), []).append(person)
        self._by_number: dict[str, set[str]] = {}
        self._cars: dict[str, list[str]] = {}
        for entry in day.event.entries:
            self._cars.setdefault(entry.person, []).append(entry.car)
            if entry.number:
                self._by_number.setdefault(entry.number.casefold(), set()).add(entry.person)

    def named(self, text: str, *, where: str = "") -> Person:
        """The person who is meant: by id first, then by number, then by name.

        Raises
        ------
        UnknownPersonError
            If nobody is called so.
        AmbiguousPersonError
            If several are.
        """
        if text in self._by_id:
            return self._by_id[text]
        numbered = [self._by_id[key] for key in self._by_number.get(text.casefold(), ()) if key in self._by_id]
        found = numbered or self._by_name.get(_plain(text), [])
        if not found:
            raise UnknownPersonError(text, [person.id for person in self._day.people], where=where)
        if len(found) > 1:
            raise AmbiguousPersonError(text, sorted(person.id for person in found), where=where)
        return found[0]

    def car_of(self, person: Person, car: str, *, where: str = "") -> str:
        """The car of a run: the one that is named, or the only one that the driver is entered in.

        Raises
        ------
        AmbiguousCarError
            If none is named and the driver is entered in several.
        """
        cars = self._cars.get(person.id, [])
        if car or not cars:
            return car
        if len(set(cars)) > 1:
            raise AmbiguousCarError(person.name, sorted(set(cars)), where=where)
        return cars[0]


def _plain(name: str) -> str:
    return " ".join(name.casefold().split())

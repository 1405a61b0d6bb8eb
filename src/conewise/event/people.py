"""People of an event day: drivers, mentors, and what an organiser has to know about them."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, Literal

from pydantic import Field, model_validator

from conewise.records import Day, Id, Line, OptionalId, OptionalLine, Record, Text

if TYPE_CHECKING:
    from datetime import date

Level = Literal["novice", "regular", "expert"]


class Licence(Record):
    """A driving licence. The number stays private."""

    PRIVATE: ClassVar[frozenset[str]] = frozenset({"number"})

    number: OptionalLine = ""
    valid_until: Day | None = None
    seen: Day | None = None  # the day on which a person looked at it


class Guardian(Record):
    """Who signs for a minor, and when that was done."""

    PRIVATE: ClassVar[frozenset[str]] = frozenset({"name", "phone"})

    name: OptionalLine = ""
    phone: OptionalLine = ""
    waiver_signed: Day | None = None


class EmergencyContact(Record):
    """Whom to call."""

    PRIVATE: ClassVar[frozenset[str]] = frozenset({"name", "phone", "relation"})

    name: OptionalLine = ""
    phone: OptionalLine = ""
    relation: OptionalLine = ""


class Person(Record):
    """A person of the event day: driver, mentor or passenger. Two may carry one name; the id tells them apart."""

    PRIVATE: ClassVar[frozenset[str]] = frozenset({"emergency", "medical"})

    id: Id
    name: Line
    born: Day | None = None
    level: Level = "regular"
    events_driven: int = Field(default=0, ge=0, le=10_000)  # before the first event in this book
    licence: Licence | None = None
    waiver_signed: Day | None = None  # the person's own
    guardian: Guardian | None = None
    mentor: OptionalId = ""  # a person; empty: none chosen
    can_mentor: bool = False
    ride_alongs: bool | None = None  # a passenger may ride with this driver; None: nobody asked
    driver_file: OptionalLine = ""  # how this person drives; docs/formats-cars.md
    emergency: EmergencyContact | None = None
    medical: Text = ""

    @model_validator(mode="after")
    def _is_no_mentor_of_oneself(self) -> Person:
        if self.mentor and self.mentor == self.id:
            raise ValueError("mentor: nobody is their own mentor")
        return self


def age(born: date, day: date) -> int:
    """Full years of age on a day; who was born on 29 February is a year older from 1 March in other years.

    Examples
    --------
    >>> from datetime import date
    >>> age(date(2008, 2, 29), date(2026, 2, 28)), age(date(2008, 2, 29), date(2026, 3, 1))
    (17, 18)
    """
    return day.year - born.year - ((day.month, day.day) < (born.month, born.day))

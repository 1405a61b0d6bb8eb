"""Set-up history: every change to a car with its date, reversible, so that a run knows the car it was driven with."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from conewise.cars.change import Change, changed_car
from conewise.records import Record

if TYPE_CHECKING:
    from conewise.cars.car import Car

AS_THE_CAR_FILE = "0"  # label of the set-up without any entry


class Entry(Record):
    """One change from one time to another; times are those of the clock where the car is."""

    number: int  # in the file, from 1
    at: datetime
    change: Change
    undone: datetime | None = None

    def holds(self, when: datetime) -> bool:
        """Whether the change is on the car at a time; from its own time on, until it is undone."""
        return self.at <= when and (self.undone is None or when < self.undone)


class SetupHistory(Record):
    """What was changed on a car. `base` is the car file as it was before the first entry."""

    base: str
    digest: str = ""  # of the car file when the history was begun
    entries: tuple[Entry, ...] = ()
    source: str = ""

    def active(self, when: datetime) -> tuple[Entry, ...]:
        """Entries that are on the car at a time, in the order in which they were made."""
        found = [entry for entry in self.entries if entry.holds(when)]
        return tuple(sorted(found, key=lambda entry: (entry.at, entry.number)))

    def label(self, when: datetime) -> str:
        """Name of the set-up at a time, such as "1+3"; two times of one label had the same car."""
        return "+".join(str(entry.number) for entry in self.active(when)) or AS_THE_CAR_FILE

    def times(self) -> tuple[datetime, ...]:
        """Times at which the set-up changed, in order."""
        ends = [entry.undone for entry in self.entries if entry.undone is not None]
        return tuple(sorted({*(entry.at for entry in self.entries), *ends}))


def car_on(base: Car, history: SetupHistory, when: datetime) -> Car:
    """The car as it was at a time.

    Parameters
    ----------
    base : Car
        Of the file that the history names, completed with typical values.
    history : SetupHistory
    when : datetime
        Local time without a zone.

    Returns
    -------
    Car
        The very same numbers as `base` where nothing is on it: entries are laid on anew, never taken off.

    Raises
    ------
    ImpossibleChangeError, NoSuchNumberError
        If an entry would leave a car that cannot be; the entry is named.
    """
    car = base
    for entry in history.active(when):
        car = changed_car(car, entry.change)
    return car

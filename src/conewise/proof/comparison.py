"""Which runs a change is judged by: the two set-ups, the drivers who drove both, and those who changed nothing."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from conewise.errors import ByFace, InputError, NotFoundError
from conewise.toml_source import nearest

if TYPE_CHECKING:
    from collections.abc import Sequence

    from conewise.proof.times import Times

Array = NDArray[np.float64]
Indices = NDArray[np.intp]
Flags = NDArray[np.bool_]


class UnknownNameError(NotFoundError):
    """A set-up or a driver that no run has."""

    code = "unknown-name"

    def __init__(self, name: str, *, what: str, known: Sequence[str], file: str) -> None:
        listed = ", ".join(f"'{one}'" for one in known[:12]) or "none"
        hint = f"{nearest(name, list(known))}In this file: {listed}."
        super().__init__(f"There is no {what} '{name}'.", where=file, hint=hint)


class WhichSetupsError(InputError):
    """More than two set-ups, and nobody said which two are compared."""

    code = "which-setups"

    def __init__(self, counts: dict[str, int], *, file: str) -> None:
        listed = ", ".join(f"'{name}' ({n} runs)" for name, n in counts.items())
        super().__init__(
            f"There are {len(counts)} set-ups; a change is judged between two.",
            where=file,
            hint=ByFace(
                f"Choose the one before and the one after. There are {listed}.",
                typed=f"Say --before and --after. In this file: {listed}.",
            ),
        )


class SameSetupError(InputError):
    """A set-up that is to be compared with itself."""

    code = "same-setup"
    default_hint = ByFace("Choose two set-ups.", typed="Name two set-ups with --before and --after.")

    def __init__(self, name: str, *, file: str) -> None:
        super().__init__(f"Before and after are both '{name}'.", where=file)


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """The set-ups compared; `drivers` are those whose change is judged, all where it is empty."""

    before: str
    after: str
    drivers: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """The runs that judge a change. Arrays have shape (n_runs,); groups are numbered from 0.

    row: place of the run in the times it came from
    log_time: logarithm of the raw time in seconds
    is_after: on the set-up after the change; False for drivers who change nothing
    is_tester: of a driver whose change is judged
    entry: one driver at one event; unit: one driver on whatever of his set-ups that the change does not touch
    event: in driving order
    position: how many attempts this driver had made at this event
    passenger: 0 or 1; surface: temperature [°C], NaN where not noted
    """

    row: Indices
    log_time: Array
    is_after: Array
    is_tester: Flags
    entry: Indices
    unit: Indices
    event: Indices
    position: Array
    passenger: Array
    surface: Array

    def where(self, rows: Flags) -> Compared:
        """Some of the runs; groups are numbered anew."""
        values = {name: getattr(self, name)[rows] for name in self.__dataclass_fields__}
        for name in ("entry", "unit", "event"):
            values[name] = numbered(values[name])
        return Compared(**values)


def question_of(times: Times, *, before: str = "", after: str = "", drivers: Sequence[str] = ()) -> Question:
    """The question with both set-ups named: where they are not, the one driven first is before the change.

    Raises
    ------
    UnknownNameError
        If a set-up or a driver is named that no run has.
    WhichSetupsError
        If there are more than two and they are not both named.
    SameSetupError
        If both are the same.
    """
    known_drivers = tuple(dict.fromkeys(times.driver.tolist()))
    for driver in drivers:
        if driver not in known_drivers:
            raise UnknownNameError(driver, what="driver", known=known_drivers, file=times.file)
    judged = times.where(np.isin(times.driver, list(drivers))) if drivers else times
    setups = judged.setups
    for name in filter(None, (before, after)):
        if name not in setups:
            raise UnknownNameError(name, what="set-up", known=setups, file=times.file)
    if before and before == after:
        raise SameSetupError(before, file=times.file)
    others = [name for name in setups if name not in {before, after}]
    n_unnamed = (not before) + (not after)
    if n_unnamed and len(others) > n_unnamed:
        counts = {name: int(np.sum(judged.setup == name)) for name in setups}
        raise WhichSetupsError(counts, file=times.file)
    before = before or (others.pop(0) if others else "")
    after = after or (others.pop(0) if others else "")
    return Question(before=before, after=after, drivers=tuple(drivers))


def compared_runs(times: Times, question: Question) -> Compared:
    """The runs that judge a change: those of its drivers on both set-ups, and those of drivers who change nothing.

    Notes
    -----
    A driver is judged who drove on both set-ups and, where drivers are named, is named. Any other driver's runs count
    as they are as long as that driver's set-up does not change during an event; runs on a third set-up of a driver
    who is judged do not.
    """
    entry = times.entries
    pair = np.isin(times.setup, [question.before, question.after])
    drove_both = {
        driver
        for driver in dict.fromkeys(times.driver.tolist())
        if len(set(times.setup[pair & (times.driver == driver) & times.is_timed])) == 2
    }
    judged = drove_both & set(question.drivers) if question.drivers else drove_both
    is_tester = np.isin(times.driver, list(judged))
    setups_of_entry: dict[int, set[str]] = {}
    for number, setup in zip(entry.tolist(), times.setup.tolist(), strict=True):
        setups_of_entry.setdefault(number, set()).add(setup)
    is_steady = np.array([len(setups_of_entry[number]) == 1 for number in entry.tolist()], dtype=bool)
    rows = np.flatnonzero(times.is_timed & np.where(is_tester, pair, is_steady))
    unit_names = [(times.driver[index], "" if is_tester[index] else times.setup[index]) for index in rows.tolist()]
    codes = {name: number for number, name in enumerate(dict.fromkeys(unit_names))}
    return Compared(
        row=rows,
        log_time=np.log(times.raw_time[rows]),
        is_after=(is_tester & (times.setup == question.after))[rows].astype(float),
        is_tester=is_tester[rows],
        entry=numbered(entry[rows]),
        unit=np.array([codes[name] for name in unit_names], dtype=np.intp),
        event=numbered(times.events[rows]),
        position=times.run[rows].astype(float) - 1.0,
        passenger=times.passenger[rows].astype(float),
        surface=times.surface[rows],
    )


def numbered(codes: Indices) -> Indices:
    """The same groups numbered from 0 without gaps, in their old order."""
    return np.unique(codes, return_inverse=True)[1].astype(np.intp)

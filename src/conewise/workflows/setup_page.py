"""Set-ups of a car of the book, changed on a page: each is a version of its file, dated, and can be put back."""

from __future__ import annotations

from typing import TYPE_CHECKING

from conewise.cars.car_file import car_of
from conewise.cars.change import changed_car
from conewise.cars.toml_file import Table
from conewise.cars.written_car import NotInFileError, with_written
from conewise.store.texts import CarText
from conewise.toml_source import toml_values
from conewise.workflows.line_choices import car_setup
from conewise.workflows.setup import NothingChangedError, differences, typed_change

if TYPE_CHECKING:
    from collections.abc import Sequence

    from conewise.workflows.book_place import BookPlace
    from conewise.workflows.setup import Difference


def change_setup(
    place: BookPlace, car_file: str, edits: Sequence[str], *, version: int, reason: str, by: str = ""
) -> tuple[int, tuple[Difference, ...]]:
    """Set a car up otherwise: a new version of its file, in which every other line stays.

    Parameters
    ----------
    place : BookPlace
    car_file : str
        Id of the car file.
    edits : sequence of str
        As `conewise car setup add --edit` takes them: "front.camber = -2.8 deg". What hangs on a number moves along.
        A number that is set comes from the car's page from then on, as sure as one in a car file is that says no more;
        one that something is added to stays as sure as it was.
    version : int
        That was seen.
    reason : str
        For the history: what was done.
    by : str, optional
        Who did it.

    Returns
    -------
    int, tuple[Difference, ...]
        The new version, and what has changed.

    Raises
    ------
    ChangedMeanwhileError
        If there is a newer version than the one that was seen.
    InputError
        If an edit is none, changes nothing, or would leave an impossible car. Nothing is kept then.
    """
    change = typed_change(reason or ", ".join(edits), edits)
    with place.opened(create=False) as book:
        text, where = book.one(CarText, car_file).record.text, f"car '{car_file}'"
        before = car_of(Table.of_text(text, file=where))
        wanted = {one.name: one.after for one in differences(before, changed_car(before, change))}
        told = {name for edit in change.edits for name in edit.fields}
        given = {
            name: value
            for name, value in wanted.items()
            if value is not None and (name in told or _is_given(text, name))
        }
        by_page = {name for edit in change.edits if edit.action == "set" for name in edit.fields}
        written = with_written(text, given, where=where, by_page=by_page)
        found = differences(before, car_of(Table.of_text(written, file=f"{where}, changed")))
        after = {one.name: one.after for one in found}
        if not after:
            raise NothingChangedError(change.name)
        for name in told & set(wanted):
            if after.get(name) != wanted[name]:
                raise NotInFileError(name, where=where)
        kept = book.change(CarText(id=car_file, text=written), version=version, by=by, reason=change.name)
    return kept.version, found


def put_back(place: BookPlace, car_file: str, number: int, *, version: int, by: str = "") -> int:
    """Set a car up again as it was in an earlier version; the newer ones stay in the history.

    Raises
    ------
    NoSuchSetupError
        If there is no such version.
    ChangedMeanwhileError
        If there is a newer version than the one that was seen.
    """
    earlier = car_setup(place, car_file, number)
    with place.opened(create=False) as book:
        reason = f"as in version {number} again"
        return book.change(CarText(id=car_file, text=earlier.text), version=version, by=by, reason=reason).version


def _is_given(text: str, name: str) -> bool:
    """Whether a file says a number itself; what it leaves out follows from the rest anew."""
    table: object = toml_values(text, file="")
    for key in name.split("."):
        if not isinstance(table, dict) or key not in table:
            return False
        table = table[key]
    return True

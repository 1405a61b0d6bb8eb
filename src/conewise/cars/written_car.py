"""The text of a car file with other numbers in it: every other line, and every remark, stays as a person wrote it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import tomlkit
from tomlkit.items import AbstractTable, Array

from conewise.cars.car import field
from conewise.cars.setup_file import exact_text
from conewise.errors import InputError
from conewise.quantities import Origin

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping


class NotInFileError(InputError):
    """A number that a car file does not have under its own name, for it follows from others there."""

    code = "not-in-file"
    default_hint = "Change in the car file what it follows from, and keep the file anew: conewise book add FILE."

    def __init__(self, name: str, *, where: str) -> None:
        super().__init__(f"'{name}' cannot be set by itself in this car file.", where=where)


def with_written(text: str, values: Mapping[str, float | str], *, where: str, by_page: Collection[str] = ()) -> str:
    r"""The text of a car file with other values.

    Parameters
    ----------
    text : str
    values : mapping
        By dotted names such as "front.camber": numbers in SI, or words such as a kind of differential.
    where : str
        Which file, for errors.
    by_page : collection of str, optional
        Numbers that somebody set on the car's page: what the file said of the one before, where it came from and how
        sure it was, does not hold for them.

    Raises
    ------
    NotInFileError
        If the file has something else in the place of a value.

    Examples
    --------
    >>> with_written("[front]\ncamber = '-2 deg'  # by the gauge\n", {"front.camber": -0.05}, where="car")
    '[front]\ncamber = "-0.05 rad"  # by the gauge\n'
    """
    document = tomlkit.parse(text)
    for name, value in values.items():
        *tables, key = name.split(".")
        place: Any = document
        for table in tables:
            place = place.setdefault(table, tomlkit.table())
            if not isinstance(place, AbstractTable):
                raise NotInFileError(name, where=where)
        written = _written(name, value)
        if name in by_page and not isinstance(value, str) and not field(name).from_code:
            _set_on_page(place, key, written)
        else:
            _set(place, key, written, error=NotInFileError(name, where=where))
    return tomlkit.dumps(document)


def _written(name: str, value: float | str) -> str | bool:
    if isinstance(value, str):
        return {"true": True, "false": False}.get(value, value)
    facts = field(name)
    return exact_text(value, facts.dimension, facts.shown)


def _set_on_page(place: Any, key: str, value: str | bool) -> None:
    """Put a value in the place of an old one, with where it came from; how sure it is is as usual for that."""
    made = tomlkit.inline_table()
    made.update({"value": value, "origin": Origin.PAGE.value})
    place[key] = made


def _set(place: Any, key: str, value: str | bool, *, error: NotInFileError) -> None:
    """Put a value where the old one is, in the form that it has there."""
    old = place.get(key)
    if isinstance(old, AbstractTable):
        if "value" not in old:
            raise error
        old["value"] = value
    elif isinstance(old, Array):  # value and uncertainty
        if not 1 <= len(old) <= 2:
            raise error
        old[0] = value
    else:
        place[key] = value

"""What a person fills in: frozen records that are checked when made, and checked again when changed."""

from __future__ import annotations

import re
import unicodedata
from datetime import date, datetime, time
from typing import TYPE_CHECKING, Annotated, Any, ClassVar, Self

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field
from pydantic_core import PydanticCustomError

if TYPE_CHECKING:
    from collections.abc import Collection

FIRST_DAY, LAST_DAY = date(1900, 1, 1), date(2199, 12, 31)

_LETTERS = str.maketrans({"ø": "o", "æ": "ae", "œ": "oe", "ß": "ss", "ł": "l", "đ": "d", "ð": "d", "þ": "th", "ı": "i"})
_MOST_LETTERS = 60


def _no_number(value: Any) -> Any:
    """A date or a time is never a bare number: that could be seconds, or days, of anything."""
    return f"the number {value}" if isinstance(value, int | float) else value


def _of_the_place(value: Any) -> Any:
    """Times are those of the clock at the place, and an offset from UTC says something else."""
    if value.tzinfo is not None:
        raise PydanticCustomError("with_offset", "a clock time of the place is wanted, without an offset from UTC")
    return value


def _in_reach(value: Any) -> Any:
    """Within the years that a day may have."""
    if not FIRST_DAY <= value.date() <= LAST_DAY:
        raise PydanticCustomError("out_of_reach", "a moment between 1900 and 2199 is wanted")
    return value


Id = Annotated[str, Field(pattern=r"^[a-z0-9][a-z0-9-]{0,59}$")]  # what records refer to each other by
OptionalId = Annotated[str, Field(pattern=r"^(?:[a-z0-9][a-z0-9-]{0,59})?$")]  # "" refers to nothing
Line = Annotated[str, Field(pattern=r"^[^\s\p{Cc}](?:\P{Cc}*[^\s\p{Cc}])?$", max_length=200)]  # one line of text
OptionalLine = Annotated[str, Field(pattern=r"^(?:[^\s\p{Cc}](?:\P{Cc}*[^\s\p{Cc}])?)?$", max_length=200)]
Text = Annotated[str, Field(max_length=20_000)]  # as many lines as a person writes
Day = Annotated[date, Field(ge=FIRST_DAY, le=LAST_DAY), BeforeValidator(_no_number)]
Moment = Annotated[datetime, BeforeValidator(_no_number), AfterValidator(_of_the_place), AfterValidator(_in_reach)]
Clock = Annotated[time, BeforeValidator(_no_number), AfterValidator(_of_the_place)]


class Record(BaseModel):
    """A frozen record; a change makes a new one and is checked again.

    `PRIVATE` names the fields that are left out wherever records leave this machine unless somebody asks for them.
    """

    PRIVATE: ClassVar[frozenset[str]] = frozenset()

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    def changed(self, **edits: Any) -> Self:
        """A copy with other values, validated like the first."""
        return type(self).model_validate({name: getattr(self, name) for name in type(self).model_fields} | edits)


def id_of(name: str, taken: Collection[str] = ()) -> str:
    """An id for a name, with a number behind it where that id is taken.

    Examples
    --------
    >>> id_of("Åsa Öberg"), id_of("Åsa Öberg", {"asa-oberg"}), id_of("李")
    ('asa-oberg', 'asa-oberg-2', 'x')
    """
    plain = unicodedata.normalize("NFKD", name.casefold().translate(_LETTERS)).encode("ascii", "ignore").decode()
    base = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[: _MOST_LETTERS - 6].strip("-") or "x"
    number, found = 1, base
    while found in taken:
        number += 1
        found = f"{base}-{number}"
    return found

"""A driver's papers as somebody saw them on the day: licence, waivers, mentor, ride-alongs."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Literal

from pydantic import ValidationError

from conewise.errors import InputError
from conewise.event.day import Event
from conewise.event.people import Guardian, Licence, Person
from conewise.workflows.place_clock import clock_at

if TYPE_CHECKING:
    from datetime import date

    from conewise.workflows.book_place import BookPlace

Paper = Literal["licence", "waiver", "guardian", "mentor", "ride-alongs"]


class PaperValueError(InputError):
    """Something about a driver that cannot be."""

    code = "paper-value"

    def __init__(self, paper: str, value: str) -> None:
        super().__init__(
            f"'{value}' says nothing about the {paper}.",
            where="value",
            hint="The licence takes its last day, or nothing; ride-alongs yes or no; the mentor an id.",
        )


def see_paper(source: BookPlace, event_id: str, *, person: str, paper: Paper, value: str, version: int, by: str) -> int:
    """Write down what was seen of a driver's papers on the day; the person's new version comes back.

    Parameters
    ----------
    source : BookPlace
    event_id : str
    person : str
        Id.
    paper : str
        "licence" (value: valid until, or empty), "waiver", "guardian" (signed by the guardian), "mentor" (value: a
        person's id) or "ride-alongs" (value: yes or no).
    value : str
    version : int
        Of the person, as the page showed it.
    by : str
        Who saw it.

    Raises
    ------
    PaperValueError
        If the value says nothing.
    ChangedMeanwhileError
        If the person was changed after the page was made.
    """
    with source.opened(create=False) as book, book.writing(by=by) as writer:
        today = clock_at(writer.one(Event, event_id).record, source.now).date()
        before = writer.one(Person, person).record
        try:
            after = before.changed(**_seen(before, paper, value, today))
        except ValidationError:
            raise PaperValueError(paper, value) from None
        return writer.change(after, version=version).version


def _seen(person: Person, paper: Paper, value: str, today: date) -> dict[str, Any]:
    """Fields of the person that change."""
    if paper == "licence":
        return {"licence": _licence(person, value, today)}
    if paper == "waiver":
        return {"waiver_signed": today}
    if paper == "guardian":
        return {"guardian": (person.guardian or Guardian()).changed(waiver_signed=today)}
    if paper == "mentor" and value != person.id:
        return {"mentor": value}
    if paper == "ride-alongs" and value in {"yes", "no"}:
        return {"ride_alongs": value == "yes"}
    raise PaperValueError(paper, value)


def _licence(person: Person, value: str, today: date) -> Licence:
    licence = (person.licence or Licence()).changed(seen=today)
    if not value:
        return licence
    try:
        return licence.changed(valid_until=value)
    except ValueError:
        raise PaperValueError("licence", value) from None

"""The run list of an event: who drives in which order, and every run so far."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from conewise.event.runs import Run
from conewise.store.days import entry_list
from conewise.workflows.events import penalty_of
from conewise.workflows.sent_runs import run_record

if TYPE_CHECKING:
    from conewise.event.day import Event, EventDay
    from conewise.event.rules import PenaltyRule
    from conewise.workflows.book_place import BookPlace

_USUAL_RUNS = 4  # of a driver where the event does not say


def run_list(source: BookPlace, event_id: str) -> dict[str, Any]:
    """The run list as plain data: what a device needs to write runs down without asking again.

    Returns
    -------
    dict
        `made_at` (milliseconds since 1970), `event`, `cone_s` and `off_s` (seconds for a cone and for leaving the
        course; null: no time), `n_runs` of each driver, `entries` in the order of the event (heats one after another),
        and `runs` as `run_record` gives them.
        Nothing of it is private.

    Raises
    ------
    NoSuchRecordError
        If there is no such event.
    """
    with source.opened(create=False) as book:
        day = entry_list(book, event_id)
        penalty = penalty_of(book, day.event)
        kept = book.every(Run, event=event_id)
        runs = [
            run_record(one.record, penalty, versions=book.history(Run, one.id) if one.version > 1 else ())
            for one in kept
        ]
    made = int(source.now().timestamp() * 1000)
    return {"ok": True, "made_at": made, **_told(day, penalty), "runs": runs}


def _told(day: EventDay, penalty: PenaltyRule) -> dict[str, Any]:
    event = day.event
    heats = {heat: place for place, heat in enumerate(event.heats)}
    entries = sorted(event.entries, key=lambda entry: heats.get(entry.heat, len(heats)))
    return {
        "event": _event(event),
        "cone_s": penalty.cone,
        "off_s": penalty.off_course,
        "n_runs": event.schedule.runs if event.schedule else _USUAL_RUNS,
        "heats": list(event.heats),
        "entries": [
            {
                "driver": entry.person,
                "name": day.called(entry.person),
                "number": entry.number,
                "class": entry.class_code,
                "heat": entry.heat,
                "car": entry.car,
                "car_name": car.name if (car := day.car(entry.car)) else entry.car,
            }
            for entry in entries
        ],
    }


def _event(event: Event) -> dict[str, Any]:
    return {"id": event.id, "name": event.name, "date": event.day.isoformat(), "place": event.place}

"""The board of an event day's readiness: every driver, car and helmet, item by item, with what to do and until when."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from conewise.event.cars import EventCar
from conewise.event.helmets import LOOKS, Helmet
from conewise.event.people import Person
from conewise.event.plan import INSPECTION, REGISTER
from conewise.readiness.driver import helmet_of
from conewise.readiness.helmet import LOOK_WORDS
from conewise.readiness.inspection import last_check
from conewise.readiness.items import CLOSING
from conewise.workflows.event_plan import plan_event
from conewise.workflows.events import load_day
from conewise.workflows.ready import CAUTION, answer_ready, inspection_sheet

if TYPE_CHECKING:
    from pathlib import Path

    from conewise.event.day import EventDay
    from conewise.readiness.items import Judged
    from conewise.workflows.book_place import BookPlace
    from conewise.workflows.events import LoadedDay

# What a tap can settle of an open item, by its code; others are settled where the event is written down.
_PAPERS = {
    "driver-licence": "licence",
    "driver-licence-ended": "licence",
    "driver-waiver": "waiver",
    "driver-guardian": "guardian",
    "driver-mentor": "mentor",
    "driver-ride-alongs": "ride-alongs",
    "driver-helmet": "loan",
}


def ready_board(source: BookPlace, event: Path) -> dict[str, Any]:
    """The board of an event of the book as plain data.

    Returns
    -------
    dict
        `answer`, `ready`, `caution`, `due` (clock times until which drivers, cars and helmets have to be through, empty
        where no schedule is known), and `drivers`, `cars` and `helmets`, each with `id`, `name`, `ready`, `version` and
        `items`. An item has `code`, `text`, `reason`, `blocks`, `state` ("open", "again", "failed", "done"), who looked
        at it when, and `act`: what a tap can do about it. Private fields are left out.

    Raises
    ------
    NoSuchRecordError
        If there is no such event.
    """
    loaded = load_day(event, source=source)
    versions = _versions(source)
    answer = answer_ready(loaded)
    day = loaded.day
    return {
        "ok": True,
        "ready": answer.ready,
        "answer": answer.sentence,
        "closing": CLOSING,
        "n_blocking": answer.n_blocking,
        "rules": answer.rules_title,
        "caution": CAUTION,
        "due": _due(loaded),
        "event_items": [{"code": i.code, "text": i.item, "reason": i.reason, "blocks": i.blocks} for i in answer.day],
        "drivers": [_driver(one, versions) for one in answer.drivers],
        "cars": [_car(one, loaded, versions) for one in answer.cars],
        "helmets": [_helmet(one, day, versions) for one in answer.helmets],
        "loans": _loans(day),
        "mentors": [{"id": p.id, "name": day.called(p.id)} for p in day.people if p.can_mentor],
        "people": [{"id": p.id, "name": day.called(p.id)} for p in day.people],
    }


def _versions(source: BookPlace) -> dict[tuple[str, str], int]:
    """Version of every record that a tap may change."""
    with source.opened(create=False) as book, book.reading() as reader:
        kinds = (("person", reader.every(Person)), ("car", reader.every(EventCar)), ("helmet", reader.every(Helmet)))
        return {(kind, kept.id): kept.version for kind, every in kinds for kept in every}


def _due(loaded: LoadedDay) -> dict[str, str]:
    """When drivers have to be registered, and cars and helmets through the inspection."""
    if loaded.day.event.schedule is None:
        return {"drivers": "", "cars": "", "helmets": ""}
    ends = {step.name: f"{step.end:%H:%M}" for step in plan_event(loaded).plan.steps}
    return {"drivers": ends[REGISTER], "cars": ends[INSPECTION], "helmets": ends[INSPECTION]}


def _driver(judged: Judged, versions: dict[tuple[str, str], int]) -> dict[str, Any]:
    items = [
        _item(one.code, one.item, reason=one.reason, blocks=one.blocks, act=_PAPERS.get(one.code, ""))
        for one in judged.open_items
    ]
    return _row(judged, items, versions.get(("person", judged.id), 0))


def _car(judged: Judged, loaded: LoadedDay, versions: dict[tuple[str, str], int]) -> dict[str, Any]:
    """A car with its whole list, and what is open beside it first."""
    day, car = loaded.day, loaded.day.car(judged.id)
    if car is None:
        items = [_item(one.code, one.item, reason=one.reason, blocks=one.blocks) for one in judged.open_items]
        return _row(judged, items, 0)
    beside = {one.code: one for one in judged.open_items}
    listed = []
    for row in inspection_sheet(car, day, loaded.rules):
        found = beside.pop(f"inspection-{row['item']}", None)
        if found is None and row["item"] in beside:
            continue  # no item of the list; stands with what is open beside it
        check = last_check(row["item"], car, day)
        state = "done" if not row["open"] else "open"
        if check is not None and row["open"]:
            state = "failed" if check.result == "failed" else "again"
        act = "torque" if row["needs"] == "wheel-torque" and car.wheel_torque is None else "look"
        item = _item(row["item"], row["text"], reason=row["open"], blocks=bool(row["open"]), act=act, state=state)
        item |= {
            "seen": "" if check is None else check.id,
            "result": row["result"],
            "looked_by": row["looked_by"],
            "looked_at": "" if check is None else f"{check.looked_at:%H:%M}",
            "value": row["value"],
            "wanted": car.wheel_torque.written if row["needs"] == "wheel-torque" and car.wheel_torque else "",
            "note": row["note"],
        }
        listed.append(item)
    others = [_item(one.code, one.item, reason=one.reason, blocks=one.blocks) for one in beside.values()]
    return _row(judged, [*others, *listed], versions.get(("car", car.id), 0))


def _helmet(judged: Judged, day: EventDay, versions: dict[tuple[str, str], int]) -> dict[str, Any]:
    helmet = day.helmet(judged.id)
    looks = {f"helmet-{name}": name for name in LOOKS}
    still_open = {one.code: one for one in judged.open_items}
    items = [
        _item(one.code, one.item, reason=one.reason, blocks=one.blocks)
        for one in judged.open_items
        if one.code not in looks
    ]
    for code, name in looks.items() if helmet is not None else ():
        look, found = getattr(helmet, name), still_open.get(code)
        state = "done" if found is None else "failed" if look.result == "failed" else "open"
        item = _item(
            name, LOOK_WORDS[name], reason="" if found is None else found.reason, blocks=found is not None, act="look",
            state=state,
        )  # fmt: skip
        item |= {
            "result": "" if look.result == "not looked at" else look.result, "looked_by": look.looked_by,
            "looked_at": "" if look.looked_at is None else look.looked_at.isoformat(), "note": look.note,
            "seen": "", "value": "", "wanted": "",
        }  # fmt: skip
        items.append(item)
    worn = dict.fromkeys(day.called(e.person) for e in day.event.entries if helmet_of(e, day) == judged.id)
    row = _row(judged, items, versions.get(("helmet", judged.id), 0)) | {"worn_by": list(worn)}
    return row | {"labels": list(helmet.labels) if helmet else [], "is_loan": helmet is not None and helmet.is_loan}


def _loans(day: EventDay) -> list[dict[str, Any]]:
    """The club's helmets: who has which today."""
    lent = {loan.helmet: loan for loan in day.loans}
    rows = []
    for helmet in day.helmets:
        if helmet.is_loan:
            loan = lent.get(helmet.id)
            rows.append({
                "helmet": helmet.id, "size": helmet.size, "labels": list(helmet.labels),
                "loan": loan.id if loan else "", "person": loan.person if loan else "",
                "name": day.called(loan.person) if loan else "",
            })  # fmt: skip
    return rows


def _item(
    code: str, text: str, *, reason: str, blocks: bool, act: str = "", state: str = "open"
) -> dict[str, Any]:  # fmt: skip
    return {"code": code, "text": text, "reason": reason, "blocks": blocks, "act": act, "state": state}


def _row(judged: Judged, items: list[dict[str, Any]], version: int) -> dict[str, Any]:
    n_open = sum(item["blocks"] for item in items)
    return {
        "id": judged.id, "name": judged.name, "ready": judged.ready, "version": version, "n_open": n_open,
        "items": items, "worn_by": [], "labels": [],
    }  # fmt: skip

"""May we run? Every driver, car and helmet of an event day against its rules."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from conewise.readiness.inspection import item_code, items_for, last_check
from conewise.readiness.judge import judge_day, judged_car

if TYPE_CHECKING:
    from collections.abc import Sequence

    from conewise.event.cars import EventCar
    from conewise.event.day import EventDay
    from conewise.event.rules import EventRules
    from conewise.readiness.items import Judged, OpenItem, Readiness
    from conewise.workflows.events import LoadedDay

CAUTION = "A reminder, not a permit: officials, the rule book, the maker's manual and a qualified mechanic decide."


def answer_ready(loaded: LoadedDay) -> Readiness:
    """What is open at an event day; see `conewise.readiness.judge.judge_day`."""
    return judge_day(loaded.day, loaded.rules)


def ready_record(answer: Readiness) -> dict[str, Any]:
    """The answer as one JSON object."""
    return {
        "ok": answer.ready,
        "ready": answer.ready,
        "event": answer.event,
        "rules": answer.rules,
        "rules_title": answer.rules_title,
        "club_practice_for": list(answer.from_club),
        "answer": answer.sentence,
        "n_blocking": answer.n_blocking,
        "drivers": _judged(answer.drivers),
        "cars": _judged(answer.cars),
        "helmets": _judged(answer.helmets),
        "event_items": _items(answer.day),
        "caution": CAUTION,
    }


def inspection_sheet(car: EventCar, day: EventDay, rules: EventRules) -> list[dict[str, Any]]:
    """The list of one car for the printed sheet: each item with what was seen, and why it is open.

    Returns
    -------
    list of dict
        `item`, `text`, `needs`, `result`, `looked_by`, `looked_at`, `value`, `note` and `open`; empty texts where
        nobody looked yet and where nothing is open. What is open beside the list stands at its end.
    """
    still_open = {item.code: item for item in judged_car(car.id, day, rules).open_items if item.blocks}
    rows = []
    for item in items_for(car, rules.inspection):
        found = still_open.pop(item_code(item), None)
        row = _row(item.id, item.text, item.needs, "" if found is None else found.reason)
        check = last_check(item.id, car, day)
        if check is not None:
            row |= {"result": check.result, "looked_by": check.looked_by, "looked_at": check.looked_at.isoformat()}
            row |= {"value": check.value, "note": check.note}
        rows.append(row)
    return rows + [_row(found.code, found.item, "", found.reason) for found in still_open.values()]


def _row(item: str, text: str, needs: str, reason: str) -> dict[str, Any]:
    seen = dict.fromkeys(("result", "looked_by", "looked_at", "value", "note"), "")
    return {"item": item, "text": text, "needs": needs, **seen, "open": reason}


def _judged(everybody: Sequence[Judged]) -> list[dict[str, Any]]:
    return [
        {"id": one.id, "name": one.name, "ready": one.ready, "open_items": _items(one.open_items)} for one in everybody
    ]


def _items(items: Sequence[OpenItem]) -> list[dict[str, Any]]:
    return [
        {"code": item.code, "item": item.item, "reason": item.reason, "blocks": item.blocks} for item in items
    ]  # fmt: skip

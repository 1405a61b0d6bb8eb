"""The event: the plan of the day, what to pack, who comes, the card for a first event, the money of the season."""

from __future__ import annotations

from datetime import UTC
from pathlib import Path
from typing import Any, Literal

from fastapi import APIRouter, Request
from fastapi.responses import Response

from conewise.records import Id, Line, OptionalLine, Record
from conewise.web.here import Here, Place
from conewise.web.pages import render
from conewise.workflows import day_lists
from conewise.workflows.event_plan import (
    calendar_of,
    event_record,
    plan_event,
    plan_record,
    show_event,
)
from conewise.workflows.events import LoadedDay, load_day

router = APIRouter()

ExpenseKind = Literal["entry", "fuel", "tyres", "travel", "parts", "food", "other"]
_KINDS = ("fuel", "tyres", "travel", "parts", "food", "entry", "other")


class PackSent(Record):
    """One thing of the packing list."""

    item: Line
    is_packed: bool


class ExpenseSent(Record):
    """Money that was spent."""

    id: Id
    kind: ExpenseKind
    amount: Line
    note: OptionalLine = ""


@router.get("/prepare/event", include_in_schema=False)
def event_page(request: Request, at: Place) -> Response:
    """The event and its day."""
    chosen = at.chosen.event
    if chosen is None:
        return render(request, "event.html.j2", at=at, event=None, plan=None, kinds=_KINDS)
    days = _season(at)
    shown = event_record(show_event(days))
    plan = plan_record(plan_event(days[-1])) if chosen.schedule else None
    steps = _steps(plan, at) if plan else []
    return render(
        request, "event.html.j2", at=at, event=shown, plan=plan, day_steps=steps, kinds=_KINDS,
        expenses=days[-1].day.expenses, first=steps[0] if steps else None,
        names={person.id: person.name for person in days[-1].day.people},
    )  # fmt: skip


def _season(at: Here) -> list[LoadedDay]:
    """The events of the season of the chosen one, that one last."""
    chosen = at.chosen.event
    assert chosen is not None
    others = [one.id for one in at.chosen.events if one.id != chosen.id]
    days = [load_day(Path(key), source=at.source) for key in others]
    return [day for day in days if day.day.event.day.year == chosen.day.year] + [
        load_day(Path(chosen.id), source=at.source)
    ]


def _steps(plan: dict[str, Any], at: Here) -> list[dict[str, Any]]:
    """The steps of the driver who is chosen, else those of everybody."""
    who = at.chosen.driver.id if at.chosen.driver else ""
    own: list[dict[str, Any]] = next((one["steps"] for one in plan["drivers"] if one["driver"] == who), plan["steps"])
    return own


@router.get("/api/events/{event}")
def event_as_record(event: Id, at: Place) -> dict[str, Any]:
    """The event, its entries, packing list and money, without private fields."""
    return event_record(show_event([load_day(Path(event), source=at.source)]))


@router.get("/api/events/{event}/plan")
def plan_as_record(event: Id, at: Place, driver: str = "") -> dict[str, Any]:
    """The plan of the day."""
    return plan_record(plan_event(load_day(Path(event), source=at.source)), driver)


@router.get("/api/events/{event}/calendar")
def calendar(event: Id, at: Place, driver: str = "") -> Response:
    """The day as a calendar file (RFC 5545)."""
    text = calendar_of(load_day(Path(event), source=at.source), stamp=at.now().astimezone(UTC), driver=driver)
    name = {"Content-Disposition": f'attachment; filename="{event}.ics"'}
    return Response(text, media_type="text/calendar", headers=name)


@router.post("/api/events/{event}/packing")
def pack(event: Id, sent: PackSent, at: Place) -> dict[str, Any]:
    """Tick one thing of the packing list."""
    day_lists.pack(at.source, event, item=sent.item, is_packed=sent.is_packed)
    return {"ok": True}


@router.post("/api/events/{event}/expenses")
def spend(event: Id, sent: ExpenseSent, at: Place) -> dict[str, Any]:
    """Write down money that was spent."""
    expense = day_lists.spend(
        at.source, event, expense_id=sent.id, kind=sent.kind, amount=sent.amount, note=sent.note
    )  # fmt: skip
    return {"ok": True, "id": expense.id}


@router.post("/api/events/{event}/expenses/{expense}/taken-back")
def take_expense_back(*, event: Id, expense: Id, at: Place) -> dict[str, Any]:
    """Take an expense back."""
    day_lists.take_expense_back(at.source, expense)
    return {"ok": True, "event": event}

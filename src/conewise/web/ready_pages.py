"""May we run: the board of drivers, cars and helmets, and what a tap on it writes down."""

from __future__ import annotations

from pathlib import Path
from typing import Any, Literal

from fastapi import APIRouter, Request
from fastapi.responses import Response

from conewise.event.cars import CHANGE_KINDS, ChangeKind, CheckResult
from conewise.records import Id, Line, OptionalId, OptionalLine, Record
from conewise.web.here import Place
from conewise.web.pages import render
from conewise.workflows import looks, papers
from conewise.workflows.ready_board import ready_board

router = APIRouter()

_REPORTS = tuple(kind for kind in CHANGE_KINDS if kind not in {"contact", "leak", "noise"})


class CarLookSent(Record):
    """A look at an item of a car; the id is made by the sender, `seen` is the id of the last look that was shown."""

    id: Id
    car: Id
    item: Id
    result: CheckResult
    looked_by: Line
    seen: OptionalId = ""
    value: OptionalLine = ""
    note: OptionalLine = ""


class HelmetLookSent(Record):
    """A look at a helmet; `version` is the one that was shown."""

    helmet: Id
    look: Literal["fit", "strap", "liner", "impact"]
    result: Literal["passed", "failed"]
    looked_by: Line
    version: int
    note: OptionalLine = ""


class ReportSent(Record):
    """What happened to a car."""

    id: Id
    car: Id
    kind: ChangeKind
    looked_by: Line
    note: OptionalLine = ""


class PaperSent(Record):
    """What was seen of a driver's papers."""

    person: Id
    paper: papers.Paper
    version: int
    looked_by: Line
    value: OptionalLine = ""


class LoanSent(Record):
    """Who has which of the club's helmets."""

    id: Id
    helmet: Id
    person: Id
    looked_by: Line


class TorqueSent(Record):
    """The torque of wheel nuts from the maker's manual."""

    car: Id
    written: Line
    origin: OptionalLine = ""
    version: int
    looked_by: Line


class TakenBack(Record):
    """Who takes something back."""

    looked_by: Line


@router.get("/prepare/ready", include_in_schema=False)
def prepare(request: Request, at: Place) -> Response:
    """The board."""
    event = at.chosen.event
    board = ready_board(at.source, Path(event.id)) if event else None
    return render(request, "ready.html.j2", at=at, board=board, work=_REPORTS, incidents=("contact", "leak", "noise"))


@router.get("/api/events/{event}/readiness")
def readiness(event: Id, at: Place) -> dict[str, Any]:
    """The board as a record."""
    return ready_board(at.source, Path(event))


@router.post("/api/events/{event}/car-looks")
def look_at_car(event: Id, sent: CarLookSent, at: Place) -> dict[str, Any]:
    """Write down a look at an item of a car."""
    look = looks.CarLook(
        look_id=sent.id, car=sent.car, item=sent.item, result=sent.result, looked_by=sent.looked_by, seen=sent.seen,
        value=sent.value, note=sent.note,
    )  # fmt: skip
    check = looks.look_at_car(at.source, event, look)
    return {"ok": True, "id": check.id, "looked_at": check.looked_at.isoformat()}


@router.post("/api/events/{event}/car-looks/{look}/taken-back")
def take_look_back(*, event: Id, look: Id, sent: TakenBack, at: Place) -> dict[str, Any]:
    """Take a look back."""
    looks.take_look_back(at.source, look, by=sent.looked_by)
    return {"ok": True, "event": event}


@router.post("/api/events/{event}/helmet-looks")
def look_at_helmet(event: Id, sent: HelmetLookSent, at: Place) -> dict[str, Any]:
    """Write down a look at a helmet."""
    look = looks.HelmetLook(
        helmet=sent.helmet, look=sent.look, result=sent.result, looked_by=sent.looked_by, version=sent.version,
        note=sent.note,
    )  # fmt: skip
    return {"ok": True, "version": looks.look_at_helmet(at.source, event, look)}


@router.post("/api/events/{event}/reports")
def report(event: Id, sent: ReportSent, at: Place) -> dict[str, Any]:
    """Write down what happened to a car."""
    told = looks.CarReport(report_id=sent.id, car=sent.car, kind=sent.kind, by=sent.looked_by, note=sent.note)
    return {"ok": True, "id": looks.report_car(at.source, event, told).id}


@router.post("/api/events/{event}/reports/{report}/taken-back")
def take_report_back(*, event: Id, report: Id, sent: TakenBack, at: Place) -> dict[str, Any]:
    """Take a report back."""
    looks.take_report_back(at.source, report, by=sent.looked_by)
    return {"ok": True, "event": event}


@router.post("/api/events/{event}/papers")
def see_paper(event: Id, sent: PaperSent, at: Place) -> dict[str, Any]:
    """Write down what was seen of a driver's papers."""
    version = papers.see_paper(
        at.source, event, person=sent.person, paper=sent.paper, value=sent.value, version=sent.version,
        by=sent.looked_by,
    )  # fmt: skip
    return {"ok": True, "version": version}


@router.post("/api/events/{event}/loans")
def lend(event: Id, sent: LoanSent, at: Place) -> dict[str, Any]:
    """Lend one of the club's helmets."""
    loan = looks.lend_helmet(
        at.source, event, loan_id=sent.id, helmet=sent.helmet, person=sent.person, by=sent.looked_by
    )  # fmt: skip
    return {"ok": True, "id": loan.id}


@router.post("/api/events/{event}/loans/{loan}/taken-back")
def take_helmet_back(*, event: Id, loan: Id, sent: TakenBack, at: Place) -> dict[str, Any]:
    """A helmet is with the club again."""
    looks.take_helmet_back(at.source, loan, by=sent.looked_by)
    return {"ok": True, "event": event}


@router.post("/api/events/{event}/wheel-torques")
def set_torque(event: Id, sent: TorqueSent, at: Place) -> dict[str, Any]:
    """Write down the torque of wheel nuts."""
    version = looks.set_wheel_torque(
        at.source, sent.car, written=sent.written, origin=sent.origin, version=sent.version, by=sent.looked_by
    )
    return {"ok": True, "version": version, "event": event}

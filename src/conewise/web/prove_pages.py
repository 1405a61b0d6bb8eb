"""Prove: did the change work, or was it just the driver learning? Times of the book or of a file; a test to come."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any
from urllib.parse import urlencode

from fastapi import APIRouter, File, Query, Request, UploadFile
from fastapi.responses import RedirectResponse, Response
from pydantic import BaseModel, Field

from conewise.errors import ConewiseError
from conewise.proof.times_file import MOST_BYTES
from conewise.records import Id
from conewise.reports import proof_words
from conewise.reports.debrief_screen import MAPS
from conewise.reports.proof_figure import proof_svg
from conewise.reports.proof_record import plan_record, proof_record
from conewise.reports.proof_report import day_rows, terms_said
from conewise.web.failures import NoFileError, wants_json
from conewise.web.here import Here, Place
from conewise.web.pages import render
from conewise.workflows.prove import CERTAINTY, TestNumberError, plan_test, prove, times_named
from conewise.workflows.recordings import sent_times, take_times

router = APIRouter()

Names = Annotated[list[Annotated[str, Query(max_length=60)]], Query(max_length=20)]
Word = Annotated[str, Query(max_length=80)]
Sure = Annotated[float, Query(ge=0.5, le=0.999)]


class ProofAsked(BaseModel):
    """What the page judges: a file that was sent, or events of the book; what is empty is as it is usual.

    times, name: address and name of the file.
    of: ids of events.
    before, after: set-ups; judged: a driver.
    """

    times: str = Field(default="", pattern="^(|[0-9a-f]{64})$")
    name: str = Field(default="", max_length=80)
    of: list[Id] = Field(default=[], max_length=20)
    before: str = Field(default="", max_length=80)
    after: str = Field(default="", max_length=80)
    judged: str = Field(default="", max_length=80)


@router.get("/prove", include_in_schema=False)
def page(request: Request, at: Place, asked: Annotated[ProofAsked, Query()]) -> Response:
    """The answer from a file that was sent, or from events of the book; nothing is judged before one is chosen."""
    if not at.has_book:
        return RedirectResponse("/", status_code=303)
    return _page(request, at, asked)


@router.post("/prove/file", include_in_schema=False)
def take(request: Request, at: Place, file: Annotated[UploadFile | None, File()] = None) -> Response:
    """Take a times file; the page of its answer opens. What is wrong with it is said beside the field."""
    if not at.has_book:
        return RedirectResponse("/", status_code=303)
    try:
        if file is None:
            raise NoFileError
        sent = take_times(at.source, file.file.read(MOST_BYTES + 1), file.filename or "")
    except ConewiseError as problem:
        if wants_json(request):
            raise
        return _page(request, at, ProofAsked(), problem)
    return RedirectResponse(f"/prove?{urlencode({'times': sent.address, 'name': sent.name})}", status_code=303)


def _page(request: Request, at: Here, asked: ProofAsked, file_problem: ConewiseError | None = None) -> Response:
    """The page; `file_problem` is why a file was not taken."""
    driven = _driven(at, asked)
    answer, refusal = None, None
    if driven is not None:
        try:
            drivers = (asked.judged,) if asked.judged else ()
            answer = prove(driven, before=asked.before, after=asked.after, drivers=drivers)
        except ConewiseError as problem:  # said on the page, above the form that mends it
            refusal = problem
    known = driven if driven is None or not isinstance(driven, Path) else None
    return render(
        request,
        "prove.html.j2",
        at=at,
        status=file_problem.status if file_problem else 200,
        file_problem=file_problem,
        answer=answer,
        refusal=refusal,
        say=proof_words,
        maps={} if answer is None else {size: proof_svg(answer, MAPS[size], is_alone=False) for size in MAPS},
        days=[] if answer is None else day_rows(answer),
        terms=[] if answer is None else terms_said(answer, at.shown.units),
        asked=asked,
        setups=_known(known, "setup"),
        drivers=_known(known, "driver"),
    )


def _known(driven: Any, column: str) -> list[str]:
    """The names that the times have in a column."""
    return [] if driven is None else sorted({str(one) for one in getattr(driven, column)} - {""})


def _driven(at: Here, asked: ProofAsked) -> Any:
    """The runs that are judged; None where nothing is chosen yet."""
    if asked.times:
        return sent_times(at.source, asked.times, name=asked.name or "times.csv")
    return times_named(asked.of, at.source) if asked.of else None


@router.get("/prove/plan", include_in_schema=False)
def plan(
    *,
    request: Request,
    at: Place,
    runs: Annotated[str, Query(max_length=10)] = "",
    days: Annotated[str, Query(max_length=10)] = "",
    effect: Annotated[str, Query(max_length=10)] = "",
    spread: Annotated[str, Query(max_length=10)] = "",
) -> Response:
    """A test that is proposed before it is driven."""
    numbers = {"runs": runs, "days": days, "effect": effect, "spread": spread}
    found, refusal = None, None
    try:
        found = plan_test(
            runs=_whole("runs", runs),
            days=_whole("days", days) or 1,
            effect=_amount("effect", effect),
            spread=_amount("spread", spread),
        )
    except ConewiseError as problem:  # said beside the field
        refusal = problem
    return render(request, "prove_plan.html.j2", at=at, plan=found, refusal=refusal, say=proof_words, asked=numbers)


def _whole(name: str, typed: str) -> int | None:
    try:
        return int(typed) if typed.strip() else None
    except ValueError:
        raise TestNumberError(name, typed, "a whole number") from None


def _amount(name: str, typed: str) -> float | None:
    try:
        return float(typed.replace(",", ".")) if typed.strip() else None
    except ValueError:
        raise TestNumberError(name, typed, "a number") from None


@router.get("/api/proof")
def proof_as_record(
    *,
    at: Place,
    of: Names,
    before: Word = "",
    after: Word = "",
    who: Word = "",
    certainty: Sure = CERTAINTY,
) -> dict[str, Any]:
    """The answer from events of the book, as `conewise prove --json` prints it."""
    drivers = (who,) if who else ()
    driven = times_named(of, at.source)
    return proof_record(prove(driven, before=before, after=after, drivers=drivers, certainty=certainty))


@router.get("/api/proof/plan")
def plan_as_record(
    *,
    at: Place,
    runs: Annotated[int | None, Query(ge=1, le=1000)] = None,
    days: Annotated[int, Query(ge=1, le=100)] = 1,
    effect: Annotated[float | None, Query(gt=0.0, le=30.0)] = None,
    spread: Annotated[float | None, Query(gt=0.0, le=30.0)] = None,
) -> dict[str, Any]:
    """A test to come, as `conewise prove --plan --json` prints it."""
    del at
    return plan_record(plan_test(runs=runs, days=days, effect=effect, spread=spread))

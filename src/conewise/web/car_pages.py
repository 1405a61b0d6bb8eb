"""Cars: what is known about one, its pictures, set-ups and log; set-ups are changed and put back."""

from __future__ import annotations

from typing import Annotated, Any, Literal
from urllib.parse import urlencode

from fastapi import APIRouter, Form, Query, Request
from fastapi.responses import RedirectResponse, Response
from pydantic import BaseModel, ConfigDict, Field

from conewise.errors import ConewiseError
from conewise.quantities import Origin
from conewise.records import Id
from conewise.reports.car_pictures import brake_svg, roll_svg
from conewise.reports.setup_pdf import setup_pdf
from conewise.web.here import Here, Place
from conewise.web.pages import render
from conewise.workflows.book_texts import book_names
from conewise.workflows.car_page import car_log, car_of_file, car_versions
from conewise.workflows.cars import CarSheet, car_sheet, derived_row, value_row
from conewise.workflows.named import BookText, kept_source
from conewise.workflows.parts_of_a_car import part_sheet, table_rows
from conewise.workflows.setup_page import change_setup, put_back
from conewise.workflows.setup_sheet import setup_sheet

router = APIRouter()

Typed = Annotated[str, Query(max_length=60)]
_PARTS = ("brakes", "suspension", "gearing")


class SetupForm(BaseModel):
    """What is changed on a car: a field, how, and the value with its unit; `version` is the one that was seen."""

    model_config = ConfigDict(extra="forbid")

    file: Id
    version: int = Field(ge=1)
    name: str = Field(max_length=60)
    action: Literal["=", "+="] = "="
    value: str = Field(max_length=60)
    reason: str = Field(default="", max_length=200)


class PutBackForm(BaseModel):
    """Which version a car is put back to."""

    model_config = ConfigDict(extra="forbid")

    file: Id
    version: int = Field(ge=1)
    number: int = Field(ge=1)


@router.get("/prepare/car", include_in_schema=False)
def page(request: Request, at: Place, file: Typed = "") -> Response:
    """Everything that is known about a car of the book."""
    return _page(request, at, file)


@router.post("/prepare/car/setup", include_in_schema=False)
def set_up(request: Request, at: Place, form: Annotated[SetupForm, Form()]) -> Response:
    """Set a car up otherwise: a new version of its file."""
    try:
        edit = f"{form.name} {form.action} {form.value.strip()}"
        change_setup(at.source, form.file, [edit], version=form.version, reason=form.reason.strip(), by=at.by)
    except ConewiseError as refusal:
        return _page(request, at, form.file, refusal=refusal, typed=form)
    return _back(form.file)


@router.post("/prepare/car/put-back", include_in_schema=False)
def set_up_as_before(request: Request, at: Place, form: Annotated[PutBackForm, Form()]) -> Response:
    """Set a car up as in an earlier version."""
    try:
        put_back(at.source, form.file, form.number, version=form.version, by=at.by)
    except ConewiseError as refusal:
        return _page(request, at, form.file, refusal=refusal)
    return _back(form.file)


def _back(file: str) -> Response:
    return RedirectResponse(f"/prepare/car?{urlencode({'file': file})}#setups", status_code=303)


def _page(
    request: Request, at: Here, file: str, *, refusal: ConewiseError | None = None, typed: SetupForm | None = None
) -> Response:
    if not at.has_book:
        return RedirectResponse("/", status_code=303)
    files = book_names(at.source, "car-file")
    wanted = file or at.chosen.car_file or next((one.id for one in files), "")
    if not wanted:
        return render(request, "car.html.j2", at=at, sheet=None, files=files, file="")
    kept, system = _kept(at, wanted), at.shown.units.name
    sheet = car_sheet(kept, system=system)
    parts = {name: part_sheet(kept, name) for name in _PARTS}
    car = car_of_file(at.source, wanted)
    return render(
        request,
        "car.html.j2",
        at=at,
        status=refusal.status if refusal else 200,
        refusal=refusal,
        typed=typed,
        file=wanted,
        files=files,
        sheet=sheet,
        values=_values(sheet, at),
        derived=[derived_row(one, system) for one in sheet.derived],
        parts={
            name: {
                "values": [derived_row(one, system) for one in part.values],
                "title": part.table.title,
                "columns": [column for column, _ in part.table.columns],
                "rows": table_rows(part.table, system),
                "notes": part.notes,
            }
            for name, part in parts.items()
        },
        brakes=brake_svg(parts["brakes"]),
        roll=roll_svg(sheet.car, parts["suspension"], system),
        versions=car_versions(at.source, wanted, system=system),
        log=car_log(at.source, car) if car else None,
    )


def _kept(at: Here, name: str) -> BookText:
    with at.source.opened(create=False) as book:
        return kept_source(book, "car-file", name)


def _values(sheet: CarSheet, at: Here) -> dict[str, list[tuple[str, ...]]]:
    """Rows of what is given, and of what is typical or estimated; each with why the time model does not know it."""
    rows: dict[str, list[tuple[str, ...]]] = {"given": [], "filled": []}
    for name, value in sheet.car.values.items():
        kind = "filled" if value.origin in {Origin.TYPICAL, Origin.ESTIMATED} else "given"
        rows[kind].append((*value_row(name, value, at.shown.units.name), sheet.outside.get(name, "")))
    return rows


@router.get("/prepare/car/setup.pdf", include_in_schema=False)
def setup_file(at: Place, file: Id, paper: str = "a4") -> Response:
    """The set-up of a car as a printed sheet."""
    sheet = setup_sheet(_kept(at, file), at.now().astimezone(), place=at.source)
    made = setup_pdf(sheet, system=at.shown.units.name, paper=paper)
    named = {"Content-Disposition": f'inline; filename="setup-{file}.pdf"'}
    return Response(made, media_type="application/pdf", headers=named)


@router.get("/api/cars/{file}")
def car_as_record(file: Id, at: Place) -> dict[str, Any]:
    """A car of the book, as `conewise car show --json` prints it."""
    return {"ok": True} | car_sheet(_kept(at, file)).as_dict()

"""Cars: what is known about one, its pictures, versions and log; and whether wheels and tyres fit it."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Annotated, Any, Literal

from fastapi import APIRouter, Query, Request
from fastapi.responses import RedirectResponse, Response
from pydantic import BaseModel, Field

from conewise.cars.fit_case import FitState
from conewise.errors import ConewiseError
from conewise.quantities import Origin
from conewise.records import Id
from conewise.reports.car_pictures import brake_svg, roll_svg
from conewise.reports.fit_picture import fit_svg
from conewise.reports.fit_record import fit_record
from conewise.reports.fit_words import CAUTIONS, answer_sentence, speedometer_sentence, subject
from conewise.reports.setup_pdf import setup_pdf
from conewise.web.here import Here, Place
from conewise.web.pages import render
from conewise.workflows.car_page import car_log, car_of_file, car_versions
from conewise.workflows.cars import CarSheet, car_sheet, derived_row, value_row
from conewise.workflows.fit import FitQuestion, answer_fit
from conewise.workflows.named import BookText, kept_source
from conewise.workflows.parts_of_a_car import part_sheet, table_rows
from conewise.workflows.recordings import book_names
from conewise.workflows.setup_sheet import setup_sheet

if TYPE_CHECKING:
    from conewise.reports.fit_answer import FitAnswer

router = APIRouter()

Typed = Annotated[str, Query(max_length=60)]
_PARTS = ("brakes", "suspension", "gearing")
_OPTION = re.compile(r"(,? or with the new wheel on:?)? ?\(?--[\w-]+( \w+\.\w+=\.\.\.)?\)?")  # of the command
_AXLES = {"both": ("front", "rear"), "front": ("front",), "rear": ("rear",)}


@router.get("/prepare/car", include_in_schema=False)
def page(request: Request, at: Place, file: Typed = "") -> Response:
    """Everything that is known about a car of the book."""
    if not at.has_book:
        return RedirectResponse("/", status_code=303)
    files = book_names(at.source, "car-file")
    wanted = file or at.chosen.car_file or next(iter(files), "")
    if not wanted:
        return render(request, "car.html.j2", at=at, sheet=None, files=files, file="")
    source, system = _kept(at, wanted), at.shown.units.name
    sheet = car_sheet(source, system=system)
    parts = {name: part_sheet(source, name) for name in _PARTS}
    car = car_of_file(at.source, wanted)
    return render(
        request,
        "car.html.j2",
        at=at,
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
        roll=roll_svg(sheet.car, parts["suspension"]),
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


class FitAsked(BaseModel):
    """Wheels and tyres to be tried; what is empty stays as on the car."""

    file: str = Field(default="", max_length=60)
    wheel: str = Field(default="", max_length=60)
    tyre: str = Field(default="", max_length=60)
    spacer: str = Field(default="", max_length=60)
    axle: Literal["both", "front", "rear"] = "both"


@router.get("/prepare/fit", include_in_schema=False)
def fit_page(request: Request, at: Place, asked: Annotated[FitAsked, Query()]) -> Response:
    """Whether wheels and tyres fit, drawn to scale."""
    if not at.has_book:
        return RedirectResponse("/", status_code=303)
    files = book_names(at.source, "car-file")
    asked = asked.model_copy(update={"file": asked.file or at.chosen.car_file})
    answer, refusal = None, None
    if asked.file and (asked.wheel or asked.tyre or asked.spacer):
        try:
            answer = answer_fit(_question(at, asked), day=at.today)
        except ConewiseError as problem:  # said on the page, above the form that mends it
            refusal = problem
    return render(
        request,
        "fit.html.j2",
        at=at,
        files=files,
        asked=asked,
        answer=answer,
        refusal=refusal,
        drawing=None if answer is None else fit_svg(answer, system=at.shown.units.name, is_alone=False),
        words=None if answer is None else (answer_sentence(answer), subject(answer, at.shown.units.name),
                                           speedometer_sentence(answer, at.shown.units.name)),
        record=None if answer is None else fit_record(answer),
        items=[] if answer is None else _items(answer),
        fitting=[] if answer is None else answer.in_state(FitState.FITS),
        cautions=CAUTIONS,
    )  # fmt: skip


def _items(answer: FitAnswer) -> list[tuple[str, str, bool, str, str]]:
    """What is open or does not fit: axle, state, whether it is a safety item, words, and what is wanted."""
    return [
        (one.axle, one.state.value, one.is_safety, _OPTION.sub("", one.message), _OPTION.sub("", one.needs or ""))
        for one in answer.items
        if one.state is not FitState.FITS
    ]


def _question(at: Here, asked: FitAsked) -> FitQuestion:
    from conewise.quantities import parse

    return FitQuestion(
        car=_kept(at, asked.file),
        wheel=asked.wheel or None,
        tyre=asked.tyre or None,
        spacer=parse(asked.spacer, "length", where="spacer") if asked.spacer else None,
        axles=_AXLES[asked.axle],
        system=at.shown.units.name,
    )


@router.get("/api/cars/{file}/fit")
def fit_as_record(file: Id, at: Place, asked: Annotated[FitAsked, Query()]) -> dict[str, Any]:
    """Whether wheels and tyres fit a car, as `conewise fit --json` prints it."""
    tried = asked.model_copy(update={"file": file})
    return fit_record(answer_fit(_question(at, tried), day=at.today))

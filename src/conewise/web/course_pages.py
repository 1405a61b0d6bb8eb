"""Pages of courses: the list, one course, and the page on which it is drawn."""

from __future__ import annotations

from typing import Annotated, Literal
from urllib.parse import quote

from fastapi import APIRouter, File, Form, Query, Request, UploadFile
from fastapi.responses import RedirectResponse, Response

from conewise.errors import ConewiseError
from conewise.findings import in_short
from conewise.rule_set import SHIPPED
from conewise.web.failures import NoFileError, wants_json
from conewise.web.here import Here, Place
from conewise.web.pages import render
from conewise.workflows import course_book
from conewise.workflows.course_drawing import Drawn

router = APIRouter()

COURSES = "/prepare/courses"


@router.get(COURSES, include_in_schema=False)
def courses(request: Request, at: Place) -> Response:
    """All courses of the book, and the ways to a new one."""
    return _list(request, at)


def _list(request: Request, at: Here, refusal: ConewiseError | None = None) -> Response:
    """The list; above it why a file was not taken."""
    rows = course_book.courses(at.source) if at.has_book else ()
    status = refusal.status if refusal else 200
    return render(request, "courses.html.j2", at=at, status=status, rows=rows, refusal=refusal)


@router.post(COURSES, include_in_schema=False)
def begin(at: Place, name: Annotated[str, Form(max_length=100)]) -> Response:
    """A new course with its start, a slalom and its finish, to be drawn from there."""
    kept = course_book.begin_course(at.source, name.strip(), by=_who(at))
    return RedirectResponse(f"{COURSES}/{kept.id}/draw", status_code=303)


@router.post(f"{COURSES}/file", include_in_schema=False)
def take(request: Request, at: Place, file: Annotated[UploadFile | None, File()] = None) -> Response:
    """A course from a file; what is wrong with the file is said beside the field."""
    try:
        if file is None:
            raise NoFileError
        course = course_book.course_of_file(file.file.read(course_book.MOST_BYTES + 1), file.filename or "")
    except ConewiseError as problem:
        if wants_json(request):
            raise
        return _list(request, at, problem)
    kept = course_book.add_course(at.source, course.changed(source=""), by=_who(at))
    return RedirectResponse(f"{COURSES}/{kept.id}", status_code=303)


@router.get(f"{COURSES}/{{course}}", include_in_schema=False)
def show(request: Request, at: Place, course: str) -> Response:
    """One course: its map, its list, and what is found about it."""
    kept = course_book.kept_course(at.source, course)
    found = course_book.drawn_here(kept.course, at.source, system=at.shown.units.name)
    verdict = in_short([placed.finding for placed in found.findings])
    left_out = course_book.as_file(kept.course, kept.id, "csv").omitted
    return render(
        request,
        "course.html.j2",
        at=at,
        kept=kept,
        drawn=found,
        verdict=f"{verdict}.",
        left_out=left_out,
        record=_record(kept, found),
    )


@router.get(f"{COURSES}/{{course}}/safety.pdf", include_in_schema=False)
def safety(
    at: Place,
    course: str,
    *,
    paper: Literal["a4", "letter"] = "a4",
    with_car: Annotated[str, Query(max_length=67)] = "",
) -> Response:
    """What is found about a course as a note for the event's safety official; with the speeds of a car of the book."""
    kept = course_book.kept_course(at.source, course)
    made = course_book.note_here(kept.course, at.source, car=with_car, system=at.shown.units.name, paper=paper)
    named = {"Content-Disposition": f'inline; filename="safety-{paper}.pdf"'}
    return Response(made, media_type="application/pdf", headers=named)


@router.get(f"{COURSES}/{{course}}/draw", include_in_schema=False)
def draw(request: Request, at: Place, course: str) -> Response:
    """The page on which a course is drawn."""
    kept = course_book.kept_course(at.source, course)
    found = course_book.drawn_here(kept.course, at.source, system=at.shown.units.name)
    rules = sorted({*SHIPPED, kept.course.rules})
    return render(request, "course_draw.html.j2", at=at, kept=kept, record=_record(kept, found), rules=rules)


@router.get(f"{COURSES}/{{course}}/file/{{kind}}", include_in_schema=False)
def file(at: Place, course: str, kind: str) -> Response:
    """A course as a file to keep: TOML, CSV, GeoJSON or SVG."""
    kept = course_book.kept_course(at.source, course)
    made = course_book.as_file(kept.course, kept.id, kind, system=at.shown.units.name)
    headers = {"Content-Disposition": f"attachment; filename*=UTF-8''{quote(made.name)}"}
    return Response(made.text, media_type=made.media_type, headers=headers)


def _record(kept: course_book.KeptCourse, found: Drawn) -> dict[str, object]:
    return found.as_dict() | {"id": kept.id, "version": kept.version}


def _who(at: Here) -> str:
    """Who changes something, for the history."""
    return at.chosen.driver.id if at.chosen.driver else ""

"""The JSON interface of courses: what the page on which a course is drawn asks for, and every other program."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Annotated, Any

from fastapi import APIRouter, Request
from pydantic import Field

from conewise.course.layout import Course
from conewise.records import Record
from conewise.web.here import Place, Shelf
from conewise.web.shown import shown_of
from conewise.workflows import course_book, course_drawing
from conewise.workflows.book_place import BookPlace
from conewise.workflows.course_drawing import Act
from conewise.workflows.notes_as_typed import as_typed

if TYPE_CHECKING:
    from conewise.workflows.quick_line import QuickLines

router = APIRouter(prefix="/api")

Answer = dict[str, Any]
Words = Annotated[str, Field(max_length=50_000)]


class DrawnCourse(Record):
    """A course as it is drawn, stored or not."""

    course: Course


class ChangedCourse(Record):
    """A course, and what is done to it."""

    course: Course
    change: Act


class TypedCourse(Record):
    """Walk notes as they stand in the field."""

    name: Annotated[str, Field(min_length=1, max_length=200)]
    notes: Words
    pace: Annotated[str, Field(max_length=20)] = ""  # with its unit
    gate_width: Annotated[str, Field(max_length=20)] = ""  # with its unit


class KeptCourse(Record):
    """A course to be kept, and the version that was read; 0 for a new course."""

    course: Course
    version: Annotated[int, Field(ge=0)] = 0


class AskedLine(Record):
    """A drawing whose line is wanted: `number` rises with every change, so that only the newest is worked out."""

    drawing: Annotated[str, Field(min_length=1, max_length=60)]
    number: Annotated[int, Field(ge=0, le=2**53)]
    course: Course
    car: Annotated[str, Field(min_length=1, max_length=60)]
    is_dragged: bool = False


@router.get("/courses")
def courses(at: Place) -> Answer:
    """All courses of the book."""
    rows = course_book.courses(at.source) if at.has_book else ()
    return {
        "courses": [
            {
                "id": row.id,
                "name": row.name,
                "version": row.version,
                "standing_cones": row.n_standing,
                "pointer_cones": row.n_pointers,
                "features": row.n_features,
                "events": list(row.events),
                "problem": row.problem,
            }
            for row in rows
        ]
    }


@router.post("/courses", status_code=201)
def add(at: Place, asked: KeptCourse) -> Answer:
    """Keep a new course."""
    kept = course_book.add_course(at.source, asked.course)
    return {"id": kept.id, "version": kept.version}


@router.get("/courses/{course}")
def course(request: Request, course: str) -> Answer:
    """One course of the book, with its list, its path and what is found."""
    kept = course_book.kept_course(_book(request), course)
    return _drawn(request, kept.course) | {"id": kept.id, "version": kept.version}


@router.put("/courses/{course}")
def change(request: Request, course: str, asked: KeptCourse) -> Answer:
    """Keep a new version; refused where somebody else has kept one meanwhile."""
    kept = course_book.change_course(_book(request), course, asked.course, version=asked.version)
    return {"id": kept.id, "version": kept.version}


@router.post("/course/drawn")
def drawn(request: Request, asked: DrawnCourse) -> Answer:
    """A drawing's list in words, its path, and what is found about it. Nothing is kept."""
    return _drawn(request, asked.course)


@router.post("/course/changed")
def changed(request: Request, asked: ChangedCourse) -> Answer:
    """A drawing after something was done to it. Nothing is kept."""
    return _drawn(request, course_drawing.changed(asked.course, asked.change))


@router.post("/course/typed")
def typed(request: Request, asked: TypedCourse) -> Answer:
    """The course of walk notes as far as they are understood, and what is wrong at which line. Nothing is kept."""
    found = as_typed(asked.name, asked.notes, pace=asked.pace, gate_width=asked.gate_width)
    return _drawn(request, found.course) | found.told


@router.post("/course/line")
def line(request: Request, asked: AskedLine) -> Answer:
    """Time and line of a drawing by the quasi-steady level, within a second or two. Nothing is kept."""
    from conewise.workflows.quick_line import quick_car

    car = quick_car(_book(request), asked.car)
    told = quick_lines().line(asked.drawing, asked.course, car, number=asked.number, is_dragged=asked.is_dragged)
    return told | {"car": car.name, "number": asked.number}


@cache
def quick_lines() -> QuickLines:
    """The lines of all drawings that are open; the solver is loaded with the first."""
    from conewise.workflows.quick_line import QuickLines

    return QuickLines()


def _drawn(request: Request, course: Course) -> Answer:
    return course_book.drawn_here(course, _book(request), system=shown_of(request.cookies).units.name).as_dict()


def _book(request: Request) -> BookPlace:
    """The book that is shown; a drawing asks too often to look up what is chosen each time."""
    shelf: Shelf = request.app.state.shelf
    return shelf.place(shelf.book)

"""The line while a course is drawn: the quasi-steady run within a second, on one path as long as a cone is dragged.

A drawing that is dragged keeps its path and its sides, so that two times differ by what was moved and by nothing else.
"""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass
from threading import Lock
from typing import TYPE_CHECKING, Any

from conewise.course.reference import lay_out, moved, permitted_choices
from conewise.errors import ConewiseError, ConflictError, InfeasibleError
from conewise.event.cars import EventCar
from conewise.reports.record import quick_record
from conewise.solver.quasi_steady import quasi_steady_solution
from conewise.workflows.named import car_from, kept_source
from conewise.workflows.predict import parameters

if TYPE_CHECKING:
    from collections.abc import Mapping

    from conewise.cars.car import Car
    from conewise.course.geometry import CourseGeometry
    from conewise.course.layout import Course
    from conewise.solver.result import Solution
    from conewise.workflows.book_place import BookPlace

_MOST_DRAWINGS = 16
_STEP = 1.0  # of the line that is sent [m]


class SupersededError(ConflictError):
    """The drawing has changed again before its line was worked out."""

    code = "superseded"
    default_hint = "The line of the newest drawing follows by itself."

    def __init__(self) -> None:
        super().__init__("A newer drawing has taken the place of this one.", where="")


@dataclass(kw_only=True)
class _Drawing:
    """What is kept of one drawing while somebody works on it."""

    lock: Lock
    newest: int = -1
    geometry: CourseGeometry | None = None
    choices: Mapping[str, str] | None = None


class QuickLines:
    """The lines of all drawings that are open. Safe to be asked from several threads."""

    def __init__(self) -> None:
        self._lock = Lock()
        self._drawings: OrderedDict[str, _Drawing] = OrderedDict()

    def line(
        self, drawing: str, course: Course, car: Car, *, number: int = 0, is_dragged: bool = False, surface: float = 1.0
    ) -> dict[str, Any]:
        """The quasi-steady run as plain data: time and line.

        Parameters
        ----------
        drawing : str
            Whoever draws, by a name of its own.
        course : Course
        car : Car
        number : int, default 0
            Of the change, rising; where a newer one of the drawing has come meanwhile, this one is not worked out.
        is_dragged : bool, default False
            Whether path and sides stay as they were.
        surface : float, default 1.0
            Factor on friction.

        Raises
        ------
        SupersededError
            If a newer change has come.
        InfeasibleError, ConvergenceError
            If there is no way through.
        """
        kept = self._drawing(drawing)
        with self._lock:
            kept.newest = max(kept.newest, number)
        with kept.lock:
            if number < kept.newest:
                raise SupersededError
            solution = self._solved(kept, course, car, is_dragged=is_dragged, surface=surface)
        return quick_record(solution, step=_STEP)

    def _drawing(self, name: str) -> _Drawing:
        with self._lock:
            found = self._drawings.pop(name, None) or _Drawing(lock=Lock())
            self._drawings[name] = found
            while len(self._drawings) > _MOST_DRAWINGS:
                self._drawings.popitem(last=False)
            return found

    def _solved(self, kept: _Drawing, course: Course, car: Car, *, is_dragged: bool, surface: float) -> Solution:
        if is_dragged and kept.geometry is not None:
            try:
                return self._on(moved(kept.geometry, course), car, surface)
            except InfeasibleError:
                kept.geometry = None  # the path is none for these cones any more
        options = permitted_choices(course)
        if is_dragged and kept.choices in options:
            options = [dict(kept.choices or {})]
        runs: list[tuple[Solution, CourseGeometry]] = []
        reasons: list[ConewiseError] = []
        for choices in options:
            try:
                geometry = lay_out(course, choices=choices)
                runs.append((self._on(geometry, car, surface), geometry))
            except ConewiseError as reason:
                reasons.append(reason)
        if not runs:
            raise reasons[0]
        solution, kept.geometry = min(runs, key=lambda run: run[0].time)
        kept.choices = dict(kept.geometry.choices)
        return solution

    def _on(self, geometry: CourseGeometry, car: Car, surface: float) -> Solution:
        p = parameters(geometry, car, surface=surface)
        return quasi_steady_solution(geometry, p, car=car.name)


def quick_car(place: BookPlace, name: str) -> Car:
    """The car of an event's car, or of a car file of the book.

    Raises
    ------
    NoSuchRecordError
        If the book has neither.
    InputError
        If its text cannot be read.
    """
    with place.opened(create=False) as book:
        of_event = book.find(EventCar, name)
        return car_from(kept_source(book, "car-file", (of_event and of_event.record.car_file) or name))

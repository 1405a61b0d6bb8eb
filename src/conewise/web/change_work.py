"""The works "advise" and "settings": what to change next, and how to set what is there."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

from pydantic import BaseModel, ConfigDict, Field, field_validator

from conewise.errors import InputError
from conewise.money import budget_of
from conewise.quantities import System  # noqa: TC001  # pydantic reads the annotations
from conewise.records import Id, OptionalId  # noqa: TC001
from conewise.web.work import Desk, Kind, register

if TYPE_CHECKING:
    from conewise.advisor.advice import Advice
    from conewise.advisor.rows import Row
    from conewise.workflows.advise_question import AdviceQuestion
    from conewise.workflows.book_place import BookPlace
    from conewise.workflows.settings import SettingsQuestion

_WORDS = 12  # of progress, for about two thirds of a search for settings
Weight = Annotated[float, Field(gt=0.0, le=1000.0)]


class NoCourseTickedError(InputError):
    """A question without a course."""

    code = "no-course-ticked"
    default_hint = "Tick the courses that your events are like, one at least."

    def __init__(self) -> None:
        super().__init__("No course is ticked.", where="question.courses")


class _Asked(BaseModel):
    """What both ask; names are ids of the book. `weights`: one a course, equal where left out."""

    model_config = ConfigDict(extra="forbid")

    courses: tuple[Id, ...] = Field(min_length=1, max_length=8)
    weights: tuple[Weight, ...] = Field(default=(), max_length=8)
    car_file: Id
    driver: Id = "expert"  # a level, or a driver file of the book
    pace: float | None = Field(default=None, ge=0.3, le=1.0)
    surface: str = Field(default="dry", min_length=1, max_length=20)

    @field_validator("courses", mode="before")
    @classmethod
    def _are_ticked(cls, value: Any) -> Any:
        """Refused in words of the page."""
        if isinstance(value, list | tuple) and not value:
            raise NoCourseTickedError
        return value


class AdviseAsked(_Asked):
    """Which changes; lists of the book.

    budget: an amount with or without a currency; empty: no packages.
    runs: that the driver has made in this car; None where nobody knows.
    """

    parts: OptionalId = ""
    changes: OptionalId = ""
    budget: str = Field(default="", max_length=30)
    hours: float | None = Field(default=None, ge=0.0, le=10_000.0)
    rules: OptionalId = ""
    car_class: str = Field(default="", max_length=40)
    runs: int | None = Field(default=None, ge=0, le=100_000)

    @field_validator("budget")
    @classmethod
    def _is_budget(cls, value: str) -> str:
        """Refused before the work: no amount, less than nothing, nothing."""
        if value:
            budget_of(value, where="question.budget")
        return value


class SettingsAsked(_Asked):
    """Which settings: those that the car file lists, else the tyre pressures."""

    system: System = "metric"


class _Gains:
    """What the page is shown while it is worked out: all rows by their slopes, each sharper as soon as it is solved."""

    def __init__(self, desk: Desk) -> None:
        self._desk = desk
        self._so_far: dict[str, Any] = {}
        self._places: dict[str, int] = {}

    def first(self, advice: Advice) -> None:
        """The ranking by slopes."""
        from conewise.reports.advice_screen import rows_screen

        rows = rows_screen(advice.rows)
        self._places = {row["name"]: k for k, row in enumerate(rows)}
        self._so_far = {"car": advice.car, "rows": rows, "base": [[name, time] for name, time in advice.base.items()]}
        self._desk.show(self._so_far)

    def partial(self, row: Row) -> None:
        """One change, or a package of several, solved on all courses."""
        from conewise.reports.advice_screen import row_screen

        place = self._places.get(row.option.name)
        if place is None:  # a whole package: it stands in the answer, and is no row of the ranking
            return
        self._so_far["rows"][place] = row_screen(row)
        self._desk.show(self._so_far)

    def step(self, done: int, total: int) -> None:
        """How many solves of how many."""
        self._desk.tell(0.1 + 0.8 * done / max(total, 1), f"{done} of {total} runs solved")


def advise(asked: AdviseAsked, desk: Desk) -> dict[str, Any]:
    """The whole advice, as `conewise advise --json` prints it, and as the page shows it."""
    from conewise.reports.advice_record import advice_record
    from conewise.reports.advice_screen import advice_screen
    from conewise.workflows.advise import answer_advise

    gains = _Gains(desk)
    advice = answer_advise(
        _advice_question(asked, desk.place),
        progress=lambda words: desk.tell(0.05, words),
        first=gains.first,
        step=gains.step,
        partial=gains.partial,
    )
    return {"record": advice_record(advice), "screen": advice_screen(advice)}


def refuse_advise(asked: AdviseAsked, place: BookPlace) -> None:
    """Say before the work what reading finds: no list, a class that the rules lack, a part that the car cannot have.

    Raises
    ------
    ConewiseError
    """
    from conewise.workflows.advise_question import read_question

    read_question(_advice_question(asked, place))


def _advice_question(asked: AdviseAsked, place: BookPlace) -> AdviceQuestion:
    from conewise.workflows.advise_question import AdviceQuestion
    from conewise.workflows.named import driver_source, rules_source, source

    return AdviceQuestion(
        courses=tuple(source(one, "course", place) for one in asked.courses),
        car=source(asked.car_file, "car-file", place),
        day=place.now().astimezone().date(),
        parts=source(asked.parts, "changes", place) if asked.parts else None,
        changes=source(asked.changes, "changes", place) if asked.changes else None,
        budget=asked.budget or None,
        hours=asked.hours,
        rules=rules_source(asked.rules, place) if asked.rules else None,
        car_class=asked.car_class or None,
        weights=asked.weights,
        driver=driver_source(asked.driver, place),
        runs=asked.runs,
        pace=asked.pace,
        surface=asked.surface,
    )


def settings(asked: SettingsAsked, desk: Desk) -> dict[str, Any]:
    """The best settings, as `conewise settings --json` prints them, and as the page shows them."""
    from conewise.reports.settings_screen import settings_screen
    from conewise.workflows.settings import answer_settings

    progress = desk.steps(_WORDS)
    answer = answer_settings(
        _settings_question(asked, desk.place),
        progress=progress,
        step=lambda done: progress(f"Solving other settings: {done} runs"),
    )
    return {"record": answer.as_record(), "screen": settings_screen(answer, asked.system)}


def refuse_settings(asked: SettingsAsked, place: BookPlace) -> None:
    """Say before the work what reading the question finds.

    Raises
    ------
    ConewiseError
    """
    from conewise.workflows.settings import read_question

    read_question(_settings_question(asked, place))


def _settings_question(asked: SettingsAsked, place: BookPlace) -> SettingsQuestion:
    from conewise.workflows.named import driver_source, source
    from conewise.workflows.settings import SettingsQuestion

    return SettingsQuestion(
        courses=tuple(source(one, "course", place) for one in asked.courses),
        car=source(asked.car_file, "car-file", place),
        day=place.now().astimezone().date(),
        weights=asked.weights,
        driver=driver_source(asked.driver, place),
        pace=asked.pace,
        surface=asked.surface,
    )


_NAMES = {"courses": "course", "car_file": "car-file", "driver": "driver-file?"}
_OF_ADVICE = {**_NAMES, "parts": "changes?", "changes": "changes?", "rules": "rules?"}
register(Kind(name="advise", asks=AdviseAsked, work=advise, names=_OF_ADVICE, refuse=refuse_advise))
register(Kind(name="settings", asks=SettingsAsked, work=settings, names=_NAMES, refuse=refuse_settings))

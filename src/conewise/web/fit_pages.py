"""Whether wheels and tyres fit a car of the book: what is known of them, the answer, what is open, a drawing."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Annotated, Any, Literal

from fastapi import APIRouter, Query, Request
from fastapi.responses import RedirectResponse, Response
from pydantic import BaseModel, ConfigDict, Field

from conewise.cars.fit_case import GAPS, FitState
from conewise.errors import ConewiseError
from conewise.quantities import HALF_90
from conewise.records import Id
from conewise.reports.fit_picture import fit_svg
from conewise.reports.fit_record import fit_record
from conewise.reports.fit_words import CAUTIONS, answer_sentence, speedometer_sentence, subject
from conewise.web.here import Here, Place
from conewise.web.pages import render
from conewise.workflows.book_texts import book_names
from conewise.workflows.fit import FitQuestion, answer_fit
from conewise.workflows.fit_options import (
    FitOptionError,
    candidate_of,
    gaps_of,
    grade_of,
    loads_of,
    mass_of,
    spacer_of,
    told_in,
)
from conewise.workflows.named import kept_source

if TYPE_CHECKING:
    from conewise.reports.fit_answer import FitAnswer

router = APIRouter()

Typed = Annotated[str, Field(max_length=60)]
_AXLES = {"both": ("front", "rear"), "front": ("front",), "rear": ("rear",)}
# What only a command has.
_HINTS = re.compile(r"(,? or with the new wheel on:?)? ?\(?--[\w-]+( \w+(\.\w+)?=\.\.\.)?\)?")
_SEATS = ("cone", "ball", "flat")
# Fields beside wheel, tyre and spacer, as the page asks for them; what is empty stays open.
KNOWN = ("bolt_pattern", "bore", "turns", "wheel_load", "rims", "date_code", "mass", "treadwear",
         "axle_load_front", "axle_load_rear")  # fmt: skip
ROOM = tuple(f"{axle}_{gap}" for axle in ("front", "rear") for gap in GAPS if (axle, gap) != ("rear", "full_lock"))


class FitAsked(BaseModel):
    """Wheels and tyres to be tried; what is empty stays as on the car, or is not known.

    `front_strut` and so on are gaps that were measured with the new wheel on; lengths and masses have their unit.
    """

    model_config = ConfigDict(extra="ignore")  # what is chosen stands in the address too

    file: Typed = ""
    wheel: Typed = ""
    tyre: Typed = ""
    spacer: Typed = ""
    axle: Literal["both", "front", "rear"] = "both"
    bolt_pattern: Typed = ""
    bore: Typed = ""
    centred: bool = False
    seat: Literal["", "cone", "ball", "flat"] = ""
    fastener_seat: Literal["", "cone", "ball", "flat"] = ""
    turns: Typed = ""
    wheel_load: Typed = ""
    rims: Typed = ""
    date_code: Typed = ""
    mass: Typed = ""
    treadwear: Typed = ""
    axle_load_front: Typed = ""
    axle_load_rear: Typed = ""
    front_strut: Typed = ""
    front_fender: Typed = ""
    front_full_lock: Typed = ""
    front_full_bump: Typed = ""
    front_caliper: Typed = ""
    rear_strut: Typed = ""
    rear_fender: Typed = ""
    rear_full_bump: Typed = ""
    rear_caliper: Typed = ""

    @property
    def gaps(self) -> list[str]:
        """Gaps of the axles that get the wheels: "front.strut=9 mm"."""
        told = [(name.partition("_"), getattr(self, name).strip()) for name in ROOM]
        return [f"{axle}.{gap}={size}" for (axle, _, gap), size in told if size and axle in _AXLES[self.axle]]

    @property
    def loads(self) -> list[str]:
        """Loads of the axles that get the wheels: "front=560 kg"."""
        told = {axle: getattr(self, f"axle_load_{axle}").strip() for axle in _AXLES[self.axle]}
        return [f"{axle}={load}" for axle, load in told.items() if load]

    @property
    def knows_more(self) -> bool:
        """Whether anything is told beside wheel, tyre and spacer."""
        told = (*KNOWN, *ROOM, "seat", "fastener_seat", "centred")
        return any(getattr(self, name) not in ("", None, False) for name in told)


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
        except ConewiseError as problem:  # said beside the field that it names, else above the form
            refusal = problem
    return render(
        request,
        "fit.html.j2",
        at=at,
        known=KNOWN,
        room=ROOM,
        seats=_SEATS,
        half_90=HALF_90,
        problem=refusal,
        fields=FitAsked.model_fields,
        files=files,
        asked=asked,
        answer=answer,
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
        (one.axle, one.state.value, one.is_safety, _HINTS.sub("", one.message), _HINTS.sub("", one.needs or ""))
        for one in answer.items
        if one.state is not FitState.FITS
    ]


def _number(words: str, name: str) -> float | None:
    if not words.strip():
        return None
    try:
        return float(words.replace(",", "."))
    except ValueError:
        raise FitOptionError(told_in(name), words, "this is no number") from None


def _question(at: Here, asked: FitAsked) -> FitQuestion:
    with at.source.opened(create=False) as book:
        car = kept_source(book, "car-file", asked.file)
    axles = _AXLES[asked.axle]
    return FitQuestion(
        car=car,
        wheel=asked.wheel or None,
        tyre=asked.tyre or None,
        spacer=spacer_of(asked.spacer or None),
        axles=axles,
        mass=mass_of(asked.mass or None),
        treadwear=grade_of(_number(asked.treadwear, "treadwear")),
        made=asked.date_code or None,
        candidate=candidate_of(
            bolt_pattern=asked.bolt_pattern or None,
            bore=asked.bore or None,
            centred=asked.centred,
            seats=(asked.seat or None, asked.fastener_seat or None),
            turns=_number(asked.turns, "turns"),
            marked=(asked.wheel_load or None, asked.rims or None),
        ),
        gaps=gaps_of(asked.gaps, axles),
        loads=loads_of(asked.loads, axles),
        system=at.shown.units.name,
    )


@router.get("/api/cars/{file}/fit")
def fit_as_record(file: Id, at: Place, asked: Annotated[FitAsked, Query()]) -> dict[str, Any]:
    """Whether wheels and tyres fit a car, as `conewise fit --json` prints it."""
    tried = asked.model_copy(update={"file": file})
    return fit_record(answer_fit(_question(at, tried), day=at.today))

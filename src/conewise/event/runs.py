"""Runs as they are written down, and who rode along."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from conewise.records import Id, Moment, OptionalId, OptionalLine, Record, Text

Outcome = Literal["timed", "dnf", "dns", "dsq", "off"]
Pressure = Annotated[float, Field(gt=0.0, le=1e6)]  # [Pa]
Pressures = tuple[Pressure, Pressure, Pressure, Pressure]  # front left, front right, rear left, rear right

LONGEST = 600.0  # of a raw time [s]
SHORTEST = 5.0  # of a raw time [s]
MOST_CONES = 99


class FeatureLoss(Record):
    """Time lost in one feature against the best possible run, as a debrief found it."""

    feature: OptionalLine
    kind: OptionalLine  # of driving: launch, slalom, sweeper, hairpin or straight
    seconds: float
    best: float | None = Field(default=None, gt=0.0)  # of the best possible run there [s]


class Run(Record):
    """One run of one person.

    A void run is driven again and counts for nothing. `written` is the time as it was entered; a correction is a new
    record under the same id, with its reason.
    """

    id: Id
    event: Id
    person: Id
    car: OptionalId = ""
    order: int = Field(ge=1, le=1000)  # of this person on this day
    outcome: Outcome = "timed"
    raw_time: float | None = Field(default=None, ge=SHORTEST, le=LONGEST)  # [s]
    cones: int = Field(default=0, ge=0, le=MOST_CONES)
    is_void: bool = False  # a re-run is granted
    written: OptionalLine = ""
    driven_at: Moment | None = None
    passenger: OptionalId = ""
    set_up: OptionalLine = ""
    tyres: OptionalLine = ""
    cold_pressures: Pressures | None = None  # [Pa]
    hot_pressures: Pressures | None = None  # [Pa]
    surface: OptionalLine = ""
    focus: OptionalLine = ""
    losses: tuple[FeatureLoss, ...] = ()
    log: OptionalLine = ""
    notes: Text = ""
    reason: OptionalLine = ""  # of a correction

    @model_validator(mode="after")
    def _has_a_time_where_it_is_timed(self) -> Run:
        if self.outcome == "timed" and self.raw_time is None:
            raise ValueError("raw_time: a timed run has a raw time")
        if self.passenger and self.passenger == self.person:
            raise ValueError("passenger: nobody rides along with themselves")
        return self


class RideAlong(Record):
    """Somebody rode along, and what was said."""

    id: Id
    event: Id
    driver: Id  # a person
    passenger: Id  # a person
    run: OptionalId = ""
    said: Text = ""

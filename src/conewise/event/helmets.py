"""Helmets: what their labels say, what a person saw when looking at them, and who wears which."""

from __future__ import annotations

from typing import Literal

from conewise.records import Day, Id, Line, OptionalId, OptionalLine, Record

LookResult = Literal["passed", "failed", "not looked at"]
LOOKS = ("fit", "strap", "liner", "impact")


class Look(Record):
    """What a person saw."""

    result: LookResult = "not looked at"
    looked_by: OptionalLine = ""
    looked_at: Day | None = None
    note: OptionalLine = ""


class Helmet(Record):
    """A helmet. `impact` passes where no blow is known and none is to be seen."""

    id: Id
    owner: OptionalId = ""  # a person; empty: the club's loan helmet
    size: OptionalLine = ""
    labels: tuple[Line, ...] = ()  # every mark of a standard on it, as printed: "SA2020", "ECE 22.06"
    made: Day | None = None  # the first of the month where only that is known
    face: Literal["open", "full", "modular"] = "full"
    face_shield: bool = False
    goggles: bool = False
    fit: Look = Look()
    strap: Look = Look()
    liner: Look = Look()
    impact: Look = Look()

    @property
    def is_loan(self) -> bool:
        """Whether it is the club's."""
        return not self.owner


class Loan(Record):
    """A loan helmet on somebody's head for a day."""

    id: Id
    event: Id
    helmet: Id
    person: Id

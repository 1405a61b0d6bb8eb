"""What a person measures at a hub for the fit of a wheel: how it is held, and the room around the one that is on."""

from __future__ import annotations

from conewise.cars.fields import Value, quantity
from conewise.records import Record

_FIT = "it decides whether a wheel fits, not how fast the car is"


class Hub(Record):
    """How the wheels of an axle are held; texts are checked as they are read."""

    bolt_pattern: str = ""  # "5x114.3"
    thread: str = ""  # "M12x1.5"
    seat: str = ""  # of the fasteners in use: cone, ball or flat
    spigot: Value = quantity(
        "length", "diameter of the lip that centres the wheel", 0.05, 0.13, step=0.0005, unit="mm", outside=_FIT
    )
    engagement: Value = quantity(
        "length", "engaged length of thread with the wheels below", 0.004, 0.05, step=0.0015, unit="mm", outside=_FIT
    )
    caliper_radius: Value = quantity(
        "length", "farthest edge of the brake caliper from the wheel's axis", 0.1, 0.25, step=0.002, unit="mm",
        outside=_FIT,
    )  # fmt: skip


class Clearance(Record):
    """Smallest gaps around the wheels and tyres that are on an axle; None where nobody measured."""

    strut: Value = quantity(
        "length", "inner side of wheel and tyre to strut, spring and arms", 0, 0.15, sign="zero", step=0.005,
        unit="mm", outside=_FIT,
    )  # fmt: skip
    fender: Value = quantity(
        "length", "outer side of the tyre to the fender, at rest", 0, 0.15, sign="zero", step=0.005, unit="mm",
        outside=_FIT,
    )  # fmt: skip
    full_lock: Value = quantity(
        "length", "tyre to anything at full lock, both ways", 0, 0.2, sign="zero", step=0.005, unit="mm", outside=_FIT
    )
    full_bump: Value = quantity(
        "length", "tyre to anything at full bump", 0, 0.2, sign="zero", step=0.005, unit="mm", outside=_FIT
    )

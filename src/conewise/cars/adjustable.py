"""What an owner can adjust on a car: settings with their range and the size of one click."""

from __future__ import annotations

from conewise.records import Record

# Fields that a setting may move, by the last part of their names, and the kind of change that it is.
ADJUSTED = {
    "bar_stiffness": "bar",
    "bar_diameter": "bar",
    "bar_arm": "bar",
    "bar_motion_ratio": "bar",
    "pressure": "tyre",
    "camber": "camber",
    "toe": "alignment",
    "damping": "damper",
    "cg_height": "ride-height",
    "front_share": "brake",
}
ALSO_MOVED = ("roll_centre", "camber", "toe", "camber_gain")  # what a click may move beside its own fields


class AlsoMoved(Record):
    """A field that one click moves beside the setting's own."""

    field: str
    per_step: float  # [SI]


class Setting(Record):
    """One thing that can be set: a row of positions, or steps of one size between two ends. All in SI."""

    name: str
    fields: tuple[str, ...]  # moved alike; of one dimension
    values: tuple[float, ...] = ()  # positions such as the holes of a bar, rising; empty where there are steps
    low: float = 0.0
    high: float = 0.0
    step: float = 0.0
    also: tuple[AlsoMoved, ...] = ()
    note: str = ""
    where: str = ""  # file and line

    @property
    def field(self) -> str:
        """The field that is shown."""
        return self.fields[0]

    @property
    def kind(self) -> str:
        """Kind of change, as `change.KINDS` has it."""
        return ADJUSTED[last_part(self.field)]

    @property
    def axles(self) -> tuple[str, ...]:
        """Axles whose fields it moves."""
        found = (name.split(".")[0] for name in self.fields)
        return tuple(axle for axle in dict.fromkeys(found) if axle in {"front", "rear"})

    @property
    def is_pressure(self) -> bool:
        """Whether it is a tyre pressure."""
        return last_part(self.field) == "pressure"


def last_part(name: str) -> str:
    """Last part of a dotted name."""
    return name.rpartition(".")[2]


def is_adjusted(name: str) -> bool:
    """Whether a field of the car file is one that a setting may move."""
    if last_part(name) == "front_share":
        return name == "brakes.front_share"
    return last_part(name) in ADJUSTED

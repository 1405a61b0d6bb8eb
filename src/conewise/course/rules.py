"""Rule sets: the limits that a course is held to, shipped or read from a person's file."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from pydantic import Field

from conewise.course.stopping import STOP_SHARE
from conewise.course.toml_table import Table
from conewise.errors import InputError
from conewise.file_forms import refuse_other_form
from conewise.records import Record
from conewise.rule_set import TABLES, RuleText, rule_text

if TYPE_CHECKING:
    from conewise.quantities import Dimension

RUN_OFF_DRY, RUN_OFF_WET = 0.5, 0.3
_MOST = {"stop_share": STOP_SHARE, "run_off_friction": RUN_OFF_DRY, "run_off_friction_wet": RUN_OFF_WET}
Positive = Annotated[float, Field(gt=0.0)]

_DIMENSION: dict[str, Dimension] = {
    "gate_width": "length",
    "slalom_spacing": "length",
    "slalom_spacing_largest": "length",
    "obstacle_distance": "length",
    "pass_distance": "length",
    "straight_before_sharp_turn": "length",
    "sharp_turn_radius": "length",
    "sharp_turn_angle": "angle",
    "straight_between_hairpins": "length",
    "straight_elsewhere": "length",
    "hairpin_diameter": "length",
    "turn_diameter": "length",
    "turn_diameter_largest": "length",
    "top_speed": "speed",
    "stop_share": "ratio",
    "run_off_friction": "ratio",
    "run_off_friction_wet": "ratio",
}


class Rules(Record):
    """Limits of a rule set; a limit that the rule book does not give is None."""

    name: str
    title: str = ""
    gate_width: Positive | None = None  # smallest clear width between the bases [m]
    slalom_spacing: Positive | None = None  # smallest, from cone to cone [m]
    slalom_spacing_largest: Positive | None = None  # [m]
    obstacle_distance: Positive | None = None  # smallest, from the course to obstacles and people [m]
    pass_distance: Positive | None = None  # smallest, between the paths of two passes side by side [m]
    straight_before_sharp_turn: Positive | None = None  # longest [m]
    sharp_turn_radius: Positive = 9.0  # a turn is sharp below this radius of the path [m]
    sharp_turn_angle: Positive = 2.0944  # and above this angle [rad]
    straight_between_hairpins: Positive | None = None  # longest with hairpins at both ends [m]
    straight_elsewhere: Positive | None = None  # longest otherwise [m]
    hairpin_diameter: Positive | None = None  # smallest outside diameter [m]
    turn_diameter: Positive | None = None  # smallest of a constant turn [m]
    turn_diameter_largest: Positive | None = None  # [m]
    top_speed: Positive | None = None  # [m/s]
    # of the deceleration, for stopping at the end [-]; a reserve, and only less may be asked for
    stop_share: Annotated[float, Field(gt=0.0, le=STOP_SHARE)] = STOP_SHARE
    # friction that a sliding car finds off the course [-]; common practice, and only less may be asked for
    run_off_friction: Annotated[float, Field(gt=0.0, le=RUN_OFF_DRY)] = RUN_OFF_DRY
    run_off_friction_wet: Annotated[float, Field(gt=0.0, le=RUN_OFF_WET)] = RUN_OFF_WET


class RulesValueError(InputError):
    """A limit in a rule file is out of range, or two contradict each other."""

    code = "rules-value"
    default_hint = "Correct the value; a limit that does not apply is left out."

    def __init__(self, problem: str, *, where: str) -> None:
        super().__init__(problem, where=where)


def load(name_or_path: str) -> Rules:
    """A shipped rule set by its name, or one in a TOML file.

    Parameters
    ----------
    name_or_path : str
        "club", "student" or the path of a .toml file.

    Raises
    ------
    UnknownRulesError
        If there is neither such a rule set nor such a file.
    RulesValueError
        If a limit is zero or negative, or a largest value is below its smallest.
    InputError
        If the file is not TOML, has an unknown field or a wrong unit; file, line and field are named.
    """
    return rules_of(rule_text(name_or_path))


def rules_of(found: RuleText) -> Rules:
    """The limits of a rule set's text; see `load`."""
    table = Table.of_text(found.text, file=found.file)
    refuse_other_form(table.values, "rules", where=found.file)
    return _read(table, name=found.name)


def _read(table: Table, *, name: str) -> Rules:
    values: dict[str, float] = {}
    title = table.text("title", name)
    for key, dimension in _DIMENSION.items():
        if key not in table:
            table.take(key)
            continue
        values[key] = table.quantity(key, dimension)
        if not values[key] > 0.0:
            raise RulesValueError(f"'{key}' is {values[key]:g}; a limit is greater than zero.", where=table.place(key))
    for topic in TABLES:
        table.take(topic)
    table.finish()
    for key in ("slalom_spacing", "turn_diameter"):
        largest = f"{key}_largest"
        if values.get(largest, float("inf")) < values.get(key, 0.0):
            problem = f"'{largest}' ({values[largest]:g} m) is below '{key}' ({values[key]:g} m)."
            raise RulesValueError(problem, where=table.place(largest))
    for key, most in _MOST.items():
        if values.get(key, most) > most:
            problem = f"'{key}' is {values[key]:g}; it may be {most:g} at the most."
            raise RulesValueError(problem, where=table.place(key))
    return Rules(name=name, title=title, **values)

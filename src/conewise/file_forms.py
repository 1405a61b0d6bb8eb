"""What a TOML file is by what stands in it: a car given for a course is told as that, not by a missing field."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from conewise.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Mapping

_MOST_SHOWN = 4


@dataclass(frozen=True, slots=True)
class Form:
    """One form of file.

    name: what people call it, with its article.
    keys: what stands at its top level and in few other forms.
    goes: where it is of use.
    """

    name: str
    keys: frozenset[str]
    goes: str


FORMS = {
    "course": Form(
        "a course file",
        frozenset({"cones", "feature", "walk", "site", "stop", "staging"}),
        "conewise course and conewise line",
    ),
    "car": Form(
        "a car file",
        frozenset({
            "kind", "drive", "modified", "mass", "body", "front", "rear", "engine", "transmission", "brakes",
            "steering",
        }),
        "conewise car and conewise line",
    ),
    "history": Form("a set-up history", frozenset({"setup_of", "car_digest"}), "conewise car"),
    "driver": Form(
        "a driver file",
        frozenset({"level", "friction_share", "handwheel_rate", "pedal_time", "scatter", "launch_share", "mass"}),
        "the option --driver",
    ),
    "changes": Form("a list of changes", frozenset({"change"}), "conewise advise"),
    "parts": Form("a list of parts", frozenset({"part", "currency"}), "conewise advise --parts"),
    "settings": Form("a list of settings", frozenset({"setting"}), "conewise settings"),
    "rules": Form(
        "a rule set",
        frozenset({
            "gate_width", "slalom_spacing", "obstacle_distance", "pass_distance", "straight_before_sharp_turn",
            "sharp_turn_radius", "hairpin_diameter", "turn_diameter", "top_speed", "stop_share", "penalty", "results",
            "people", "helmet", "inspection", "class",
        }),
        "the option --rules",
    ),
    "event": Form(
        "an event file",
        frozenset({"event", "entry", "person", "car", "helmet", "loan", "check", "expense", "packed"}),
        "conewise event",
    ),
    "mapping": Form("a mapping of columns", frozenset({"columns", "arms"}), "the option --mapping of a recording"),
}  # fmt: skip


class OtherFormError(InputError):
    """A file of another form than the one that is wanted."""

    code = "other-form"

    def __init__(self, found: Form, wanted: Form, has: list[str], *, where: str) -> None:
        hint = f"Give {wanted.name} here. {found.name.capitalize()} is for {found.goes}."
        super().__init__(f"This is {found.name}, not {wanted.name}: it has {', '.join(has)}.", where=where, hint=hint)


def refuse_other_form(values: Mapping[str, Any], wanted: str, *, where: str) -> None:
    """Say that a file is of another form; nothing where it may be of the one that is wanted.

    Parameters
    ----------
    values : mapping
        The top level of a TOML file.
    wanted : str
        One of `FORMS`.
    where : str
        The file.

    Raises
    ------
    OtherFormError
        If more of what it has belongs to another form.
    """
    shares = {name: len(form.keys & values.keys()) for name, form in FORMS.items()}
    found = max(shares, key=lambda name: shares[name])
    if shares[found] > shares[wanted]:
        has = [_as_written(key, values[key]) for key in values if key in FORMS[found].keys]
        raise OtherFormError(FORMS[found], FORMS[wanted], has[:_MOST_SHOWN], where=where)


def _as_written(key: str, value: Any) -> str:
    if isinstance(value, list) and value and isinstance(value[0], dict):
        return f"[[{key}]]"
    return f"[{key}]" if isinstance(value, dict) else key

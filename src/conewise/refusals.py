"""What is wanted in place of a value, in words of our own, from what the library that checks values reports."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Mapping

_MOST_SHOWN = 40  # letters of a value that was found
_DAY = "a day such as 2026-05-17 is wanted"
_MOMENT = "a moment such as 2026-05-17T09:30:00 is wanted"
_CLOCK = 'a clock time such as 09:30:00 or "09:30" is wanted'
_WANTED = {
    "bool_parsing": "true or false is wanted",
    "bool_type": "true or false is wanted",
    "date_from_datetime_inexact": _DAY,
    "date_from_datetime_parsing": _DAY,
    "date_parsing": _DAY,
    "date_type": _DAY,
    "datetime_from_date_parsing": _MOMENT,
    "datetime_parsing": _MOMENT,
    "datetime_type": _MOMENT,
    "dict_type": "a table is wanted",
    "extra_forbidden": "nothing of that name is known here",
    "finite_number": "a number is wanted",
    "float_parsing": "a number is wanted",
    "float_type": "a number is wanted",
    "int_from_float": "a whole number is wanted",
    "int_parsing": "a whole number is wanted",
    "int_parsing_size": "a smaller number is wanted",
    "int_type": "a whole number is wanted",
    "json_invalid": "JSON is wanted",
    "json_type": "JSON is wanted",
    "list_type": "a list is wanted",
    "missing": "it is missing",
    "model_attributes_type": "a table is wanted",
    "model_type": "a table is wanted",
    "none_required": "nothing is wanted",
    "string_type": "text is wanted",
    "string_unicode": "text is wanted",
    "time_parsing": _CLOCK,
    "time_type": _CLOCK,
    "tuple_type": "a list is wanted",
}
_LIMITS = {  # with the limit that the library tells
    "enum": "one of {expected} is wanted",
    "greater_than": "more than {gt} is wanted",
    "greater_than_equal": "{ge} or more is wanted",
    "less_than": "less than {lt} is wanted",
    "less_than_equal": "{le} or less is wanted",
    "literal_error": "one of {expected} is wanted",
    "string_too_long": "{max_length} letters at most are wanted",
    "string_too_short": "{min_length} letters at least are wanted",
    "too_long": "{max_length} entries at most are wanted",
    "too_short": "{min_length} entries at least are wanted",
}
_OF_ONE = {"string_too_short": "some text is wanted", "too_short": "one at least is wanted"}
_OWN = {"value_error", "with_offset", "out_of_reach"}  # of our own checks, in our own words
_FORMS = (  # how the pattern of a text begins, and what it asks for
    (("^[a-z0-9]", "^(?:[a-z0-9]"), "small letters, digits and hyphens are wanted"),
    ((r"^[^\s\p{Cc}]", r"^(?:[^\s\p{Cc}]"), "one line that does not begin or end with a blank is wanted"),
)


def wanted(problem: Mapping[str, Any]) -> str:
    """What is wanted, as the end of a sentence.

    Parameters
    ----------
    problem : mapping
        One entry of a validation error of pydantic: `type`, `ctx`, `input` and `msg`.

    Examples
    --------
    >>> wanted({"type": "less_than_equal", "ctx": {"le": 20}, "input": 27, "msg": ""})
    '20 or less is wanted'
    """
    kind, told = str(problem["type"]), problem.get("ctx") or {}
    if kind in _WANTED:
        return _WANTED[kind]
    if kind in _OF_ONE and told.get("min_length") == 1:
        return _OF_ONE[kind]
    if kind in _LIMITS:
        return _LIMITS[kind].format(**{name: _plain(value) for name, value in told.items()})
    if kind in _OWN:
        words = str(problem["msg"]).removeprefix("Value error, ").rstrip(".")
        return words[:1].lower() + words[1:]
    pattern = str(told.get("pattern", ""))
    return next((said for begins, said in _FORMS if pattern.startswith(begins)), "it is not in the form that is wanted")


def refusal(name: str, problem: Mapping[str, Any]) -> str:
    """A whole sentence: the name of the field, the value that was found where it is short, and what is wanted.

    Parameters
    ----------
    name : str
        Of the field, as whoever wrote it calls it.
    problem : mapping
        As `wanted` takes it.

    Examples
    --------
    >>> refusal("runs", {"type": "int_parsing", "input": "x", "msg": ""})
    "'runs' is 'x': a whole number is wanted."
    """
    value = problem.get("input")
    is_shown = problem["type"] not in {"missing", "extra_forbidden"} and isinstance(value, str | int | float)
    shown = str(value)
    found = f" is '{shown}'" if is_shown and len(shown) <= _MOST_SHOWN and shown.isprintable() else ""
    return f"'{name}'{found}: {wanted(problem)}."


def _plain(value: object) -> str:
    """A limit as people write it."""
    if isinstance(value, float):
        return f"{value:g}"
    return str(value).replace("'", "")

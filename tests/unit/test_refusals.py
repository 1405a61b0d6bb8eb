"""What a library says of a wrong value is said in words of our own, whatever is wrong."""

from __future__ import annotations

from datetime import date, datetime, time
from enum import StrEnum
from typing import Annotated, Literal

import pytest
from pydantic import Field, ValidationError

from conewise.records import Clock, Day, Id, Line, Moment, Record
from conewise.refusals import refusal


class Size(StrEnum):
    SMALL = "small"
    LARGE = "large"


class Inner(Record):
    x: float


class Everything(Record):
    id: Id = "a"
    line: Line = "a"
    day: Day = date(2026, 5, 17)
    at: Moment = datetime.fromisoformat("2026-05-17T09:30")
    clock: Clock = time(9, 30)
    runs: Annotated[int, Field(ge=1, le=20)] = 1
    share: Annotated[float, Field(gt=0.0, lt=1.0)] = 0.5
    name: Annotated[str, Field(min_length=2, max_length=5)] = "abc"
    words: Annotated[str, Field(min_length=1)] = "a"
    kinds: Annotated[tuple[str, ...], Field(min_length=1, max_length=2)] = ("a",)
    axle: Literal["both", "front"] = "both"
    size: Size = Size.SMALL
    is_wet: bool = False
    inner: Inner = Inner(x=1.0)


@pytest.mark.parametrize(
    ("values", "said"),
    [
        ({"id": "Not An Id"}, "'id' is 'Not An Id': small letters, digits and hyphens are wanted."),
        ({"line": " a"}, "'line' is ' a': one line that does not begin or end with a blank is wanted."),
        ({"day": "yesterday"}, "'day' is 'yesterday': a day such as 2026-05-17 is wanted."),
        ({"day": "1800-01-01"}, "'day' is '1800-01-01': 1900-01-01 or more is wanted."),
        ({"at": "noon"}, "'at' is 'noon': a moment such as 2026-05-17T09:30:00 is wanted."),
        ({"clock": "noon"}, "'clock' is 'noon': a clock time such as 09:30:00 or \"09:30\" is wanted."),
        ({"runs": "x"}, "'runs' is 'x': a whole number is wanted."),
        ({"runs": 1.5}, "'runs' is '1.5': a whole number is wanted."),
        ({"runs": 21}, "'runs' is '21': 20 or less is wanted."),
        ({"runs": 0}, "'runs' is '0': 1 or more is wanted."),
        ({"share": 0.0}, "'share' is '0.0': more than 0 is wanted."),
        ({"share": 1}, "'share' is '1': less than 1 is wanted."),
        ({"share": "much"}, "'share' is 'much': a number is wanted."),
        ({"share": float("nan")}, "'share' is 'nan': a number is wanted."),
        ({"name": "x"}, "'name' is 'x': 2 letters at least are wanted."),
        ({"name": "abcdef"}, "'name' is 'abcdef': 5 letters at most are wanted."),
        ({"name": 5}, "'name' is '5': text is wanted."),
        ({"kinds": ()}, "'kinds': one at least is wanted."),
        ({"words": ""}, "'words' is '': some text is wanted."),
        ({"kinds": "a"}, "'kinds' is 'a': a list is wanted."),
        ({"axle": "rear"}, "'axle' is 'rear': one of both or front is wanted."),
        ({"size": "huge"}, "'size' is 'huge': one of small or large is wanted."),
        ({"is_wet": "perhaps"}, "'is_wet' is 'perhaps': true or false is wanted."),
        ({"inner": 3}, "'inner' is '3': a table is wanted."),
        ({"inner": {}}, "'inner.x': it is missing."),
        ({"more": 1}, "'more': nothing of that name is known here."),
        ({"name": "x" * 100}, "'name': 5 letters at most are wanted."),
    ],
)
def test_it_says_what_is_wanted(values, said):
    with pytest.raises(ValidationError) as caught:
        Everything.model_validate(values)
    first = caught.value.errors()[0]
    assert refusal(".".join(map(str, first["loc"])), first) == said


def test_no_word_of_the_library_is_left():
    """Whatever kind of refusal the library knows: our words, or none of its own."""
    from typing import get_args

    from pydantic_core import ErrorType

    for kind in get_args(ErrorType):
        limits = dict.fromkeys(("gt", "ge", "lt", "le", "min_length", "max_length", "expected", "pattern"), 1)
        words = refusal("x", {"type": kind, "ctx": limits, "input": {}, "msg": "Input should be library words"})
        assert "Input" not in words or kind == "value_error"

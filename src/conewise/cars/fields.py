"""What a field of the car file is: its dimension, where it is plausible, and a step that means something."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

from pydantic import Field

from conewise.quantities import Sourced, in_unit, shown_unit

if TYPE_CHECKING:
    from conewise.quantities import Dimension
    from conewise.records import Record

Sign = Literal["positive", "zero", "any"]

BEYOND = 3.0  # a value so many times beyond what cars have is a slip in the unit or in the point


@dataclass(frozen=True, slots=True, kw_only=True)
class QuantityField:
    """One numeric field of the car file.

    low, high: plausible range in SI; outside it a finding.
    sign: which signs are possible at all; others are an error.
    most: greatest value that can be, such as 1 for a share; where left out `BEYOND` times the plausible range.
    step, share: a step worth asking about, in SI or as a share of the value.
    unit: unit in which people speak of it, where that is not the dimension's own.
    outside: why the time model does not know the field; empty where it does.
    from_code: the file gives it within a code such as "205/50R15".
    is_count: it is counted, so that what somebody says is exact.
    """

    dimension: Dimension
    meaning: str
    low: float
    high: float
    sign: Sign = "positive"
    most: float | None = None
    step: float = 0.0
    share: float = 0.0
    unit: str = ""
    outside: str = ""
    from_code: bool = False
    is_count: bool = False

    def reference_step(self, value: float) -> float:
        """A step in SI that a person could make."""
        return self.step or self.share * abs(value)

    @property
    def limits(self) -> tuple[float, float]:
        """Least and greatest value that can exist at all, in SI; others are an error."""
        if self.sign == "any":
            reach = (BEYOND - 1.0) * (self.high - self.low)
            return self.low - reach, self.high + reach
        least = self.low / BEYOND if self.sign == "positive" else 0.0
        return least, BEYOND * self.high if self.most is None else self.most

    def is_possible(self, value: float) -> bool:
        """Whether a value can exist at all."""
        least, most = self.limits
        return least <= value <= most

    def wanted(self, value: float) -> str:
        """What an impossible value should have been, for a message."""
        if self.sign == "positive" and value <= 0.0:
            return "more than zero"
        if self.sign == "zero" and value < 0.0:
            return "zero or more"
        least, most = (
            f"{_plain(in_unit(limit, self.dimension, self.shown))} {self.shown}".strip() for limit in self.limits
        )
        return f"between {least} and {most}"

    @property
    def shown(self) -> str:
        """Unit in which the field is shown."""
        return self.unit or shown_unit(self.dimension)


def _plain(number: float) -> str:
    """Three digits as people write them, without powers of ten."""
    text = f"{number:.3g}"
    if "e" not in text:
        return text
    return f"{number:.0f}" if abs(number) >= 1.0 else f"{number:.9f}".rstrip("0")


Value = Sourced | None


def quantity(dimension: Dimension, meaning: str, low: float, high: float, **facts: Any) -> Any:
    """Declare a numeric field of a record; the facts are those of `QuantityField`."""
    field = QuantityField(dimension=dimension, meaning=meaning, low=low, high=high, **facts)
    extra: Any = {"quantity": field}
    return Field(default=None, json_schema_extra=extra)


def quantity_of(record: type[Record], name: str) -> QuantityField | None:
    """The facts of a numeric field of a record; None for any other field."""
    extra: Any = record.model_fields[name].json_schema_extra
    return extra["quantity"] if isinstance(extra, dict) else None

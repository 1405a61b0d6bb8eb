"""What a field of the car file is: its dimension, where it is plausible, and a step that means something."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal, Self

from pydantic import BaseModel, ConfigDict, Field

from conewise.quantities import Sourced, shown_unit

if TYPE_CHECKING:
    from conewise.quantities import Dimension

Sign = Literal["positive", "zero", "any"]


class Record(BaseModel):
    """A frozen record; a change makes a new one and is checked again."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    def changed(self, **edits: Any) -> Self:
        """A copy with other values, validated like the first."""
        return type(self).model_validate({name: getattr(self, name) for name in type(self).model_fields} | edits)


@dataclass(frozen=True, slots=True, kw_only=True)
class QuantityField:
    """One numeric field of the car file.

    low, high: plausible range in SI; outside it a finding.
    sign: which values are possible at all; others are an error.
    step, share: a step worth asking about, in SI or as a share of the value.
    unit: unit in which people speak of it, where that is not the dimension's own.
    outside: why the time model does not know the field; empty where it does.
    from_code: the file gives it within a code such as "205/50R15".
    """

    dimension: Dimension
    meaning: str
    low: float
    high: float
    sign: Sign = "positive"
    step: float = 0.0
    share: float = 0.0
    unit: str = ""
    outside: str = ""
    from_code: bool = False

    def reference_step(self, value: float) -> float:
        """A step in SI that a person could make."""
        return self.step or self.share * abs(value)

    def is_possible(self, value: float) -> bool:
        """Whether a value can exist at all."""
        return value > 0.0 if self.sign == "positive" else self.sign == "any" or value >= 0.0

    @property
    def shown(self) -> str:
        """Unit in which the field is shown."""
        return self.unit or shown_unit(self.dimension)


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

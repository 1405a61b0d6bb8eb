"""What a person fills in: frozen records that are checked when made, and checked again when changed."""

from __future__ import annotations

from typing import Any, Self

from pydantic import BaseModel, ConfigDict


class Record(BaseModel):
    """A frozen record; a change makes a new one and is checked again."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    def changed(self, **edits: Any) -> Self:
        """A copy with other values, validated like the first."""
        return type(self).model_validate({name: getattr(self, name) for name in type(self).model_fields} | edits)

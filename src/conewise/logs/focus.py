"""What to work on next: one place, one cause, one thing to try."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Cause(StrEnum):
    """Why time was lost at a feature."""

    EARLY_APEX = "early-apex"
    SLOW_ENTRY = "slow-entry"
    FAST_ENTRY = "fast-entry"
    EARLY_LIFT = "early-lift"
    WIDE_AT_CONE = "wide-at-cone"
    SLALOM_LATE = "slalom-late"
    LATE_POWER = "late-power"
    COASTING = "coasting"
    PEDAL_OVERLAP = "pedal-overlap"
    OVER_SLIP = "over-slip"
    UNUSED_GRIP = "unused-grip"


@dataclass(frozen=True, slots=True, kw_only=True)
class Focus:
    """One thing to work on."""

    feature: str
    cause: Cause
    seconds: float  # what it costs [s]
    chance: float  # that more than 0.05 s is lost there, for normal errors, 0 to 1; not that this is the cause
    evidence: str  # one sentence with the numbers
    advice: str  # one plain sentence to try

"""The whole answer of a proof: the effect or why it is untold, cones beside it, and what the next test needs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from conewise.errors import InfeasibleError

if TYPE_CHECKING:
    from conewise.findings import Finding
    from conewise.proof.comparison import Question
    from conewise.proof.cones import Cones
    from conewise.proof.effect import Effect
    from conewise.proof.power import Planned
    from conewise.proof.times import Times
    from conewise.proof.untold import Untold

Verdict = Literal["helped", "hurt", "not-shown", "untold"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanAnswer:
    """A test that is proposed.

    spread: standard deviation of a run that it is made for [s]; spread_from: where that comes from, in words
    wanted: effect that it is to show [s]; None: as small a one as it can
    planned: the orders; None where no plan of a sensible length shows the effect wanted
    certainty: probability of the interval that then leaves zero out; power: probability of that
    """

    spread: float
    spread_from: str
    wanted: float | None
    planned: Planned | None
    certainty: float
    power: float = 0.8

    @property
    def least_difference(self) -> float | None:
        """The smallest effect that shows with this power. [s]"""
        if self.planned is None:
            return None
        return self.spread * self.planned.least_difference(power=self.power, certainty=self.certainty)


@dataclass(frozen=True, slots=True, kw_only=True)
class ProofAnswer:
    """Did the change work? `effect` or `untold` is there, never both; `plan` is the next test where one is needed."""

    times: Times
    question: Question
    effect: Effect | None
    untold: Untold | None
    cones: Cones
    plan: PlanAnswer | None
    certainty: float
    findings: tuple[Finding, ...]

    @property
    def verdict(self) -> Verdict:
        """What the interval says of the change."""
        if self.effect is None:
            return "untold"
        low, high = self.effect.interval
        if high < 0.0:
            return "helped"
        return "hurt" if low > 0.0 else "not-shown"

    @property
    def exit_code(self) -> int:
        """0 where the times have an answer; that of questions without one elsewhere."""
        return InfeasibleError.exit_code if self.effect is None else 0

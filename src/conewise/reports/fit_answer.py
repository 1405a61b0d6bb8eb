"""The whole answer of `conewise fit`: where the new wheels lie, what fits, and what they change. For every face."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from conewise.cars.fit_case import FitState

if TYPE_CHECKING:
    from conewise.cars.fit_case import FitItem
    from conewise.cars.hub import Clearance, Hub
    from conewise.cars.wheel_place import Shift, WheelPlace
    from conewise.findings import Finding

_NO = 10  # exit code of "the answer is no"


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate:
    """A number before and after, and the standard deviation of the difference. In SI units."""

    before: float
    after: float
    sd: float

    @property
    def share(self) -> float:
        """Relative change."""
        return self.after / self.before - 1.0

    @property
    def share_sd(self) -> float:
        """Standard deviation of the relative change."""
        return self.sd / self.before


@dataclass(frozen=True, slots=True, kw_only=True)
class AxleFit:
    """One axle with its new wheels."""

    axle: str
    before: WheelPlace
    after: WheelPlace
    shift: Shift
    clearance: Clearance
    hub: Hub
    items: tuple[FitItem, ...]
    load: float  # mass on the axle at rest, with the driver [kg]
    wheel_mass: Estimate  # one wheel with its tyre [kg]
    wheel_inertia: Estimate  # with tyre and disc [kg m2]
    friction: Estimate  # peak lateral, at the load at rest [-]
    stiffness: Estimate  # cornering stiffness of a tyre at the load at rest [N/rad]
    vertical_rate: Estimate  # of a tyre [N/m]


@dataclass(frozen=True, slots=True, kw_only=True)
class GearSpeed:
    """Speed in a gear at the limiter. [m/s]"""

    gear: int
    before: float
    after: float


@dataclass(frozen=True, slots=True, kw_only=True)
class FitAnswer:
    """Whether wheels and tyres fit a car, as far as is known."""

    car: str
    wheel: str
    tyre: str
    spacer: float | None  # asked for; None: as on the car [m]
    axles: tuple[AxleFit, ...]
    gears: tuple[GearSpeed, ...]
    speedometer: float  # true speed over indicated, less one; against the tyres that are on
    findings: tuple[Finding, ...]  # about the changed car as a whole

    @property
    def items(self) -> tuple[FitItem, ...]:
        """All questions, those that do not fit first, then the open ones."""
        rank = {FitState.NO: 0, FitState.OPEN: 1, FitState.FITS: 2}
        found = [item for axle in self.axles for item in axle.items]
        return tuple(sorted(found, key=lambda item: (rank[item.state], not item.is_safety)))

    def in_state(self, state: FitState) -> tuple[FitItem, ...]:
        """The questions that are answered so."""
        return tuple(item for item in self.items if item.state is state)

    @property
    def n_questions_open(self) -> int:
        """Open questions; the same one on both axles counts once."""
        return len({item.code for item in self.in_state(FitState.OPEN)})

    @property
    def fits(self) -> bool:
        """Whether nothing is known that does not fit; open items may be left."""
        return not self.in_state(FitState.NO) and not any(f.severity == "stop" for f in self.findings)

    @property
    def is_cleared(self) -> bool:
        """Whether it fits and no safety item is open."""
        return self.fits and not any(item.is_safety for item in self.in_state(FitState.OPEN))

    @property
    def exit_code(self) -> int:
        """0, or 10 where something does not fit or a safety item is open."""
        return 0 if self.is_cleared else _NO

    @property
    def all_findings(self) -> tuple[Finding, ...]:
        """Everything that is not a plain yes, stops first."""
        found = [item.finding for item in self.items if item.state is not FitState.FITS] + list(self.findings)
        rank = {"stop": 0, "warning": 1, "note": 2}
        return tuple(sorted(found, key=lambda finding: rank[finding.severity]))

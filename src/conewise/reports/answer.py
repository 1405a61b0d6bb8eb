"""The whole answer of `conewise line`: the solved run and what was asked around it. Input of every face."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from conewise.errors import ConvergenceError
from conewise.findings import has_stop

if TYPE_CHECKING:
    from conewise.course.layout import Course
    from conewise.solver.result import ConeResult, Gradient, Solution

MODEL_SHARE = 0.2  # the model part of an interval is never below this share of the effect
NUMERICAL_PART = 0.004  # spread of a time over meshes and starts [s]
OTHER_HAND = {"left": "right", "right": "left"}  # passed on its left, a cone stands on the driver's right
MARGIN_STEP = 0.1  # the step in which people think about a cone [m]

# What a person changes first: settings, the usual parts, and the driver; common practice, no source.
CHANGED_FIRST = frozenset(
    {"mass.total", "body.cg_height", "body.drag_area", "body.lift_area_front", "body.lift_area_rear", "tyre.friction"}
    | {"spacer", "spring_rate", "bar_stiffness", "bar_diameter", "damping", "camber", "toe", "wheel.mass"}
    | {f"differential.{name}" for name in ("preload", "bias_drive", "bias_coast", "ramp_drive", "ramp_coast")}
    | {"engine.peak_power", "engine.torque_scale", "transmission.final_drive", "brakes.front_share"}
    | {f"driver.{name}" for name in ("friction_share", "pedal_rate", "road_wheel_rate", "launch_share")}
)


def is_changed_first(name: str) -> bool:
    """Whether a parameter, by its dotted name, is one that a person changes first."""
    return name.removeprefix("front.").removeprefix("rear.") in CHANGED_FIRST


@dataclass(frozen=True, slots=True, kw_only=True)
class KeySpeed:
    """The slowest speed inside one feature."""

    feature: str
    speed: float  # [m/s]


@dataclass(frozen=True, slots=True, kw_only=True)
class BuildUpRow:
    """The run at one share of the usable friction."""

    pace: float
    time: float  # [s]
    speeds: tuple[KeySpeed, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class GearChoice:
    """One way to use the gearbox, solved for itself: "hold 2nd", "shift"."""

    label: str
    time: float  # [s]
    is_best: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class SideChoice:
    """One way past a feature that may be passed on either side, solved for itself."""

    feature: str
    side: str  # side of the first cone on which the car goes
    time: float  # [s]
    is_best: bool

    @property
    def cone_on_your(self) -> str:
        """On which hand of the driver that cone stands: the other one."""
        return ", ".join(OTHER_HAND[side] for side in self.side.split(", "))


@dataclass(frozen=True, slots=True, kw_only=True)
class FeaturePrice:
    """What it costs to come late or wide into one feature."""

    feature: str
    entry_speed_price: float  # time lost per m/s less at entry [s/(m/s)]
    wide_price: float  # time lost per 0.3 m off the line at entry [s]


@dataclass(frozen=True, slots=True, kw_only=True)
class ConeMargin:
    """The best distance to one cone for a given scatter."""

    cone: str
    margin: float  # [m]


@dataclass(frozen=True, slots=True, kw_only=True)
class MarginPlan:
    """Best margins for a driver's scatter, all cones together, re-solved."""

    scatter: float  # standard deviation of the lateral position at a cone [m]
    penalty: float  # per cone counted [s]
    margins: tuple[ConeMargin, ...]
    expected_time: float  # raw time with these margins [s]
    expected_cones: float  # cones counted per run


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfaceBand:
    """The times at both ends of a band of friction."""

    name: str  # "wet", "damp"
    low: float  # friction factor
    high: float
    fastest: float  # time at `high` [s]
    slowest: float  # time at `low` [s]


@dataclass(frozen=True, slots=True, kw_only=True)
class LineAnswer:
    """The answer to "what is the fastest clean way through, for this car?".

    `solution` is the run; `course` supplies the map (lot, obstacles, pointers). What was not asked for stays empty.
    With a `band` the solution is the one at the middle of the band.
    """

    solution: Solution
    course: Course
    driver: str = "expert"
    pace: float = 1.0  # share of the driver's usable friction
    surface: float = 1.0  # factor on friction
    band: SurfaceBand | None = None
    build_up: tuple[BuildUpRow, ...] = ()
    gears: tuple[GearChoice, ...] = ()
    sides: tuple[SideChoice, ...] = ()
    slow_in: tuple[FeaturePrice, ...] = ()
    margins: MarginPlan | None = None
    time_deviation: float | None = None  # by what the car's numbers may be off by; None where not known [s]
    numerical_part: float = NUMERICAL_PART  # [s]
    model_parts: dict[str, float] = field(default_factory=dict)  # by gradient name, where above 20% [s]

    @property
    def dearest_cones(self) -> tuple[ConeResult, ...]:
        """Cones that cost time, dearest first."""
        priced = [cone for cone in self.solution.cones if cone.price > 0.0]
        return tuple(sorted(priced, key=lambda cone: -cone.price))

    @property
    def useful_gradients(self) -> tuple[Gradient, ...]:
        """Gradients of what a person changes first, by the size of one step's effect, largest first."""
        return tuple(gradient for gradient in self._by_size if is_changed_first(gradient.name))

    @property
    def other_gradients(self) -> tuple[Gradient, ...]:
        """All other gradients: what a car is made of, and what nobody chooses; largest first."""
        return tuple(gradient for gradient in self._by_size if not is_changed_first(gradient.name))

    @property
    def _by_size(self) -> tuple[Gradient, ...]:
        return tuple(sorted(self.solution.gradients, key=lambda gradient: -abs(gradient.s_per_step)))

    @property
    def is_faster_than_its_side(self) -> bool:
        """Whether another use of the gears beat the one with which the sides were compared."""
        return bool(self.sides) and min(side.time for side in self.sides) > self.solution.time

    @property
    def is_stopped(self) -> bool:
        """Whether a finding says stop, such as a stop area that is too short: this is not to be run so."""
        return has_stop(list(self.solution.findings))

    @property
    def failed_checks(self) -> tuple[str, ...]:
        """Names of the checks that the run did not pass: it is not to be relied on."""
        return tuple(check.name for check in self.solution.checks if not check.ok)

    @property
    def exit_code(self) -> int:
        """What a command leaves with: 6 where a check failed, 10 where a finding says stop, else 0.

        A run that failed a check cannot be relied on for its "yes" nor for its "no", so that 6 comes first.
        """
        if self.failed_checks:
            return ConvergenceError.exit_code
        return 10 if self.is_stopped else 0

    def interval(self, gradient: Gradient) -> tuple[float, float]:
        """Interval of the effect of one reference step: numerical and model part, both sides of a bend.

        Parameters
        ----------
        gradient : Gradient
            One of the solution's gradients.

        Returns
        -------
        tuple of float
            Low and high end. [s]
        """
        effect = gradient.s_per_step
        model = max(MODEL_SHARE * abs(effect), self.model_parts.get(gradient.name, 0.0))
        half = self.numerical_part + model + abs(gradient.bend * gradient.reference_step)
        return effect - half, effect + half

"""What a solve gives back: one shape for every level, so that reports, commands and comparisons need no adapter."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from conewise.findings import Finding
    from conewise.runs import FeatureResult

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class ConeResult:
    """One pass of one cone in the solved run."""

    id: str
    feature: str
    is_left: bool  # the cone lies on the driver's left
    is_standing: bool
    x: float  # east [m]
    y: float  # north [m]
    station: float  # [m]
    price: float  # time lost per metre of margin, > 0 [s/m]
    margin: float  # margin asked for [m]
    clearance: float  # body outline to the cone's base on a fine grid [m]


@dataclass(frozen=True, slots=True, kw_only=True)
class Gradient:
    """How the time answers to one parameter, all else equal."""

    name: str
    unit: str
    value: float
    reference_step: float  # a step that a person would make, in `unit`
    s_per_unit: float  # mean of both sides
    bend: float = 0.0  # what half a per cent more tells above the mean, and less below it [s per unit]

    @property
    def s_per_step(self) -> float:
        """Time for the reference step. [s]"""
        return self.s_per_unit * self.reference_step

    @property
    def s_per_percent(self) -> float | None:
        """Time for one percent more; None where the value is zero. [s]"""
        return None if self.value == 0.0 else self.s_per_unit * self.value / 100.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """One test that the solution was put to before anyone saw it."""

    name: str
    ok: bool
    value: float
    limit: float
    unit: str = ""
    where: str = ""  # feature with the worst value


@dataclass(frozen=True, slots=True, kw_only=True)
class Fallback:
    """Why the answer is the quasi-steady one on a fixed line."""

    feature: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Solution:
    """A solved run. Arrays have shape (n_stations,).

    Wheel loads (n_stations, 4): front left, front right, rear left, rear right.
    """

    level: str  # "point-mass", "quasi-steady" or "transient"
    course: str
    car: str
    time: float  # start beam to finish beam [s]
    distance: float  # length of the line driven between the beams [m]
    station: Array  # along the reference path [m]
    elapsed: Array  # since the start beam [s]
    x: Array  # centre of gravity, east [m]
    y: Array  # north [m]
    heading: Array  # of the car [rad]
    lateral_offset: Array  # [m]
    speed: Array  # [m/s]
    ax: Array  # true longitudinal acceleration [m/s2]
    ay: Array  # true lateral acceleration, left positive [m/s2]
    gear: NDArray[np.int64]
    yaw_rate: Array | None = None  # [rad/s]
    sideslip: Array | None = None  # [rad]
    roll: Array | None = None  # [rad]
    road_wheel_angle: Array | None = None  # [rad]
    command: Array | None = None  # 1 full throttle, -1 full brake
    wheel_loads: Array | None = None  # [N]
    friction_use_front: Array | None = None  # share of the axle's friction
    friction_use_rear: Array | None = None
    cones: tuple[ConeResult, ...] = ()
    features: tuple[FeatureResult, ...] = ()
    gradients: tuple[Gradient, ...] = ()
    checks: tuple[Check, ...] = ()
    findings: tuple[Finding, ...] = ()
    fallback: Fallback | None = None
    choices: dict[str, str] = field(default_factory=dict)  # side taken at each either-side feature
    statistics: dict[str, float] = field(default_factory=dict)  # iterations, seconds, nodes of mesh and of prices
    warm: Any = field(default=None, repr=False)  # what a re-solve starts from

    @property
    def is_checked(self) -> bool:
        """Whether every check passed."""
        return all(check.ok for check in self.checks)

"""Which axle locks first when the car brakes in a straight line, and how far the brakes may be set to the rear."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from conewise.vehicle import brakes
from conewise.vehicle.motion import tyres
from conewise.vehicle.tyre_force import Tyre, load_factor

if TYPE_CHECKING:
    from conewise.vehicle.parameters import ModelParameters

Array = NDArray[np.float64]
Numeric = Any  # float or Array

N_DECELERATIONS = 61  # from nothing to the peak; the shares that they ask for are smooth
WETTEST = 0.6  # share of the dry peak that a wet road holds at least; common practice, no source
BRAKING_GEAR = 2  # in which a car is braked with the clutch closed; common practice, no source
LEAST_LOAD = 1e-3  # share of the weight that stands for a rear axle about to leave the ground


@dataclass(frozen=True, slots=True, kw_only=True)
class LockOrder:
    """Friction that the axles use at decelerations over gravity; all of one shape.

    adhesion: brake force over wheel load, as legislation compares the axles (equal tyres and road).
    use: the same over what the axle's own tyres hold on dry asphalt under that load; 1 locks there.
    """

    deceleration: Numeric
    adhesion_front: Numeric
    adhesion_rear: Numeric
    use_front: Numeric
    use_rear: Numeric

    @property
    def rear_first(self) -> Numeric:
        """Whether the rear axle would lock first, on equal tyres or on its own; of the shape of the decelerations."""
        return (self.adhesion_rear > self.adhesion_front) | (self.use_rear > self.use_front)


def lock_order(p: ModelParameters, deceleration: Numeric) -> LockOrder:
    """Friction used by each axle while the brakes alone slow the car.

    Parameters
    ----------
    p : ModelParameters
        Its surface and pace do not matter: a slippery road lowers what both axles can hold alike.
    deceleration : float or Array
        Over gravity. [g]

    Returns
    -------
    LockOrder

    Notes
    -----
    Straight ahead on level ground, engine disconnected, no downforce: as UN Regulation 13-H compares the axles. The
    friction of each axle falls with its load, so the axle that is pressed down locks somewhat sooner.
    """
    phi, psi, chi = 1.0 - p.brake_front_share, p.cg_to_front / p.wheelbase, p.cg_height / p.wheelbase
    z = np.minimum(deceleration, (psi - LEAST_LOAD) / chi)  # beyond it the rear axle is in the air
    front = brakes.adhesion_front(z, phi, psi=psi, chi=chi)
    rear = brakes.adhesion_rear(z, phi, psi=psi, chi=chi)
    held_front, held_rear = _held(p, z)
    return LockOrder(
        deceleration=deceleration,
        adhesion_front=front,
        adhesion_rear=rear,
        use_front=front / held_front,
        use_rear=rear / held_rear,
    )


def lock_deceleration(p: ModelParameters, *, surface: float = 1.0) -> tuple[float, float]:
    """Decelerations at which the front and the rear axle would lock on a surface; the smaller one comes first. [g]

    Notes
    -----
    From the friction used, interpolated; infinite for an axle that does not lock before the car goes over.
    """
    z = np.linspace(0.0, 3.0, 3001)
    order = lock_order(p, z)
    answers = []
    for use in (order.use_front, order.use_rear):
        beyond = np.flatnonzero(use >= surface)
        answers.append(float(np.interp(surface, use[: beyond[0] + 1], z[: beyond[0] + 1])) if beyond.size else np.inf)
    return answers[0], answers[1]


def rear_first_from(p: ModelParameters) -> float:
    """Least deceleration up to the dry peak from which the rear axle would lock first; infinite for none. [g]

    A wet road reaches only the lower part of the same range, so this covers dry and wet.
    """
    z = _decelerations(p)
    wrong = np.flatnonzero(lock_order(p, z).rear_first)
    return float(z[wrong[0]]) if wrong.size else np.inf


def critical_with_engine(p: ModelParameters, *, gear: int = 2) -> float:
    """Deceleration above which the rear axle locks first with the clutch closed in a gear; zero for all of them. [g]

    Notes
    -----
    The engine's drag F at the driven wheels comes on top of the brakes: phi_f (W z - F) + f F = W z (1 - psi + chi z)
    with the front shares phi_f of the brakes and f of the drive; the greater root. Equal tyres.
    """
    psi, chi = p.cg_to_front / p.wheelbase, p.cg_height / p.wheelbase
    drag = engine_drag_share(p, gear)
    half = (p.brake_front_share - 1.0 + psi) / (2.0 * chi)
    root = half**2 - (p.brake_front_share - p.front_drive_share) * drag / chi
    return float(max(half + np.sqrt(root), 0.0)) if root >= 0.0 else 0.0


def engine_drag_share(p: ModelParameters, gear: int) -> float:
    """What the engine drags at the driven wheels in a gear, over the weight. [-]"""
    force = p.engine_drag * p.gear_ratios[gear - 1] / p.driveline_efficiency / p.driven_radius
    return float(force / (p.mass * p.gravity))


def least_share_in_gear(p: ModelParameters, *, gear: int = BRAKING_GEAR, surface: float = WETTEST) -> float:
    """Least front share of the brakes with which the rear never locks first, clutch closed, dry or wet. [-]

    Parameters
    ----------
    p : ModelParameters
    gear : int, default BRAKING_GEAR
    surface : float, default WETTEST
        The most slippery one looked at, over the dry one.

    Notes
    -----
    With s(z) the front share that the axles ask for and d the engine's drag over the weight, the brakes bring z - d:
    phi (z - d) + f d = s z, f the front share of the drive. Looked at from the peak of the wettest road on: the use of
    an axle grows with z, so that nothing locks before its peak is reached by one of them.
    """
    z, wanted = _shares_asked_for(p)
    drag = engine_drag_share(p, gear)
    reached = z >= min(surface, 1.0) * peak_deceleration(p) - 1e-12
    z, wanted = z[reached], wanted[reached]
    return float(np.max((wanted * z - p.front_drive_share * drag) / np.maximum(z - drag, LEAST_LOAD)))


def least_front_share(p: ModelParameters) -> float:
    """Least front share of the brake force with which the rear axle never locks first up to the dry peak. [-]"""
    return float(np.max(_shares_asked_for(p)[1]))


def _shares_asked_for(p: ModelParameters) -> tuple[Array, Array]:
    """Decelerations up to the dry peak, and the front share of all force that equal and own tyres ask for at each."""
    z = _decelerations(p)
    psi, chi = p.cg_to_front / p.wheelbase, p.cg_height / p.wheelbase
    equal = brakes.ideal_front_share(z, psi=psi, chi=chi)
    held_front, held_rear = _held(p, z)
    front = held_front * equal
    own = front / (front + held_rear * np.maximum(1.0 - equal, 0.0))
    return z, np.maximum(equal, own)


def peak_deceleration(p: ModelParameters) -> float:
    """Deceleration that the dry tyres could hold with an ideal balance, loads static. [g]"""
    dry = dry_tyres(p)
    psi = p.cg_to_front / p.wheelbase
    weight = p.mass * p.gravity
    return float(
        sum(
            share * tyre.friction_longitudinal * load_factor(weight * share / 2.0, tyre)
            for tyre, share in zip(dry, (1.0 - psi, psi), strict=True)
        )
    )


def dry_tyres(p: ModelParameters) -> tuple[Tyre, Tyre]:
    """Front and rear tyre with all of their friction on dry asphalt."""
    return tyres(replace(p, surface=1.0, friction_share=1.0))


def _held(p: ModelParameters, z: Numeric) -> tuple[Numeric, Numeric]:
    """Friction of the front and the rear tyres under the loads of a deceleration."""
    psi, chi = p.cg_to_front / p.wheelbase, p.cg_height / p.wheelbase
    half = p.mass * p.gravity / 2.0
    loads = half * (1.0 - psi + chi * z), half * (psi - chi * z)
    front, rear = (
        tyre.friction_longitudinal * load_factor(load, tyre) for tyre, load in zip(dry_tyres(p), loads, strict=True)
    )
    return front, rear


def _decelerations(p: ModelParameters) -> Array:
    return np.linspace(0.0, peak_deceleration(p), N_DECELERATIONS)[1:]

"""Kinds of change: how far the model may be wrong about each, and what to mind before the work."""

from __future__ import annotations

from dataclasses import dataclass

LEAST_SHARE = 0.2  # no model part is smaller than this share of the gain


@dataclass(frozen=True, slots=True, kw_only=True)
class ModelPart:
    """How far the model itself may be wrong about a kind of change."""

    share: float  # of the gain, half width at 90 %
    reason: str
    floor: float = 0.0  # least half width of one run [s]


# Judged, not measured; common practice, no source.
MODEL_PARTS = {
    "mass": ModelPart(share=0.2, reason="weight and its place are modelled directly"),
    "tyre": ModelPart(share=0.3, reason="friction of a tyre that was not measured on this car is a typical value"),
    "wheel": ModelPart(share=0.3, reason="width acts through the tyre, whose answer to it is a typical value"),
    "spring": ModelPart(share=0.4, reason="only the share in roll is modelled; pitch, heave and bumps are not"),
    "bar": ModelPart(share=0.3, reason="grip gained or lost by load transfer hangs on the tyre's load sensitivity"),
    "damper": ModelPart(share=0.5, reason="only the share in roll is modelled; bumps and tyre load control are not"),
    "camber": ModelPart(share=0.4, reason="the tyre's best inclination is a typical value"),
    "ride-height": ModelPart(share=0.4, reason="only the height of the mass and of the roll centres is modelled"),
    "alignment": ModelPart(share=0.4, reason="compliance of bushes and links is not modelled"),
    "power": ModelPart(share=0.2, reason="the torque curve is modelled directly"),
    "gearing": ModelPart(share=0.25, reason="shift times and clutch work are typical values"),
    "differential": ModelPart(
        share=0.3, floor=0.3, reason="this level of model does not identify what a differential gains"
    ),
    "brake": ModelPart(share=0.3, reason="pad friction over temperature is not modelled"),
    "air": ModelPart(share=0.4, reason="lift and drag of a change that was not measured are estimates"),
    "driver": ModelPart(share=0.4, reason="typical values for a driver of that level; own logs replace them"),
    "restraint": ModelPart(share=0.5, reason="what a seat or harness does for a driver is the value that you set"),
    "safety": ModelPart(share=0.5, reason="safety items are not judged by seconds"),
    "other": ModelPart(share=0.3, reason="a kind of change that the model does not know"),
}

FOR_THE_DRIVER = frozenset({"driver", "restraint", "safety"})  # kinds that change no part of the car's model

_WORK = "The rule book, the maker's manual and a qualified mechanic decide; torque to the maker's value."
_UNDER = "Never under a car on a jack alone: stands, level ground, chocks."
_TYRE = "Tyre pressure stays within the limits marked by the car's maker and on the tyre."
_WHEEL = "Check clearance at full lock and full travel, and wheel torque cold."
_BRAKE = "Bed new brakes in, and test them at walking speed after any work. Brakes and wheels are hot after a run."
_SPRING = "Compressed springs are dangerous: a qualified mechanic."
_RIDE = "Ride height moves clearance, alignment and damper travel: measure them again on level ground."
_SYSTEM = (
    "Harness, seat and steering wheel only as a complete system that the rules allow, fitted by a qualified person. "
    "Airbags: a qualified mechanic."
)
CAUTIONS: dict[str, tuple[str, ...]] = {
    "tyre": (_WORK, _TYRE, _WHEEL),
    "wheel": (_WORK, _WHEEL, _UNDER),
    "spring": (_WORK, _UNDER, _SPRING),
    "bar": (_WORK, _UNDER),
    "damper": (_WORK, _UNDER, _SPRING),
    "camber": (_WORK, _UNDER),
    "alignment": (_WORK, _UNDER),
    "ride-height": (_WORK, _UNDER, _SPRING, _RIDE),
    "differential": (_WORK, _UNDER),
    "brake": (_WORK, _UNDER, _BRAKE),
    "gearing": (_WORK, _UNDER),
    "power": ("The rule book and the road law decide. Fuel and hot exhausts: a qualified mechanic.",),
    "mass": ("Never take out what the rule book asks for. Whatever is left in the car is fixed and shown.",),
    "air": ("What is fitted outside the car must be strong enough and allowed by the rule book.",),
    "driver": ("Build up over several runs, on a closed course. Never practise on public roads.",),
    "restraint": (_WORK, _SYSTEM),
    "safety": ("The rule book and the officials decide what a helmet, an extinguisher or a belt must be.",),
    "other": (_WORK,),
}

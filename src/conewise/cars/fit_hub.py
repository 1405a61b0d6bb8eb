"""How a wheel is held on its hub: pattern, bore, seat, thread, and the load that the wheel is made for."""

from __future__ import annotations

from typing import TYPE_CHECKING

from conewise.cars.fit_case import FitState, mass_in_words
from conewise.cars.fit_tyre import axle_load
from conewise.cars.wheel_mounting import bolt_pattern, bolt_thread, least_engagement

if TYPE_CHECKING:
    from conewise.cars.fit_case import FitCase, FitItem

_LOOSE = 0.3e-3  # a bore larger than the spigot by more than this does not centre the wheel; common practice [m]
_LONGER = "Longer studs or bolts, or a thinner spacer."
_COUNT = "Count the turns with the new wheel on (--turns)."
_TIGHT = 0.05e-3  # a bore may be smaller by what both are rounded to [m]


def hub_items(case: FitCase) -> list[FitItem]:
    """Pattern, bore, seat, thread and wheel load; what the present wheel already answers is left out."""
    items = []
    if case.is_other_wheel:
        items += [_pattern(case), _bore(case), _seat(case), _wheel_load(case)]
    if case.is_other_wheel or case.thicker_spacer:
        items.append(_thread(case))
    if case.after.spacer > 0 and case.thicker_spacer:
        items.append(_spacer(case))
    return items


def _pattern(case: FitCase) -> FitItem:
    told, wheel = case.part.hub.bolt_pattern, case.candidate.bolt_pattern
    if not told or wheel is None:
        missing = [] if told else [f"the hub's ({case.axle}.hub.bolt_pattern)"]
        missing += [] if wheel else ["the wheel's (--bolt-pattern)"]
        return case.item(
            "bolt-pattern", FitState.OPEN, f"Bolt pattern: not known, {' and '.join(missing)}.", needs="Ask or measure."
        )
    hub = bolt_pattern(told)
    if hub.fits(wheel):
        return case.item("bolt-pattern", FitState.FITS, f"Bolt pattern: {hub} on hub and wheel.")
    return case.item("bolt-pattern", FitState.NO, f"Bolt pattern: the hub has {hub} and the wheel {wheel}.")


def _bore(case: FitCase) -> FitItem:
    spigot, bore = case.part.hub.spigot, case.candidate.bore
    if spigot is None or bore is None:
        missing = [] if spigot else [f"the hub's spigot ({case.axle}.hub.spigot)"]
        missing += [] if bore else ["the wheel's bore (--bore)"]
        return case.item(
            "centre-bore",
            FitState.OPEN,
            f"Centre bore: not known, {' and '.join(missing)}.",
            needs="Measure both.",
        )
    both = f"the hub's spigot is {case.length(spigot.value)} and the wheel's bore {case.length(bore)}"
    if bore < spigot.value - _TIGHT:
        return case.item("centre-bore", FitState.NO, f"Centre bore: {both}; the wheel does not go on.")
    if bore - spigot.value <= _LOOSE:
        return case.item("centre-bore", FitState.FITS, f"Centre bore: {both}; the hub centres the wheel.")
    if case.candidate.is_centred:
        return case.item("centre-bore", FitState.FITS, f"Centre bore: {both}; a ring or lip centres the wheel.")
    needs = "Fit a ring of exactly these two diameters that the rules allow, and say --centred."
    return case.item("centre-bore", FitState.OPEN, f"Centre bore: {both}; nothing centres the wheel.", needs=needs)


def _seat(case: FitCase) -> FitItem:
    fastener = case.candidate.fastener_seat or case.part.hub.seat
    wheel = case.candidate.seat
    if not fastener or wheel is None:
        missing = [] if fastener else [f"that of the nuts or bolts ({case.axle}.hub.seat, or --nut-seat)"]
        missing += [] if wheel else ["the wheel's (--seat)"]
        return case.item(
            "fastener-seat", FitState.OPEN, f"Seat shape: not known, {' and '.join(missing)}.", needs="Look at both."
        )
    if fastener == wheel:
        return case.item("fastener-seat", FitState.FITS, f"Seat shape: {wheel} on the wheel and on the fasteners.")
    words = f"Seat shape: {wheel} on the wheel and {fastener} on the fasteners; they would work loose."
    return case.item("fastener-seat", FitState.NO, words, needs=f"Use fasteners with that seat (--nut-seat {wheel}).")


def _thread(case: FitCase) -> FitItem:
    hub = case.part.hub
    if not hub.thread:
        return case.item(
            "thread-engagement", FitState.OPEN, "Thread engagement: the thread is not known.",
            needs=f"Give {case.axle}.hub.thread, and count the turns with the new wheel on (--turns).",
        )  # fmt: skip
    thread = bolt_thread(hub.thread)
    wanted = least_engagement(thread)
    rule = f"at least one diameter, {case.length(wanted)} or {thread.least_turns():.1f} turns, is wanted"
    if case.candidate.turns is not None:
        engaged = thread.engaged(case.candidate.turns)
        state = FitState.FITS if engaged >= wanted - 1e-9 else FitState.NO
        words = (
            f"Thread engagement: {case.candidate.turns:g} turns of {thread.text} are {case.length(engaged)}; {rule}."
        )
        return case.item("thread-engagement", state, words, needs="" if state is FitState.FITS else _LONGER)
    if hub.engagement is None:
        words = f"Thread engagement: not known; {rule}."
        return case.item("thread-engagement", FitState.OPEN, words, needs=_COUNT)
    left = hub.engagement.value - case.thicker_spacer
    if not case.is_other_wheel and left - 2 * hub.engagement.uncertainty >= wanted:
        words = f"Thread engagement: about {case.length(left)} is left; {rule}."
        return case.item("thread-engagement", FitState.FITS, words)
    if not case.is_other_wheel and left + 2 * hub.engagement.uncertainty < wanted:
        words = f"Thread engagement: about {case.length(max(left, 0.0))} is left with this spacer; {rule}."
        return case.item("thread-engagement", FitState.NO, words, needs=_LONGER)
    words = f"Thread engagement: {case.length(max(left, 0.0))} if the wheel is as thick as the old one there; {rule}."
    return case.item("thread-engagement", FitState.OPEN, words, needs=_COUNT)


def _spacer(case: FitCase) -> FitItem:
    words = f"Spacer: {case.length(case.after.spacer)} each side; not every rule book allows one."
    if case.candidate.is_centred:
        return case.item("spacer", FitState.FITS, f"{words} Its lip centres the wheel, as you say.", is_safety=False)
    needs = (
        "See the rule book; use one whose own lip centres the wheel, flat and clean on both faces, and say --centred."
    )
    return case.item("spacer", FitState.OPEN, words, needs=needs)


def _wheel_load(case: FitCase) -> FitItem:
    rating = case.candidate.load_rating
    each = axle_load(case) / 2
    if rating is None:
        words = f"Load of the wheel: not known; it carries {mass_in_words(each, case.system)} at rest."
        return case.item("wheel-load", FitState.OPEN, words, needs="Read it on the wheel (--wheel-load).")
    rated, carried = (mass_in_words(value, case.system) for value in (rating, each))
    words = f"Load of the wheel: rated {rated}, carries {carried} at rest."
    return case.item("wheel-load", FitState.FITS if rating >= each else FitState.NO, words)

"""The sentences of a fit that every face says alike: the answer first, then what it means, then the cautions."""

from __future__ import annotations

from typing import TYPE_CHECKING

from conewise.cars.fit_case import FitState, short_length

if TYPE_CHECKING:
    from conewise.quantities import System
    from conewise.reports.fit_answer import AxleFit, FitAnswer

CAUTIONS = (
    (
        "Sizes can say that a wheel does not fit, never that it may be driven: the rule book, the makers of car, wheel"
        " and tyre, officials and a qualified mechanic decide."
    ),
    (
        "Try every wheel on by hand at full lock and full bump before the car moves. Never under a car on a jack alone:"
        " stands, level ground, chocks. A suspension without its spring is work for a qualified mechanic."
    ),
    (
        "Torque to the maker's value, in its order; check it cold after the first run and again after the day. Wheels"
        " and brakes are hot after a run. Test the brakes at walking speed."
    ),
    "Tyre pressure stays within the limits marked by the car's maker and on the tyre. Never practise on public roads.",
)
_SMALL = 0.002  # a middle that moves by less is not spoken of [m]


def answer_sentence(answer: FitAnswer) -> str:
    """The answer in one sentence: "Fits as far as is known: no. 3 items open."."""
    n_open = answer.n_questions_open
    left = "Nothing is open." if not n_open else f"{n_open} item{'' if n_open == 1 else 's'} open."
    if not answer.fits:
        return f"Fits as far as is known: no. {left}"
    if answer.is_cleared:
        return f"Fits as far as is known: yes. {left}"
    return f"Fits: not known yet, do not drive on it. {left}"


def refusal(answer: FitAnswer) -> str:
    """What does not fit, in a few words; "" where nothing is known."""
    codes = dict.fromkeys(item.code.replace("-", " ") for item in answer.in_state(FitState.NO))
    codes |= dict.fromkeys(f.code.replace("-", " ") for f in answer.findings if f.severity == "stop")
    return f"Does not fit: {', '.join(codes)}." if codes else ""


def subject(answer: FitAnswer, system: System) -> str:
    """What was asked: "15x9 +20 with 225/45R15 on both axles of Marigold"."""
    where = "both axles" if len(answer.axles) > 1 else f"the {answer.axles[0].axle} axle"
    parts = [part for part in (answer.wheel, answer.tyre) if part]
    what = " with ".join(parts) if parts else "The wheels that are on"
    if answer.spacer is not None:
        what += f", spacers of {short_length(answer.spacer, system)},"
    return f"{what} on {where} of {answer.car}"


def scrub_sentence(fit: AxleFit, system: System = "metric") -> str:
    """What the middle of the wheel moves, and what that does to steering and bearings."""
    moved = fit.after.middle - fit.before.middle
    if abs(moved) < _SMALL:
        return "The middle of the wheel stays where it was: steering and wheel bearings as before."
    way = "outwards" if moved > 0 else "inwards"
    words = f"The middle of the wheel moves {short_length(abs(moved), system)} {way}"
    if fit.axle == "rear":
        return f"{words}: the wheel bearings {'carry more' if moved > 0 else 'carry otherwise'} in a turn."
    effect = (
        "bumps, a driven front wheel and braking on uneven grip pull harder at the hand-wheel, the bearings carry more"
        if moved > 0
        else "the pull at the hand-wheel under braking changes, and may change its side"
    )
    return f"{words}, and the scrub radius by about as much: {effect}."


def speedometer_sentence(answer: FitAnswer, system: System) -> str:
    """What the speedometer shows against the tyres that are on."""
    unit, shown = ("mph", 60) if system == "us" else ("km/h", 100)
    if abs(answer.speedometer) < 5e-4:
        return "The speedometer shows what it showed."
    true = shown * (1 + answer.speedometer)
    less = "too little" if answer.speedometer > 0 else "too much"
    share = f"{abs(answer.speedometer):.1%}"
    return f"Where it showed a true {shown} {unit} the car now does {true:.1f} {unit}: it shows {share} {less}."

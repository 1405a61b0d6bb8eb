"""The sentences of a proof that every face says alike."""

from __future__ import annotations

from typing import TYPE_CHECKING

from conewise.proof.power import MOST_DAYS
from conewise.reports.units import signed

if TYPE_CHECKING:
    from conewise.proof.cones import ConeCount
    from conewise.proof.effect import Effect, Term
    from conewise.reports.proof_answer import PlanAnswer, ProofAnswer
    from conewise.reports.units import Units

CAUTIONS = (
    "Officials, rule book and inspection decide what may be run, and whether a changed car must be shown again.",
    "For work on brakes, wheels, tyres or suspension the maker's manual and a qualified mechanic decide.",
    "Check the wheel torque cold against the maker's value, and try the brakes at walking speed after work on them.",
    "Never practise on public roads.",
)
_FAHRENHEIT = 5.0 / 9.0


def headline(answer: ProofAnswer) -> str:
    """The answer as the largest text: seconds with their sign, or that it cannot be told."""
    return "cannot tell" if answer.effect is None else f"{signed(answer.effect.effect, 2)} s"


def kicker(answer: ProofAnswer) -> str:
    """What stands above the answer."""
    names = {"helped": "It helped", "hurt": "It cost time", "not-shown": "Not shown yet", "untold": "Did it work?"}
    return names[answer.verdict]


def sentence(answer: ProofAnswer) -> str:
    """The answer in a plain sentence."""
    effect = answer.effect
    if effect is None:
        assert answer.untold is not None
        return f"The times cannot tell. {answer.untold.why} {answer.untold.remedy}"
    before, after = answer.question.before, answer.question.after
    size = f"{abs(effect.effect):.2f} s {_way(effect.effect)}"
    where = f"in a run of {effect.reference_time:.1f} s"
    chance = f"The chance that it helped is {percent(effect.probability)}."
    if answer.verdict == "not-shown":
        return (
            f"Not shown: '{after}' may be anything from {_end(effect.interval[0])} to {_end(effect.interval[1])}"
            f" {where} ({interval_name(answer)}); the best estimate is {size} than '{before}'. {chance}"
        )
    opening = "helped" if answer.verdict == "helped" else "cost time"
    return f"The change {opening}: '{after}' is {size} than '{before}' {where} ({interval_text(effect)}). {chance}"


def interval_name(answer: ProofAnswer) -> str:
    """The name of the interval: "90% interval"."""
    return f"{100 * answer.certainty:.3g}% interval"


def interval_text(effect: Effect) -> str:
    """The interval as one reads it: "90% interval 0.12 to 0.50 s faster"."""
    low, high = effect.interval
    name = f"{100 * effect.level:.3g}% interval"
    if low * high > 0.0:
        near, far = sorted((abs(low), abs(high)))
        return f"{name} {near:.2f} to {far:.2f} s {_way(low)}"
    return f"{name} {_end(low)} to {_end(high)}"


def _end(seconds: float) -> str:
    return f"{abs(seconds):.2f} s {_way(seconds)}"


def _way(seconds: float) -> str:
    return "faster" if seconds < 0.0 else "slower"


def percent(probability: float) -> str:
    """A probability; nothing is certain."""
    if probability > 0.99:
        return "above 99%"
    return "below 1%" if probability < 0.01 else f"{100 * probability:.0f}%"


def basis_sentence(answer: ProofAnswer) -> str:
    """What the answer rests on."""
    effect = answer.effect
    if effect is None:
        return ""
    n_runs = int(effect.compared.is_tester.sum())
    if effect.basis == "same-day":
        others = int((~effect.compared.is_tester).sum())
        beside = f", beside {others} runs without the change" if others else ""
        times = f"{_counted(effect.n_days, 'day')} of {_counted(effect.n_drivers, 'driver')}"
        each = " each day" if effect.n_days > 1 else ""
        return (
            f"Within {times}, both set-ups{each}: {n_runs} runs{beside}. What the order of the runs did is taken off."
            f" {_scale_sentence(effect)}"
        )
    return (
        f"Gaps to drivers who changed nothing, over {_counted(effect.n_days, 'day')}: {n_runs} runs. What practice gave"
        " the judged drivers more than the others is in the interval, as far as the others differ among each other."
        f" {_scale_sentence(effect)}"
    )


def _counted(number: int, what: str) -> str:
    return f"one {what}" if number == 1 else f"{number} {what}s"


def _scale_sentence(effect: Effect) -> str:
    """For what run the seconds are said, and what they come to on the shortest and the longest of several days."""
    if len(effect.days) == 1:
        return f"The seconds are for that day's typical run on the old set-up, {effect.reference_time:.1f} s."
    low, high = min(effect.days), max(effect.days)
    return (
        f"The seconds are for a run of {effect.reference_time:.1f} s, the geometric mean of the days' typical times on"
        f" the old set-up, each day once. The change is {signed(100 * effect.ratio, 1)}% of the time:"
        f" {signed(low * effect.ratio, 2)} s on the shortest day's course ({low:.1f} s),"
        f" {signed(high * effect.ratio, 2)} s on the longest ({high:.1f} s)."
    )


def term_text(term: Term, units: Units) -> tuple[str, str]:
    """Something else that moved the times: what it is, and seconds with the interval."""
    factor, label = 1.0, term.label
    if term.name == "surface" and units.name == "us":
        factor, label = _FAHRENHEIT, label.replace("°C", "°F")
    digits = 3 if term.name == "surface" else 2
    middle, low, high = (signed(factor * value, digits) for value in (term.seconds, term.low, term.high))
    return label, f"{middle} s ({low} to {high})"


def cone_sentences(answer: ProofAnswer) -> tuple[str, ...]:
    """Cones and finishes on both set-ups; they are in no raw time."""
    cones, question = answer.cones, answer.question
    found = []
    for name, count in ((question.before, cones.before), (question.after, cones.after)):
        if name and (count.hit.n_runs or count.unfinished.n_runs):
            found.append(f"'{name}': {_count_text(count, answer)}.")
    if cones.probability_fewer is not None:
        chance = percent(cones.probability_fewer)
        found.append(f"The chance that runs with cones became rarer is {chance}. No penalty is in any time here.")
    return tuple(found)


def _count_text(count: ConeCount, answer: ProofAnswer) -> str:
    parts = []
    if count.hit.n_runs:
        ends = f"{interval_name(answer)} of the share {100 * count.hit.low:.0f} to {100 * count.hit.high:.0f}%"
        parts.append(f"{count.n_cones} cones, in {count.hit.n_hits} of {count.hit.n_runs} runs ({ends})")
    if count.unfinished.n_hits:
        parts.append(f"{count.unfinished.n_hits} of {count.unfinished.n_runs} not finished")
    return "; ".join(parts) or "cones not noted"


def plan_sentences(plan: PlanAnswer) -> tuple[str, ...]:
    """The test proposed: what it can show, and in which order to drive."""
    spread = f"With a spread of {plan.spread:.2f} s from run to run ({plan.spread_from})"
    if plan.planned is None:
        never = f"a change of {plan.wanted:.2f} s does not show within {MOST_DAYS} days of 8 runs"
        return (f"{spread}, {never}. Test a larger change, or let several drivers test it.",)
    certain = f"a chance of {100 * plan.power:.0f}% to show with {100 * plan.certainty:.3g}% certainty"
    size = f"{plan.planned.n_runs} runs give a change of {plan.least_difference:.2f} s"
    least = f"{spread}, {size} {certain}; a smaller one shows more rarely."
    if plan.wanted is not None:
        power = plan.planned.power(plan.wanted / plan.spread, certainty=plan.certainty)
        least += f" {plan.wanted:.2f} s shows with a chance of {100 * power:.0f}%."
    days = [order_text(word) for word in plan.planned.orders]
    return (
        least,
        *(f"Day {number}: {text}." if len(days) > 1 else f"Drive: {text}." for number, text in enumerate(days, 1)),
    )


def order_text(word: str) -> str:
    """An order of runs in words: "1 old, 2 new, 1 old"."""
    parts: list[list[str]] = []
    for letter in word:
        if parts and parts[-1][0] == letter:
            parts[-1].append(letter)
        else:
            parts.append([letter])
    names = {"A": "old", "B": "new"}
    return ", ".join(f"{len(part)} {names[part[0]]}" for part in parts)

"""The sentences of advice that every face says alike."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from conewise.advisor.advice import Advice, Package, PackageAnswer
    from conewise.advisor.rows import Effect, Row


def seconds(gain: float) -> str:
    """A gain with its sign: `+0.12 s` is faster."""
    text = f"{abs(gain):.2f} s"
    if float(text[:-2]) == 0.0:
        return text
    return ("−" if gain < 0.0 else "+") + text


def headline(advice: Advice) -> str:
    """The change that gains most, in one sentence; before it how far the work came where somebody stopped it."""
    best = advice.best
    most = "" if best is None else f"Most time: {best.option.name}, {seconds(best.gain)} a run ({interval(best)})."
    return " ".join(words for words in (advice.stopped, most or none_gains(advice)) if words)


def none_gains(advice: Advice) -> str:
    """That no change gains, of those of which it is known."""
    changes = "the changes that are solved" if any(row.is_waiting for row in advice.rows) else "these changes"
    return f"None of {changes} gains time on these courses."


def interval(row: Row) -> str:
    """The 90% interval of a gain: "+0.10 s to +0.30 s"; empty where it was not solved."""
    if not row.solved:
        return ""
    low, high = row.interval
    return f"{seconds(low)} to {seconds(high)}"


def gain(row: Row) -> str:
    """A gain as it is shown: in hundredths, or why there is none."""
    if row.is_waiting:
        return f"{seconds(row.linear)} by slopes"
    if not row.solved:
        return "not solved" if row.effects else "no seconds"
    return "under 0.01 s" if row.is_small else seconds(row.gain)


def on_course(effect: Effect) -> str:
    """A gain on one course."""
    if effect.is_waiting:
        return f"{seconds(effect.linear)} by slopes"
    return seconds(effect.gain) if effect.is_solved else "not solved"


def limits(answer: PackageAnswer) -> str:
    """What packages were sought for: "for 1500 EUR, 12 hours, class T"."""
    told = [f"for {answer.budget}" if answer.budget is not None else ""]
    told += [f"{answer.hours:g} hours" if answer.hours is not None else ""]
    told += [f"class {answer.car_class}" if answer.car_class else ""]
    return ", ".join(words for words in told if words)


def package_sentence(package: Package) -> str:
    """A package in one sentence: gain, price, hours, handling."""
    told = f"{seconds(package.row.gain)} a run ({interval(package.row)})" if package.row.solved else "no seconds"
    hours = "" if package.hours is None else f", {package.hours:g} hours"
    return f"{told}, {package.price}{hours}; {package.row.handling}"


def class_sentence(advice: Advice) -> str:
    """The class of the car as it stands, with the reason; empty without rules."""
    if not advice.class_reason:
        return ""
    return f"Class as it stands: {advice.car_class or 'none'}. {advice.class_reason}."


def notes(advice: Advice) -> list[tuple[str, str]]:
    """What else a reader has to know, by the name of the change; where a change moves the class, why."""
    told = [(row.option.name, row.note) for row in advice.rows if row.note]
    for row in advice.rows:
        effect = row.option.car_class
        if effect is not None and effect.is_moved:
            told.append((row.option.name, f"Class {effect.code or 'none'}: {effect.reason}."))
    return told


def cautions(advice: Advice) -> list[str]:
    """What to mind before any of it, each once."""
    return list(dict.fromkeys(caution for row in advice.rows for caution in row.cautions))

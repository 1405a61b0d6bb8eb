"""The sentences that every face says alike: the answer first, then what it rests on, then the cautions."""

from __future__ import annotations

from typing import TYPE_CHECKING

from conewise.quantities import HALF_90
from conewise.reports.course_words import name_of

if TYPE_CHECKING:
    from conewise.reports.answer import LineAnswer
    from conewise.reports.units import Units
    from conewise.runs import FeatureResult
    from conewise.solver.result import Check

CAUTIONS = (
    "Predicted speeds are estimates, not permissions: the event's officials and rule book decide what may be run.",
    (
        "Build up to these speeds over several runs, on a closed course with its workers in place. Never practise on"
        " public roads."
    ),
    (
        "Read this in the queue and put it away: nobody in a moving car handles a phone, nobody working a station on"
        " course uses one."
    ),
    (
        "Where a number here leads to work on brakes, tyres, wheels, suspension or restraint: the rule book, the"
        " maker's manual and a qualified mechanic decide. Use stands, level ground and chocks, torque to the maker's"
        " value, and test the brakes at walking speed afterwards."
    ),
)

LEAST_PRICE = 1.8e-3  # a price of a late entry below this prints as 0.000 [s per m/s]
_DRIVERS = {
    "novice": "for a novice driver",
    "regular": "for a regular driver",
    "expert": "for an expert driver",
}
_WHAT = {
    "transient": "the fastest clean run",
    "quasi-steady": "the quasi-steady time on a fixed line",
    "point-mass": "the time of a point with a friction circle",
}
_LEVELS = {
    "transient": "Every state of a four-wheel car (speed, sideslip, yaw, roll, steer, pedals) is optimised along the"
    " whole course at once, with limits on tyres, engine, hands and feet, and with the car's outline kept off every"
    " cone.",
    "quasi-steady": "On a fixed line the car goes as fast as its steady-state g-g envelope allows, forward for"
    " driving and backward for braking. Transitions between corners are not modelled.",
    "point-mass": "A point with a friction circle finds the fastest path between the cones. Load transfer, yaw and"
    " the driver's hands are not modelled.",
}


def answer_time(answer: LineAnswer) -> str:
    """The time as it is said: "45.47 s", or the band's two ends."""
    if answer.band is not None:
        return f"{answer.band.fastest:.1f} to {answer.band.slowest:.1f} s"
    return f"{answer.solution.time:.2f} s"


def first_sentence(answer: LineAnswer) -> str:
    """The answer in one sentence; failed checks and a fallback are said first."""
    solution = answer.solution
    doubts = [f"{_failed(answer)}: do not rely on this answer"] if answer.failed_checks else []
    doubts += ["Fallback, not the optimum"] if solution.fallback is not None else []
    said = f"{'. '.join(doubts)}: " if doubts else ""
    said += f"{answer_time(answer)} is {_WHAT[solution.level]} {_conditions(answer)}."
    if solution.fallback is not None:
        said += f" At {solution.fallback.feature}: {solution.fallback.reason.rstrip('.')}."
    if answer.band is not None:
        said += f" What follows is the run at {answer.surface:.2f} of it."
    return said


def _failed(answer: LineAnswer) -> str:
    failed = answer.failed_checks
    return f"{len(failed)} of {len(answer.solution.checks)} checks failed ({', '.join(failed)})"


def _conditions(answer: LineAnswer) -> str:
    """On what and for whom: "for an expert driver at pace 0.90"."""
    words = _DRIVERS.get(answer.driver, f"for driver {answer.driver}")
    if answer.band is not None:
        band = answer.band
        words = f"on a {band.name} surface ({band.low:g} to {band.high:g} of the dry friction) {words}"
    if answer.pace != 1.0:
        words += f" at pace {answer.pace:.2f}"
    if answer.surface != 1.0 and answer.band is None:
        words += f" on {answer.surface:.2f} of the dry friction"
    return words


def check_sentence(answer: LineAnswer) -> str:
    """How many checks the answer passed, and which it did not; that a finding says stop is said with it."""
    return _checks_passed(answer) + (" But a finding says stop: not to be run so." if answer.is_stopped else "")


def _checks_passed(answer: LineAnswer) -> str:
    checks = answer.solution.checks
    if not checks:
        return "This level has no checks of its own."
    if answer.failed_checks:
        return f"{len(answer.failed_checks)} of {len(checks)} checks failed."
    return "Its one check passed." if len(checks) == 1 else f"All {len(checks)} checks passed."


def facts(answer: LineAnswer, units: Units) -> tuple[tuple[str, str], ...]:
    """Short facts beside the time: label and value with unit."""
    solution = answer.solution
    speeds = f" {units.speed_unit}"
    rows = [] if answer.time_deviation is None else [("Uncertainty from the car file, 90%", _unsure(answer))]
    rows += [
        ("Distance driven", f"{units.length(solution.distance)} {units.length_unit}"),
        ("Mean speed", units.speed(solution.distance / solution.time) + speeds),
        ("Highest speed", units.speed(float(solution.speed.max())) + speeds),
    ]
    slowest = min(solution.features, key=lambda feature: feature.slowest_speed, default=None)
    inner = [feature for feature in solution.features if feature.kind not in {"start", "finish"}]
    slowest = min(inner, key=lambda feature: feature.slowest_speed, default=slowest)
    if slowest is not None:
        rows.append((f"Slowest in {feature_name(slowest)}", units.speed(slowest.slowest_speed) + speeds))
    best = next((gear for gear in answer.gears if gear.is_best), None)
    if best is not None:
        rows.append(("Best use of the gears", best.label))
    return tuple(rows)


def _unsure(answer: LineAnswer) -> str:
    """Half a 90% interval of the time."""
    assert answer.time_deviation is not None
    return f"±{HALF_90 * answer.time_deviation:.2f} s"


def feature_name(feature: FeatureResult) -> str:
    """Kind and id of a feature: "hairpin 5"; an id that says its kind stands alone."""
    return name_of(feature.kind, feature.id)


def check_value(check: Check) -> str:
    """Value beside limit: "0.019 m, limit 0.03 m"."""
    unit = "" if check.unit in {"", "-"} else f" {check.unit}"
    return f"{check.value:.3g}{unit}, limit {check.limit:.3g}{unit}".replace("-", "−")


def late_note(answer: LineAnswer) -> str:
    """What negative prices of a late and of a wide entry mean; "" where there are none."""
    gains = [price.feature for price in answer.slow_in if price.entry_speed_price < -LEAST_PRICE]
    words = []
    if gains:
        names = ", ".join(gains)
        words.append(f"Minus: arriving slower here gains time ({names}): there the run brakes as late as it can.")
    if any(price.wide_price < -LEAST_PRICE for price in answer.slow_in):
        words.append(
            "Wide is to the outside of the bend. Minus: from farther out the feature would go faster, but the way there"
            " costs more."
        )
    return " ".join(words)


def sides_note(answer: LineAnswer) -> str:
    """How the sides were compared, where the answer is faster than the best of them; "" elsewhere."""
    best = next((gear for gear in answer.gears if gear.is_best), None)
    if best is None or not answer.is_faster_than_its_side:
        return ""
    return (
        f"The sides were compared with 'shift'; on the best of them '{best.label}' is faster still, "
        f"which makes the {answer_time(answer)} of the answer."
    )


def method(answer: LineAnswer) -> tuple[str, ...]:
    """How the answer was computed, in short paragraphs."""
    paragraphs = [_LEVELS[answer.solution.level]]
    if answer.solution.gradients:
        paragraphs.append(
            "The price of a cone is the time that each further step away from it costs; it comes from the same solve."
            " So does the worth of every parameter, all else equal; its interval adds 4 ms for meshes and"
            " starts to a model part of at least 20 % of the effect."
        )
    if any(gradient.bend for gradient in answer.solution.gradients):
        paragraphs.append(
            "The engine comes to its limiter on this run: a little more and a little less gearing do not count the"
            " same, so both were solved. The effect is their mean, and the interval holds both."
        )
    paragraphs.append(
        "The clock starts when the front of the car crosses the start beam. Speeds are those of the centre of gravity."
    )
    return tuple(paragraphs)

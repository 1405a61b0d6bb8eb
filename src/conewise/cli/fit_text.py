"""What `conewise fit` prints: the answer, what does not fit and what is open, then what the wheels change."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.padding import Padding
from rich.text import Text

from conewise.cars.fit_case import FitState, short_length
from conewise.cli.render import add_row, heading, plain_table, print_findings
from conewise.quantities import in_unit, shown_unit
from conewise.reports import fit_words
from conewise.reports.units import signed

if TYPE_CHECKING:
    from rich.console import Console

    from conewise.cars.fit_case import FitItem
    from conewise.quantities import System
    from conewise.reports.fit_answer import Estimate, FitAnswer


def print_fit(answer: FitAnswer, system: System, out: Console) -> None:
    """The whole answer for people."""
    out.print(Text(fit_words.answer_sentence(answer), style="bold"))
    if words := fit_words.refusal(answer):
        out.print(Text(words, style="bold"))
    out.print(Text(f"{fit_words.subject(answer, system)}."))
    _items("Does not fit", answer.in_state(FitState.NO), out)
    _items("Open before it is driven", [i for i in answer.in_state(FitState.OPEN) if i.is_safety], out)
    _items("Open besides", [i for i in answer.in_state(FitState.OPEN) if not i.is_safety], out)
    if answer.findings:
        heading(out, "About the car with them")
        print_findings(answer.findings, out)
    _items("Fits", answer.in_state(FitState.FITS), out, with_needs=False)
    _place(answer, system, out)
    _changes(answer, system, out)
    _gearing(answer, system, out)
    heading(out, "Before anything is bolted on")
    for caution in fit_words.CAUTIONS:
        out.print(Text(caution), style="dim")


def _items(title: str, items: tuple[FitItem, ...] | list[FitItem], out: Console, *, with_needs: bool = True) -> None:
    """Items under a heading; the same words for both axles stand once."""
    if not items:
        return
    heading(out, title)
    axles: dict[tuple[str, str], list[str]] = {}
    for item in items:
        axles.setdefault((item.message, item.needs if with_needs else ""), []).append(item.axle)
    for (message, needs), where in axles.items():
        place = f"{' and '.join(where)}: " if len(where) == 1 else ""
        line = Text(f"{place}{message}")
        if needs:
            line.append(f" {needs}", style="dim")
        out.print(Padding(line, (0, 0, 0, 2), expand=False))


def _place(answer: FitAnswer, system: System, out: Console) -> None:
    heading(out, "Where they lie, against what is on")
    table = plain_table("", *(f">{fit.axle}" for fit in answer.axles))
    rows = [
        ("rim, outer edge", [_side(fit.shift.outer, "out", "in", system) for fit in answer.axles]),
        ("rim, inner edge", [_side(fit.shift.inner, "in", "out", system) for fit in answer.axles]),
        ("tyre, outer side", [_side(fit.shift.tyre_outer, "out", "in", system) for fit in answer.axles]),
        ("tyre, inner side", [_side(fit.shift.tyre_inner, "in", "out", system) for fit in answer.axles]),
        ("sure to", [f"± {short_length(2 * fit.shift.lateral_sd, system)}" for fit in answer.axles]),
        ("track width", [_step(fit.shift.track, system) for fit in answer.axles]),
        ("car's height", [_step(fit.shift.radial, system) for fit in answer.axles]),
        ("overall diameter", [short_length(2 * fit.after.radius, system) for fit in answer.axles]),
        ("section width on this rim", [short_length(fit.after.section, system) for fit in answer.axles]),
        ("side wall", [short_length(fit.after.tyre.sidewall, system) for fit in answer.axles]),
        _turns(answer, system),
    ]
    for name, cells in rows:
        add_row(table, name, *cells)
    out.print(table)
    for words in dict.fromkeys(fit_words.scrub_sentence(fit, system) for fit in answer.axles):
        out.print(Text(words))


def _turns(answer: FitAnswer, system: System) -> tuple[str, list[str]]:
    unit, length = ("mile", 1609.344) if system == "us" else ("km", 1e3)
    return f"turns a {unit}, unloaded", [f"{fit.after.tyre.revolutions * length:.0f}" for fit in answer.axles]


def _changes(answer: FitAnswer, system: System, out: Console) -> None:
    heading(out, "What changes (estimates, ± is two standard deviations)")
    table = plain_table("", *(f">{fit.axle}" for fit in answer.axles))
    add_row(table, "one wheel with tyre", *(_mass(fit.wheel_mass, system) for fit in answer.axles))
    for name, values in (
        ("its rotating inertia", [fit.wheel_inertia for fit in answer.axles]),
        ("peak friction at rest load", [fit.friction for fit in answer.axles]),
        ("cornering stiffness at rest load", [fit.stiffness for fit in answer.axles]),
        ("vertical rate", [fit.vertical_rate for fit in answer.axles]),
    ):
        add_row(table, name, *map(_percent, values))
    out.print(table)


def _gearing(answer: FitAnswer, system: System, out: Console) -> None:
    heading(out, "Speedometer and gearing")
    out.print(Text(fit_words.speedometer_sentence(answer, system)))
    unit = shown_unit("speed", system)
    table = plain_table(">gear", ">limiter before", ">after")
    for gear in answer.gears:
        add_row(table, str(gear.gear), *(f"{in_unit(v, 'speed', unit):.1f} {unit}" for v in (gear.before, gear.after)))
    out.print(table)


def _side(value: float, way: str, away: str, system: System) -> str:
    if abs(value) < 5e-5:
        return "as before"
    return f"{short_length(abs(value), system)} {way if value > 0 else away}"


def _step(value: float, system: System) -> str:
    if abs(value) < 5e-5:
        return "as before"
    return f"{'+' if value > 0 else '−'}{short_length(abs(value), system)}"


def _mass(value: Estimate, system: System) -> str:
    unit = shown_unit("mass", system)
    before, after, spread = (in_unit(mass, "mass", unit) for mass in (value.before, value.after, 2 * value.sd))
    around = f" ± {spread:.1f}" if spread else ""
    return f"{before:.1f} to {after:.1f}{around} {unit}"


def _percent(value: Estimate) -> str:
    spread = f" ± {200 * value.share_sd:.0f}" if value.share_sd >= 5e-3 else ""
    return f"{signed(100 * value.share, 1)}{spread} %"

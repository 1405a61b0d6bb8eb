"""What `conewise advise` prints: the ranking, the handling, the packages as steps, and what to mind."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.text import Text

from conewise.cli.render import add_row, heading, plain_table, print_findings
from conewise.quantities import in_unit

if TYPE_CHECKING:
    from rich.console import Console

    from conewise.advisor.advice import Advice, Package, PackageAnswer
    from conewise.advisor.rows import Handling, Row


def print_linear(advice: Advice, out: Console) -> None:
    """The first ranking, by derivatives."""
    _print_doubts(advice, out)
    for course, time in advice.base.items():
        out.print(Text(f"{course}: {time:.2f} s without a change.", style="bold"))
    out.print(Text("First ranking, by derivatives; every change is solved next:"))
    for rank, row in enumerate(advice.rows, start=1):
        out.print(Text(f"  {rank:2d}  {row.option.name}  {seconds(row.linear) if row.effects else 'no seconds'}"))
    out.print()


def print_advice(advice: Advice, out: Console) -> None:
    """The whole answer."""
    _print_doubts(advice, out)
    out.print(Text(headline(advice), style="bold"))
    if advice.driver_first:
        out.print(Text(advice.driver_first))
    if advice.class_reason:
        out.print(Text(f"Class as it stands: {advice.car_class or 'none'}. {advice.class_reason}."))
    _print_rows(advice, out)
    if len(advice.base) > 1:
        _print_courses(advice, out)
    _print_handling(advice, out)
    if advice.packages is not None:
        _print_packages(advice.packages, out)
    _print_notes(advice, out)
    heading(out, "Before you work on the car")
    for caution in dict.fromkeys(caution for row in advice.rows for caution in row.cautions):
        out.print(Text(caution), style="dim")


def headline(advice: Advice) -> str:
    """The change that gains most, in one sentence."""
    best = advice.best
    if best is None:
        return "None of these changes gains time on these courses."
    low, high = best.interval
    return f"Most time: {best.option.name}, {seconds(best.gain)} a run ({seconds(low)} to {seconds(high)})."


def seconds(gain: float) -> str:
    """A gain with its sign: `+0.12 s` is faster."""
    text = f"{abs(gain):.2f} s"
    if float(text[:-2]) == 0.0:
        return text
    return ("−" if gain < 0.0 else "+") + text


def _print_doubts(advice: Advice, out: Console) -> None:
    for doubt in advice.doubts:
        out.print(Text(doubt, style="bold"))


def _print_rows(advice: Advice, out: Console) -> None:
    columns = [">", "change", ">gain", ">90 % interval", ">price", ">per tenth", ">hours"]
    if advice.class_reason:
        columns += ["class", ">indexed"]
    table = plain_table(*columns)
    for rank, row in enumerate(advice.rows, start=1):
        add_row(table, *_cells(rank, row))
    out.print(table)


def _cells(rank: int, row: Row) -> tuple[str, ...]:
    option = row.option
    number = f"{rank}" if option.is_proposed else "–"
    price = "" if option.price is None else str(option.price)
    hours = "" if option.hours is None else f"{option.hours:g}"
    told = option.car_class
    in_class = () if told is None else (told.code or "none", seconds(row.indexed) if row.solved else "")
    if not row.solved:
        words = "not solved" if row.effects else "no seconds"
        return number, option.name, words, "", price, "", hours, *in_class
    low, high = row.interval
    gain = "under 0.01 s" if row.is_small else seconds(row.gain)
    tenth = "" if row.price_per_tenth is None else f"{row.price_per_tenth:.0f}"
    return number, option.name, gain, f"{seconds(low)} to {seconds(high)}", price, tenth, hours, *in_class


def _print_courses(advice: Advice, out: Console) -> None:
    """Gain per course."""
    heading(out, "By course")
    weights = {course: advice.weights.get(course, 1.0) for course in advice.base}
    is_weighted = len(set(weights.values())) > 1
    names = [f">{name} ({weights[name]:g})" if is_weighted else f">{name}" for name in advice.base]
    table = plain_table("gain, weight in brackets" if is_weighted else "gain", *names)
    for row in advice.rows:
        by_course = {e.course: seconds(e.gain) if e.is_solved else "not solved" for e in row.effects}
        if by_course:
            add_row(table, row.option.name, *(by_course.get(course, "") for course in advice.base))
    out.print(table)


def _print_handling(advice: Advice, out: Console) -> None:
    """What every change does to the handling, in words and numbers."""
    told = [row for row in advice.rows if row.option.handling is not None and row.option.kind != "driver"]
    if not told:
        return
    heading(out, "Handling")
    table = plain_table("change", "at the limit", ">understeer deg/g", ">brakes front", ">ride front Hz", ">rear Hz")
    for k, row in enumerate(told):
        assert row.option.handling is not None
        before, after = row.option.handling
        if k == 0:
            add_row(table, "as it stands", "", *_numbers(before))
        add_row(table, row.option.name, row.handling.replace(" at the limit", ""), *_numbers(after, before))
    out.print(table)


def _numbers(handling: Handling, before: Handling | None = None) -> tuple[str, ...]:
    """Numbers of the handling; empty where they are as before."""
    pairs = [
        (f"{in_unit(h.understeer_gradient, 'angle', 'deg'):.2f}", f"{h.brake_front_share:.3f}",
         f"{h.ride_frequency_front:.2f}", f"{h.ride_frequency_rear:.2f}")
        for h in (handling, before) if h is not None
    ]  # fmt: skip
    if len(pairs) == 1:
        return pairs[0]
    return tuple("" if new == old else new for new, old in zip(*pairs, strict=True))


def _print_packages(answer: PackageAnswer, out: Console) -> None:
    limits = [f"for {answer.budget}" if answer.budget is not None else ""]
    limits += [f"{answer.hours:g} hours" if answer.hours is not None else ""]
    limits += [f"class {answer.car_class}" if answer.car_class else ""]
    heading(out, f"Best packages {', '.join(words for words in limits if words)}")
    for rank, package in enumerate(answer.packages, start=1):
        _print_package(rank, package, out)
    print_findings(answer.findings, out)


def _print_package(rank: int, package: Package, out: Console) -> None:
    low, high = package.row.interval
    told = (
        f"{seconds(package.row.gain)} a run ({seconds(low)} to {seconds(high)})" if package.row.solved else "no seconds"
    )
    hours = "" if package.hours is None else f", {package.hours:g} hours"
    out.print(Text(f"{rank}. {told}, {package.price}{hours}; {package.row.handling}", style="bold"))
    table = plain_table("  step", "what", ">adds", ">price", ">hours", "")
    for number, step in enumerate(package.steps, start=1):
        hours = "" if step.hours is None else f"{step.hours:g}"
        add_row(table, f"  {number}", " + ".join(step.names), seconds(step.gain), str(step.price), hours, step.reason)
    out.print(table)


def _print_notes(advice: Advice, out: Console) -> None:
    notes = [(row.option.name, row.note) for row in advice.rows if row.note]
    moved = [(row.option.name, row.option.car_class) for row in advice.rows if row.option.car_class is not None]
    notes += [(name, f"Class {told.code or 'none'}: {told.reason}.") for name, told in moved if told.is_moved]
    if notes:
        heading(out, "Notes")
    for name, note in notes:
        out.print(Text(f"{name}: {note}", style="dim"))
    if advice.findings:
        heading(out, "Findings")
        print_findings(advice.findings, out)

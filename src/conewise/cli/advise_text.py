"""What `conewise advise` prints: the ranking, the handling, the packages as steps, and what to mind."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.text import Text

from conewise.cli.render import add_row, console, heading, plain_table, print_findings
from conewise.errors import on_command_line
from conewise.reports import advice_words
from conewise.reports.advice_report import handling_numbers

if TYPE_CHECKING:
    from rich.console import Console

    from conewise.advisor.advice import Advice, Package, PackageAnswer
    from conewise.advisor.rows import Row


def print_linear(advice: Advice, out: Console) -> None:
    """The first ranking, by derivatives."""
    _print_doubts(advice, out)
    for course, time in advice.base.items():
        out.print(Text(f"{course}: {time:.2f} s without a change.", style="bold"))
    out.print(Text("First ranking, by derivatives; every change is solved next:"))
    for rank, row in enumerate(advice.rows, start=1):
        out.print(
            Text(f"  {rank:2d}  {row.option.name}  {advice_words.seconds(row.linear) if row.effects else 'no seconds'}")
        )
    out.print()


def print_advice(advice: Advice, out: Console) -> None:
    """The whole answer."""
    _print_doubts(advice, out)
    out.print(Text(advice_words.headline(advice), style="bold"))
    if advice.driver_first:
        out.print(Text(on_command_line(advice.driver_first)))
    if words := advice_words.class_sentence(advice):
        out.print(Text(words))
    _print_rows(advice, out)
    if len(advice.base) > 1:
        _print_courses(advice, out)
    _print_handling(advice, out)
    if advice.packages is not None:
        _print_packages(advice.packages, out)
    _print_notes(advice, out)
    heading(out, "Before you work on the car")
    for caution in advice_words.cautions(advice):
        out.print(Text(caution), style="dim")


def print_package(advice: Advice) -> None:
    """The best package alone, with what to mind; what a demonstration ends with."""
    out = console()
    answer = advice.packages
    if answer is None:
        return
    heading(out, f"Best package {advice_words.limits(answer)}")
    for package in answer.packages[:1]:
        _print_package(1, package, out)
        for caution in package.row.cautions:
            out.print(Text(caution), style="dim")
    print_findings(answer.findings, out)


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
    in_class = () if told is None else (told.code or "none", advice_words.seconds(row.indexed) if row.solved else "")
    if not row.solved:
        return number, option.name, advice_words.gain(row), "", price, "", hours, *in_class
    tenth = "" if row.price_per_tenth is None else f"{row.price_per_tenth:.0f}"
    return number, option.name, advice_words.gain(row), advice_words.interval(row), price, tenth, hours, *in_class


def _print_courses(advice: Advice, out: Console) -> None:
    """Gain per course."""
    heading(out, "By course")
    weights = {course: advice.weights.get(course, 1.0) for course in advice.base}
    is_weighted = len(set(weights.values())) > 1
    names = [f">{name} ({weights[name]:g})" if is_weighted else f">{name}" for name in advice.base]
    table = plain_table("gain, weight in brackets" if is_weighted else "gain", *names)
    for row in advice.rows:
        by_course = {effect.course: advice_words.on_course(effect) for effect in row.effects}
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
            add_row(table, "as it stands", "", *handling_numbers(before))
        add_row(table, row.option.name, row.handling.replace(" at the limit", ""), *handling_numbers(after, before))
    out.print(table)


def _print_packages(answer: PackageAnswer, out: Console) -> None:
    heading(out, f"Best packages {advice_words.limits(answer)}")
    for rank, package in enumerate(answer.packages, start=1):
        _print_package(rank, package, out)
    print_findings(answer.findings, out)


def _print_package(rank: int, package: Package, out: Console) -> None:
    out.print(Text(f"{rank}. {advice_words.package_sentence(package)}", style="bold"))
    table = plain_table("  step", "what", ">adds", ">price", ">hours", "")
    for number, step in enumerate(package.steps, start=1):
        hours = "" if step.hours is None else f"{step.hours:g}"
        add_row(
            table,
            f"  {number}",
            " + ".join(step.names),
            advice_words.seconds(step.gain),
            str(step.price),
            hours,
            step.reason,
        )
    out.print(table)


def _print_notes(advice: Advice, out: Console) -> None:
    notes = advice_words.notes(advice)
    if notes:
        heading(out, "Notes")
    for name, note in notes:
        out.print(Text(f"{name}: {note}", style="dim"))
    if advice.findings:
        heading(out, "Findings")
        print_findings(advice.findings, out)

"""What the commands print: errors in one shape, answers as tables, in the units asked for."""

from __future__ import annotations

import json
import math
import sys
from contextlib import contextmanager
from time import monotonic
from typing import TYPE_CHECKING, Any

from rich.console import Console
from rich.markup import escape
from rich.table import Table
from rich.text import Text

from conewise.findings import by_severity, in_system, said_in

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from rich.status import Status

    from conewise.errors import ConewiseError
    from conewise.findings import Finding
    from conewise.quantities import System
    from conewise.reports.answer import LineAnswer
    from conewise.reports.units import Units

_WIDTH = 100  # columns where the output is no terminal
_QUIET = 10.0  # between lines of one step [s]
_N_DEAREST = 8
_N_USEFUL = 10
_N_KEY_SPEEDS = 5
_SEVERITY = {"stop": "bold", "warning": "", "note": "dim"}


def console(*, stderr: bool = False) -> Console:
    """A console of a fixed width where nobody watches, so that tables stay whole in files and pipes."""
    stream = sys.stderr if stderr else sys.stdout
    return Console(file=stream, width=None if stream.isatty() else _WIDTH, highlight=False)


def print_error(error: ConewiseError, *, as_json: bool, system: System = "metric") -> None:
    """Say an error: text on stderr, or one JSON object on stdout where JSON was asked for."""
    told = error.as_typed()
    if as_json:
        print_json(told)
        return
    rows = [f"error[{told['code']}]: {said_in(told['message'], system)}"]
    if told["where"]:
        rows.append(f"  where: {told['where']}")
    rows.append(f"  hint:  {told['hint']}")
    rows += [f"  found: {_finding_line(finding)}" for finding in by_severity(list(in_system(error.findings, system)))]
    print("\n".join(rows), file=sys.stderr)


def print_json(record: dict[str, Any]) -> None:
    """One JSON object on stdout; a number that is not finite becomes null."""
    print(json.dumps(_finite(record), ensure_ascii=False, allow_nan=False))


def _finite(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _finite(entry) for key, entry in value.items()}
    if isinstance(value, list | tuple):
        return [_finite(entry) for entry in value]
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return value


class Progress:
    """A moving line on stderr. Call it with other words; `paused` clears it while something is printed.

    Where nobody watches a terminal and `lines` is wanted, each new step is a line of its own; within a step one comes
    at most every ten seconds.
    """

    def __init__(self, status: Status, *, lines: bool = False) -> None:
        self._status = status
        self._lines = lines and not status.console.is_terminal
        self._step = ""
        self._said_at = -math.inf

    def __call__(self, words: str) -> None:
        """Change the text."""
        self._status.update(escape(words))
        step, now = words.partition(":")[0], monotonic()
        if self._lines and (step != self._step or now - self._said_at > _QUIET):
            self._step, self._said_at = step, now
            print(words, file=sys.stderr, flush=True)

    @contextmanager
    def paused(self) -> Iterator[None]:
        """No moving line inside."""
        self._status.stop()
        yield
        self._status.start()


@contextmanager
def progress(what: str, *, lines: bool = False) -> Iterator[Progress]:
    """A moving line on stderr while something takes its time; with `lines` each step is told without a terminal too."""
    with console(stderr=True).status(escape(what)) as status:
        told = Progress(status, lines=lines)
        told(what)
        yield told


def print_findings(findings: Sequence[Finding], out: Console) -> None:
    """Findings, stops first: severity, place, sentence."""
    for finding in by_severity(list(findings)):
        out.print(Text(f"  {_finding_line(finding)}", style=_SEVERITY[finding.severity]))


def _finding_line(finding: Finding) -> str:
    place = f" {finding.where}:" if finding.where else ""
    return f"{finding.severity}{place} {finding.message} [{finding.code}]"


def print_answer(answer: LineAnswer, units: Units) -> None:
    """The answer of `line` in three sentences, the time first."""
    from conewise.reports import sentences

    out = console()
    solution = answer.solution
    out.print(Text(sentences.first_sentence(answer), style="bold"))
    out.print(Text(f"{solution.course}, {solution.car}. {sentences.check_sentence(answer)}"))
    out.print(Text("; ".join(f"{label.lower()} {value}" for label, value in sentences.facts(answer, units)) + "."))


def print_details(answer: LineAnswer, units: Units) -> None:
    """What a driver asks next, and what the answer rests on."""
    from conewise.reports import sentences

    out = console()
    for part in (_cones, _features, _build_up, _choices, _margins, _gradients, _checks):
        part(answer, units, out)
    if answer.solution.findings:
        heading(out, "Findings")
        print_findings(in_system(answer.solution.findings, units.name), out)
    heading(out, "Before you drive")
    for caution in sentences.CAUTIONS:
        out.print(Text(caution), style="dim")


def _note(out: Console, words: str) -> None:
    if words:
        out.print(Text(words))


def heading(out: Console, text: str) -> None:
    """A line of its own above what follows."""
    out.print()
    out.print(Text(text, style="bold underline"))


def plain_table(*columns: str) -> Table:
    """A plain table; a column whose name starts with `>` is a column of numbers."""
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="dim")
    for column in columns:
        is_number = column.startswith(">")
        table.add_column(escape(column.removeprefix(">")), justify="right" if is_number else "left", no_wrap=is_number)
    return table


def add_row(table: Table, *cells: str, is_best: bool = False) -> None:
    """A row of plain texts; the best one stands out."""
    table.add_row(*(Text(cell, style="bold" if is_best else "") for cell in cells))


def _cones(answer: LineAnswer, units: Units, out: Console) -> None:
    dearest = answer.dearest_cones[:_N_DEAREST]
    if not dearest:
        return
    heading(out, f"Dearest cones: time lost per {units.price_step_text} more room")
    unit = units.margin_unit
    table = plain_table(
        "cone", "feature", "on your", f">price s/{units.price_step_text}", f">margin {unit}", f">clearance {unit}"
    )
    for cone in dearest:
        side = "left" if cone.is_left else "right"
        add_row(
            table, cone.id, cone.feature, side, units.price(cone.price), units.margin(cone.margin),
            units.margin(cone.clearance),
        )  # fmt: skip
    out.print(table)


def _features(answer: LineAnswer, units: Units, out: Console) -> None:
    from conewise.reports.sentences import late_note

    prices = {price.feature: price for price in answer.slow_in}
    heading(out, f"Features: time in s, speeds in {units.speed_unit}")
    columns = ["feature", "kind", ">time", ">entry", ">slowest", ">exit"]
    if prices:
        columns += [f">s per {units.speed_unit} late", f">s per {units.wide_step_text} wide"]
    table = plain_table(*columns)
    for feature in answer.solution.features:
        speeds = (feature.entry_speed, feature.slowest_speed, feature.exit_speed)
        cells = [feature.id, feature.kind, f"{feature.time:.2f}", *map(units.speed, speeds)]
        if prices:
            price = prices.get(feature.id)
            cells += ["", ""] if price is None else [
                units.entry_price(price.entry_speed_price), units.wide_price(price.wide_price),
            ]  # fmt: skip
        add_row(table, *cells)
    out.print(table)
    _note(out, late_note(answer))


def _build_up(answer: LineAnswer, units: Units, out: Console) -> None:
    rows = answer.build_up
    if not rows:
        return
    heading(out, f"Build-up: slowest speed of each feature in {units.speed_unit}")
    best = min(row.time for row in rows)
    slowest = sorted(max(rows, key=lambda row: row.pace).speeds, key=lambda key: key.speed)[:_N_KEY_SPEEDS]
    names = [key.feature for key in slowest]
    table = plain_table(">pace", ">time s", ">over best s", *(f">{name}" for name in names))
    for row in rows:
        speeds = {key.feature: units.speed(key.speed) for key in row.speeds}
        cells = [f"{row.pace:.2f}", f"{row.time:.2f}", f"{row.time - best:.2f}"]
        add_row(table, *cells, *(speeds.get(name, "") for name in names))
    out.print(table)


def _choices(answer: LineAnswer, units: Units, out: Console) -> None:
    from conewise.reports.sentences import sides_note

    del units
    groups = [("Hold the gear or shift", [(g.label, g.time, g.is_best) for g in answer.gears])]
    sides = [(f"{side.feature} {side.cone_on_your}", side.time, side.is_best) for side in answer.sides]
    groups.append(("Either side: first cone on your", sides))
    for title, choices in groups:
        if not choices:
            continue
        heading(out, title)
        best = min(time for _, time, _ in choices)
        table = plain_table("choice", ">time s", ">over best s", "")
        for label, time, is_best in choices:
            add_row(table, label, f"{time:.2f}", f"{time - best:.2f}", "best" if is_best else "", is_best=is_best)
        out.print(table)
    _note(out, sides_note(answer))


def _margins(answer: LineAnswer, units: Units, out: Console) -> None:
    plan = answer.margins
    if plan is None:
        return
    heading(out, "Best room for your scatter")
    unit = units.margin_unit
    sizes = [row.margin for row in plan.margins]
    span = f", from {units.margin(min(sizes))} to {units.margin(max(sizes))} {unit}" if sizes else ""
    out.print(
        Text(
            f"With a scatter of {units.margin(plan.scatter)} {unit} and {plan.penalty:g} s a cone, leave each cone its"
            f" own room{span}: {plan.expected_time:.2f} s and {plan.expected_cones:.2f} cones are to be expected."
        )
    )


def _gradients(answer: LineAnswer, units: Units, out: Console) -> None:
    from conewise.reports.units import signed, step_text

    gradients = answer.useful_gradients[:_N_USEFUL]
    if not gradients:
        return
    heading(out, "What one step is worth, all else equal (− is faster): what one changes first")
    table = plain_table("parameter", ">step", ">effect s", ">interval s", ">per 1 % s")
    for gradient in gradients:
        low, high = answer.interval(gradient)
        percent = gradient.s_per_percent
        add_row(
            table, gradient.name, step_text(gradient, units), signed(gradient.s_per_step, 3),
            f"{signed(low, 3)} to {signed(high, 3)}", "" if percent is None else signed(percent, 3),
        )  # fmt: skip
    out.print(table)
    n_others = len(answer.useful_gradients[_N_USEFUL:]) + len(answer.other_gradients)
    if n_others:
        out.print(Text(f"{n_others} more numbers: --report or --json.", style="dim"))


def _checks(answer: LineAnswer, units: Units, out: Console) -> None:
    from conewise.reports.sentences import check_value

    del units
    if not answer.solution.checks:
        return
    heading(out, "Checks")
    table = plain_table("check", "", "value", "worst at")
    for check in answer.solution.checks:
        add_row(table, check.name, "passed" if check.ok else "FAILED", check_value(check), check.where)
    out.print(table)

"""What `conewise debrief` prints: the run's own times first, then the focus, then the gap by feature."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.text import Text

from conewise.cli import render
from conewise.quantities import HALF_90

if TYPE_CHECKING:
    from rich.console import Console

    from conewise.reports.debrief_answer import DebriefAnswer
    from conewise.reports.run_told import RunTold
    from conewise.reports.times_answer import TimesAnswer
    from conewise.reports.units import Units


def print_told(told: RunTold, units: Units) -> None:
    """Time of the run and of its features."""
    from conewise.reports import debrief_words

    out = render.console()
    tries = ", ".join(f"{t.number}: {t.kind}" + ("" if t.time is None else f" {t.time:.2f} s") for t in told.tries)
    out.print(Text(f"Run {told.run} took {told.time:.3f} s, ±{HALF_90 * told.time_deviation:.3f}.", style="bold"))
    out.print(Text(f"{told.file}: {tries}."))
    table = render.plain_table("feature", ">time s", ">90%", f">entry {units.speed_unit}", ">slowest", ">exit")
    for row in told.measures.features:
        result = row.result
        speeds = (result.entry_speed, result.slowest_speed, result.exit_speed)
        sure = debrief_words.within(row.time_deviation)
        render.add_row(table, result.id, f"{result.time:.2f}", sure, *map(units.speed, speeds))
    out.print(table)
    sure = units.speed(HALF_90 * told.speed_deviation)
    out.print(Text(f"Speeds are known to about ±{sure} {units.speed_unit}, 90%."))


def print_debrief(answer: DebriefAnswer) -> None:
    """Focus, gap, what else was seen, and what it rests on."""
    from conewise.reports import debrief_words, sentences
    from conewise.reports.units import signed

    breakdown = answer.breakdown
    assert breakdown is not None
    out = render.console()
    print_focus(answer)
    doubts = answer.time_deviations
    table = render.plain_table("feature", ">gap", ">line", ">speed on it")
    for gap in breakdown.features:
        render.add_row(
            table,
            gap.id,
            f"{signed(gap.measured - gap.best, 2)} {debrief_words.within(doubts[gap.id]) if gap.id in doubts else ''}",
            debrief_words.part(gap.line, gap.line_interval),
            debrief_words.part(gap.speed, gap.speed_interval),
        )
    out.print(table)
    if breakdown.n_paths:
        out.print(Text(debrief_words.paths_sentence(answer)))
    out.print(Text(debrief_words.friction_sentence(breakdown.friction)))
    if answer.findings:
        render.heading(out, "Findings")
        render.print_findings(answer.findings, out)
    render.heading(out, "Before you drive")
    for caution in sentences.CAUTIONS:
        out.print(Text(caution), style="dim")


def print_comparison(answer: DebriefAnswer, units: Units) -> None:
    """Two runs feature by feature."""
    from conewise.reports import debrief_words
    from conewise.reports.comparison_record import feature_differences
    from conewise.reports.units import signed

    out = render.console()
    first, second = answer.driven, answer.other
    word = "slower" if answer.gap >= 0.0 else "faster"
    times = f"{first.run_time:.3f} s against {second.run_time:.3f} s"
    out.print(Text(f"{first.name} is {abs(answer.gap):.3f} s {word} than {second.name}: {times}.", style="bold"))
    driving = {row.result.id: row.result for row in answer.measures.features} if answer.measures else {}
    table = render.plain_table("feature", ">time s", ">against", ">lost", ">90% within", f">slowest {units.speed_unit}")
    for row in feature_differences(answer):
        lost, within = signed(row.lost, 2), debrief_words.within(row.deviation)
        slowest = units.speed(driving[row.id].slowest_speed) if row.id in driving else ""
        render.add_row(table, row.id, f"{row.first:.2f}", f"{row.second:.2f}", lost, within, slowest)
    out.print(table)
    if answer.findings:
        render.heading(out, "Findings")
        render.print_findings(answer.findings, out)


def print_focus(answer: DebriefAnswer) -> None:
    """The one thing to work on, what else was seen, and the gap in a sentence."""
    from conewise.reports import debrief_words

    out = render.console()
    render.heading(out, f"Work on this next: {answer.driven.name}")
    _print_causes(answer, out)
    render.heading(out, "Where the time went")
    out.print(Text(debrief_words.gap_sentence(answer)))


def _print_causes(answer: DebriefAnswer, out: Console) -> None:
    from conewise.reports import debrief_words

    if answer.where is not None:
        out.print(Text(debrief_words.where_title(answer.where.feature), style="bold"))
        out.print(Text(debrief_words.where_sentence(answer.where)))
        return
    if not answer.focuses:
        out.print(Text(debrief_words.NOTHING))
        return
    first, *others = answer.focuses
    out.print(Text(f"{first.feature}: {first.advice}", style="bold"))
    out.print(Text(f"{first.cause.value}, {first.seconds:.2f} s. {first.evidence}"))
    for focus in others:
        out.print(Text(f"Also seen at {focus.feature}: {focus.cause.value}, {focus.seconds:.2f} s."))


def print_times(answer: TimesAnswer) -> None:
    """What times and cones say."""
    out = render.console()
    out.print(Text(answer.focus.advice, style="bold"))
    out.print(Text(f"{answer.focus.cause}, {answer.focus.seconds:.2f} s. {answer.focus.evidence}"))
    out.print(
        Text(
            f"The fastest run, {answer.measured:.2f} s without cones, is {abs(answer.gap):.2f} s "
            f"{'behind' if answer.gap >= 0.0 else 'faster than'} the best possible {answer.best.time:.2f} s."
        )
    )
    table = render.plain_table("run", ">raw s", ">cones", ">scored s")
    for number, run in enumerate(answer.runs, start=1):
        render.add_row(table, str(number), f"{run.raw:.3f}", str(run.cones), f"{run.scored(answer.penalty):.3f}")
    out.print(table)
    render.print_findings(answer.findings, out)

"""What `conewise log day` prints: what the runs say together, then every feature."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.text import Text

from conewise.cli import render

if TYPE_CHECKING:
    from conewise.reports.day_answer import DayAnswer


def print_day(answer: DayAnswer) -> None:
    """The runs, the trend, the features, and what joining the best of them may hide."""
    out = render.console()
    for sentence in day_sentences(answer):
        out.print(Text(sentence))
    table = render.plain_table("try", "what became of it", ">time s", ">cones")
    cones = dict(zip(answer.numbers, answer.cones, strict=True))
    for one in answer.tries:
        time = "" if one.time is None else f"{one.time:.3f}"
        hit = str(cones[one.number]) if one.number in cones else ""
        is_best = one.number in cones and one.time == min(t.time for t in answer.tries if t.number in cones and t.time)
        render.add_row(table, str(one.number), one.kind, time, hit, is_best=is_best)
    out.print(table)
    table = render.plain_table("feature", "asks for", ">best s", ">in", ">spread", ">best run loses")
    for feature, best in zip(answer.features, answer.best.features, strict=True):
        spread = "" if feature.spread is None else f"±{feature.spread:.2f}"
        cells = (feature.kind, f"{feature.best:.2f}", best.run, spread, f"{best.lost_by_best_run:+.2f}")
        render.add_row(table, feature.id, *cells)
    out.print(table)
    if answer.findings:
        render.heading(out, "Findings")
        render.print_findings(answer.findings, out)


def day_sentences(answer: DayAnswer) -> list[str]:
    """What the runs of a day say together, in sentences."""
    day, best = answer.day, answer.best
    runs = f"{day.n_runs} finished run{'s' * (day.n_runs != 1)} of {len(answer.tries)} tries"
    said = [f"{runs}; the best took {day.best:.3f} s without penalties; no cone told in {day.n_clean}."]
    if day.gain_per_doubling is None or day.gain_low is None or day.gain_high is None or day.spread is None:
        said.append("Too few to tell what was learned and how even runs are: that takes four finished runs or more.")
    else:
        word = "You were still learning" if day.is_still_learning else "Learning does not show beyond the scatter"
        said.append(
            f"{word}: {day.gain_per_doubling:+.2f} s for every doubling of the runs ({day.gain_low:+.2f} to"
            f" {day.gain_high:+.2f}); about that the runs scatter by {day.spread:.2f} s."
        )
    if day.n_runs > 1:
        said.append(
            f"The best of every feature sum to {best.total:.2f} s, {best.fastest - best.total:.2f} s below the best"
            f" run. Of that about {best.optimistic_by:.2f} s is too good to be true: speeds that do not fit where the"
            f" pieces join, and luck. Pieces that pay for their joins give {best.joined:.2f} s."
        )
    return said

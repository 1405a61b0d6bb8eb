"""What `conewise walk` prints: the time, three things to remember, then feature by feature."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.text import Text

from conewise.cli import render
from conewise.findings import in_system

if TYPE_CHECKING:
    from rich.table import Table

    from conewise.reports.units import Units
    from conewise.reports.walk_answer import WalkSheet


def print_sheet(sheet: WalkSheet, units: Units) -> None:
    """The whole sheet without its map."""
    from conewise.reports import sentences, walk_words

    out = render.console()
    answer = sheet.answer
    out.print(Text(sentences.first_sentence(answer), style="bold"))
    out.print(Text(f"{answer.solution.course}, {answer.solution.car}. {sentences.check_sentence(answer)}"))
    things = walk_words.remember(sheet, units)
    if things:
        render.heading(out, "To remember")
        for index, words in enumerate(things, start=1):
            out.print(Text(f"{index}. {words}"))
    render.heading(out, "Feature by feature")
    out.print(_features(sheet, units))
    if answer.solution.findings:
        render.heading(out, "Findings")
        render.print_findings(in_system(answer.solution.findings, units.name), out)
    render.heading(out, "Before you drive")
    for words in walk_words.CAUTION_WORDS:
        out.print(Text(words))


def _features(sheet: WalkSheet, units: Units) -> Table:
    from conewise.reports import sentences, walk_words

    table = render.plain_table(
        ">", "feature", "what", ">gear", f">slowest {units.speed_unit}", "places", "what it costs"
    )
    for index, stop in enumerate(sheet.stops):
        is_end = stop.feature.kind in {"start", "finish"}
        brake, power = (walk_words.place_words(sheet, place, units) for place in (stop.braking, stop.power))
        places = [f"brake {brake}"] if brake else []
        places += [f"throttle on {power}"] if power else []
        look = walk_words.look_words(sheet, index)
        places += [f"look on to {look}"] if look else []
        costs = [
            words for words in (walk_words.key_words(sheet, stop, units), walk_words.price_words(stop, units)) if words
        ]
        render.add_row(
            table,
            str(stop.number),
            sentences.feature_name(stop.feature),
            walk_words.stop_words(sheet, stop, units),
            "" if is_end or stop.gear is None else str(stop.gear),
            "" if is_end else units.speed(stop.feature.slowest_speed),
            "; ".join(places),
            "; ".join(words for words in costs if words),
        )
    return table

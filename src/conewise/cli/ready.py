"""`conewise ready`: may we run?"""

from __future__ import annotations

from typing import TYPE_CHECKING

import typer

from conewise.cli.options import (
    AsJson,
    BookFolder,
    EventFile,
    Paper,
    RulesName,
    RunsFile,
    SheetFile,
    SheetPaper,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rich.console import Console

    from conewise.readiness.items import Judged, OpenItem, Readiness


def ready(
    event: EventFile,
    *,
    runs: RunsFile = None,
    rules: RulesName = "",
    pdf: SheetFile = None,
    paper: SheetPaper = Paper.A4,
    book: BookFolder = None,
    as_json: AsJson = False,
) -> None:
    """Hold every driver, car and helmet to the event's rules. Leaves with exit code 10 while anything blocks."""
    from conewise.cli import render
    from conewise.cli.options import book_place
    from conewise.workflows.event_sheets import refuse_pdf, write_inspection
    from conewise.workflows.events import load_day
    from conewise.workflows.ready import answer_ready, ready_record

    refuse_pdf(pdf)
    loaded = load_day(event, source=book_place(book), runs=runs, rules=rules)
    answer = answer_ready(loaded)
    if pdf is not None:
        write_inspection(loaded, pdf, paper=paper.value)
    if as_json:
        render.print_json(ready_record(answer))
    else:
        print_readiness(answer)
    if not answer.ready:
        raise typer.Exit(10)


def print_readiness(answer: Readiness) -> None:
    """The answer first, then each driver, car and helmet with what is open."""
    from rich.text import Text

    from conewise.cli import render
    from conewise.workflows.ready import CAUTION

    out = render.console()
    out.print(Text(f"{answer.event}, rules '{answer.rules_title}': {answer.sentence}", style="bold"))
    if answer.from_club:
        words = ", ".join(answer.from_club)
        out.print(Text(f"The rule set says nothing about {words}; club practice stands for it."))
    for title, judged in (("Drivers", answer.drivers), ("Cars", answer.cars), ("Helmets", answer.helmets)):
        _print_group(title, judged, out)
    if answer.day:
        render.heading(out, "Event")
        _print_items(answer.day, out)
    out.print(Text(f"\n{CAUTION}", style="dim"))


def _print_group(title: str, judged: Sequence[Judged], out: Console) -> None:
    from rich.text import Text

    from conewise.cli import render

    if not judged:
        return
    render.heading(out, title)
    for one in judged:
        n_open = sum(item.blocks for item in one.open_items)
        state = f"{n_open} open" if n_open else "nothing open"
        out.print(Text(f"{one.name}: {state}", style="bold" if n_open else ""))
        _print_items(one.open_items, out)


def _print_items(items: Sequence[OpenItem], out: Console) -> None:
    """Open items as a table, those with one reason together; the reason is said once."""
    from conewise.cli import render

    table = render.plain_table("", "item", "why")
    together: dict[tuple[bool, str], list[str]] = {}
    for item in items:
        together.setdefault((item.blocks, item.reason), []).append(item.item)
    for (blocks, reason), names in together.items():
        for number, name in enumerate(names):
            render.add_row(table, "open" if blocks else "note", name, "as above" if number else reason)
    if items:
        out.print(table)

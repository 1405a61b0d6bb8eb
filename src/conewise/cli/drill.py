"""`conewise drill`: is the course known by heart?"""

from __future__ import annotations

import sys
from pathlib import Path  # noqa: TC003  # typer reads the annotations
from typing import TYPE_CHECKING, Annotated

import typer

from conewise.cli.options import BookFolder, CourseName  # noqa: TC001  # typer reads the annotations

if TYPE_CHECKING:
    from collections.abc import Sequence

    from conewise.course.drill import Card, Score
    from conewise.workflows.named import Source

LETTERS = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"
_TRIES = 3  # at one stretch, then the answer is shown


def drill(
    course: CourseName,
    *,
    stretch: Annotated[int, typer.Option(min=2, max=12, help="Features that each stage adds.")] = 4,
    last: Annotated[bool, typer.Option("--last", help="Only the whole course: once more before the run.")] = False,
    seed: Annotated[int | None, typer.Option(help="Shuffle the cards the same way again.")] = None,
    drawing: Annotated[
        Path | None, typer.Option(help="Score a drawing instead: a file with x,y a line, start to finish.")
    ] = None,
    book: BookFolder = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object at the end.")] = False,
) -> None:
    """Put the features in order and say their sides, in growing stretches from the start.

    Leaves with exit code 10 while a stretch is not known.
    """
    import numpy as np

    from conewise.cli import render
    from conewise.cli.options import book_place
    from conewise.course.drill import shuffled
    from conewise.workflows import drill as workflow
    from conewise.workflows.named import source

    named = source(course, "course", book_place(book))
    if drawing is not None:
        _drawn(named, drawing, as_json=as_json)
        return
    task = workflow.drill(named, stretch=stretch)
    rng = np.random.default_rng(seed)
    scores = []
    for stage in task.stages[-1:] if last else task.stages:
        found = _asked(stage, shuffled(stage, rng))
        scores.append(found)
        if not found.is_known:
            break
    known = all(found.is_known for found in scores)
    if as_json:
        render.print_json({"is_known": known, "stages": [workflow.score_record(found) for found in scores]})
    raise typer.Exit(0 if known else 10)


def _drawn(course: Source, drawing: Path, *, as_json: bool) -> None:
    from conewise.cli import render
    from conewise.workflows import drill as workflow

    found = workflow.drawn_shape(course, drawing)
    if as_json:
        render.print_json(workflow.shape_record(found))
    else:
        words = {
            "good": "The shape is right.",
            "fair": "The shape is nearly right.",
            "off": "The shape is not right yet.",
            "mirrored": "This is the mirror image: left and right are the wrong way round.",
        }[found.verdict]
        typer.echo(f"{words} It is farthest off at {found.worst_feature}, by {found.worst_distance:.0f} m.")
    raise typer.Exit(0 if found.verdict in {"good", "fair"} else 10)


def _asked(stage: Sequence[Card], table: Sequence[Card]) -> Score:
    """One stretch, asked until it is known or the tries are used up."""
    from conewise.course.drill import score

    _say(f"\nFrom the start, the first {len(stage)} features. On the table:")
    for letter, card in zip(LETTERS, table, strict=False):
        _say(f"  {letter}  {card.looks}")
    for attempt in range(_TRIES):
        order = _order(table)
        found = score(stage, order, _sides(order))
        if found.is_known:
            _say("Known: every feature in its place, every side right.")
            return found
        _say(_mistakes(stage, found))
        if attempt + 1 < _TRIES and sys.stdin.isatty():
            continue
        break
    _say("This is the way: " + "; ".join(_told(card) for card in stage) + ".")
    return found


def _order(table: Sequence[Card]) -> list[Card]:
    """The cards in the order that is told by letters; doubled and unknown letters are asked for again."""
    while True:
        _say(f"Their order, as letters ({LETTERS[: len(table)]}): ", end="")
        line = sys.stdin.readline()
        letters = [letter for letter in line.strip() if not letter.isspace() and letter != ","]
        wrong = [letter for letter in letters if letter not in LETTERS[: len(table)]]
        if (wrong or len(set(letters)) < len(letters)) and line and sys.stdin.isatty():
            _say("Every letter once, and only those on the table.")
            continue
        known = dict(zip(LETTERS, table, strict=False))
        return [known[letter] for letter in dict.fromkeys(letters) if letter in known]


def _sides(order: Sequence[Card]) -> dict[str, str]:
    """Side of every card that has one: l or r."""
    sides = {}
    for card in order:
        if not card.side:
            continue
        where = "first cone to your" if card.question == "first cone" else "turns"
        _say(f"  {card.looks}: {where} left or right (l or r)? ", end="")
        answer = sys.stdin.readline().strip().lower()
        sides[card.feature] = {"l": "left", "r": "right"}.get(answer[:1], "")
    return sides


def _mistakes(stage: Sequence[Card], found: Score) -> str:
    """What was missing, in words."""
    by_number = {card.number: card for card in stage}
    n_right = found.n_sides - len(found.wrong_sides)
    said = [f"{found.n_in_order} of {found.n_cards} in order, {n_right} of {found.n_sides} sides."]
    if found.missing:
        said.append(
            "Out of place or left out: " + ", ".join(f"{n} ({by_number[n].looks})" for n in found.missing) + "."
        )
    if found.wrong_sides:
        said.append("Wrong side: " + ", ".join(f"{n} ({by_number[n].looks})" for n in found.wrong_sides) + ".")
    return " ".join(said)


def _told(card: Card) -> str:
    if not card.side:
        return f"{card.number} {card.looks}"
    return f"{card.number} {card.looks}, " + (f"first cone {card.side}" if card.question == "first cone" else card.side)


def _say(words: str, *, end: str = "\n") -> None:
    typer.echo(words, nl=end == "\n", err=True)

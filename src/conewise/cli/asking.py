"""Questions on the command line: answers from the keyboard, or one a line from a pipe."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

import typer

from conewise.errors import InputError, on_command_line
from conewise.questions import NEEDED

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from conewise.questions import Question


_HOW = (
    "An empty answer takes what stands in brackets. Ctrl-D (on Windows Ctrl-Z and Return) takes that for all the rest"
    " and writes the file; Ctrl-C writes nothing."
)


def asked(questions: Sequence[Question], check: Callable[[Question, str], None]) -> dict[str, str]:
    """Answers by the question's key; what is not answered is left out.

    Parameters
    ----------
    questions : sequence of Question
    check : callable
        Refuses an answer that cannot be used; a person is asked again, a pipe ends there.

    Raises
    ------
    InputError
        If an answer from a pipe cannot be used; it is named by its number.
    """
    is_person = sys.stdin.isatty()
    if is_person and all(question.typical != NEEDED for question in questions):
        typer.echo(_HOW, err=True)
    answers: dict[str, str] = {}
    for number, question in enumerate(questions, start=1):
        while True:
            typer.echo(f"{question.text} [{question.typical}] ", nl=False, err=True)
            line = _line()
            try:
                check(question, line.strip())
            except InputError as error:
                if not is_person:
                    raise _named(error, number, len(questions)) from None
                typer.echo(f"{error.message} {on_command_line(error.hint)}", err=True)
                continue
            break
        if not line:
            typer.echo(err=True)
            return answers
        answers[question.key] = line.strip()
    return answers


def _line() -> str:
    """The next line; where the keyboard stops it, what became of the others is said."""
    try:
        return sys.stdin.readline()
    except KeyboardInterrupt:
        typer.echo("\nNothing was written.", err=True)
        raise


def _named(error: InputError, number: int, count: int) -> InputError:
    """The refusal of an answer from a pipe: which one it was, and how to go on."""
    typer.echo(err=True)
    error.where = f"answer {number} of {count}, {on_command_line(error.where)}"
    hint = on_command_line(error.hint)
    error.hint = f"{hint} Nothing was written: correct line {number}, and give all the lines again.".strip()
    return error

"""Questions on the command line: answers from the keyboard, or one a line from a pipe."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

import typer

from conewise.errors import InputError, on_command_line

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from conewise.questions import Question


def asked(questions: Sequence[Question], check: Callable[[Question, str], None]) -> dict[str, str]:
    """Answers by the question's key; what is not answered is left out.

    Parameters
    ----------
    questions : sequence of Question
    check : callable
        Refuses an answer that cannot be used; a person is asked again, a pipe ends there.
    """
    answers: dict[str, str] = {}
    for question in questions:
        while True:
            typer.echo(f"{question.text} [{question.typical}] ", nl=False, err=True)
            line = sys.stdin.readline()
            try:
                check(question, line.strip())
            except InputError as error:
                if not sys.stdin.isatty():
                    raise
                typer.echo(f"{error.message} {on_command_line(error.hint)}", err=True)
                continue
            break
        if not line:
            typer.echo(err=True)
            return answers
        answers[question.key] = line.strip()
    return answers

"""The command `conewise`: finds the command asked for, runs it, and turns every failure into a plain sentence.

Only the module of the command asked for is imported, so that `conewise --help` answers at once.
"""

from __future__ import annotations

import re
import sys
from dataclasses import dataclass
from importlib import import_module
from importlib.metadata import version
from importlib.util import find_spec
from itertools import pairwise
from typing import TYPE_CHECKING, Annotated, Any

import typer

from conewise.errors import ConewiseError, InputError

if TYPE_CHECKING:
    from collections.abc import Sequence


@dataclass(frozen=True, slots=True)
class Entry:
    """One command: where it lives, and the line that says what it does."""

    module: str
    attribute: str
    summary: str


COMMANDS = {
    "demo": Entry("conewise.cli.demo", "demo", "Write the example files, solve one, and show the answer."),
    "line": Entry("conewise.cli.line", "line", "The fastest clean way through a course for a car."),
    "walk": Entry("conewise.cli.walk", "walk", "What to learn on the course walk."),
    "drill": Entry("conewise.cli.drill", "drill", "Is the course known by heart?"),
    "advise": Entry("conewise.cli.advise", "advise", "Which change to the car is worth how many seconds."),
    "fit": Entry("conewise.cli.fit", "fit", "Do these wheels and tyres fit, and what do they change."),
    "settings": Entry("conewise.cli.settings", "settings", "The best settings of a car, and what a click off costs."),
    "debrief": Entry("conewise.cli.debrief", "debrief", "Where a run lost its time, and what to work on next."),
    "prove": Entry("conewise.cli.prove", "prove", "Whether a change made the car faster, by its times."),
    "course": Entry("conewise.cli.course", "course_app", "Make, check, show and convert course files."),
    "event": Entry("conewise.cli.event", "event_app", "Make, show and plan an event day."),
    "ready": Entry("conewise.cli.ready", "ready", "May we run? Drivers, cars and helmets held to the event's rules."),
    "run": Entry("conewise.cli.run", "run_app", "Write runs down, plan the next ones, look at a driver's page."),
    "results": Entry("conewise.cli.results", "results", "Places so far, by class and over all classes."),
    "log": Entry("conewise.cli.log", "log_app", "Check, show and convert recorded logs."),
    "book": Entry("conewise.cli.book", "book_app", "What is remembered: look, back up, hand over, check."),
    "serve": Entry("conewise.cli.serve", "serve", "The whole job on pages: on this laptop and on paired phones."),
    "car": Entry("conewise.cli.car", "car_app", "Make, show, weigh and change cars."),
}
_NEGATIVE = re.compile(r"-[.,]?\d")
_INTERRUPTED = 130  # exit code after the keyboard stopped a command, common practice of shells
_USAGE: Any = typer.BadParameter.__mro__[1]  # what the parser raises on a wrong command line


class UsageError(InputError):
    """A command line that cannot be understood."""

    code = "usage"
    default_hint = "conewise COMMAND --help lists what a command takes."

    def __init__(self, message: str, *, command: str, hint: str = "") -> None:
        super().__init__(message, where=command, hint=hint)


def application(words: Sequence[str]) -> typer.Typer:
    """The command tree, with the command named first in `words` imported and the others listed only."""
    app = typer.Typer(no_args_is_help=True, add_completion=False, pretty_exceptions_enable=False)
    app.callback()(_about)
    asked = next((word for word in words if not word.startswith("-")), "")
    for name, entry in COMMANDS.items():
        if find_spec(entry.module) is None:
            continue
        target: Any = getattr(import_module(entry.module), entry.attribute) if name == asked else _listed
        if isinstance(target, typer.Typer):
            app.add_typer(target, name=name, help=entry.summary)
        else:
            app.command(name=name, help=entry.summary if target is _listed else None)(target)
    return app


def _listed() -> None:
    """A command that this call does not run."""


def _show_version(value: bool) -> None:
    if value:
        typer.echo(f"conewise {version('conewise')}")
        raise typer.Exit


def _about(
    _version: Annotated[
        bool, typer.Option("--version", callback=_show_version, is_eager=True, help="Show the version and stop.")
    ] = False,
) -> None:
    """Autocross: the fastest clean run, the price of every cone, the worth of a change."""


def main(arguments: Sequence[str] | None = None) -> None:
    """Run a command line and leave with its exit code."""
    words = list(sys.argv[1:] if arguments is None else arguments)
    sys.exit(run(words))


def run(words: Sequence[str]) -> int:
    """Exit code of a command line; every failure has been said by then.

    Parameters
    ----------
    words : sequence of str
        The command line after the program's name.

    Returns
    -------
    int
        0 done, 1 to 7 after the families of `conewise.errors`, 10 the answer is no, 130 stopped by the keyboard.
    """
    try:
        answer = application(words)(args=list(words), prog_name="conewise", standalone_mode=False)
    except ConewiseError as error:
        return _said(error, words)
    except _USAGE as error:
        return _said(_usage(str(error.format_message()), words), words)
    except BrokenPipeError:
        return 1
    except KeyboardInterrupt:
        answer = _INTERRUPTED
    except Exception as error:  # noqa: BLE001  # the outermost edge: said in a sentence, kept in a log
        if not _is_stop(error):
            return _unforeseen(error, words)
        answer = _INTERRUPTED
    if answer == _INTERRUPTED:
        typer.echo("Stopped.", err=True)
    return answer if isinstance(answer, int) else 0


def _usage(message: str, words: Sequence[str]) -> UsageError:
    """What is wrong with a command line; a negative number that was taken for an option is named whole."""
    command = " ".join(["conewise", *words[:1]])
    negative = next((word for word in words if _NEGATIVE.match(word)), "")
    if not negative or f": {negative[:2]}" not in message:
        return UsageError(message, command=command)
    hint = f'Write -- before the values: conewise ... -- "{negative}". A value of an option is joined to it: --OPTION='
    return UsageError(f"'{negative}' was taken for an option.", command=command, hint=f'{hint}"{negative}".')


def _is_stop(error: BaseException | None) -> bool:
    """Whether the keyboard stopped what failed: a compiler or a solver tells it as a fault of its own, or names it."""
    while error is not None:
        if isinstance(error, KeyboardInterrupt) or KeyboardInterrupt.__name__ in str(error):
            return True
        error = error.__cause__ or error.__context__
    return False


def _said(error: ConewiseError, words: Sequence[str]) -> int:
    from conewise.cli.render import print_error

    is_us = "--units=us" in words or ("--units", "us") in pairwise(words)
    print_error(error, as_json="--json" in words, system="us" if is_us else "metric")
    return error.exit_code


def _unforeseen(error: Exception, words: Sequence[str]) -> int:
    """Say that the fault is ours, and keep what is needed to find it."""
    import shlex

    from conewise.workflows.faults import fault

    told = fault(error, doing=f"conewise {shlex.join(words)}")
    typer.echo(f"{told.message}\n{told.hint}", err=True)
    return 1

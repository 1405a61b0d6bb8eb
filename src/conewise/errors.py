"""Every way in which conewise says that it cannot go on.

ConewiseError
├── InputError            what was given cannot be used            exit 2
├── NotFoundError         nothing by that name                     exit 3
├── ConflictError         changed, locked or already there         exit 4
├── InfeasibleError       the question has no answer               exit 5
├── ConvergenceError      the solver stopped                       exit 6
└── MissingExtraError     an optional part is not installed        exit 7

A concrete class lives beside the code that raises it and is told facts; it writes the sentence itself.
Judgements ("this gate is narrow") are not errors: see `conewise.findings`.
"""

from __future__ import annotations

from contextlib import contextmanager
from dataclasses import asdict
from typing import TYPE_CHECKING, Any, ClassVar, Self

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from pathlib import Path

Finding = Any  # of `conewise.findings`, which stands above


class ByFace(str):
    """Words as pages and scripts say them, and how the command line says them: there an option or a command does it.

    Parameters
    ----------
    words : str
        For a page: without options and commands.
    typed : str
        For the command line.

    Examples
    --------
    >>> hint = ByFace("Choose a list of parts.", typed="Name a file of parts: --parts FILE.")
    >>> hint
    'Choose a list of parts.'
    >>> on_command_line(hint), on_command_line("Choose another name.")
    ('Name a file of parts: --parts FILE.', 'Choose another name.')
    """

    __slots__ = ("typed",)
    typed: str

    def __new__(cls, words: str, *, typed: str) -> Self:
        """The words; `typed` beside them."""
        made = super().__new__(cls, words)
        made.typed = typed
        return made

    def __getnewargs_ex__(self) -> tuple[tuple[str], dict[str, str]]:
        """For the way back from a process of its own."""
        return (str(self),), {"typed": self.typed}


def on_command_line(words: str) -> str:
    """Words as the command line says them."""
    return words.typed if isinstance(words, ByFace) else words


class ConewiseError(Exception):
    """Something that the user can act on: what is wrong, where, and what to do.

    Parameters
    ----------
    message : str
        One sentence with the value found and the value wanted.
    where : str, default ""
        File, line, field, cone: whatever leads the reader to the place.
    hint : str, default ""
        What to do next. The class's own hint is used where none is given.

    Notes
    -----
    What to do differs between a page and the command line where an option does it: what says so is `ByFace` then.
    `findings` are what was found before in the file that led to it, see `telling`.
    """

    findings: tuple[Finding, ...] = ()
    code: ClassVar[str] = "error"
    exit_code: ClassVar[int] = 1
    status: ClassVar[int] = 500
    default_hint: ClassVar[str] = "Please report this with the file that led to it."

    def __init__(self, message: str, *, where: str = "", hint: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.where = where
        self.hint = hint or self.default_hint

    def as_dict(self) -> dict[str, Any]:
        """One shape for every face: `{"ok": false, "code", "message", "where", "hint"}`, and `findings` if any."""
        told = {"ok": False, "code": self.code, "message": self.message, "where": self.where, "hint": self.hint}
        return told | ({"findings": [asdict(one) for one in self.findings]} if self.findings else {})

    def as_typed(self) -> dict[str, Any]:
        """The same in the words of the command line."""
        words = {"message": self.message, "where": self.where, "hint": self.hint}
        return self.as_dict() | {name: on_command_line(said) for name, said in words.items()}


@contextmanager
def telling(findings: Iterable[Finding]) -> Iterator[None]:
    """Errors raised within tell these findings too: what was found before is often why.

    Examples
    --------
    >>> from conewise.findings import Finding
    >>> try:
    ...     with telling([Finding("warning", "zero-fix", "3 places lie at 0, 0.")]):
    ...         raise InputError("There is no motion to tell.")
    ... except InputError as error:
    ...     [finding.code for finding in error.findings]
    ['zero-fix']
    """
    try:
        yield
    except ConewiseError as error:
        error.findings = (*(one for one in findings if one not in error.findings), *error.findings)
        raise


class InputError(ConewiseError):
    """What was given cannot be used."""

    code = "input"
    exit_code = 2
    status = 422
    default_hint: ClassVar[str] = ByFace(
        "Correct the value and try again; under Help, 'Files' shows a full example of every file.",
        typed="Correct the value and try again; docs/formats.md shows a full example of every file.",
    )


class NotFoundError(ConewiseError):
    """There is nothing by that name."""

    code = "not-found"
    exit_code = 3
    status = 404
    default_hint = "Check the spelling and the folder."


class ConflictError(ConewiseError):
    """Something is in the way: changed meanwhile, locked, or already there."""

    code = "conflict"
    exit_code = 4
    status = 409
    default_hint: ClassVar[str] = ByFace(
        "Choose another name.", typed="Choose another name, or say --force to replace what is there."
    )


class InfeasibleError(ConewiseError):
    """The question has no answer, for example no path through a gate."""

    code = "infeasible"
    exit_code = 5
    status = 422
    default_hint = "Change the course or the car at the place named."


class ConvergenceError(ConewiseError):
    """The solver stopped without a solution."""

    code = "convergence"
    exit_code = 6
    status = 500
    default_hint = "Try fallback=True for the quasi-steady answer, and check the course at the place named."


class MissingExtraError(ConewiseError):
    """An optional part of the program is not installed."""

    code = "missing-extra"
    exit_code = 7
    status = 501
    default_hint = "Install the named package."


def no_such_file(path: Path, kind: str = "file") -> tuple[str, Path]:
    """That a path is no file, in a sentence, and the folder whose files may have been meant."""
    if path.is_dir():
        return f"'{path.name or path}' is a folder; a {kind} in it is wanted.", path
    return f"There is no {kind} '{path.name}'.", path.parent

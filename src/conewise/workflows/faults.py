"""A fault of the program: said in a sentence, with what is needed to find it kept in a log."""

from __future__ import annotations

import platform
import secrets
import traceback
from importlib.metadata import version
from typing import TYPE_CHECKING

import platformdirs

from conewise.errors import ConewiseError

if TYPE_CHECKING:
    from pathlib import Path


class FaultError(ConewiseError):
    """Something that was not foreseen; the program is at fault."""

    code = "fault"

    def __init__(self, report: str, place: Path | None) -> None:
        kept = f"The details are in {place}." if place else "The details could not be written to the log folder."
        super().__init__(f"Something went wrong inside conewise; this is not your doing. Report {report}.", hint=kept)


def fault(error: Exception, *, doing: str) -> FaultError:
    """What a person is told of a fault; the log has the rest.

    Parameters
    ----------
    error : Exception
        What was raised.
    doing : str
        What was being done, for the log; without a secret in it.
    """
    report = secrets.token_hex(4)
    return FaultError(report, _write_log(error, doing, report))


def _write_log(error: Exception, doing: str, report: str) -> Path | None:
    head = f"report {report}\nconewise {version('conewise')}, Python {platform.python_version()}, {platform.platform()}"
    text = f"{head}\n{doing}\n\n{''.join(traceback.format_exception(error))}"
    try:
        folder = platformdirs.user_log_path("conewise", appauthor=False, ensure_exists=True)
        place = folder / f"report-{report}.log"
        place.write_text(text, encoding="utf-8")
    except OSError:
        return None
    return place

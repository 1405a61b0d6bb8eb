"""A run as somebody writes it down: time, cones, and what became of it. What can be read in two ways is refused."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from conewise.errors import InputError
from conewise.event.runs import LONGEST, MOST_CONES, SHORTEST

if TYPE_CHECKING:
    from conewise.event.runs import Outcome, Run

_WORDS: dict[str, Outcome] = {"dnf": "dnf", "dns": "dns", "dsq": "dsq", "off": "off"}
_RE_RUN = {"re-run", "rerun", "re run"}
_FORM = re.compile(
    r"(?P<time>[\d:.,]*)\s*(?:\+\s*(?P<plus>\d{1,2})|\(\s*(?P<bracket>\d{1,2})\s*\))?\s*(?P<word>[a-z][a-z -]*)?",
    re.IGNORECASE,
)
_SECONDS = re.compile(r"(\d{1,3})[.,](\d{1,4})")
_MINUTES = re.compile(r"(\d{1,2}):([0-5]\d)(?:[.,](\d{1,4}))?")
_NUMBER_PAD = re.compile(r"\d{5}")  # thousandths of a second, as the keys of a timer give them


class TimeFormError(InputError):
    """A time that cannot be understood, or could mean two things."""

    code = "time-form"
    default_hint = (
        "62.345, 62345 or 1:02.345; cones behind it as +1 or (1); DNF, DNS, DSQ, OFF or re-run as a word."
    )  # fmt: skip

    def __init__(self, text: str, problem: str, *, where: str) -> None:
        shown = text if len(text) <= 40 else text[:37] + "..."
        super().__init__(f"The time is '{shown}': {problem}.", where=where)


@dataclass(frozen=True, slots=True, kw_only=True)
class WrittenRun:
    """What a written time says."""

    raw_time: float | None  # [s]
    cones: int = 0
    outcome: Outcome = "timed"
    is_void: bool = False  # a re-run is granted


def written_run(text: str, *, where: str = "") -> WrittenRun:
    """The run that a text such as `62.345+1` says.

    Parameters
    ----------
    text : str
        Seconds (62.345 or 62,345), thousandths from a number pad (62345) or minutes and seconds (1:02.345); then `+N`
        or `(N)` cones; then, or alone, DNF, DNS, DSQ, OFF or re-run.
    where : str
        The place, for the message.

    Raises
    ------
    TimeFormError
        If it says something else, could mean two things, or the time is no run's.

    Examples
    --------
    >>> written_run("1:02.345 (2)")
    WrittenRun(raw_time=62.345, cones=2, outcome='timed', is_void=False)
    >>> written_run("off").outcome
    'off'
    """
    found = _FORM.fullmatch(text.strip())
    if found is None or not text.strip():
        raise TimeFormError(text, "this is neither a time nor one of the words for a run without one", where=where)
    word = re.sub(r"\s+", " ", found["word"] or "").strip().lower()
    if word and word not in _WORDS and word not in _RE_RUN:
        raise TimeFormError(text, f"'{word}' is no word for what became of a run", where=where)
    raw = _seconds(found["time"], text=text, where=where) if found["time"] else None
    cones = int(found["plus"] or found["bracket"] or 0)
    if raw is None and not word:
        raise TimeFormError(text, "the time is missing", where=where)
    if word == "dns" and (raw is not None or cones):
        raise TimeFormError(text, "a run that was not started has neither a time nor cones", where=where)
    is_void = word in _RE_RUN
    outcome = _WORDS.get(word, "timed" if raw is not None else "dnf")
    return WrittenRun(raw_time=raw, cones=min(cones, MOST_CONES), outcome=outcome, is_void=is_void)


def _seconds(time: str, *, text: str, where: str) -> float:
    """Seconds of a written time."""
    if found := _SECONDS.fullmatch(time):
        seconds = float(f"{found[1]}.{found[2]}")
    elif found := _MINUTES.fullmatch(time):
        seconds = round(60 * int(found[1]) + float(f"{found[2]}.{found[3] or 0}"), 4)
    elif _NUMBER_PAD.fullmatch(time):
        seconds = int(time) / 1000
    elif time.isdigit() and len(time) == 6:
        words = f"this could be {int(time) / 1000:.3f} s or {time[0]}:{time[1:3]}.{time[3:]}"
        raise TimeFormError(text, words, where=where)
    elif time.isdigit() and len(time) == 4:
        raise TimeFormError(text, f"this could be {int(time) / 100:.2f} s or {int(time) / 1000:.3f} s", where=where)
    elif time.isdigit() and len(time) < 4:
        raise TimeFormError(text, f"write {time}.0 if whole seconds are meant", where=where)
    else:
        raise TimeFormError(text, "this is not a time of one of the known forms", where=where)
    if not SHORTEST <= seconds <= LONGEST:
        raise TimeFormError(text, f"that is {seconds:g} s; a run takes {SHORTEST:g} to {LONGEST:g} s", where=where)
    return seconds


def written(run: WrittenRun) -> str:
    """A run as it is written: what `written_run` reads back as the same."""
    parts = []
    if run.raw_time is not None:
        whole, decimals = f"{run.raw_time:.4f}".split(".")
        parts = [f"{whole}.{decimals.rstrip('0').ljust(3, '0')}"]
    if run.cones:
        parts.append(f"+{run.cones}")
    text = "".join(parts)
    word = "re-run" if run.is_void else "" if run.outcome == "timed" else run.outcome.upper()
    return " ".join(part for part in (text, word) if part)


def said_of(run: Run) -> WrittenRun:
    """What a run says that is written in one text."""
    return WrittenRun(raw_time=run.raw_time, cones=run.cones, outcome=run.outcome, is_void=run.is_void)

"""What stands in the cells of a times file: times, whole numbers, dates, yes and no, outcomes."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from math import isfinite, nan

from conewise.proof.times import DNF, FINISHED, RERUN

SHORTEST, LONGEST = 5.0, 600.0  # of a raw time [s]
COLDEST, HOTTEST = -30.0, 75.0  # of a surface [°C]; asphalt in the sun, common practice, no source
MOST_CONES = 99

_TIME = re.compile(r"(?:(\d{1,2}):)?(\d{1,6})(?:[.,](\d{1,6}))?\s*(?:s|sec)?(?:\s*\+\s*(\d{1,2}))?", re.IGNORECASE)
_NUMBER = re.compile(r"([+-]?\d+)(?:[.,](\d+))?\s*(?:°?\s*[cf])?", re.IGNORECASE)
_THREE = re.compile(r"(\d{1,4})([-/.])(\d{1,2})\2(\d{1,4})(?:[T ].*)?")
_YES = {"1", "yes", "y", "true", "x", "with"}
_NO = {"", "0", "no", "n", "false", "-", "without", "none"}
_OUTCOMES = {
    **dict.fromkeys(("", "ok", "finished", "finish", "clean", "run", "f"), FINISHED),
    **dict.fromkeys(("dnf", "did not finish", "off", "off course", "oc", "wrong course"), DNF),
    **dict.fromkeys(("rerun", "re-run", "rr", "rerun granted", "red flag"), RERUN),
}


class UnreadableCellError(Exception):
    """A cell that is not understood, with what is wrong with it; the reader makes a finding of it."""


@dataclass(frozen=True, slots=True)
class WrittenTime:
    """A raw time [s], NaN where the cell says that the run was not finished, and cones written behind it."""

    raw: float
    cones: int | None = None
    outcome: str = FINISHED


def written_time(text: str) -> WrittenTime:
    """A raw time: seconds, or minutes and seconds, with a point or a comma; cones may stand behind a plus.

    Examples
    --------
    >>> written_time("1:02.345").raw, written_time("47,31").raw, written_time("46.02+1").cones
    (62.345, 47.31, 1)
    """
    plain = text.strip()
    outcome = _OUTCOMES.get(plain.lower(), FINISHED) if plain and not plain[0].isdigit() else FINISHED
    if not plain or outcome != FINISHED:
        return WrittenTime(nan, outcome=outcome)
    found = _TIME.fullmatch(plain)
    if found is None:
        raise UnreadableCellError(f"'{text}' is no time; write seconds such as 47.312, or 1:02.345")
    minutes, seconds, decimals, cones = found.groups()
    if minutes and int(seconds) >= 60:
        raise UnreadableCellError(f"'{text}' has {seconds} seconds in a minute")
    raw = 60.0 * int(minutes or 0) + float(f"{seconds}.{decimals or 0}")
    if not SHORTEST <= raw <= LONGEST:
        raise UnreadableCellError(f"{raw:g} s is no time of a run; wanted are {SHORTEST:g} to {LONGEST:g} s")
    return WrittenTime(raw, None if cones is None else int(cones))


def written_number(text: str) -> float:
    """A number with a point or a comma; NaN for an empty cell."""
    if not text.strip():
        return nan
    found = _NUMBER.fullmatch(text.strip())
    if found is None:
        raise UnreadableCellError(f"'{text}' is no number")
    return float(f"{found[1]}.{found[2] or 0}")


@dataclass(frozen=True, slots=True)
class WrittenSurface:
    """A temperature of the surface [°C], NaN for an empty cell, and whether its unit is not that of the column."""

    value: float
    is_other_unit: bool = False


def written_surface(text: str, *, is_fahrenheit: bool) -> WrittenSurface:
    """A temperature of the surface; a unit behind the number goes before that of the column.

    Examples
    --------
    >>> written_surface("86 F", is_fahrenheit=False)
    WrittenSurface(value=30.0, is_other_unit=True)
    """
    value, unit = written_number(text), text.strip()[-1:].upper()
    is_written = unit == "F" if unit in ("F", "C") and isfinite(value) else is_fahrenheit
    value = (value - 32.0) / 1.8 if is_written else value
    if value < COLDEST or value > HOTTEST:
        hint = "" if is_written or value < 0.0 else "; °F stand in a column surface_f, or with an F behind them"
        raise UnreadableCellError(
            f"{value:.0f} °C is no temperature of a surface; {COLDEST:.0f} to {HOTTEST:.0f} °C are{hint}"
        )
    return WrittenSurface(value, is_other_unit=is_written != is_fahrenheit)


def written_count(text: str, *, most: int) -> float:
    """A whole number from 0; NaN for an empty cell."""
    value = written_number(text)
    if isfinite(value) and (value != int(value) or not 0 <= value <= most):
        raise UnreadableCellError(f"'{text}' is no whole number from 0 to {most}")
    return value


def written_passenger(text: str) -> bool:
    """Whether a passenger was aboard."""
    plain = text.strip().lower()
    if plain not in _YES | _NO:
        raise UnreadableCellError(f"'{text}' says neither yes nor no")
    return plain in _YES


def written_outcome(text: str) -> str:
    """What became of a run."""
    plain = text.strip().lower()
    if plain not in _OUTCOMES:
        raise UnreadableCellError(f"'{text}' is no outcome; write finished, dnf or rerun")
    return _OUTCOMES[plain]


def is_day_first(texts: list[str]) -> bool | None:
    """Whether dates with slashes or dashes begin with the day; None where none of them tells."""
    parts = [found for found in (_THREE.fullmatch(text.strip()) for text in texts) if found and found[2] != "."]
    pairs = [(int(found[1]), int(found[3])) for found in parts if len(found[1]) <= 2]
    if any(first > 12 for first, _ in pairs):
        return True
    return False if any(second > 12 for _, second in pairs) else None


def written_date(text: str, *, day_first: bool | None) -> float:
    """Days since the first day of year 1; NaN for an empty cell. See `is_day_first`."""
    plain = text.strip()
    if not plain:
        return nan
    found = _THREE.fullmatch(plain)
    if found is None:
        raise UnreadableCellError(f"'{text}' is no date; write 2031-05-10")
    first, second, third = (int(found[place]) for place in (1, 3, 4))
    if len(found[1]) == 4:
        year, month, day = first, second, third
    else:
        is_day = True if found[2] == "." else day_first
        if is_day is None:
            raise UnreadableCellError(f"'{text}' may begin with the day or with the month; write 2031-05-10")
        day, month = (first, second) if is_day else (second, first)
        year = third + 2000 if third < 100 else third
    try:
        return float(date(year, month, day).toordinal())
    except ValueError:
        raise UnreadableCellError(f"'{text}' is no day of the calendar") from None

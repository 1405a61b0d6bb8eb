"""Seat time: whether it comes first, and what a driver's debriefs say that it could gain."""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from conewise.advisor.advice import FEW_RUNS
from conewise.advisor.rows import Effect
from conewise.errors import ByFace, InputError, NotFoundError

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from conewise.advisor.rows import Row
    from conewise.cars.driver import Driver

Array = NDArray[np.float64]

N_DRAWS = 2000
SEED = 21
_WHY = (
    "Seat time and safety items come first: below about {few} runs in a car a driver gains more by driving it than by "
    "a part, and what a part does cannot be told from learning (common practice, no source)."
)


class DebriefFileMissingError(NotFoundError):
    """There is no such file."""

    code = "debrief-file-missing"
    default_hint = "Name a file that holds what `conewise debrief --json` printed."

    def __init__(self, path: Path) -> None:
        super().__init__(f"There is no file '{path.name}'.", where=str(path))


class DebriefFileError(InputError):
    """A file that does not hold a debrief."""

    code = "debrief-file"
    default_hint = "Give a file with what `conewise debrief --json` printed, as it was printed."

    def __init__(self, path: Path, problem: str) -> None:
        super().__init__(f"This is no debrief of a run: {problem}.", where=str(path))


class RunsError(InputError):
    """A number of runs that cannot be."""

    code = "runs"

    def __init__(self, runs: int) -> None:
        super().__init__(
            f"The number of runs is {runs}; it must be 0 or more.",
            where=ByFace("runs", typed="--runs"),
            hint=ByFace(
                "12 says that the driver has made 12 runs in this car.",
                typed="--runs 12 says that the driver has made 12 runs in this car.",
            ),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Debriefed:
    """What one debrief says: the gap to the best possible run, and what stands out in it."""

    file: str
    course: str
    gap: float  # [s]
    causes: tuple[tuple[float, float], ...]  # seconds, and the chance that they are lost there


def read_debrief(path: Path) -> Debriefed:
    """What a debrief printed as JSON says of seat time.

    Raises
    ------
    DebriefFileMissingError
        If there is no such file.
    DebriefFileError
        If it does not hold a debrief.
    """
    if not path.is_file():
        raise DebriefFileMissingError(path)
    try:
        record = json.loads(path.read_text(encoding="utf-8-sig"))
    except (UnicodeDecodeError, json.JSONDecodeError, RecursionError):
        raise DebriefFileError(path, "it is not JSON") from None
    if not isinstance(record, dict):
        raise DebriefFileError(path, "it is not one object")
    seen = [record.get("focus"), *(record.get("also_seen") or [])]
    causes = tuple((_number(path, one, "seconds"), _chance(path, one)) for one in seen if one is not None)
    course = record.get("course")
    if not isinstance(course, str):
        raise DebriefFileError(path, "'course' is missing")
    return Debriefed(file=str(path), course=course, gap=_number(path, record, "gap_s"), causes=causes)


def _number(path: Path, record: Any, key: str) -> float:
    value = record.get(key) if isinstance(record, dict) else None
    if isinstance(value, bool) or not isinstance(value, int | float) or not np.isfinite(value):
        raise DebriefFileError(path, f"'{key}' is no number")
    return float(value)


def _chance(path: Path, cause: Any) -> float:
    """Chance of a cause; 1 where times alone name one."""
    chance = 1.0 if isinstance(cause, dict) and "chance" not in cause else _number(path, cause, "chance")
    if not 0.0 <= chance <= 1.0:
        raise DebriefFileError(path, f"a chance is {chance:g}")
    return chance


def reason_first(driver: Driver, runs: int | None) -> str:
    """Why seat time and safety items stand first for a driver; empty where they do not.

    Parameters
    ----------
    driver : Driver
    runs : int or None
        Runs made in this car; None where nobody said, which counts as few for a novice.

    Raises
    ------
    RunsError
        If the number is negative.
    """
    if runs is not None and runs < 0:
        raise RunsError(runs)
    why = _WHY.format(few=FEW_RUNS)
    if runs is None:
        said = "A novice, and nobody said how many runs in this car"
        return ByFace(f"{said}. {why}", typed=f"{said} (--runs). {why}") if driver.level == "novice" else ""
    return f"{runs} {'run' if runs == 1 else 'runs'} in this car so far. {why}" if runs < FEW_RUNS else ""


def debriefed_row(typical: Row, debriefs: Sequence[Debriefed], base: Mapping[str, float]) -> Row | None:
    """Seat time as debriefs tell it: the causes that they name, each with its chance; None without a course of ours.

    Parameters
    ----------
    typical : Row
        Seat time by typical values, whose place in the table it takes.
    debriefs : sequence of Debriefed
    base : Mapping of course to time
        The courses asked about. [s]
    """
    random = np.random.default_rng(SEED)
    effects = []
    for course, time in base.items():
        mine = [debrief for debrief in debriefs if debrief.course == course]
        if mine:
            drawn = np.mean([_drawn(debrief, random) for debrief in mine], axis=0)
            gain = float(drawn.mean())
            effects.append(Effect(course=course, linear=gain, base=time, gain=gain, draws=drawn - gain))
    if not effects:
        return None
    gaps = [debrief.gap for debrief in debriefs if debrief.course in base]
    runs = "run" if len(gaps) == 1 else "runs"
    note = (
        f"From {len(gaps)} debriefed {runs}: what stands out, each cause with its chance. All of the gap to the best "
        f"possible run is {np.mean(gaps):.2f} s, which nobody drives for a whole run."
    )
    option = replace(typical.option, name="seat time: what the debriefs name", note=note)
    return replace(typical, option=option, effects=tuple(effects))


def _drawn(debrief: Debriefed, random: np.random.Generator) -> Array:
    """Draws of the seconds that a run's causes cost, never more than its gap. [s]"""
    total = np.zeros(N_DRAWS)
    for seconds, chance in debrief.causes:
        total += seconds * (random.random(N_DRAWS) < chance)
    return np.minimum(total, max(debrief.gap, 0.0))

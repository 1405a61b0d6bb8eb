"""Where did one run lose time on another? Two recorded runs side by side, without a solve."""

from __future__ import annotations

import re
import time as clock
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from conewise.course.reference import lay_out
from conewise.errors import ByFace, InputError
from conewise.findings import in_system
from conewise.reports.debrief_answer import DebriefAnswer
from conewise.workflows.debrief import refuse_unknown_cones
from conewise.workflows.named import car_from, course_from
from conewise.workflows.recorded import measured, recorded

if TYPE_CHECKING:
    from collections.abc import Callable

    from conewise.workflows.debrief import DebriefQuestion
    from conewise.workflows.logs import Question
    from conewise.workflows.named import LogSource

_OTHER = re.compile(r"^(?P<file>.*?)(?::(?P<run>\d+))?$")


class AgainstError(InputError):
    """A second run that is none."""

    code = "against"
    default_hint = ByFace(
        "Choose a recording, and the number of a run that it has.",
        typed="Say --against 4 for run 4 of the recording, or --against other.csv:2 for run 2 of another.",
    )

    def __init__(self, told: str, what: str) -> None:
        super().__init__(f"'{told}' is no run to compare with: {what}.", where=ByFace("against", typed="--against"))


@dataclass(frozen=True, slots=True, kw_only=True)
class SecondRun:
    """What a run is compared with: its recording (None: the same) and number (None: the last finished)."""

    told: str  # as it was typed
    log: LogSource | None = None
    number: int | None = None


def second_run(told: str, named: Callable[[str], LogSource] = Path) -> SecondRun:
    """The run that `--against` names.

    Parameters
    ----------
    told : str
        A number, or a recording with or without a number behind a colon.
    named : callable, optional
        Makes a recording of what was typed for one.

    Raises
    ------
    AgainstError
        Where nothing is named.
    """
    if told.strip().isdigit():
        return SecondRun(told=told, number=int(told))
    found = _OTHER.match(told.strip())
    if found is None or not found["file"]:
        raise AgainstError(told, "there is neither a number nor a file")
    number = None if found["run"] is None else int(found["run"])
    return SecondRun(told=told, log=named(found["file"]), number=number)


def answer_comparison(
    question: DebriefQuestion,
    against: SecondRun,
    *,
    progress: Callable[[str], None],
    ask: Callable[[Question], str] | None = None,
) -> DebriefAnswer:
    """A recorded run beside another one, of the same recording or of another of the same course.

    Parameters
    ----------
    question : DebriefQuestion
        What of it concerns the recording, the course, the car and the first run.
    against : SecondRun
    progress : callable
        Told in words what is going on.
    ask : callable, optional
        As `open_log` takes it.

    Raises
    ------
    ConewiseError
        If a file cannot be used, or there is no such run.
    """
    from conewise.solver.line_results import body_of
    from conewise.workflows import predict

    began = clock.monotonic()
    path = against.log
    course, car = course_from(question.course), car_from(question.car)
    refuse_unknown_cones(question.hit, course)
    geometry = lay_out(course)
    body = body_of(predict.parameters(geometry, car))
    progress(f"Reading {question.log.name}")
    hit = {question.run: question.hit}
    day = recorded(question.log, geometry, body, options=question.options, ask=ask, hit=hit)
    other_day = day
    if path is not None:
        progress(f"Reading {path.name}")
        other_day = recorded(path, geometry, body, options=question.options, ask=ask)
    mine, other = day.run(question.run), other_day.run(against.number)
    if path is None and mine.run.number == other.run.number:
        raise AgainstError(against.told, f"it is run {mine.run.number} itself")
    assert mine.trace is not None
    assert other.trace is not None
    named = other.trace if path is None else replace(other.trace, name=f"{other.trace.name} of {path.name}")
    findings = [*day.log.findings, *day.track.findings, *mine.run.findings]
    if path is not None:
        findings += [*other_day.log.findings, *other_day.track.findings]
    return DebriefAnswer(
        car=car.name,
        geometry=mine.geometry,
        driven=mine.trace,
        other=named,
        measures=measured(day, mine, geometry=mine.geometry, body=body),
        position_rate=day.track.position_rate,
        findings=in_system((*findings, *other.run.findings), question.system),
        seconds=clock.monotonic() - began,
    )

"""A debrief without a recording: raw times and cones beside the best possible run."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from conewise.event.run_time import TimeFormError, written_run
from conewise.findings import Finding
from conewise.reports.times_answer import TimedRun, TimesAnswer, TimesFocus
from conewise.workflows.line import as_told, surface_named
from conewise.workflows.named import car_from, course_from

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray

    from conewise.solver.result import Solution
    from conewise.workflows.named import Source

PENALTY = 2.0  # for a standing cone [s]; common practice, the event's rules decide
WORTH = 0.1  # less than this is no focus [s]


def timed_run(text: str) -> TimedRun:
    """A run from words such as `46.02+1`.

    Raises
    ------
    TimeFormError
        If they are none, or the run has no time that counts.
    """
    run = written_run(text, where="--time")
    if run.raw_time is None or run.outcome != "timed" or run.is_void:
        raise TimeFormError(text, "a debrief wants runs with a time that counts", where="--time")
    return TimedRun(run.raw_time, run.cones)


def answer_times(
    times: Sequence[str], *, course: Source, car: Source, surface: str | None, progress: Callable[[str], None]
) -> TimesAnswer:
    """What times and cones say.

    Parameters
    ----------
    times : sequence of str
        In the order of the runs; see `timed_run`.
    course, car : Path or BookText
    surface : str, optional
        A factor or a name.
    progress : callable
        Told in words what is going on.

    Raises
    ------
    ConewiseError
        If a file or a time cannot be used, or there is no run to compare with.
    """
    runs = tuple(map(timed_run, times))
    told = None if surface is None else surface_named(surface)
    plan, machine = course_from(course), car_from(car)
    from conewise.workflows import predict  # after the files: a mistake in one is said without waiting

    progress("Solving the best run")
    friction = as_told(told)
    best = predict.fastest_run(plan, machine, surface=friction.value, fallback=True)
    answer = TimesAnswer(
        runs=runs, best=best, penalty=PENALTY, focus=_focus(runs, best), friction=friction, findings=best.findings
    )
    return replace(answer, findings=(*answer.findings, *_impossible(answer)))


def _focus(runs: tuple[TimedRun, ...], best: Solution) -> TimesFocus:
    """The dearer of cones and of runs that differ; pace where neither is worth a word."""
    raw = np.array([run.raw for run in runs])
    cones = sum(run.cones for run in runs)
    fastest, dear = float(raw.min()), PENALTY * cones / len(runs)
    found = [
        TimesFocus(
            cause="cones",
            seconds=dear,
            evidence=f"{_counted(cones, 'cone')} in {_counted(len(runs), 'run')}: {dear:.2f} s a run.",
            advice="Leave a hand's width more room at the cones that you hit, and look at the next one earlier.",
        ),
        TimesFocus(
            cause="spread",
            seconds=float(np.median(raw) - fastest),
            evidence=_spread_words(raw),
            advice="Drive the next run as the fastest one was driven: same braking points, same order, no experiments.",
        ),
    ]
    dearest = max(found, key=lambda focus: focus.seconds)
    if dearest.seconds >= WORTH:
        return dearest
    if fastest < best.time:
        return TimesFocus(
            cause="pace",
            seconds=fastest - best.time,
            evidence=f"The fastest run is {best.time - fastest:.2f} s faster than the best possible, without cones.",
            advice="Check that times, course and car belong together before anything else.",
        )
    return TimesFocus(
        cause="pace",
        seconds=fastest - best.time,
        evidence=f"The fastest run is {fastest - best.time:.2f} s behind the best possible one, without cones.",
        advice="Record the next run: times alone do not tell where the rest lies.",
    )


def _counted(number: int, what: str) -> str:
    return f"{number} {what}{'' if number == 1 else 's'}"


def _spread_words(raw: NDArray[np.float64]) -> str:
    """How far the runs are apart; of two there is no middle one."""
    if len(raw) == 2:
        apart = float(np.ptp(raw))
        return f"The two runs are {apart:.2f} s apart, {apart / 2.0:.2f} s a run."
    return f"The middle run is {np.median(raw) - raw.min():.2f} s behind the fastest of {len(raw)}."


def _impossible(answer: TimesAnswer) -> tuple[Finding, ...]:
    if answer.gap >= 0.0:
        return ()
    words = (
        f"The fastest run is {-answer.gap:.2f} s faster than the best possible one: car or course differ from their"
        " files, or there is more friction."
    )
    return (Finding("warning", "faster-than-possible", words),)

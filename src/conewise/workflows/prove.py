"""Did the change work, or was it just the driver learning? The whole answer of `conewise prove`."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from conewise.errors import ByFace, InputError
from conewise.proof import power
from conewise.proof.comparison import Question, compared_runs, question_of
from conewise.proof.cones import cones_of
from conewise.proof.day_to_day import run_model
from conewise.proof.effect import Effect, effect_of
from conewise.proof.times import Times
from conewise.proof.times_file import read_times, times_of
from conewise.reports.files import refuse_unwritable, write_whole
from conewise.reports.proof_answer import PlanAnswer, ProofAnswer

if TYPE_CHECKING:
    from collections.abc import Sequence

    from conewise.reports.units import Units
    from conewise.workflows.book_place import BookPlace
    from conewise.workflows.events import LoadedDay

CERTAINTY = 0.9
TYPICAL_TIME = 50.0  # of a run where none is known [s]
_LEAST_CERTAINTY, _MOST_CERTAINTY = 0.5, 0.999
_USUAL_RUNS = 6
_MOST_EFFECT = 30.0  # [s]
_MEANT = {
    "certainty": "The certainty",
    "days": "The number of days",
    "effect": "The change that is to show, in seconds,",
    "spread": "The spread of a run, in seconds,",
    "runs": "The number of runs of a day",
    "times": "The number of files of times",
}

_TYPED = {"times": "TIMES"}  # what is no option


class TestNumberError(InputError):
    """A number of a test that has no meaning, or that a test cannot have."""

    __test__ = False  # not a test, whatever its name begins with
    code = "test-number"
    default_hint = ByFace(
        "Write digits, such as 12 or 0.5.", typed="conewise prove --help lists what each option takes."
    )

    def __init__(self, name: str, value: float | str, wanted: str) -> None:
        found = f"'{value}'" if isinstance(value, str) else f"{value:g}"
        super().__init__(
            f"{_MEANT[name]} is {found}; wanted is {wanted}.", where=ByFace(name, typed=_TYPED.get(name, f"--{name}"))
        )


def prove(
    times: Path | Times, *, before: str = "", after: str = "", drivers: Sequence[str] = (), certainty: float = CERTAINTY
) -> ProofAnswer:
    """Did the change work?

    Parameters
    ----------
    times : Path or Times
        A times file, or runs that were read before.
    before, after : str, optional
        The set-ups compared. Where there are two and they are not named, the one driven first is before the change.
    drivers : sequence of str, optional
        Drivers whose change is judged; all who drove both set-ups where left out.
    certainty : float, default 0.9
        Probability of the interval.

    Returns
    -------
    ProofAnswer
        With the effect, or with why the times cannot tell and what to do.

    Raises
    ------
    TestNumberError
        If `certainty` is none.
    conewise.proof.times_file.TimesFileError, conewise.proof.times_file.TimesFileMissingError
        If the file cannot be used.
    conewise.proof.comparison.UnknownNameError, conewise.proof.comparison.WhichSetupsError
        If it is not clear what is compared.
    """
    _within("certainty", certainty, _LEAST_CERTAINTY, _MOST_CERTAINTY)
    runs = times if isinstance(times, Times) else read_times(times)
    question = question_of(runs, before=before, after=after, drivers=drivers)
    found = effect_of(runs, question, level=certainty)
    effect, untold = (found, None) if isinstance(found, Effect) else (None, found)
    answer = ProofAnswer(
        times=runs,
        question=question,
        effect=effect,
        untold=untold,
        cones=cones_of(runs, question, level=certainty),
        plan=None,
        certainty=certainty,
        findings=(*runs.findings, *(effect.findings if effect else ())),
    )
    return answer if answer.verdict in {"helped", "hurt"} else replace(answer, plan=_next_test(answer))


def times_named(words: Sequence[str | Path], place: BookPlace) -> Path | Times:
    """The runs of a times file, or of events of the book by their ids.

    Raises
    ------
    NoSuchRecordError, NoBookError
        If there is neither such a file nor such an event.
    TestNumberError
        If several files are named; one file holds a whole season.
    """
    from conewise.workflows.events import load_day

    paths = [Path(word) for word in words]
    if any(path.is_file() or path.suffix for path in paths):
        if len(paths) > 1:
            raise TestNumberError("times", len(paths), "one file, or events of the book")
        return paths[0]
    return recorded_times([load_day(path, source=place) for path in paths])


def recorded_times(days: Sequence[LoadedDay]) -> Times:
    """The runs of event days as times, with the set-up that each was driven with.

    Raises
    ------
    conewise.proof.times_file.TimesFileError
        If none of them can be used.
    """
    table = io.StringIO()
    rows = csv.writer(table)
    rows.writerow(("date", "event", "driver", "run", "raw_time_s", "cones", "outcome", "setup", "passenger"))
    for loaded in days:
        event = loaded.day.event
        for run in loaded.day.runs:
            if run.outcome == "dns":
                continue
            outcome = "rerun" if run.is_void else "finished" if run.outcome == "timed" else "dnf"
            time = "" if run.raw_time is None else f"{run.raw_time:.4f}"
            rows.writerow(
                (event.day.isoformat(), event.id, run.person, run.order, time, run.cones, outcome, run.set_up,
                 "yes" if run.passenger else "no")
            )  # fmt: skip
    ids = ", ".join(loaded.day.event.id for loaded in days)
    return times_of(table.getvalue(), file=f"runs of {ids}")


def plan_test(
    *,
    runs: int | None = None,
    days: int = 1,
    effect: float | None = None,
    spread: float | None = None,
    certainty: float = CERTAINTY,
    times: Path | Times | None = None,
) -> PlanAnswer:
    """A test of a change: in which order to drive, and what that can show.

    Parameters
    ----------
    runs : int, optional
        Runs of each day. Where left out, as many as `effect` needs; without that, 6.
    days : int, default 1
        Days of the test, where `runs` is given.
    effect : float, optional
        Change that is to show. [s]
    spread : float, optional
        Standard deviation of a run about the driver's own pace. [s] Where left out that of the file's runs; without a
        file 0.8% of 50 s (common practice, no source).
    certainty : float, default 0.9
        Probability of the interval that then leaves zero out.
    times : Path or Times, optional
        Earlier runs of the same drivers.

    Raises
    ------
    TestNumberError
        If a number is outside what a test can have.
    """
    _within("certainty", certainty, _LEAST_CERTAINTY, _MOST_CERTAINTY)
    _within("days", days, 1, power.MOST_DAYS)
    if effect is not None:
        _within("effect", effect, 0.01, _MOST_EFFECT)
    if spread is not None:
        _within("spread", spread, 0.01, _MOST_EFFECT)
    known, source = _spread(spread, times)
    if runs is None and effect is not None:
        planned = power.runs_needed(effect / known, certainty=certainty)
    else:
        runs = _USUAL_RUNS if runs is None else runs
        _within("runs", runs, power.FEWEST + (days == 1), power.MOST)
        planned = power.planned(power.best_orders(runs, days, 2))
    return PlanAnswer(spread=known, spread_from=source, wanted=effect, planned=planned, certainty=certainty)


def _spread(spread: float | None, times: Path | Times | None) -> tuple[float, str]:
    """Standard deviation of a run, and where it is known from."""
    if spread is not None:
        return spread, "as given"
    if times is None:
        return power.TYPICAL_SPREAD * TYPICAL_TIME, "typical of a regular driver, an estimate"
    found = _spread_of(times if isinstance(times, Times) else read_times(times))
    return found or (power.TYPICAL_SPREAD * TYPICAL_TIME, "typical of a regular driver, an estimate")


def _spread_of(times: Times) -> tuple[float, str] | None:
    """The spread of the file's runs about each driver's day; None where there are too few."""
    everyone = compared_runs(replace(times, setup=np.full(times.setup.shape, "")), Question(before="", after=""))
    model = run_model(everyone) if everyone.log_time.size else None
    if model is None:
        return None
    best = model[0].best.fit
    share = float(np.sqrt(np.average(best.variance, weights=best.weight) * np.median(model[0].variance)))
    events = range(int(everyone.event.max()) + 1)
    typical = np.mean([np.median(everyone.log_time[everyone.event == event]) for event in events])
    return share * float(np.exp(typical)), "that of the runs in this file"


def _next_test(answer: ProofAnswer) -> PlanAnswer:
    """What the next test needs to show as much as the best estimate, or what a usual day can show."""
    typical = power.TYPICAL_SPREAD * TYPICAL_TIME, "typical of a regular driver, an estimate"
    spread, source = _spread_of(answer.times) or typical
    wanted = abs(answer.effect.effect) if answer.effect is not None else None
    if wanted is not None and answer.effect is not None and answer.effect.basis == "same-day":
        spread, source = answer.effect.spread, "that of these runs"
    planned = None if wanted is None else power.runs_needed(wanted / spread, certainty=answer.certainty)
    if planned is None:
        wanted, planned = None, power.planned(power.best_orders(_USUAL_RUNS, 1, 2))
    return PlanAnswer(spread=spread, spread_from=source, wanted=wanted, planned=planned, certainty=answer.certainty)


def _within(name: str, value: float, low: float, high: float) -> None:
    if not low <= value <= high:
        raise TestNumberError(name, value, f"a number from {low:g} to {high:g}")


def refuse_proof_files(*, report: Path | None, svg: Path | None) -> None:
    """Say before the work that a file cannot be written; raises as `refuse_unwritable`."""
    if report is not None:
        refuse_unwritable(report, "A report", ".html", ".htm")
    if svg is not None:
        refuse_unwritable(svg, "A picture", ".svg")


def write_proof(answer: ProofAnswer, units: Units, *, report: Path | None = None, svg: Path | None = None) -> None:
    """Write the report and the picture that were asked for; raises `UnwritableFileError`."""
    if report is not None:
        from conewise.reports.proof_report import proof_html

        write_whole(report, proof_html(answer, units).encode())
    if svg is not None:
        from conewise.reports.proof_figure import proof_svg

        write_whole(svg, proof_svg(answer).encode())

"""The solves behind one answer of `line`: every side, hold or shift, every pace, each from its nearest neighbour."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from conewise.course.passable import impassable
from conewise.course.reference import permitted_choices
from conewise.errors import ConvergenceError, telling
from conewise.findings import Finding
from conewise.reports.answer import BuildUpRow, GearChoice, KeySpeed, SideChoice
from conewise.solver.fine_prices import finely_priced
from conewise.solver.min_time import Run, Settings
from conewise.vehicle import derived
from conewise.workflows import predict
from conewise.workflows.sides import in_words, noted, on_every_side

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from conewise.cars.car import Car
    from conewise.cars.driver import Driver
    from conewise.course.layout import Course
    from conewise.solver.result import Solution
    from conewise.workflows.sides import Choices

_ENDS = {"start", "finish"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Chosen:
    """The fastest run, and what it was compared with."""

    solution: Solution
    choices: Choices  # side at every open feature
    settings: Settings | None = None  # of the gears; None for the solver's own
    gears: tuple[GearChoice, ...] = ()
    sides: tuple[SideChoice, ...] = ()


@dataclass(frozen=True, kw_only=True)
class LineSolves:
    """One course, car and driver, solved under several conditions."""

    course: Course
    car: Car
    driver: Driver
    level: str
    pace: float
    surface: float
    progress: Callable[[str], None]
    failed: list[tuple[float, str]] = field(default_factory=list)  # time and words of runs that failed a check

    def doubts(self, shown: Solution) -> tuple[Finding, ...]:
        """Which other runs failed a check; the run that is shown says so itself."""
        others = dict.fromkeys(words for time, words in self.failed if time != shown.time)
        if not others:
            return ()
        message = f"Do not rely on the times of {'; '.join(others)}."
        return (Finding("warning", "check-failed", message),)

    def best(self) -> Chosen:
        """The fastest run over the permitted sides and the ways to use the gears.

        Returns
        -------
        Chosen
            The quasi-steady fallback where the transient level finds no run on any side.
        """
        impassable = self._impassable()
        with telling(impassable):
            return self._best(impassable)

    def _impassable(self) -> tuple[Finding, ...]:
        """Gates and slaloms that this car cannot get through, whatever a run says that looks at cones alone."""
        return tuple(
            impassable(
                self.course, car_width=self.car.value("body.width"), turning_radius=derived.turning_radius(self.car)
            )
        )

    def _best(self, impassable: Sequence[Finding]) -> Chosen:
        options = permitted_choices(self.course)
        sides = on_every_side(options, lambda option: self._on_side(option, is_choice=len(options) > 1))
        if not sides.solved and sides.stopped and self.level == "transient":
            self.progress("Solving the fallback")
            fallback = predict.fallback_run(self.course, self.car, sides, **self._conditions)
            return Chosen(solution=noted(fallback, impassable), choices=fallback.choices)
        choices, fastest = sides.best
        chosen = Chosen(solution=fastest, choices=choices, sides=_side_choices(sides.solved))
        if self.level == "transient":
            chosen = self._held(chosen)
        return replace(chosen, solution=noted(chosen.solution, (*sides.findings, *impassable)))

    def priced(self, chosen: Chosen) -> Chosen:
        """The chosen run with the prices that are told."""
        self.progress("Pricing the cones")
        return replace(chosen, solution=finely_priced(chosen.solution))

    def graded(self, chosen: Chosen) -> Chosen:
        """The chosen run with gradients that hold to both sides where the engine comes to its limiter."""
        if not chosen.solution.gradients:
            return chosen
        self.progress("Weighing more and less gearing")
        return replace(chosen, solution=predict.graded_to_both_sides(chosen.solution, self.car, **self._conditions))

    def time_deviation(self, chosen: Chosen) -> float | None:
        """One standard deviation of the chosen run's time by the numbers of the car; None of another level. [s]"""
        run = chosen.solution.warm
        return predict.doubt_of_car(run, self.car, driver=self.driver) if isinstance(run, Run) else None

    def again(self, what: str, chosen: Chosen, **conditions: Any) -> Solution:
        """The chosen run under other conditions, from where it is; a fallback where neither warm nor cold start works.

        Parameters
        ----------
        what : str
            For the progress.
        chosen : Chosen
            Its sides and gears are kept.
        **conditions
            `pace` or `surface`.
        """
        kept = {"choices": chosen.choices, "settings": chosen.settings} | conditions
        if chosen.solution.fallback is None and self.level == "transient":
            try:
                return self._solved(what, start=chosen.solution, **kept)
            except ConvergenceError:
                self.progress(f"{what}, from the beginning")
        return self._solved(what, fallback=True, **kept)

    def build_up(self, chosen: Chosen, paces: Sequence[float]) -> tuple[BuildUpRow, ...]:
        """Times and slowest speeds at several paces, each solved from its neighbour.

        Parameters
        ----------
        chosen : Chosen
            The run at this object's own pace.
        paces : sequence of float
            Rising shares of the friction, this object's own among them.

        Notes
        -----
        A pace that only the fallback could answer would stand beside runs of another level; its row is left out.
        """
        runs = {self.pace: chosen.solution}
        below = [pace for pace in reversed(paces) if pace < self.pace]
        above = [pace for pace in paces if pace > self.pace]
        for chain in (below, above):
            near = chosen
            for pace in chain:
                run = self.again(f"Solving the run at pace {pace:.2f}", near, pace=pace)
                if (run.fallback is None) == (chosen.solution.fallback is None):
                    runs[pace] = run
                    near = replace(near, solution=run)
        return tuple(_row(pace, runs[pace]) for pace in paces if pace in runs)

    def _on_side(self, option: Choices, *, is_choice: bool) -> Solution:
        """The run on one side of every open feature."""
        return self._solved(f"Solving the run ({in_words(option)})" if is_choice else "Solving the run", choices=option)

    def _held(self, chosen: Chosen) -> Chosen:
        """The fastest of shifting, holding the gear that the run uses most, and first gear in slow corners too."""
        gears, counts = np.unique(chosen.solution.gear, return_counts=True)
        if len(gears) < 2:
            return chosen
        warm = chosen.solution.warm
        own = warm.settings if isinstance(warm, Run) else Settings()
        gear = int(gears[np.argmax(counts)])
        others = {
            f"hold {ordinal(gear)}": replace(own, hold=gear),
            "shift, 1st in slow corners": replace(own, lowest=1),
        }
        solved: list[tuple[str, Solution, Settings | None]] = [("shift", chosen.solution, chosen.settings)]
        notes = []
        for label, settings in others.items():
            try:
                run = self._solved(
                    f"Solving the run, {label}", start=chosen.solution, settings=settings, choices=chosen.choices
                )
            except ConvergenceError:
                words = f"The run with '{label}' could not be solved for comparison."
                notes.append(Finding("note", "hold-unsolved", words))
            else:
                if run.is_checked or not chosen.solution.is_checked:
                    solved.append((label, run, settings))
                else:
                    words = f"The run with '{label}' failed a check and is left out of the comparison."
                    notes.append(Finding("note", "hold-unsolved", words))
        fastest = min(solved, key=lambda row: row[1].time)
        compared = tuple(GearChoice(label=label, time=run.time, is_best=run is fastest[1]) for label, run, _ in solved)
        best = noted(fastest[1], notes)
        return replace(chosen, solution=best, settings=fastest[2], gears=compared if len(solved) > 1 else ())

    @property
    def _conditions(self) -> dict[str, Any]:
        return {"driver": self.driver, "pace": self.pace, "surface": self.surface}

    def _solved(self, what: str, **conditions: Any) -> Solution:
        self.progress(what)
        asked = self._conditions | conditions
        if self.level == "transient":
            asked["progress"] = lambda words, time: self.progress(f"{what}: {words}, {time:.2f} s")
        solution = predict.fastest_run(self.course, self.car, level=self.level, **asked)
        names = ", ".join(check.name for check in solution.checks if not check.ok)
        if names:
            self.failed.append((solution.time, f"{what.removeprefix('Solving ')}: it failed a check ({names})"))
        return solution


def ordinal(number: int) -> str:
    """1st, 2nd, 3rd, 4th: enough for gears."""
    endings = {1: "st", 2: "nd", 3: "rd"}
    return f"{number}{endings.get(number, 'th')}"


def _side_choices(runs: Sequence[tuple[Choices, Solution]]) -> tuple[SideChoice, ...]:
    """The runs of every permitted choice, given fastest first."""
    varied = [name for name in runs[0][0] if len({option[name] for option, _ in runs}) > 1]
    if not varied:
        return ()
    return tuple(
        SideChoice(
            feature=", ".join(varied),
            side=", ".join(option[name] for name in varied),
            time=run.time,
            is_best=run is runs[0][1],
        )
        for option, run in runs
    )


def _row(pace: float, solution: Solution) -> BuildUpRow:
    speeds = (KeySpeed(feature=f.id, speed=f.slowest_speed) for f in solution.features if f.kind not in _ENDS)
    return BuildUpRow(pace=pace, time=solution.time, speeds=tuple(speeds))

"""Times of a car with its settings at any position: exact solves on every course, with what they leave open."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from conewise.advisor.click_search import Solved
from conewise.advisor.kinds import MODEL_PARTS
from conewise.advisor.rows import Effect, Option, Row
from conewise.sweeps import Question, slopes_and_lean, sweep
from conewise.vehicle import build
from conewise.vehicle.file_slopes import shared_name
from conewise.vehicle.staging import staged_like

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from conewise.cars.car import Car
    from conewise.sweeps import Base, Resolved
    from conewise.vehicle.parameters import ModelParameters
    from conewise.workflows.directions import Work
    from conewise.workflows.effects import Bases
    from conewise.workflows.setting_positions import Position, Space

Array = NDArray[np.float64]

PART = 0.1  # of a standard deviation over which the way from the car file to the model is followed


@dataclass(frozen=True, kw_only=True)
class At:
    """One position, solved on every course."""

    car: Car
    p: ModelParameters
    times: Array  # shape (n_courses,); NaN where no run was found [s]
    slopes: Array  # of the times by the model's numbers, shape (n_courses, n_parameters)
    leans: Array  # friction use front less rear at the limit, shape (n_courses,)
    closure: float = 0.0  # how far the round trips stay open, the worst [s]
    own_mesh: bool = False
    stopped: str = ""  # why there is no time


@dataclass(kw_only=True)
class SettingSolves:
    """The solves of one question; every position is solved once."""

    work: Work
    space: Space
    bases: Bases
    weights: Array  # of the courses; they sum to 1
    step: Callable[[int], None]  # told how many runs are solved
    known: dict[Position, At] = field(default_factory=dict)
    n_solves: int = 0
    deviations: dict[Position, dict[str, Array]] = field(default_factory=dict)

    def parameters(self, position: Position, drawn: Mapping[str, float] | None = None) -> ModelParameters:
        """The model's numbers at a position; staging is left to the course."""
        return self.work.parameters(self.space.car_at(position, drawn))

    def solved(self, positions: Sequence[Position]) -> list[At]:
        """Positions solved on every course, each from the run with the settings as they are."""
        new = [position for position in dict.fromkeys(positions) if position not in self.known]
        if self.space.now in new:
            self.known[self.space.now] = self._now()
            new.remove(self.space.now)
        if new:
            self._sweep(new)
        return [self.known[position] for position in positions]

    def evaluate(self, positions: Sequence[Position]) -> list[Solved]:
        """The same as the search asks for it: weighted times and their slopes a click."""
        found = zip(positions, self.solved(positions), strict=True)
        return [self._told(position, at) for position, at in found]

    def curvature(self, position: Position) -> Array:
        """What the way from settings to the model's numbers bends the time by, [s] a click squared; diagonal."""
        at = self.known[position]
        diagonal = [
            self._weighted(at, self._moved(position, k, 1) - 2.0 * at.p.vector() + self._moved(position, k, -1))
            if 0 < position[k] < self.space.last[k]
            else 0.0
            for k in range(len(position))
        ]
        return np.diag(diagonal)

    def row(self, before: Position, after: Position, *, kind: str, name: str) -> Row:
        """What one position gains over another, with its interval; not solved where either is not."""
        one, other = self.solved([before, after])
        option = Option(name=name, kind=kind)
        if one.stopped or other.stopped:
            effect = Effect(course="all", linear=np.nan, stopped=one.stopped or other.stopped)
            return Row(option=option, effects=(effect,))
        common = self._deviation(before).copy()
        for source, value in self._deviation(after).items():
            common[source] = common.get(source, np.zeros_like(value)) - value
        effect = Effect(
            course="all",
            linear=-self._weighted(one, other.p.vector() - one.p.vector()),
            gain=float(self.weights @ (one.times - other.times)),
            closure=max(one.closure, other.closure),
            common={source: float(self.weights @ value) for source, value in common.items()},
            lean=(float(self.weights @ one.leans), float(self.weights @ other.leans)),
            own_mesh=one.own_mesh or other.own_mesh,
        )
        return Row(option=option, effects=(effect,))

    def joint_kind(self, before: Position, after: Position) -> str:
        """The kind with the widest model part of what differs between two positions."""
        kinds = [
            adjustable.setting.kind
            for adjustable, a, b in zip(self.space.adjustables, before, after, strict=True)
            if a != b
        ]
        return max(kinds, key=lambda kind: MODEL_PARTS[kind].share, default="other")

    def time(self, position: Position) -> float:
        """Weighted time; NaN where no run was found. [s]"""
        return float(self.weights @ self.solved([position])[0].times)

    def _now(self) -> At:
        car = self.space.car
        return At(
            car=car,
            p=self.work.parameters(car),
            times=np.array([base.point.time for base in self.bases.bases]),
            slopes=np.array(self.bases.slopes),
            leans=np.array(self.bases.leans),
        )

    def _sweep(self, positions: Sequence[Position]) -> None:
        cars = {position: self.space.car_at(position) for position in positions}
        numbers = {position: self.work.parameters(car) for position, car in cars.items()}
        questions = [
            Question(
                course=k,
                name=str(position),
                p=staged_like(numbers[position], base.p),
                shift_time=build.gearbox(cars[position]).shift_time,
            )
            for position in positions
            for k, base in enumerate(self.bases.bases)
        ]

        def tell(_answer: Resolved) -> None:
            self.n_solves += 1
            self.step(self.n_solves)

        answers = iter(sweep(self.bases.bases, questions, workers=self.work.workers, tell=tell))
        for position in positions:
            found = [next(answers) for _ in self.bases.bases]
            self._improve(found)
            self.known[position] = _at(cars[position], numbers[position], found, self.bases.bases)

    def _improve(self, answers: Sequence[Resolved]) -> None:
        """Take a faster run with the settings as they are that a way back found."""
        for k, answer in enumerate(answers):
            if answer.better is None or answer.better.point.time >= self.bases.bases[k].point.time:
                continue
            self.bases.bases[k] = answer.better
            self.bases.slopes[k], self.bases.leans[k] = slopes_and_lean(answer.better.run())
            if self.space.now in self.known:
                self.known[self.space.now] = self._now()
                self.deviations.pop(self.space.now, None)

    def _told(self, position: Position, at: At) -> Solved:
        if at.stopped:
            return Solved(at=position, time=np.inf, slope=np.zeros(len(position)))
        slope = [self._slope(position, at, k) for k in range(len(position))]
        return Solved(at=position, time=float(self.weights @ at.times), slope=np.array(slope))

    def _slope(self, position: Position, at: At, k: int) -> float:
        """Slope of the weighted time by one setting. [s] a click"""
        low, high = max(0, position[k] - 1), min(self.space.last[k], position[k] + 1)
        change = self._moved(position, k, high - position[k]) - self._moved(position, k, low - position[k])
        return self._weighted(at, change) / (high - low)

    def _moved(self, position: Position, k: int, clicks: int) -> Array:
        """The model's numbers with one setting moved."""
        moved = (*position[:k], position[k] + clicks, *position[k + 1 :])
        return self.parameters(moved).vector()

    def _weighted(self, at: At, change: Array) -> float:
        """What a change of the model's numbers does to the weighted time, by the slopes. [s]"""
        return float(self.weights @ (at.slopes @ change))

    def _deviation(self, position: Position) -> dict[str, Array]:
        """Deviations of the times for one standard deviation of all that is uncertain, by name; [s] a course."""
        if position not in self.deviations:
            self.deviations[position] = self._deviated(position)
        return self.deviations[position]

    def _deviated(self, position: Position) -> dict[str, Array]:
        at = self.known[position]
        here = at.p.vector()
        found: dict[str, Array] = {}
        for name in self._uncertain:
            value = self.space.car.values[name]
            near = build.with_parameter(at.car, name, at.car.value(name) + PART * value.uncertainty)
            source = shared_name(name, self.space.car.values)
            deviation = at.slopes @ (self.work.parameters(near).vector() - here) / PART
            found[source] = found.get(source, 0.0) + deviation
        for name in self.space.draws:
            found[name] = at.slopes @ (self.parameters(position, {name: 1.0}).vector() - here)
        return found

    @cached_property
    def _uncertain(self) -> tuple[str, ...]:
        """Numbers of the car file that the model knows and that are not exact."""
        car = self.space.car
        names = (facts.name for facts in build.file_parameters(car))
        return tuple(name for name in names if car.values[name].uncertainty > 0.0)


def _at(car: Car, p: ModelParameters, answers: Sequence[Resolved], bases: Sequence[Base]) -> At:
    """The answers of one position, one a course."""
    size = len(p.vector())
    gaps = [abs(answer.back - base.point.time) for answer, base in zip(answers, bases, strict=True)]
    return At(
        car=car,
        p=p,
        times=np.array([answer.time for answer in answers]),
        slopes=np.array([np.zeros(size) if answer.slopes is None else answer.slopes for answer in answers]),
        leans=np.array([answer.lean for answer in answers]),
        closure=float(np.nanmax([0.0, *gaps])),
        own_mesh=any(answer.own_mesh for answer in answers),
        stopped=next((answer.stopped for answer in answers if answer.stopped), ""),
    )

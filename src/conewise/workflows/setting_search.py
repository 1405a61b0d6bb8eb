"""The search behind `conewise settings`: from the settings as they are to the best that can be told, and around it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from conewise.advisor.click_search import Search
from conewise.advisor.kinds import CAUTIONS
from conewise.advisor.rows import NUMERICAL
from conewise.cars.car import field
from conewise.errors import ConvergenceError
from conewise.reports.settings_answer import (
    SHOWN,
    BoundRow,
    CourseTime,
    Gain,
    OneClick,
    RangeEnd,
    SettingRow,
    SettingsAnswer,
)
from conewise.solver.min_time import rerun
from conewise.vehicle.derived import safety_findings
from conewise.vehicle.staging import staged_like
from conewise.workflows.effects import solved_bases
from conewise.workflows.setting_bounds import NoAllowedSettingError, bounds_of
from conewise.workflows.setting_handling import handling_lines
from conewise.workflows.setting_solves import SettingSolves

if TYPE_CHECKING:
    from collections.abc import Callable

    from conewise.advisor.rows import Row
    from conewise.reports.settings_answer import Verdict
    from conewise.vehicle.parameters import ModelParameters
    from conewise.workflows.setting_bounds import Held
    from conewise.workflows.setting_positions import Asked, Position

MOST_WITHOUT = 4  # solves that look for what one bound costs


def searched(asked: Asked, *, progress: Callable[[str], None], step: Callable[[int], None]) -> SettingsAnswer:
    """The whole answer to a question that was read; see `settings.answer_settings`."""
    work, space = asked.work, asked.space
    numbers: dict[Position, ModelParameters] = {}

    def numbers_at(position: Position) -> ModelParameters:
        if position not in numbers:
            numbers[position] = work.parameters(space.car_at(position))
        return numbers[position]

    held = bounds_of(numbers_at, space=space, level=work.driver.level, surface=work.surface)
    progress("Looking at the bounds")
    start = _search(space.last, held).allowed_start(space.now)
    if start is None:
        raise NoAllowedSettingError([bound.asks for bound in held])
    bases = solved_bases(work, progress)
    progress("Solving other settings")
    solves = SettingSolves(work=work, space=space, bases=bases, weights=np.array(asked.weights), step=step)
    search = _search(space.last, held, solves)
    solves.solved([space.now, start])
    found = search.run(start, curvature=solves.curvature(start))
    look = _Look(asked=asked, solves=solves, search=search, held=held, start=start, peak=found.best.at)
    return look.answer(curvature=found.curvature)


def _search(last: Position, held: tuple[Held, ...], solves: SettingSolves | None = None) -> Search:
    return Search(
        last=last,
        evaluate=solves.evaluate if solves is not None else lambda _points: [],
        bounds=[bound.bound for bound in held],
        tolerance=NUMERICAL,
    )


@dataclass(kw_only=True)
class _Look:
    """What stands around the fastest position that a search found."""

    asked: Asked
    solves: SettingSolves
    search: Search
    held: tuple[Held, ...]
    start: Position  # the settings as they are, or the nearest that keep the bounds
    peak: Position  # the fastest by the model alone

    def answer(self, *, curvature: np.ndarray) -> SettingsAnswer:
        """Everything that the faces show."""
        space, solves = self.asked.space, self.solves
        now, best = space.now, self._told()
        bounds = tuple(self._bound(bound, best, curvature) for bound in self.held)
        rows = tuple(self._row(k, best) for k in range(len(now)))
        together = None
        if best != now:
            together = gain_of(solves.row(now, best, kind=solves.joint_kind(now, best), name="together"))
        before, after = solves.solved([now, best])
        return SettingsAnswer(
            car=space.car.name,
            driver=self.asked.work.driver.level,
            surface=self.asked.work.surface,
            courses=tuple(
                CourseTime(name=course.name, weight=weight, now=float(a), best=float(b))
                for course, weight, a, b in zip(
                    self.asked.work.courses, self.asked.weights, before.times, after.times, strict=True
                )
            ),
            rows=rows,
            not_moved=tuple((fixed.name, fixed.reason) for fixed in space.not_moved),
            bounds=bounds,
            range_ends=self._range_ends(best),
            together=together,
            leaning=self._leaning(best),
            handling=handling_lines(before, after, weights=solves.weights, surface=self.asked.work.surface),
            cautions=self._cautions(),
            findings=tuple(safety_findings(after.car)),
            notes=self.asked.notes,
            doubts=(*solves.bases.doubts, *self._doubts(best)),
            n_solves=solves.n_solves,
            repaired="" if self.start == now else "as they are, a bound is not kept.",
        )

    def _told(self) -> Position:
        """The fastest position without moves whose gain cannot be told or shown, the least certain taken back first."""
        best = self.peak
        while True:
            without = {k: self._back(best, k) for k in range(len(best)) if best[k] != self.start[k]}
            allowed = {k: at for k, at in without.items() if self.search.is_allowed(at)}
            if any(at.stopped for at in self.solves.solved([*allowed.values()])):
                return self.start  # what cannot be compared is not told
            gains = {k: self._row_between(at, best, k) for k, at in allowed.items()}
            doubtful = [k for k, gain in gains.items() if not _is_shown(gain)]
            if not doubtful:
                return best if self._is_worth(best) else self.start
            best = allowed[min(doubtful, key=lambda k: gains[k].low)]

    def _is_worth(self, best: Position) -> bool:
        """Whether all moves together gain for sure; a bound may keep single ones from being taken back."""
        if best == self.start:
            return True
        kind = self.solves.joint_kind(self.start, best)
        return _is_shown(gain_of(self.solves.row(self.start, best, kind=kind, name="together")))

    def _leaning(self, best: Position) -> Gain | None:
        """What the model's own best would gain over what can be told; None where they are the same."""
        if self.peak == best:
            return None
        kind = self.solves.joint_kind(best, self.peak)
        return gain_of(self.solves.row(best, self.peak, kind=kind, name="leaning"))

    def _back(self, position: Position, k: int) -> Position:
        """A position with one setting back where the search began."""
        return (*position[:k], self.start[k], *position[k + 1 :])

    def _row_between(self, before: Position, after: Position, k: int) -> Gain:
        adjustable = self.asked.space.adjustables[k]
        return gain_of(self.solves.row(before, after, kind=adjustable.setting.kind, name=adjustable.name))

    def _row(self, k: int, best: Position) -> SettingRow:
        space = self.asked.space
        adjustable, now = space.adjustables[k], space.now
        facts = field(adjustable.setting.field)
        alone = (*now[:k], best[k], *now[k + 1 :])
        is_moved = best[k] != now[k]
        up, down = (self._one_click(k, best, way) for way in (1, -1))
        return SettingRow(
            name=adjustable.name,
            kind=adjustable.setting.kind,
            field=adjustable.setting.field,
            dimension=facts.dimension,
            unit=facts.shown,
            now=adjustable.value_at(now[k]),
            best=adjustable.value_at(best[k]),
            low=adjustable.value_at(0),
            high=adjustable.value_at(space.last[k]),
            clicks=best[k] - now[k],
            leaning=adjustable.value_at(self.peak[k]),
            verdict=_verdict(is_moved=is_moved, clicks=(up, down)),
            alone=self._row_between(now, alone, k) if is_moved else None,
            in_company=self._row_between(self._back(best, k), best, k) if best[k] != self.start[k] else None,
            up=up,
            down=down,
            note=adjustable.setting.note,
        )

    def _one_click(self, k: int, best: Position, way: int) -> OneClick:
        adjustable = self.asked.space.adjustables[k]
        aim = best[k] + way
        if not 0 <= aim <= self.asked.space.last[k]:
            end = adjustable.high_end if way > 0 else adjustable.low_end
            return OneClick(reason=end or "end of its range")
        position = (*best[:k], aim, *best[k + 1 :])
        broken = [bound.name for bound in self.held if not bound.bound.holds(position)]
        if broken:
            return OneClick(reason=f"not allowed: {broken[0]}")
        if stopped := self.solves.solved([position])[0].stopped:
            return OneClick(reason=f"not solved: {stopped}")
        return OneClick(cost=self._row_between(best, position, k).turned)

    def _bound(self, held: Held, best: Position, curvature: np.ndarray) -> BoundRow:
        """A bound with what it costs: the search again without it, from the fastest position with it."""
        others = [bound.bound for bound in self.held if bound is not held]
        free = Search(
            last=self.search.last,
            evaluate=self.solves.evaluate,
            bounds=others,
            tolerance=NUMERICAL,
            most_solved=MOST_WITHOUT,
            known=self.search.known,
        )
        faster = free.steps_from(self.peak, curvature)
        gained = self.solves.time(self.peak) - faster.time
        binds = not held.bound.holds(faster.at) and gained > 0.0
        return BoundRow(
            name=held.name,
            asks=held.asks,
            before=held.scale * held.at(self.asked.space.now),
            after=held.scale * held.at(best),
            least=held.scale * held.least,
            unit=held.unit,
            digits=held.digits,
            cost=gained if binds else None,
        )

    def _range_ends(self, best: Position) -> tuple[RangeEnd, ...]:
        """Moved settings that stand at an end and would gain by going on."""
        slope = self.solves.evaluate([best])[0].slope
        found = []
        for k, adjustable in enumerate(self.asked.space.adjustables):
            if best[k] == self.asked.space.now[k]:
                continue
            if best[k] == self.asked.space.last[k] and -slope[k] > NUMERICAL:
                found.append(RangeEnd(name=adjustable.name, end=adjustable.high_end or "its range", cost=-slope[k]))
            if best[k] == 0 and slope[k] > NUMERICAL:
                found.append(RangeEnd(name=adjustable.name, end=adjustable.low_end or "its range", cost=slope[k]))
        return tuple(found)

    def _cautions(self) -> tuple[str, ...]:
        kinds = [adjustable.setting.kind for adjustable in self.asked.space.adjustables]
        found = [caution for kind in dict.fromkeys(kinds) for caution in CAUTIONS[kind]]
        return tuple(dict.fromkeys(found))

    def _doubts(self, best: Position) -> list[str]:
        """Checks that the runs with the best settings failed, each solved and checked once more."""
        if best == self.asked.space.now:
            return []
        if stopped := self.solves.known[best].stopped:
            return [f"The run with these settings was not found: {stopped}"]
        found = []
        p = self.solves.known[best].p
        for course, base in zip(self.asked.work.courses, self.solves.bases.bases, strict=True):
            try:
                run = rerun(base.run(), staged_like(p, base.p))
            except ConvergenceError as error:
                found.append(f"{course.name}: the run with the best settings was not found again: {error.message}")
                continue
            failed = ", ".join(check.name for check in run.checks if not check.ok)
            if failed:
                words = f"{course.name}: the run with the best settings failed a check ({failed}): do not rely on it."
                found.append(words)
        return found


def gain_of(row: Row) -> Gain:
    """A row of advice as a gain; never told where no run was found."""
    if not row.solved:
        return Gain(value=np.nan, low=-np.inf, high=np.inf)
    low, high = row.interval
    return Gain(value=row.gain, low=low, high=high)


def _is_shown(gain: Gain) -> bool:
    """Whether a gain is sure and not under what is shown."""
    return gain.low > 0.0 and gain.value >= SHOWN


def _verdict(*, is_moved: bool, clicks: tuple[OneClick, OneClick]) -> Verdict:
    """Moved; or left: because a click either way is slower, makes no difference, or cannot be told."""
    if is_moved:
        return "moved"
    costs = [click.cost for click in clicks if click.cost is not None]
    if costs and all(cost.is_small for cost in costs):
        return "hardly matters"
    return "as it is" if costs and all(cost.low > 0.0 or cost.is_small for cost in costs) else "cannot tell"

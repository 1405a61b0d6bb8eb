"""What times cannot tell: why not, and what to do so that the next ones can."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from conewise.proof.same_day import n_days_on_both

if TYPE_CHECKING:
    from conewise.proof.comparison import Compared, Question

Array = NDArray[np.float64]
Indices = NDArray[np.intp]

LEAST_RUNS = 2  # on each set-up
LEAST_FREEDOM = 2  # rows beyond the coefficients
LEAST_OTHERS = 3  # drivers or days without the change, to tell how much such things differ
_SAME = 1e-8  # share of the change that must be left once everything else has explained what it can


@dataclass(frozen=True, slots=True)
class Untold:
    """A change that the times cannot judge. `code` is stable; `why` and `remedy` are sentences."""

    code: str
    why: str
    remedy: str


def nothing_to_compare(compared: Compared, question: Question) -> Untold | None:
    """Why there is nothing to compare; None where each set-up has runs of the same driver."""
    before, after = question.before, question.after
    if not before and not after:
        return Untold("no-setup", "No run says on which set-up it was driven.", "Fill in the column setup.")
    if not before or not after:
        return Untold(
            "one-setup",
            f"Every run is on one set-up, '{before or after}'.",
            "Drive the other one on the same day, then the first again; the plan below says in which order.",
        )
    tester = compared.is_tester
    if not tester.any():
        return Untold(
            "other-driver",
            f"Nobody has times on both '{before}' and '{after}': drivers and set-ups cannot be told apart.",
            "Let one driver drive both on the same day.",
        )
    n_after = int(compared.is_after.sum())
    fewer, name = min((n_after, after), (int(tester.sum()) - n_after, before))
    if fewer < LEAST_RUNS:
        return Untold(
            "one-run",
            f"There is one timed run on '{name}': one run cannot be told from a good or a bad one.",
            "Drive it at least twice, between runs on the other set-up.",
        )
    return None


def untold_same_day(compared: Compared, terms: tuple[str, ...]) -> Untold | None:
    """Why the runs within days cannot judge the change; None where they can."""
    if n_days_on_both(compared) == 0:
        return event_and_change()
    n_needed = len(terms) + int(compared.entry.max()) + 1 + LEAST_FREEDOM
    if compared.log_time.size < n_needed:
        return Untold(
            "few-runs",
            f"{compared.log_time.size} timed runs are too few: levels of days, order of the runs and change need"
            f" {n_needed}.",
            "Drive more runs on each set-up; the plan below says how many.",
        )
    if not is_left(compared.is_after, compared.entry, compared.passenger[:, None]):
        return Untold(
            "passenger",
            "There was a passenger with one set-up and none with the other: the two cannot be told apart.",
            "Drive both with a passenger, or both without.",
        )
    if _comes_back(compared) or _others_show_the_order(compared):
        return None
    return Untold(
        "run-order",
        "The change came once and stayed. Learning, tyres and surface changed in the same runs: nothing in these"
        " times tells them apart.",
        "Drive the old set-up again after the new one (old, new, new, old); or begin another day with the new one; or"
        f" put at least {LEAST_OTHERS} drivers of the day who changed nothing into the file.",
    )


def untold_day_to_day(change: Array, *, unit: Indices, event: Indices, is_tester: NDArray[np.bool_]) -> Untold | None:
    """Why days cannot be compared through the other drivers; None where they can. One row an entry."""
    events = (event[:, None] == np.arange(1, event.max() + 1)).astype(float)
    others = [other for other in np.unique(unit[~is_tester]) if np.sum(unit == other) > 1]
    n_left = change.size - (int(unit.max()) + 1) - int(event.max()) - 1
    if not others or not is_left(change, unit, events):
        return event_and_change()
    if len(others) < LEAST_OTHERS or n_left < LEAST_OTHERS:
        return Untold(
            "few-drivers",
            f"Only drivers who changed nothing tell how fast each day was, and {len(others)} of them drove on several"
            f" days: {LEAST_OTHERS} are needed to know how much the gaps between drivers move by themselves.",
            "Put the times of more drivers into the file, or drive both set-ups on one day.",
        )
    return None


def event_and_change() -> Untold:
    """The set-ups were driven on different days, and nobody else tells how the days differ."""
    return Untold(
        "event",
        "The set-ups were driven on different days. Course, surface and weather changed with them: nothing in these"
        " times tells them apart.",
        f"Drive both set-ups on one day (old, new, new, old), or put the times of at least {LEAST_OTHERS} drivers who"
        " changed nothing and were there on both days into the file.",
    )


def _comes_back(compared: Compared) -> bool:
    """Whether a driver went back to a set-up within a day, or on different days changed in different directions."""
    directions = set()
    for entry in np.unique(compared.entry[compared.is_tester]):
        rows = np.flatnonzero(compared.entry == entry)
        steps = np.diff(compared.is_after[rows[np.argsort(compared.position[rows], kind="stable")]])
        directions |= {float(step) for step in steps if step}
    return len(directions) == 2


def _others_show_the_order(compared: Compared) -> bool:
    """Whether enough entries without the change show what the order of the runs did."""
    n_runs, n_after = np.bincount(compared.entry), np.bincount(compared.entry, compared.is_after)
    is_steady = (n_after == 0) | (n_after == n_runs)
    if np.sum(is_steady & (n_runs > 1)) < LEAST_OTHERS:
        return False
    positions = np.unique(compared.position)[1:]
    orders = (compared.position[:, None] == positions).astype(float)
    return is_left(compared.is_after, compared.entry, orders)


def is_left(values: Array, group: Indices, columns: Array) -> bool:
    """Whether anything of `values`, shape (n,), is left once group levels and columns have explained what they can."""
    inner = _within(values[:, None], group)
    others = _within(columns, group)
    left = inner - others @ np.linalg.lstsq(others, inner, rcond=1e-10)[0]
    return bool(np.sum(left**2) > _SAME * max(float(np.sum(inner**2)), 1.0))


def _within(columns: Array, group: Indices) -> Array:
    """Columns less their means in each group."""
    sums = np.zeros((int(group.max()) + 1, columns.shape[1]))
    np.add.at(sums, group, columns)
    return np.asarray(columns - (sums / np.bincount(group)[:, None])[group])

"""What each column measures, and how sure that is: words of its name, its unit, and its numbers, weighed together.

Every pair of a quantity and a unit is a hypothesis. Its score is a sum of logarithms of likelihood ratios: what its
name says, whether the unit told belongs to the quantity, and whether the numbers are such as a car on a lot gives in
that unit. The scores, through the softmax, are probabilities. The weights were set by hand and are held to account by a
labelled set of headers in the tests: where the probability is 0.95 or more, the answer is right.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from conewise.logs.clock import clock_seconds
from conewise.logs.log import KINDS
from conewise.logs.units import (
    CLOCKS,
    DATES,
    EPOCHS,
    IGNORE,
    QUANTITIES,
    TIME,
    in_own_unit,
    is_unit_of,
    plain_unit,
    unit_known,
    usual_units,
)
from conewise.logs.words import PATTERNS, meanings, tokens

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from conewise.logs.columns import Array, Column

SURE = 0.95

_FOREIGN = -5.0  # a word that means something else
_MISSING = -5.0  # a word that the quantity cannot do without
_UNKNOWN = -1.2  # a word that nobody knows
_UNIT_FITS, _UNIT_CONTRADICTS = 2.0, -8.0
_IGNORED = 1.0  # score of "nothing that is used" without any word
_IGNORED_WORD = 3.0  # ... for every word that means something else
# Meanings by which no quantity is named.
_ELSEWHERE = {"other", "dop", "vertical", "view", "roll", "pitch", "yaw", "fix", "count"}
_OF_MOTION = 2.5  # less for "nothing that is used" where the unit is one of motion
_HOPELESS = 16.0  # hypotheses so far behind the best by name and unit are not held against the numbers
_N_VALUES = 4_000  # of a column, at most, for its statistics
_N_STRETCHES = 8  # in which times of a long column are looked at, neighbour by neighbour

# The size that the largest values of a quantity usually have in a recording of a car, in its own unit, and the spread
# of the logarithm of that size. From memory of such recordings; common practice, no source.
_SIZES: dict[str, tuple[float, float]] = {
    "speed": (18.0, 0.7),
    "wheel_speed": (18.0, 0.7),
    "sensor_acceleration_x": (8.0, 0.8),
    "sensor_acceleration_y": (8.0, 0.8),
    "sensor_acceleration_z": (10.0, 0.6),
    "longitudinal_acceleration": (6.0, 0.8),
    "lateral_acceleration": (8.0, 0.8),
    "yaw_rate": (0.9, 0.9),
    "sensor_rate_x": (0.6, 1.0),
    "sensor_rate_y": (0.6, 1.0),
    "sensor_rate_z": (0.8, 1.0),
    "engine_speed": (600.0, 0.5),
    "handwheel_angle": (3.5, 0.8),
    "course": (6.0, 0.3),
    "throttle": (0.9, 0.35),
    "brake": (0.9, 0.4),
}
_OWN_HEADER = {TIME: "s", **{kind: entry.unit for kind, entry in KINDS.items()}}  # as this program writes tables
_STEP = (0.05, 1.8)  # usual time between samples [s], and the spread of its logarithm


@dataclass(frozen=True, slots=True)
class Guess:
    """One hypothesis about a column and its probability."""

    quantity: str
    unit: str
    probability: float


@dataclass(frozen=True, slots=True)
class Proposal:
    """What a column may be, the most probable first.

    probability: of the quantity, whatever its unit
    unit_probability: of the unit, given the quantity
    """

    column: str
    guesses: tuple[Guess, ...]

    @property
    def quantity(self) -> str:
        """The most probable quantity."""
        sums: dict[str, float] = {}
        for guess in self.guesses:
            sums[guess.quantity] = sums.get(guess.quantity, 0.0) + guess.probability
        return max(sums, key=lambda quantity: sums[quantity])

    @property
    def probability(self) -> float:
        """How probable that quantity is."""
        return sum(guess.probability for guess in self._own)

    @property
    def unit(self) -> str:
        """The most probable unit of that quantity."""
        return self._own[0].unit

    @property
    def unit_probability(self) -> float:
        """How probable that unit is, the quantity given."""
        own = [guess.probability for guess in self._own]
        return own[0] / max(sum(own), 1e-12)

    @property
    def _own(self) -> list[Guess]:
        """The guesses of the most probable quantity."""
        quantity = self.quantity
        return [guess for guess in self.guesses if guess.quantity == quantity]

    @property
    def is_sure(self) -> bool:
        """Whether neither quantity nor unit need asking; the unit of a date tells nothing that must be known."""
        needs_unit = self.quantity not in {IGNORE, "date"}
        return self.probability >= SURE and (not needs_unit or self.unit_probability >= SURE)


def propose(columns: Sequence[Column]) -> list[Proposal]:
    """What each column may be, judged one by one and then beside each other.

    Parameters
    ----------
    columns : sequence of Column
        All columns of a file.

    Returns
    -------
    list of Proposal
        In the order of the columns.
    """
    if columns and all(_OWN_HEADER.get(column.name) == column.unit for column in columns):
        return [Proposal(column.name, (Guess(column.name, column.unit, 1.0),)) for column in columns]
    said = _beside([_said(column.name) for column in columns])
    proposals = [_proposal(column, words) for column, words in zip(columns, said, strict=True)]
    return _with_shared_units(proposals)


def _with_shared_units(proposals: list[Proposal]) -> list[Proposal]:
    """The axes of one sensor share their unit."""
    out = list(proposals)
    for family in ("sensor_acceleration_", "sensor_rate_"):
        members = [index for index, proposal in enumerate(out) if proposal.quantity.startswith(family)]
        if len(members) > 1:
            shared = _product([out[index] for index in members])
            for index in members:
                out[index] = reweighed(out[index], shared)
    return out


def _product(proposals: Sequence[Proposal]) -> dict[str, float]:
    """For each unit of the quantity of several columns, the product of what each column gives it."""
    own = [
        {g.unit: g.probability for g in proposal.guesses if g.quantity == proposal.quantity} for proposal in proposals
    ]
    units = {unit for weights in own for unit in weights}
    return {unit: math.prod(max(weights.get(unit, 0.0), 1e-6) for weights in own) for unit in units}


def reweighed(proposal: Proposal, units: Mapping[str, float]) -> Proposal:
    """The same probability of the quantity, shared out between its units by other weights."""
    quantity, probability = proposal.quantity, proposal.probability
    total = sum(units.values())
    if total <= 0.0:
        return proposal
    others = [guess for guess in proposal.guesses if guess.quantity != quantity]
    own = [Guess(quantity, unit, probability * weight / total) for unit, weight in units.items()]
    return replace(proposal, guesses=tuple(sorted([*own, *others], key=lambda guess: -guess.probability)))


@dataclass(frozen=True, slots=True)
class _Said:
    """The words of a name: meanings of each, how sure, and how many nobody knows."""

    groups: tuple[frozenset[str], ...]
    sureness: float
    n_unknown: int


def _said(name: str) -> _Said:
    groups: list[frozenset[str]] = []
    sureness, n_unknown = 1.0, 0
    for word in tokens(name):
        found, sure = meanings(word)
        groups += found
        n_unknown += not found
        sureness *= sure or 1.0
    return _Said(tuple(groups), sureness, n_unknown)


def _beside(said: list[_Said]) -> list[_Said]:
    """Roll, pitch and yaw rates together are the three axes of a sensor; a yaw rate alone is the car's."""
    turns = {turn for words in said for turn in ("roll", "pitch") if any({turn} <= g for g in words.groups)
             and any("rate" in g for g in words.groups)}  # fmt: skip
    if turns != {"roll", "pitch"}:
        return said
    return [
        replace(words, groups=(*words.groups, frozenset({"z", "triad"}))) if _is_yaw_rate(words) else words
        for words in said
    ]


def _is_yaw_rate(words: _Said) -> bool:
    return any("yaw" in g for g in words.groups) and any("rate" in g for g in words.groups)


def _proposal(column: Column, words: _Said) -> Proposal:
    """Probabilities of one column."""
    if column.form == "text" or column.is_empty:
        return Proposal(column.name, (Guess(IGNORE, "", 1.0),))
    numbers = _sample(column.values)
    scores: dict[tuple[str, str], float] = {}
    for quantity in QUANTITIES:
        base = _name_score(quantity, words, column.unit)
        scores |= {(quantity, unit): base + score for unit, score in _unit_scores(column, quantity).items()}
    best = max(scores.values())
    for (quantity, unit), score in scores.items():
        if score > best - _HOPELESS:
            scores[quantity, unit] += _value_score(column, numbers, quantity, unit)
        else:
            scores[quantity, unit] -= _HOPELESS
    top = max(scores.values())
    weights = {key: math.exp(max(score - top, -60.0)) for key, score in scores.items()}
    total = sum(weights.values())
    ranked = sorted(weights, key=lambda key: -weights[key])
    return Proposal(
        column.name, tuple(Guess(*key, weights[key] / total) for key in ranked if weights[key] / total > 1e-6)
    )


def _sample(values: Array) -> Array:
    """Recorded values, at most so many, spread over the column."""
    found = values[np.isfinite(values)]
    return found if found.size <= _N_VALUES else found[:: found.size // _N_VALUES + 1]


def _stretches(values: Array) -> Array:
    """Values with their neighbours, shape (n_stretches, n): all of a short column, some stretches of a long one."""
    if values.size <= _N_VALUES:
        return values[None, :]
    n = _N_VALUES // _N_STRETCHES
    first = np.linspace(0, values.size - n, _N_STRETCHES).astype(int)
    return np.asarray(values[first[:, None] + np.arange(n)])


def _name_score(quantity: str, words: _Said, unit: str) -> float:
    """What the words of a name say for a quantity; beside a unit of motion, names that nobody knows say little."""
    if quantity == IGNORE:
        foreign = sum(1 for group in words.groups if group <= _ELSEWHERE) + _is_accuracy_of_another(words)
        in_doubt = _OF_MOTION * (foreign == 0 and _is_of_motion(plain_unit(unit)))
        return _IGNORED + _IGNORED_WORD * foreign + 0.8 * words.n_unknown - in_doubt
    return max((_pattern_score(pattern, words) for pattern in PATTERNS[quantity]), default=0.0)


def _is_of_motion(unit: str) -> bool:
    """Whether a unit is one of accelerations, turn rates, speeds or pedals."""
    return bool(unit) and any(
        is_unit_of(unit, kind) for kind in ("yaw_rate", "lateral_acceleration", "speed", "throttle")
    )


def _is_accuracy_of_another(words: _Said) -> bool:
    """Whether a name is the accuracy of something other than a place."""
    own = {"accuracy", "horizontal", "position", "context"}
    return any("accuracy" in group for group in words.groups) and any(not group & own for group in words.groups)


def _pattern_score(pattern: tuple[float, tuple[str, ...], str], words: _Said) -> float:
    """What one way of naming a quantity scores: all that must be said is said, and nothing else is."""
    weight, needed, may = pattern
    allowed = {*needed, *may.split(), "context", "triad"}
    missing = [need for need in needed if not any(need in group for group in words.groups)]
    if missing:
        return _MISSING * len(missing)
    foreign = sum(1 + ("accuracy" in group) for group in words.groups if not group & allowed)
    triad = any("triad" in group for group in words.groups)
    own = 4.0 * (triad and needed == ("yaw", "rate") and may == "angle")  # the third axis of a sensor
    return weight * words.sureness + 1.2 * (len(needed) - 1) + _FOREIGN * foreign + _UNKNOWN * words.n_unknown + own


def _unit_scores(column: Column, quantity: str) -> dict[str, float]:
    """Units that a quantity may be in, and what each scores before the numbers are looked at."""
    if quantity == IGNORE:
        return {"": 0.0}
    if column.form == "date":
        return {"": 4.0 if quantity == "date" else -20.0}
    if column.form in {"datetime", "clock"}:
        return {"": 4.0 if quantity == TIME else -20.0}
    units = usual_units(quantity)
    told = plain_unit(column.unit)
    is_told = bool(told) and is_unit_of(told, quantity)
    own = told if is_told else _hinted(column.name, units)
    penalty = _UNIT_FITS if is_told else (_UNIT_CONTRADICTS if unit_known(told) else -1.0) if told else 0.0
    if own:
        both = (own, f"epoch {own}") if quantity == TIME and f"epoch {own}" in EPOCHS else (own,)
        return dict.fromkeys(both, penalty + 0.5 * (not is_told))
    if quantity in {TIME, "date"}:
        return dict.fromkeys(units, penalty)
    seldom = 3.0 if KINDS[quantity].unit == "m" else 0.25  # feet are told where they are meant
    return {unit: penalty - seldom * rank for rank, unit in enumerate(units)}


def _hinted(name: str, units: tuple[str, ...]) -> str:
    """A unit that is one of the words of the name itself, such as `speed_kmh` or `millis`."""
    return next((plain for word in tokens(name) if len(plain := plain_unit(word)) > 1 and plain in units), "")


def _value_score(column: Column, numbers: Array, quantity: str, unit: str) -> float:
    """How well the numbers fit a quantity in a unit."""
    if quantity == IGNORE:
        return 0.0
    if quantity == TIME:
        return _time_score(column, numbers, unit)
    if quantity == "date":
        return 0.0 if column.form == "date" else _date_score(numbers, unit)
    own = in_own_unit(numbers, quantity, unit)
    kind = KINDS[quantity]
    inside = float(np.mean((own >= kind.low - 1e-9) & (own <= kind.high + 1e-9)))
    score = 8.0 * min(0.0, inside - 0.9) - (4.0 if inside < 0.5 else 0.0)
    if kind.unit == "1" and quantity not in {"throttle", "brake", "hdop"}:
        score -= 3.0 * float(np.mean(own != np.round(own)) > 0.2)  # counts are whole
    return score + _size_score(own, quantity) + _place_score(numbers, quantity, unit)


def _size_score(own: Array, quantity: str) -> float:
    """How usual the size of the largest values is; a column that hardly ever leaves zero says nothing."""
    if quantity not in _SIZES:
        return 0.0
    size, spread = _SIZES[quantity]
    largest = float(np.percentile(np.abs(own), 99.0))
    if largest < 1e-12:
        return 0.0
    return max(-9.0, -0.5 * (math.log(largest / size) / spread) ** 2)


def _place_score(numbers: Array, quantity: str, unit: str) -> float:
    """Degrees of a place lie close together and are written with many digits."""
    if quantity not in {"latitude", "longitude"}:
        return 0.0
    middle = float(np.median(np.abs(numbers)))
    scaled = plain_unit(unit) == "1e-7 deg"
    if scaled:
        return 1.0 if middle > 1e6 and bool(np.all(numbers == np.round(numbers))) else -8.0
    if plain_unit(unit) == "ddmm.mmmm":
        minutes = np.abs(numbers) % 100.0
        return 1.0 if middle > 180.0 and bool(np.all(minutes < 60.0)) else -6.0
    if plain_unit(unit) == "rad":
        return 0.0 if 0.05 < middle < math.pi and bool(np.all(numbers != np.round(numbers, 4))) else -6.0
    fine = float(np.mean(np.abs(numbers - np.round(numbers, 3)) > 1e-9))
    near = float(np.ptp(np.percentile(numbers, [10.0, 90.0]))) < 2.0
    return (1.0 if fine > 0.3 else -1.5) + (0.5 if near else -2.0)


def _time_score(column: Column, numbers: Array, unit: str) -> float:
    """Times run forward, in steps of a usual length."""
    values = _stretches(column.values[np.isfinite(column.values)])
    if unit in CLOCKS:
        values = clock_seconds(values, unit)
        if (
            not np.isfinite(values).all()
            or float(np.max(numbers)) < 100.0 * {"hhmmss": 1, "hhmmsscc": 100, "hhmmsszzz": 1000}[unit]
        ):
            return -15.0
    steps = np.diff(values)
    if steps.size == 0 or not bool((steps > 0.0).any()):
        return -4.0
    forward = float(np.mean(steps >= 0.0))
    score = 2.0 if forward > 0.99 else -20.0 * (0.99 - forward)
    if column.form != "number" or unit in CLOCKS:
        return score + 1.0 * (unit in CLOCKS)
    middle = float(np.median(numbers))
    if unit in EPOCHS:
        seconds = middle * EPOCHS[unit]
        return score + (2.0 if 3.0e8 < seconds < 4.0e9 else -20.0)
    size = {"s": 1.0, "ms": 1e-3, "us": 1e-6, "ns": 1e-9, "min": 60.0, "h": 3600.0}[unit]
    step = float(np.median(steps[steps > 0.0])) * size
    longest = middle * size
    score -= 0.5 * (math.log(max(step, 1e-12) / _STEP[0]) / _STEP[1]) ** 2
    score -= 6.0 * (step < 1e-3) + 4.0 * (step < 4e-3 and step >= 1e-3) + 3.0 * (step > 4.0)
    score -= 8.0 * (longest > 3.0e8) + 3.0 * (unit in {"min", "h"})
    return score + _counting(values[0])


def _counting(values: Array) -> float:
    """A column that counts 0, 1, 2, ... counts rows rather than seconds."""
    whole = bool(np.all(values[:100] == np.round(values[:100])))
    return -1.0 if whole and bool(np.all(np.diff(values[:100]) == 1.0)) else 0.0


def _date_score(numbers: Array, unit: str) -> float:
    """Whether digits are a date in one order of day, month and year."""
    digits = np.unique(numbers[:: max(1, numbers.size // 50)])
    if digits.size > 3 or np.any(digits != np.round(digits)) or np.any(digits <= 0):
        return -12.0
    return 1.0 if all(day_of(float(entry), unit) is not None for entry in digits) else -12.0


def day_of(digits: float, unit: str) -> tuple[int, int, int] | None:
    """Year, month and day of a date written in digits; None where they are none in that order."""
    text = f"{int(digits):0{len(unit)}d}"
    if unit not in DATES or len(text) != len(unit):
        return None
    parts = {sign: int("".join(c for c, s in zip(text, unit, strict=True) if s == sign)) for sign in "dmy"}
    year = parts["y"] + 2000 if parts["y"] < 100 else parts["y"]
    ok = 1980 <= year < 2100 and 1 <= parts["m"] <= 12 and 1 <= parts["d"] <= 31
    return (year, parts["m"], parts["d"]) if ok else None
